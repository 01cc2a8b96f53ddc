"""A day is noted on the page, found again, and answered."""

from playwright.sync_api import Page, expect


def test_a_day_is_noted_run_by_run_and_found(page: Page) -> None:
    page.goto("/logbook")
    page.get_by_text("A new meeting").click()
    page.get_by_label("Name", exact=True).fill("Day of a test")
    page.get_by_label("First day").fill("2026-05-02")
    page.get_by_role("button", name="Make it").click()
    expect(page.get_by_role("heading", name="Day of a test")).to_be_visible()
    runs = (
        ("A", "1:31.0 1:31.1 1:30.9 1:31.2"),
        ("B", "1:30.0 1:30.1 1:29.9 1:30.2"),
        ("A", "1:31.1 1:30.9 1:31.0"),
    )
    for number, (name, laps) in enumerate(runs, start=1):
        page.get_by_text("Add a run").last.click()
        page.get_by_label("What you call the set-up").fill(name)
        page.get_by_label("Lap times").fill(laps)
        page.get_by_label("What the driver said").fill(f"squirrel number {number}")
        page.get_by_label("Fuel").fill("30 kg")
        page.get_by_role("button", name="Add it").click()
        expect(page.get_by_text(f"squirrel number {number}", exact=False).first).to_be_visible()
    told = page.get_by_role("region", name="What the laps tell")
    expect(told).to_contain_text("B is probably")
    page.locator("#fp-search").fill("squirrel")
    expect(
        page.get_by_role("region", name="Search").get_by_role("link", name="Day of a test")
    ).to_be_visible()
    found = page.request.get("/api/logbook/search", params={"words": "squirrel 2"}).json()
    assert any(line.endswith("squirrel number 2") for line in found[0]["lines"])
    sheet = page.get_by_role("link", name="Sheet A4").get_attribute("href")
    assert page.request.get(str(sheet)).body().startswith(b"%PDF")
    meeting = page.request.get(f"/api/meetings/{found[0]['id']}/told").json()
    expect(told).to_contain_text(meeting["said"][0])


def test_what_cannot_be_meant_is_said_and_nothing_is_kept(page: Page) -> None:
    page.goto("/logbook")
    page.get_by_text("A new meeting").click()
    page.get_by_role("button", name="Make it").click()
    expect(page.get_by_role("alert").filter(has_text="name must be given")).to_be_visible()
