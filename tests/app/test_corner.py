"""The page of a corner in a real browser: what it shows is what the API says."""

import re
from collections.abc import Callable

from playwright.sync_api import Locator, Page, expect


def _row(page: Page, name: str) -> Locator:
    """Cells of a row of the table, by its heading."""
    return page.locator(".fp-numbers tr", has=page.get_by_text(name, exact=True)).locator("td")


def _number(text: str) -> float:
    """The value before its change."""
    return float(text.split()[0].replace("−", "-"))


def test_a_step_shows_in_the_table_as_the_api_says_it(
    page: Page, new_setup: Callable[[Page], tuple[int, int]]
) -> None:
    car, setup = new_setup(page)
    page.goto(f"/corner?setup={setup}")
    cells = _row(page, "Front share")
    expect(cells.nth(2)).to_have_text(re.compile(r"\d"))
    assert cells.nth(0).inner_text().strip() == "–"  # straight: there is no transfer to share
    page.get_by_role("slider", name="Front bar").press("ArrowRight")
    expect(cells.nth(2).locator(".fp-numbers-change")).to_have_text(re.compile(r"\+\d"))
    expect(page.get_by_role("status").filter(has_text="Against A")).to_be_visible()
    shown = _number(cells.nth(2).inner_text())
    step = float(page.get_by_role("slider", name="Front bar").input_value())
    told = page.request.post(f"/api/cars/{car}/corner", data={"setup": {"front bar": step}})
    assert told.status == 200
    share = next(
        one
        for one in told.json()["numbers"]
        if (one["part"], one["quantity"]) == ("mid", "front_transfer_share")
    )
    assert shown == round(100.0 * share["value"], 1)
    page.get_by_role("button", name="Undo").click()
    expect(page.locator(".fp-numbers-change", has_text=re.compile(r"\d"))).to_have_count(0)


def test_ones_own_corner_and_one_no_car_can_drive(
    page: Page, new_setup: Callable[[Page], tuple[int, int]]
) -> None:
    _, setup = new_setup(page)
    page.goto(f"/corner?setup={setup}")
    page.get_by_label("Corner", exact=True).select_option("own")
    page.get_by_label("Turns", exact=True).select_option("right")
    radius = page.get_by_role("textbox", name="Radius", exact=True)
    radius.fill("40")
    radius.press("Enter")
    expect(page.get_by_text(re.compile("40 m right-hander"))).to_be_visible()
    page.get_by_label("Speed", exact=True).select_option("own")
    speed = page.get_by_role("textbox", name="in the middle")
    speed.fill("190")
    speed.press("Enter")
    expect(page.get_by_role("alert").filter(has_text="too far for numbers to mean much")).to_be_visible()
    expect(page.get_by_text("The last corner that could be computed.").first).to_be_visible()
    speed.fill("60")
    speed.press("Enter")
    expect(page.get_by_text(re.compile("40 m right-hander, 60 km/h"))).to_be_visible()
    expect(page.get_by_role("alert").filter(has_text="too far")).to_have_count(0)
    radius.fill("1")
    radius.press("Enter")
    expect(page.get_by_role("alert").filter(has_text="5 to 2000 m")).to_be_visible()


def test_a_question_about_what_is_not_there_is_answered_with_a_message(
    page: Page, new_setup: Callable[[Page], tuple[int, int]]
) -> None:
    car, _ = new_setup(page)
    for path, data, status in (
        ("/api/cars/999999/corner", {}, 404),
        (f"/api/cars/{car}/corner", {"setup": {"no such thing": 1}}, 422),
        (f"/api/cars/{car}/corner", {"corner": {"name": None, "radius": 900, "speed": 109}}, 422),
    ):
        told = page.request.post(path, data=data)
        assert told.status == status
        assert told.json()["message"]


def test_a_corner_of_a_track_is_shown_as_the_api_says_it(
    page: Page, new_setup: Callable[[Page], tuple[int, int]]
) -> None:
    car, setup = new_setup(page)
    track = next(one for one in page.request.get("/api/tracks").json() if "chicanes" in one["name"])
    page.goto(f"/corner?setup={setup}")
    expect(page.get_by_label("Turns", exact=True)).to_be_visible()
    page.get_by_label("Corner", exact=True).select_option(f"track {track['id']}")
    page.get_by_label("Number", exact=True).select_option("3")
    expect(page.get_by_label("Turns", exact=True)).to_be_hidden()
    expect(
        page.get_by_text(re.compile("Corner 3, as the lap goes with the set-up the car came with"))
    ).to_be_visible()
    chosen = {"corner": {"track": track["id"], "number": 3}}
    told = page.request.post(f"/api/cars/{car}/corner", data=chosen)
    assert told.status == 200
    share = next(
        one["value"]
        for one in told.json()["numbers"]
        if (one["part"], one["quantity"]) == ("mid", "front_transfer_share")
    )
    expect(_row(page, "Front share").nth(2)).to_contain_text(f"{100.0 * share:.1f}")
    refused = page.request.post(
        f"/api/cars/{car}/corner", data={"corner": {"track": track["id"], "number": 99}}
    )
    assert refused.status == 422
    assert "there are 1 to" in refused.json()["message"]
