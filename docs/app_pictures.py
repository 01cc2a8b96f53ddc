#!/usr/bin/env python3
"""Draw the pictures of the app that the documents show: the real command, a new notebook, a real Chromium.

``python docs/app_pictures.py``; needs Chromium (named in FOURPATCH_CHROMIUM if it is not on the path).
"""

import io
import os
import re
import shutil
import subprocess
import sys
import tempfile
from pathlib import Path

from PIL import Image
from playwright.sync_api import Browser, Page, sync_playwright

FOLDER = Path(__file__).parent / "pictures" / "app"
COLOURS = 96
"""Enough for flat areas and smooth text; a quarter of the size."""

WIDE, MIDDLE, PHONE = (1440, 900), (1280, 800), (390, 844)


def main() -> None:
    """Draw them all."""
    FOLDER.mkdir(parents=True, exist_ok=True)
    with tempfile.TemporaryDirectory() as folder, sync_playwright() as playwright:
        chromium = os.environ.get("FOURPATCH_CHROMIUM") or shutil.which("chromium")
        browser = playwright.chromium.launch(executable_path=chromium, args=["--no-sandbox", "--disable-gpu"])
        process = subprocess.Popen(
            [sys.executable, "-c", "from fourpatch.cli import main; main()", "app", "--no-browser"],
            stdout=subprocess.PIPE,
            text=True,
            env={**os.environ, "FOURPATCH_NOTEBOOK": str(Path(folder) / "notebook.sqlite")},
        )
        try:
            assert process.stdout is not None
            address = next(found[0] for line in process.stdout if (found := re.search(r"http://\S+/", line)))
            draw(browser, address)
        finally:
            process.terminate()
            process.wait(timeout=20)
            browser.close()


def draw(browser: Browser, address: str) -> None:
    """Visit the pages in an order in which each has something to show."""
    for size, look, name in (
        (WIDE, "light", "bench"),
        (MIDDLE, "dark", "bench-dark"),
        (PHONE, "light", "bench-phone"),
    ):
        page = opened(browser, address, size, look)
        if name != "bench-phone":  # there the first row is in hand, the others a press away
            page.get_by_role("slider", name="Front bar").focus()
        if name == "bench":
            for _ in range(2):
                page.keyboard.press("ArrowRight")
        page.wait_for_timeout(4000)
        keep(page, name)
    page = opened(browser, address, WIDE, "light")
    for path in ("setup", "corner", "bumps", "lap", "car"):
        visit(page, path, 12_000)
        keep(page, path)
    visit(page, "rules", 1000)
    page.get_by_role("button", name="Check").first.click()
    page.get_by_text(re.compile(r"^([1-9]\d*) of \1 rules$")).wait_for(timeout=120_000)
    keep(page, "rules")
    visit(page, "cure", 2000)
    page.get_by_role("textbox").first.fill("pushes at mid-corner in fast corners")
    page.get_by_role("button", name="Find a cure").click()
    page.get_by_role("button", name="Try it").first.wait_for(timeout=300_000)
    page.wait_for_timeout(3000)
    keep(page, "cure")
    visit(page, "trade-off", 1000)
    page.get_by_role("button", name="Compute").click()
    page.get_by_role("button", name="Try it").first.wait_for(timeout=300_000)
    keep(page, "trade-off")
    visit(page, "notebook", 2000)
    keep(page, "notebook")


def opened(browser: Browser, address: str, size: tuple[int, int], look: str) -> Page:
    """Return a new tab on the bench, its car standing still in the middle of the entry."""
    context = browser.new_context(
        base_url=address,
        viewport={"width": size[0], "height": size[1]},
        reduced_motion="reduce",
        color_scheme=look,
    )
    page = context.new_page()
    page.set_default_timeout(120_000)
    page.goto("/")
    page.locator(".fp-cell").first.wait_for()
    page.get_by_role("button", name="mid", exact=True).first.click()
    return page


def visit(page: Page, path: str, rest: int) -> None:
    """Open a page as its link does, with what is open, and give it time. [ms]"""
    page.goto(f"/{path}?{page.url.partition('?')[2]}")
    page.wait_for_timeout(rest)


def keep(page: Page, name: str) -> None:
    """Write what the window shows."""
    picture = Image.open(io.BytesIO(page.screenshot())).convert("RGB")
    picture.quantize(COLOURS, dither=Image.Dither.NONE).save(FOLDER / f"{name}.png", optimize=True)
    print(name, flush=True)


if __name__ == "__main__":
    main()
