"""Laps before and after a change, pasted on the page."""

from collections.abc import Callable

from playwright.sync_api import Page, expect


def test_pasted_laps_are_answered_as_the_api_answers(page: Page) -> None:
    page.goto("/did-it-help")
    page.get_by_role("button", name="Show an example").click()
    laps = page.locator("#fp-laps")
    expect(laps).not_to_have_value("")
    page.get_by_role("button", name="Did it help?").click()
    told = page.locator(".fp-told")
    expect(told).to_contain_text("a lap quicker than A")
    answer = page.request.post("/api/did-it-help", data={"laps": laps.input_value()}).json()
    expect(told).to_have_text(answer["said"][0])
    page.get_by_text("Numbers, and what they rest on").click()
    change = answer["effect"]["lap"]["change"]["value"]
    expect(page.get_by_role("table")).to_contain_text(f"{change:+.3f}".replace("-", "−"))
    # Each lap is a mark with its time in words.
    assert page.locator(".fp-dots g").count() == laps.input_value().count("1:3")


def test_what_cannot_be_read_is_said_and_what_was_pasted_stays(page: Page) -> None:
    page.goto("/did-it-help")
    page.locator("#fp-laps").fill("A: 1:32.4 fast 1:32.6")
    page.get_by_role("button", name="Did it help?").click()
    expect(page.get_by_role("alert").filter(has_text='"fast" is no time')).to_be_visible()
    expect(page.locator("#fp-laps")).to_have_value("A: 1:32.4 fast 1:32.6")


def test_the_computed_change_stands_beside_it(
    page: Page, new_setup: Callable[[Page], tuple[int, int]]
) -> None:
    _, setup = new_setup(page)
    page.goto(f"/did-it-help?setup={setup}")
    beside = page.get_by_role("region", name="Computed beside it")
    expect(beside.get_by_role("button", name="Compute B against A")).to_be_disabled()
    page.get_by_role("button", name="Show an example").click()
    page.get_by_role("button", name="Did it help?").click()
    expect(page.locator(".fp-told")).to_be_visible()
    page.get_by_role("slider", name="Front bar", exact=True).press("ArrowRight")
    beside.get_by_role("button", name="Compute B against A").click()
    expect(beside.get_by_text("Computed (")).to_be_visible(timeout=120_000)
