"""A real server, started by the real command, and a real browser in front of it."""

import math
import os
import re
import shutil
import signal
import subprocess
import sys
import tempfile
import threading
import time
from collections.abc import Callable, Iterator
from pathlib import Path

import numpy as np
import pytest
from playwright.sync_api import Browser, ConsoleMessage, Page, expect, sync_playwright

CHROMIUM = (
    os.environ.get("FOURPATCH_CHROMIUM") or shutil.which("chromium") or shutil.which("chromium-browser")
)

QUIET = (  # no connections of the browser's own
    "--no-sandbox",
    "--disable-gpu",
    "--disable-background-networking",
    "--disable-component-update",
    "--disable-sync",
    "--no-first-run",
)

expect.set_options(timeout=30_000)  # a busy machine is slow; how fast answers are is for benchmarks to say


class Server:
    """The running app."""

    def __init__(self, notebook: Path, port: int | None = None) -> None:
        self.notebook = notebook
        at = ["--port", str(port)] if port else []
        plain = {k: v for k, v in os.environ.items() if not k.startswith(("PYTEST", "NICEGUI"))}
        self._process = subprocess.Popen(
            [sys.executable, "-c", "from fourpatch.cli import main; main()", "app", "--no-browser", *at],
            stdout=subprocess.PIPE,
            stderr=subprocess.STDOUT,
            text=True,
            env={**plain, "FOURPATCH_NOTEBOOK": str(notebook)},
        )
        self.output: list[str] = []
        assert self._process.stdout is not None
        for line in self._process.stdout:
            self.output.append(line)
            if found := re.search(r"http://127\.0\.0\.1:(\d+)/", line):
                self.port = int(found[1])
                break
        else:
            raise AssertionError(f"the app did not start:\n{''.join(self.output)}")
        self.address = f"http://127.0.0.1:{self.port}"
        self._reader = threading.Thread(target=self.output.extend, args=(self._process.stdout,), daemon=True)
        self._reader.start()

    def signal(self, kind: signal.Signals) -> None:
        """Send it a signal."""
        self._process.send_signal(kind)

    def stop(self) -> None:
        """End it as Ctrl-C would."""
        self.signal(signal.SIGTERM)
        self.close()

    def close(self) -> None:
        """Wait for its end."""
        self._process.wait(timeout=20)
        self._reader.join(timeout=20)
        if self._process.stdout is not None:
            self._process.stdout.close()


@pytest.fixture(scope="session")
def server() -> Iterator[Server]:
    with tempfile.TemporaryDirectory() as folder:
        running = Server(Path(folder) / "notebook.sqlite")
        yield running
        running.stop()


@pytest.fixture(scope="session")
def address(server: Server) -> str:
    """Where the pages' server answers."""
    return server.address


@pytest.fixture(scope="module")
def spare_address() -> Iterator[str]:
    """Where another server answers, with a notebook that may be spoilt."""
    with tempfile.TemporaryDirectory() as folder:
        running = Server(Path(folder) / "notebook.sqlite")
        yield running.address
        running.stop()


@pytest.fixture(scope="session")
def browser() -> Iterator[Browser]:
    with sync_playwright() as playwright:
        opened = playwright.chromium.launch(executable_path=CHROMIUM, args=list(QUIET))
        yield opened
        opened.close()


@pytest.fixture
def page(browser: Browser, server: Server) -> Iterator[Page]:
    """A tab of its own at the width of a laptop; an error in its console fails the test."""
    context = browser.new_context(base_url=server.address, viewport={"width": 1440, "height": 900})
    tab = context.new_page()
    tab.set_default_timeout(60_000)
    said: list[str] = []

    def listen(message: ConsoleMessage) -> None:
        if message.type == "error":
            said.append(message.text)

    tab.on("console", listen)
    tab.on("pageerror", lambda error: said.append(str(error)))
    yield tab
    context.close()
    assert not said, f"the browser's console: {said}\nthe server: {''.join(server.output)}"


@pytest.fixture
def new_setup() -> Callable[[Page], tuple[int, int]]:
    """Makes a set-up of the demo GT at its baseline, so that no test stands on what another has turned."""

    def make(page: Page) -> tuple[int, int]:
        """Return the ids of car and set-up."""
        for car in range(1, 5):
            kept = page.request.get(f"/api/cars/{car}/setups").json()
            if any("front bar" in one["head"]["values"] for one in kept):
                break
        new = page.request.post(f"/api/cars/{car}/setups", data={"name": f"of a test {time.time_ns()}"})
        return car, int(new.json()["setup_id"])

    return make


@pytest.fixture
def lap_file(tmp_path: Path) -> Callable[[float], Path]:
    """Writes 2,000 latitudes and longitudes of an invented lap, 0.8 m off, with a jump to the north [m]."""
    return lambda jump: write_lap(tmp_path / "lap.csv", jump)


def write_lap(path: Path, jump: float) -> Path:
    """Write such a lap."""
    angle = np.linspace(0.0, 2.0 * np.pi, 2000, endpoint=False)
    radius = 250.0 + 60.0 * np.cos(3.0 * angle)
    noise = np.random.default_rng(0).normal(0.0, 0.8, (2, angle.size))
    north = radius * np.sin(angle) + noise[0]
    north[900:] += jump
    latitude = 51.0 + np.degrees(north / 6371009.0)
    east = radius * np.cos(angle) + noise[1]
    longitude = 7.0 + np.degrees(east / 6371009.0 / math.cos(math.radians(51.0)))
    rows = (f"{a:.7f},{b:.7f}" for a, b in zip(latitude, longitude, strict=True))
    path.write_text("lat,lon\n" + "\n".join(rows) + "\n", encoding="utf-8")
    return path
