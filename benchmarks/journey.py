#!/usr/bin/env python3
"""What does the way from nothing to a cure on paper take, in interactions and in the machine's seconds?

The steps are those of tests/app/test_journeys.py, in a real Chromium and at two widths, with an app started
anew for each. What a driver thinks, reads and types comes on top: the last line says what fifteen minutes
leave for each interaction.
"""

import os
import platform
import shutil
import sys
import tempfile
import time
from functools import partial
from pathlib import Path

from playwright.sync_api import sync_playwright
from slider_to_plot import started

sys.path.insert(0, str(Path(__file__).parents[1] / "tests" / "app"))

from conftest import write_lap
from test_journeys import ANSWER, Hands, cured, own_car, own_tracks, printed

_SIZES = ((1440, 900), (1024, 768))
_WHOLE = 900.0  # [s]


def walked(width: int, height: int, chromium: str) -> list[tuple[str, int, float]]:
    """Walk the way in a window and return each part's name, interactions and seconds."""
    with tempfile.TemporaryDirectory() as folder, sync_playwright() as playwright:
        place = Path(folder)
        process, address = started(place / "notebook.sqlite")
        browser = playwright.chromium.launch(executable_path=chromium, args=["--no-sandbox", "--disable-gpu"])
        try:
            page = browser.new_page(base_url=address, viewport={"width": width, "height": height})
            page.set_default_timeout(ANSWER)
            hands, found = Hands(page), []
            for name, part in {
                "own car, 25 settings without units": own_car,
                "own tracks, told and driven": partial(own_tracks, driven=write_lap(place / "lap.csv", 0.0)),
                "complaint, cure, own clicks, confirmed": cured,
                "on paper": partial(printed, folder=place),
            }.items():
                done, begun = hands.done, time.perf_counter()
                part(hands)
                found.append((name, hands.done - done, time.perf_counter() - begun))
            return found
        finally:
            browser.close()
            process.terminate()
            process.wait(timeout=20)


def main() -> None:
    """Walk at every width and print a table."""
    chromium = os.environ.get("FOURPATCH_CHROMIUM") or shutil.which("chromium")
    if chromium is None:
        raise SystemExit("No Chromium found; name it in FOURPATCH_CHROMIUM.")
    print(f"{platform.machine()}, {os.cpu_count()} cores\n")
    walks = [walked(width, height, chromium) for width, height in _SIZES]
    print(f"| part | interactions | {' | '.join(f'at {width} px [s]' for width, _ in _SIZES)} |")
    print(f"|---|---|{'---|' * len(_SIZES)}")
    for parts in zip(*walks, strict=True):
        print(f"| {parts[0][0]} | {parts[0][1]} | {' | '.join(f'{one[2]:.0f}' for one in parts)} |")
    done, seconds = sum(one[1] for one in walks[0]), [sum(one[2] for one in walk) for walk in walks]
    print(f"| in all | {done} | {' | '.join(f'{one:.0f}' for one in seconds)} |")
    print(f"\nFifteen minutes leave {(_WHOLE - max(seconds)) / done:.0f} s for each interaction.")


if __name__ == "__main__":
    main()
