"""Printing a page gives paper: no buttons, light inks by night too, and what it is of."""

import pytest
from playwright.sync_api import Page, expect

from fourpatch.app.frame import PLACES

_PRESSED = """[...document.querySelectorAll(".fp-button, .fp-step-line button, nav, input[type=range]")]
  .filter((one) => one.checkVisibility()).map((one) => one.outerHTML.slice(0, 120))"""


@pytest.mark.parametrize("place", PLACES, ids=lambda place: place.name)
def test_a_printed_page_is_paper(page: Page, place: object) -> None:
    page.emulate_media(color_scheme="dark")
    page.goto(place.path)  # type: ignore[attr-defined]
    page.locator("main").wait_for()
    page.wait_for_function("document.documentElement.dataset.look === 'dark'")
    expect(page.locator(".fp-button").first).to_be_attached()
    page.emulate_media(media="print", color_scheme="dark")
    page.evaluate("dispatchEvent(new Event('beforeprint'))")
    assert page.evaluate(_PRESSED) == []
    assert page.evaluate("document.documentElement.dataset.look") == "light"
    expect(page.locator("#fp-paper-head")).to_contain_text(f"{page.title()} · Demo GT: ")
    page.evaluate("dispatchEvent(new Event('afterprint'))")
    page.emulate_media(media="screen", color_scheme="dark")
    assert page.evaluate("document.documentElement.dataset.look") == "dark"
    expect(page.locator("#fp-paper-head")).to_have_count(0)
