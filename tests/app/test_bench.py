"""The bench in a real browser."""

import re
from collections.abc import Callable

from playwright.sync_api import Page, expect

WORDS_IN_TWO_LINES = """(one) => {
  const broken = [];
  for (const found of one.textContent.matchAll(/\\S+/g)) {
    const range = document.createRange();
    range.setStart(one.firstChild, found.index);
    range.setEnd(one.firstChild, found.index + found[0].length);
    if (new Set([...range.getClientRects()].map((box) => box.top)).size > 1) broken.push(found[0]);
  }
  return broken;
}"""


def test_a_step_shows_at_once_in_the_table(page: Page) -> None:
    page.goto("/")
    cell = page.locator(".fp-cell-change").first
    expect(cell).to_have_text("·")
    page.get_by_role("slider", name="Front bar").press("ArrowRight")
    expect(page.locator(".fp-change-front, .fp-change-rear").first).to_be_visible()
    page.get_by_role("button", name="Undo").click()
    expect(page.locator(".fp-change-front, .fp-change-rear")).to_have_count(0)


def test_keys_play_and_step_from_anywhere_on_the_page(page: Page) -> None:
    page.emulate_media(reduced_motion="reduce")  # it does not play by itself
    page.goto("/")
    page.locator(".fp-cell").first.wait_for()
    play = page.locator(".fp-car-play")
    expect(play).to_have_text("Play")
    time = page.get_by_role("slider", name="Time in the event")
    expect(time).to_have_value("0")
    page.keyboard.press("ArrowRight")
    expect(time).not_to_have_value("0")
    page.keyboard.press("Space")
    expect(play).to_have_text("Pause")
    page.keyboard.press("Space")
    expect(play).to_have_text("Play")
    # Keys that a control in hand waits for are its own; Space is no slider's.
    bar = page.get_by_role("slider", name="Front bar", exact=True)
    bar.focus()
    there = time.input_value()
    bar.press("ArrowRight")
    bar.press("ArrowLeft")
    expect(time).to_have_value(there)
    bar.press("Space")
    expect(play).to_have_text("Pause")


def test_a_legend_shows_each_line_and_none_is_dimmed_while_it_plays(page: Page) -> None:
    page.emulate_media(reduced_motion="no-preference")
    page.goto("/")
    page.locator(".fp-cell").first.wait_for()
    rows = page.locator(".fp-chart .u-legend .u-series")
    expect(rows).to_have_count(9)  # time, and four tyres with A and with B
    samples = rows.locator(".u-marker").evaluate_all("all => all.map((one) => one.style.background)")
    assert len(set(samples[1:])) == 8
    time = page.get_by_role("slider", name="Time in the event")
    seen = {time.input_value()}
    for _ in range(4):  # wherever it plays
        page.keyboard.press("]")
        seen.add(time.input_value())
        assert rows.evaluate_all("all => all.map((one) => one.style.opacity || '1')") == ["1"] * 9
    assert len(seen) == 5


def test_a_unit_beside_a_stepper_is_not_broken_and_its_value_is_whole(page: Page) -> None:
    page.goto("/")
    units = page.locator(".fp-board-unit")
    expect(units.filter(has_text="N·s/mm").first).to_be_visible()
    for width in (1440, 1024, 390):
        page.set_viewport_size({"width": width, "height": 900})
        if width == 390:
            page.get_by_role("button", name="All steppers").click()
        for one in units.all():
            assert one.evaluate(WORDS_IN_TWO_LINES) == [] if one.inner_text() else True
    page.set_viewport_size({"width": 1440, "height": 900})
    cut = "all => all.filter((one) => one.scrollWidth > one.clientWidth).map((one) => one.textContent)"
    assert page.locator(".fp-step-physical").evaluate_all(cut) == []


def test_the_steppers_stay_in_view_beside_a_long_answer(page: Page) -> None:
    page.set_viewport_size({"width": 1440, "height": 600})
    page.goto("/bumps")
    first = page.get_by_role("slider", name="Front tyre pressure", exact=True)
    expect(first).to_be_in_viewport()
    page.evaluate("window.scrollTo(0, 600)")
    page.wait_for_function("window.scrollY > 200")
    expect(first).to_be_in_viewport()


def test_where_the_driven_end_is_always_first_the_change_is_what_is_seen(
    page: Page, new_setup: Callable[[Page], tuple[int, int]]
) -> None:
    page.goto(f"/?setup={new_setup(page)[1]}")  # the GT, driven at the rear
    exits = page.get_by_role("row", name="Exit").locator(".fp-cell-fixed")
    expect(exits).to_have_count(3)
    expect(exits.first.locator(".fp-cell-change")).to_have_text("no change")
    still = exits.first.locator(".fp-cell-bar").bounding_box()
    page.get_by_role("slider", name="Front bar", exact=True).press("ArrowRight")
    expect(exits.first.locator(".fp-cell-change")).to_have_text(re.compile(r"\d → front"))
    moved = exits.first.locator(".fp-cell-bar").bounding_box()
    assert still is not None
    assert moved is not None
    assert still["width"] == 0.0 < moved["width"]
