#!/usr/bin/env python3
"""How long from a key on a slider to the drawn plot, and from the start of the app to a page that answers?

The real command, a real Chromium, times taken in the page by its own clock: a mark when the slider moves, one
when the plot is drawn and, on the bench, one when the whole table has changed (each in the frame after). Held
means keys faster than answers: states are skipped, and what counts is how old a drawn state is. Of a state
drawn coarsely and drawn again when the hand rests, the first drawing counts.
"""

import argparse
import os
import platform
import re
import shutil
import subprocess
import sys
import tempfile
import time
from importlib.metadata import version
from pathlib import Path

from playwright.sync_api import Page, sync_playwright

_FIRST_MARKS = """() => {
    const first = {};
    for (const mark of performance.getEntriesByType("mark")) first[mark.name] ??= mark.startTime;
    return first;
}"""

_PAGES = {"": "bench", "corner": "corner", "bumps": "bumps and kerbs", "lap": "track and lap"}
_SETTLE = 15.0  # after the start and on a page, until what is loaded in the background is there [s]


def started(notebook: Path) -> tuple[subprocess.Popen[str], str]:
    """Start the app and return it and its address."""
    process = subprocess.Popen(
        [sys.executable, "-c", "from fourpatch.cli import main; main()", "app", "--no-browser"],
        stdout=subprocess.PIPE,
        text=True,
        env={**os.environ, "FOURPATCH_NOTEBOOK": str(notebook)},
    )
    assert process.stdout is not None
    for line in process.stdout:
        if found := re.search(r"http://\S+/", line):
            return process, found[0]
    raise SystemExit("the app did not start")


def moved(page: Page, slider: str, keys: int, pause: float) -> dict[str, list[float]]:
    """Press keys on a slider and return how long each answer took, by what was drawn. [ms]"""
    page.evaluate("performance.clearMarks()")
    page.get_by_role("slider", name=slider).focus()
    for k in range(keys):
        page.keyboard.press("ArrowRight" if (k // 3) % 2 == 0 else "ArrowLeft")
        page.wait_for_timeout(1e3 * pause)
    page.wait_for_timeout(1000)
    marks = page.evaluate(_FIRST_MARKS)
    turns = {name.removeprefix("fp-turn-"): at for name, at in marks.items() if name.startswith("fp-turn-")}
    return {
        drawn: sorted(marks[key] - at for turn, at in turns.items() if (key := f"fp-{mark}-{turn}") in marks)
        for drawn, mark in (("plot", "drawn"), ("table", "shown"))
    }


def share(ordered: list[float], part: float) -> float:
    """Return the value below which a part of an ordered list lies."""
    return ordered[min(int(part * len(ordered)), len(ordered) - 1)]


def print_row(name: str, times: list[float]) -> None:
    """Print one line, if there is something to say."""
    if times:
        print(f"{name:44}{len(times):9}{share(times, 0.5):14.0f}{share(times, 0.95):12.0f}", flush=True)


def main() -> None:
    """Measure and print."""
    parser = argparse.ArgumentParser(description=__doc__.splitlines()[0])
    parser.add_argument("--smallest", action="store_true", help="a few keys: to see that it runs")
    keys = 6 if parser.parse_args().smallest else 60
    chromium = os.environ.get("FOURPATCH_CHROMIUM") or shutil.which("chromium")
    if chromium is None:
        raise SystemExit("No Chromium found; name it in FOURPATCH_CHROMIUM.")
    print(
        f"{platform.machine()}, {os.cpu_count()} cores, Python {platform.python_version()}, "
        f"nicegui {version('nicegui')}"
    )
    with tempfile.TemporaryDirectory() as folder, sync_playwright() as playwright:
        browser = playwright.chromium.launch(executable_path=chromium, args=["--no-sandbox", "--disable-gpu"])
        page = browser.new_page(viewport={"width": 1440, "height": 900})
        begun = time.perf_counter()
        process, address = started(Path(folder) / "notebook.sqlite")
        try:
            answering = time.perf_counter() - begun
            page.goto(address)
            page.locator(".fp-cell").first.wait_for()
            usable = time.perf_counter() - begun
            print(
                f"from start: an answer after {answering:.2f} s, a page with numbers after {usable:.2f} s\n"
            )
            print(f"{'GT, front bar':44}{'answers':>9}{'median [ms]':>14}{'95 % [ms]':>12}")
            for path, name in _PAGES.items():
                page.goto(address + path)
                page.get_by_role("slider", name="Front bar").wait_for()
                if page.get_by_role("button", name="Pause").count():
                    page.get_by_role("button", name="Pause").click()
                page.wait_for_timeout(1e3 * _SETTLE)
                for way, pause in (("one key at a time", 0.4), ("held", 0.03)):
                    for drawn, times in moved(page, "Front bar", keys, pause).items():
                        print_row(f"{name}: {way}, {drawn}", times)
        finally:
            process.terminate()
            process.wait(timeout=20)
            browser.close()


if __name__ == "__main__":
    main()
