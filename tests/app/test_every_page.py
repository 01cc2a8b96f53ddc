"""What holds for every page: it can be used by everybody, fits every window, and asks nobody outside."""

import pytest
from axe_playwright_python.sync_playwright import Axe
from playwright.sync_api import Page

from fourpatch.app.frame import PLACES

PATHS = [place.path for place in PLACES]


def opened(page: Page, path: str) -> None:
    """Open a page and wait until it has nothing more to prepare."""
    page.goto(path)
    page.locator("main").wait_for()
    page.wait_for_timeout(3000)


@pytest.mark.parametrize("look", ["light", "dark"])
@pytest.mark.parametrize("path", PATHS)
def test_no_finding_of_axe(page: Page, path: str, look: str) -> None:
    page.emulate_media(color_scheme=look, reduced_motion="reduce")  # type: ignore[arg-type]
    opened(page, path)
    found = Axe().run(page).response["violations"]
    serious = {
        one["id"]: [node["html"][:200] for node in one["nodes"][:3]]
        for one in found
        if one["impact"] in ("moderate", "serious", "critical")
    }
    assert not serious


@pytest.mark.parametrize("width", [1280, 390, 320])
@pytest.mark.parametrize("path", PATHS)
def test_no_page_is_wider_than_the_window(page: Page, path: str, width: int) -> None:
    # 1280 px at 400 % zoom are 320 px wide: WCAG 2.1, 1.4.10.
    page.set_viewport_size({"width": width, "height": 800})
    opened(page, path)
    assert page.evaluate("document.documentElement.scrollWidth") <= width
