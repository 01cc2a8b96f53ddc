"""On a phone, and at 200 % zoom, who turns a click sees what it does."""

from collections.abc import Callable

import pytest
from playwright.sync_api import Page, expect

SEEN = """(one) => { const box = one.getBoundingClientRect();
  return one.contains(document.elementFromPoint(box.x + box.width / 2, box.y + box.height / 2)); }"""
"""Whether the middle of an element is in the window, and nothing lies over it."""


@pytest.mark.parametrize(("width", "height"), [(320, 640), (390, 844), (768, 1024), (640, 400)])
def test_stepper_and_table_are_in_sight_together(
    page: Page, new_setup: Callable[[Page], tuple[int, int]], width: int, height: int
) -> None:
    page.set_viewport_size({"width": width, "height": height})
    page.goto(f"/?setup={new_setup(page)[1]}")
    page.get_by_role("button", name="All steppers").click()
    up = page.get_by_role("button", name="Front bar: one step up")
    up.click()
    page.get_by_role("button", name="One stepper").click()
    expect(page.get_by_role("slider", name="Front tyre pressure")).to_be_hidden()
    row = page.get_by_role("row", name="Mid")
    row.evaluate("(row) => row.scrollIntoView({ block: 'start' })")
    change = row.locator(".fp-change-front, .fp-change-rear").first
    expect(change).to_be_visible()
    told = change.inner_text()
    at = up.bounding_box()
    assert at is not None
    page.mouse.click(at["x"] + at["width"] / 2, at["y"] + at["height"] / 2)  # nothing is scrolled for it
    expect(change).not_to_have_text(told)
    assert change.evaluate(SEEN)
    assert up.evaluate(SEEN)
    assert page.evaluate("document.documentElement.scrollWidth") <= width
