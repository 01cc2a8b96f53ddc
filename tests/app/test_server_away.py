"""What a driver has turned and typed outlives a server that stops answering, or ends."""

import os
import signal
import tempfile
import time
from collections.abc import Callable, Iterator
from pathlib import Path

import pytest
from playwright.sync_api import Browser, Page, expect

from .conftest import Server

pytestmark = pytest.mark.skipif(os.name == "nt", reason="signals of POSIX stop the server here")

NewSetup = Callable[[Page], tuple[int, int]]


Start = Callable[[int | None], Server]


@pytest.fixture
def start() -> Iterator[Start]:
    """Starts servers of one notebook, one after the other, at a port; the last one is stopped in the end."""
    started: list[Server] = []
    with tempfile.TemporaryDirectory() as folder:

        def begin(port: int | None) -> Server:
            started.append(Server(Path(folder) / "notebook.sqlite", port=port))
            return started[-1]

        yield begin
        started[-1].signal(signal.SIGCONT)
        started[-1].stop()


@pytest.fixture
def tab(browser: Browser) -> Iterator[Page]:
    """A tab whose console may speak of lost connections."""
    context = browser.new_context(viewport={"width": 1440, "height": 900})
    yield context.new_page()
    context.close()


def opened(tab: Page, server: Server, path: str) -> str:
    """Open a page with the set-up of the demo GT and return its address in the API."""
    tab.goto(f"{server.address}{path}")
    bar = tab.get_by_role("slider", name="Front bar", exact=True)
    expect(bar).to_be_visible()
    tab.wait_for_function("window.socket && window.socket.connected")
    setup = tab.evaluate("new URL(location).searchParams.get('setup')")
    return f"{server.address}/api/setups/{setup}"


def kept_bar(tab: Page, setup: str) -> float:
    return float(tab.request.get(setup).json()["head"]["values"]["front bar"])


def wait_for_bar(tab: Page, setup: str, position: float) -> None:
    deadline = time.monotonic() + 30.0
    while kept_bar(tab, setup) != position:
        assert time.monotonic() < deadline, f"the notebook has {kept_bar(tab, setup)}, not {position}"
        tab.wait_for_timeout(100)


def test_a_server_that_hangs_gets_the_turn_when_it_goes_on(tab: Page, start: Start) -> None:
    server = start(None)
    setup = opened(tab, server, "/setup")
    begun = kept_bar(tab, setup)
    bar = tab.get_by_role("slider", name="Front bar", exact=True)
    server.signal(signal.SIGSTOP)
    bar.press("ArrowRight")
    away = tab.get_by_role("alert").filter(has_text="does not answer")
    expect(away).to_be_visible()
    tab.keyboard.press("ArrowRight")  # nothing takes it
    expect(tab.locator("#app[inert]")).to_have_count(1)
    server.signal(signal.SIGCONT)
    expect(away).to_have_count(0)
    expect(bar).to_have_value(f"{begun + 1:g}")
    expect(tab.locator("#app[inert]")).to_have_count(0)
    wait_for_bar(tab, setup, begun + 1)


def test_a_server_started_anew_gets_what_the_old_one_had_not_kept(tab: Page, start: Start) -> None:
    server = start(None)
    setup = opened(tab, server, "/cure")
    begun = kept_bar(tab, setup)
    said = tab.get_by_label("What does the car do that it should not?")
    said.fill("pushes at mid-corner")
    tab.get_by_role("slider", name="Front bar", exact=True).press("ArrowRight")
    server.signal(signal.SIGKILL)
    server.close()
    expect(tab.get_by_role("alert").filter(has_text="does not answer")).to_be_visible()
    start(server.port)
    expect(tab.get_by_text(f"front bar {begun:g} → {begun + 1:g}")).to_be_visible()
    expect(tab.get_by_role("slider", name="Front bar", exact=True)).to_have_value(f"{begun + 1:g}")
    expect(said).to_have_value("pushes at mid-corner")
    expect(tab.get_by_role("alert").filter(has_text="does not answer")).to_have_count(0)
    wait_for_bar(tab, setup, begun + 1)
