"""Track and lap in a real browser: a lap answers a slider, a corner is chosen everywhere, drives run on."""

import re
import time

import pytest
from playwright.sync_api import Page, expect


@pytest.fixture(autouse=True)
def patient() -> None:
    """A lap is half a second of work on an idle machine, which a test's seldom is."""
    expect.set_options(timeout=60_000)


def test_a_slider_moves_the_lap_and_the_numbers_are_those_of_the_api(page: Page) -> None:
    page.goto("/lap")
    expect(page.get_by_text("A and B are the same set-up")).to_be_visible()
    spring = page.get_by_role("spinbutton", name="Rear spring")
    spring.fill("150")
    spring.press("Tab")
    expect(page.get_by_text(re.compile(r"^B is [0-9.]+ s \w+ than A\."))).to_be_visible()
    opened = page.get_by_label("Open").input_value()
    car = page.request.get(f"/api/setups/{opened}").json()["head"]["car_id"]
    tracks = {one["name"]: one["id"] for one in page.request.get("/api/lap/tracks").json()}
    asked = {
        "car": car,
        "track": tracks["Demo chicanes"],
        "setup": {"rear spring": float(spring.input_value())},
    }
    told = page.request.post("/api/lap/quasi-steady", data=asked)
    assert told.ok, told.text()
    answer = told.json()
    for side in ("A", "B"):
        expect(page.get_by_label(f"Lap time {side}")).to_have_text(
            f"{answer[side.lower()]['lap_time']:.2f} s"
        )
    page.get_by_role("button", name="B back to A").click()
    expect(page.get_by_text("A and B are the same set-up")).to_be_visible()


def test_a_corner_chosen_on_the_map_is_chosen_everywhere(page: Page) -> None:
    page.goto("/lap")
    page.get_by_role("button", name=re.compile("^Corner 4,")).click()
    expect(page.get_by_role("heading", name=re.compile("^Corner 4,"))).to_be_visible()
    row = page.get_by_role("region", name="Corners").get_by_role("button", name="4 right")
    expect(row).to_have_attribute("aria-pressed", "true")
    page.get_by_role("button", name="3 left").first.click()
    expect(page.get_by_role("button", name=re.compile("^Corner 3,"))).to_have_attribute(
        "aria-pressed", "true"
    )
    page.get_by_label("Colour the line by").select_option("balance")
    expect(page.get_by_text("Which axle runs out first with B")).to_be_visible()


def test_another_track_is_kept_in_the_address(page: Page) -> None:
    page.goto("/lap")
    page.get_by_label("Track", exact=True).select_option(label="Demo long corners, 4.46 km")
    expect(page).to_have_url(re.compile("[?&]track="))  # each track has a corner 1: its heading tells nothing
    page.reload()
    expect(page.get_by_label("Track", exact=True).locator("option:checked")).to_have_text(
        re.compile("long corners")
    )


def test_a_drive_outlives_a_reload_and_can_be_stopped(page: Page) -> None:
    page.goto("/lap")
    page.get_by_role("button", name="Drive 20 laps with B").click()
    bar = page.get_by_role("region", name="Laps that differ")
    expect(bar.get_by_role("button", name="Stop")).to_be_visible()
    page.reload()
    expect(bar.get_by_role("button", name="Stop")).to_be_visible()
    bar.get_by_role("button", name="Stop").click()
    expect(bar.get_by_text(re.compile("stopped"))).to_be_visible()


def test_a_style_that_cannot_be_is_refused_beside_its_field(page: Page) -> None:
    page.goto("/lap")
    page.get_by_text("The driver's style").click()
    field = page.get_by_role("textbox", name="Preview")
    field.fill("9")
    field.press("Tab")
    expect(page.get_by_role("alert").filter(has_text="0.2 to 3 s")).to_be_visible()
    field.fill("0.8")
    field.press("Tab")
    expect(page.get_by_role("alert").filter(has_text="0.2 to 3 s")).to_have_count(0)


def test_what_is_being_typed_survives_an_answer(page: Page) -> None:
    page.goto("/lap")
    page.get_by_text("The driver's style").click()
    field = page.get_by_role("textbox", name="Preview")
    field.fill("1.25")  # and not left yet
    page.evaluate("document.querySelector('[aria-label=\"Track\"]').dispatchEvent(new Event('change'))")
    expect(page.get_by_role("status").filter(has_text="A and B are the same")).to_be_visible()
    page.wait_for_timeout(1500)
    expect(field).to_have_value("1.25")


def test_a_style_is_chosen_changed_and_kept_in_the_notebook(page: Page) -> None:
    usual = {one["name"]: one for one in page.request.get("/api/styles").json()}["Usual style"]
    page.goto("/lap")
    chosen = page.get_by_role("combobox", name="Driven in the style")
    expect(chosen.locator("option:checked")).to_have_text("Usual style")
    page.get_by_text("The driver's style").click()
    save = page.get_by_role("button", name="Save the change")
    expect(save).to_be_disabled()
    preview = page.get_by_role("textbox", name="Preview")
    preview.fill("0.8")
    preview.press("Tab")
    expect(page.get_by_text("Changed from Usual style; the change is not kept yet.")).to_be_visible()
    name = f"looks far <ahead> {time.time_ns()}"
    page.get_by_role("textbox", name="Name of a new style").fill(name)
    page.get_by_role("button", name="Save as a new style").click()
    expect(chosen.locator("option:checked")).to_have_text(name)
    expect(save).to_be_disabled()

    preview.fill("0.9")
    preview.press("Tab")
    save.click()
    expect(page.get_by_text(f"{name}, revision 2, as kept.")).to_be_visible()
    page.reload()  # the address says which
    expect(chosen.locator("option:checked")).to_have_text(name)
    page.get_by_text("The driver's style").click()
    expect(preview).to_have_value("0.9")
    kept = {one["name"]: one for one in page.request.get("/api/styles").json()}
    assert kept[name]["revision"] == 2
    assert kept["Usual style"]["revision"] == usual["revision"]
    chosen.select_option(label="Usual style")
    expect(preview).to_have_value("0.5")
    page.request.delete(f"/api/styles/{kept[name]['id']}")
