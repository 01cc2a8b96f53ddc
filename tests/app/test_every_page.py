"""What holds for every page: it can be used by everybody, fits every window, and asks nobody outside."""

import pytest
from axe_playwright_python.sync_playwright import Axe
from playwright.sync_api import Page, Request

from fourpatch.app.frame import PLACES

WIDTHS = (1280, 390, 320)
"""Of windows; 1280 px at 400 % zoom are 320 px wide (WCAG 2.1, 1.4.10). [px]"""


def findings(page: Page) -> dict[str, list[str]]:
    """What axe finds that somebody could stumble over."""
    return {
        one["id"]: [node["html"][:200] for node in one["nodes"][:3]]
        for one in Axe().run(page).response["violations"]
        if one["impact"] in ("moderate", "serious", "critical")
    }


@pytest.mark.parametrize("place", PLACES, ids=lambda place: place.name)
def test_everybody_can_use_the_page(page: Page, place: object) -> None:
    path = place.path  # type: ignore[attr-defined]
    asked: list[str] = []

    def note(request: Request) -> None:
        asked.append(request.url)

    page.on("request", note)
    page.emulate_media(color_scheme="light", reduced_motion="reduce")
    page.goto(path)
    page.locator("main").wait_for()
    assert page.locator("[role=img]:not([aria-label], [aria-labelledby])").count() == 0
    page.wait_for_timeout(3000)  # what a page computes at once is there
    assert findings(page) == {}, "by day"
    page.emulate_media(color_scheme="dark", reduced_motion="reduce")
    page.wait_for_function("document.documentElement.dataset.look === 'dark'")
    assert findings(page) == {}, "by night"
    for width in WIDTHS:
        page.set_viewport_size({"width": width, "height": 800})
        page.wait_for_timeout(300)
        assert page.evaluate("document.documentElement.scrollWidth") <= width
    outside = [url for url in asked if not url.startswith(("http://127.0.0.1:", "data:", "blob:"))]
    assert not outside


def test_the_bench_needs_no_scrolling_on_a_laptop(page: Page) -> None:
    page.goto("/")
    page.locator(".fp-cell").first.wait_for()
    page.wait_for_timeout(1000)
    for part in (".fp-board-row", ".fp-cell", ".fp-car-scrub", ".fp-chart-plot"):
        for box in page.locator(part).all():
            seen = box.bounding_box()
            assert seen is not None
            assert seen["y"] + seen["height"] <= 900, part
