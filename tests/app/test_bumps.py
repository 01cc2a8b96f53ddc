"""Bumps and kerbs in a real browser: a kerb, a road, and the damper map."""

import re
from collections.abc import Callable

from playwright.sync_api import Page, expect

NewSetup = Callable[[Page], tuple[int, int]]


def _cell(page: Page, name: str, place: int) -> str:
    """What a table says with B, without its change."""
    row = page.locator(".fp-numbers tr", has=page.get_by_text(name, exact=True))
    return row.locator("td").nth(place).inner_text().split()[0]


def test_a_kerb_shows_what_the_api_says(page: Page, new_setup: NewSetup) -> None:
    car, setup = new_setup(page)
    page.goto(f"/bumps?setup={setup}")
    height = page.get_by_role("textbox", name="Height", exact=True)
    height.fill("30")
    height.press("Enter")
    expect(page.get_by_text(re.compile("^Ramped kerb, 30 mm, under the left wheels"))).to_be_visible()
    page.get_by_role("slider", name="Front bump, low speed").press("ArrowRight")
    expect(page.locator(".fp-numbers-change", has_text=re.compile(r"\d")).first).to_be_visible()
    step = float(page.get_by_role("slider", name="Front bump, low speed").input_value())
    speed = float(page.get_by_role("textbox", name="Speed", exact=True).first.input_value()) / 3.6
    question = {"setup": {"front bump, low speed": step}, "kerb": {"height": 0.03, "speed": speed}}
    told = page.request.post(f"/api/cars/{car}/bumps", data=question).json()
    lost = next(
        one["value"] for one in told["numbers"] if (one["quantity"], one["place"]) == ("grip_lost", "front")
    )
    assert _cell(page, "Grip lost", 0) == f"{100.0 * lost:.2f}"


def test_a_kerb_that_cannot_be_is_refused_beside_its_numbers(page: Page, new_setup: NewSetup) -> None:
    _, setup = new_setup(page)
    page.goto(f"/bumps?setup={setup}")
    page.get_by_label("Shape", exact=True).select_option("saw-tooth")
    length = page.get_by_role("textbox", name="Length", exact=True)
    length.fill("1.7")
    length.press("Enter")
    expect(page.get_by_role("alert").filter(has_text="a whole number of them")).to_be_visible()
    length.fill("2")
    length.press("Enter")
    expect(page.get_by_text(re.compile("^Saw-tooth kerb"))).to_be_visible()
    expect(page.get_by_role("alert").filter(has_text="a whole number")).to_have_count(0)


def test_a_rough_road_has_its_class_and_no_kerb(page: Page, new_setup: NewSetup) -> None:
    _, setup = new_setup(page)
    page.goto(f"/bumps?setup={setup}")
    page.get_by_label("Over", exact=True).select_option("road")
    page.get_by_label("Class", exact=True).select_option("C")
    expect(page.get_by_text(re.compile("Class C road at"))).to_be_visible()
    expect(page.get_by_role("textbox", name="Height", exact=True)).to_be_hidden()


def test_the_damper_map_comes_by_itself_and_is_there_after_a_reload(page: Page, new_setup: NewSetup) -> None:
    _, setup = new_setup(page)
    page.goto(f"/bumps?setup={setup}")
    expect(page.get_by_text("every fifth")).to_be_attached(timeout=120_000)
    page.reload()
    canvas = page.locator(".fp-map-canvas")
    expect(page.get_by_text("every fifth")).to_be_attached()
    canvas.focus()
    canvas.press("ArrowRight")
    expect(page.get_by_text(re.compile(r"bump × 1\.\d\d, rebound × 1\.00: grip lost"))).to_be_visible()
    page.get_by_label("To be small").select_option("body_throw")
    expect(page.get_by_text(re.compile("body throw is"))).to_be_visible()
