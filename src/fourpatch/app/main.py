"""The server of the app: on this machine only, on a port of its own."""

import asyncio
import contextlib
import logging
import socket
import webbrowser
from collections.abc import Callable

import uvicorn
from fastapi import APIRouter, FastAPI
from nicegui import core, ui

from fourpatch import __version__
from fourpatch.app.api.base import base_routes
from fourpatch.app.api.bench import bench_routes
from fourpatch.app.api.bumps import bumps_routes
from fourpatch.app.api.cars import car_routes
from fourpatch.app.api.complaints import complaint_routes
from fourpatch.app.api.corner import corner_routes
from fourpatch.app.api.cure import cure_routes
from fourpatch.app.api.faults import answer_faults
from fourpatch.app.api.jobs import jobs_routes
from fourpatch.app.api.lap import lap_routes
from fourpatch.app.api.notebook import notebook_routes
from fourpatch.app.api.rules import rules_routes
from fourpatch.app.api.setups import setup_routes
from fourpatch.app.api.styles import style_routes
from fourpatch.app.api.tracks import track_routes
from fourpatch.app.api.trade_off import trade_off_routes
from fourpatch.app.api.words import words_routes
from fourpatch.app.frame import PLACES
from fourpatch.app.guard import Guard
from fourpatch.app.nothing_open import NothingOpen
from fourpatch.app.pages.base import base_page
from fourpatch.app.pages.bench import bench_page
from fourpatch.app.pages.bumps import bumps_page
from fourpatch.app.pages.car import car_page
from fourpatch.app.pages.corner import corner_page
from fourpatch.app.pages.cure import cure_page
from fourpatch.app.pages.lap import lap_page
from fourpatch.app.pages.notebook import notebook_page
from fourpatch.app.pages.rules import rules_page
from fourpatch.app.pages.setup import setup_page
from fourpatch.app.pages.trade_off import trade_off_page
from fourpatch.app.parts.file_button import LARGEST
from fourpatch.app.shop import Shop
from fourpatch.errors import FourpatchError

HOST = "127.0.0.1"

LARGEST_MESSAGE = 2 * LARGEST
"""Bytes that a page may send at once: the largest file it takes, in letters."""

ROUTES: tuple[Callable[[Shop], APIRouter], ...] = (
    bench_routes,
    setup_routes,
    corner_routes,
    bumps_routes,
    lap_routes,
    cure_routes,
    base_routes,
    rules_routes,
    trade_off_routes,
    words_routes,
    jobs_routes,
    car_routes,
    track_routes,
    style_routes,
    complaint_routes,
    notebook_routes,
)
"""Of the API, one for each resource."""

PAGES: tuple[Callable[[Shop], None], ...] = (
    bench_page,
    setup_page,
    corner_page,
    bumps_page,
    lap_page,
    cure_page,
    base_page,
    car_page,
    notebook_page,
    rules_page,
    trade_off_page,
)
"""Each adds its page."""

NEED_A_SETUP = tuple(place.path for place in PLACES if place.path not in ("/car", "/notebook"))
"""Pages that show nothing while no set-up is there."""


def make_server(shop: Shop, port: int) -> FastAPI:
    """Return the app of one shop, its pages and its API, guarded for a port."""
    server = FastAPI(
        title="Fourpatch",
        version=__version__,
        description="What the pages do. Numbers are SI unless a name says otherwise; axes are ISO 8855.",
        openapi_url="/api/openapi.json",
        docs_url=None,
        redoc_url=None,
    )
    answer_faults(server)
    for routes in ROUTES:
        server.include_router(routes(shop))
    for page in PAGES:
        page(shop)
    ui.run_with(
        server,
        title="Fourpatch",
        favicon=_ICON,
        dark=None,
        language="en-US",
        tailwind=False,
        show_welcome_message=False,
        reconnect_timeout=30.0,
        binding_refresh_interval=None,
    )
    core.sio.eio.max_http_buffer_size = LARGEST_MESSAGE
    server.add_middleware(NothingOpen, notebook=shop.notebook, paths=NEED_A_SETUP)
    server.add_middleware(Guard, port=port)
    return server


def free_socket(port: int | None) -> socket.socket:
    """Return a listening place on the loopback: a given port, or any that is free.

    Raises
    ------
    FourpatchError
        If the port is taken or not ours to take.
    """
    place = socket.socket(socket.AF_INET, socket.SOCK_STREAM)
    place.setsockopt(socket.SOL_SOCKET, socket.SO_REUSEADDR, 1)
    try:
        place.bind((HOST, port or 0))
    except OSError as error:
        place.close()
        raise FourpatchError(
            f"--port {port}: cannot be used ({error.strerror}). Leave it out to take a free one."
        ) from None
    return place


def _is_no_answer(record: logging.LogRecord) -> bool:
    """Return whether a record is news: what a page refuses with its reason stands on the page already."""
    return not (record.exc_info and isinstance(record.exc_info[1], FourpatchError))


def serve(shop: Shop, *, port: int | None, show: bool, say: Callable[[str], None]) -> None:
    """Serve until interrupted.

    Parameters
    ----------
    port : to listen at; any free one if None.
    show : whether to open a browser.
    say : is told the address, once the server answers.
    """
    place = free_socket(port)
    taken = int(place.getsockname()[1])
    address = f"http://{HOST}:{taken}/"
    logging.getLogger("nicegui").setLevel(logging.WARNING)
    logging.getLogger("nicegui").addFilter(_is_no_answer)
    config = uvicorn.Config(
        make_server(shop, taken), log_level="warning", lifespan="on", timeout_graceful_shutdown=2
    )
    server = uvicorn.Server(config)

    async def run() -> None:
        serving = asyncio.create_task(server.serve(sockets=[place]))
        while not server.started and not serving.done():
            await asyncio.sleep(0.02)
        if server.started:
            say(address)
            warming = asyncio.create_task(asyncio.to_thread(shop.warm_up))
            if show:
                await asyncio.to_thread(webbrowser.open, address)
        await serving
        if server.started:
            await warming

    with contextlib.suppress(KeyboardInterrupt):
        asyncio.run(run())
    shop.close()


_ICON = (
    "data:image/svg+xml,%3Csvg xmlns='http://www.w3.org/2000/svg' viewBox='0 0 22 22'%3E"
    "%3Cg fill='%230b6b4b'%3E%3Cellipse cx='5' cy='5' rx='3' ry='4.2'/%3E"
    "%3Cellipse cx='17' cy='5' rx='2' ry='2.8'/%3E%3Cellipse cx='5' cy='17' rx='3.6' ry='4.8'/%3E"
    "%3Cellipse cx='17' cy='17' rx='2.6' ry='3.5'/%3E%3C/g%3E%3C/svg%3E"
)
