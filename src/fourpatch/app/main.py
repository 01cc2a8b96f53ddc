"""The server of the app: its pages, and its API below /api/."""

import asyncio
import contextlib
import gc
import logging
import socket
from importlib import import_module

import uvicorn
from fastapi import FastAPI, Request
from nicegui import Client, core, ui
from starlette.types import ASGIApp

from fourpatch.app.fault import fault_text
from fourpatch.app.frame import PLACES, Place, frame
from fourpatch.app.guard import LOOPBACK, Guard
from fourpatch.app.house_code import AskCode, House
from fourpatch.app.later import Later
from fourpatch.app.nothing_open import NothingOpen
from fourpatch.app.parts.file_button import LARGEST
from fourpatch.app.shop import Shop
from fourpatch.errors import FourpatchError

LARGEST_MESSAGE = 2 * LARGEST
"""Bytes that a page may send at once: the largest file it takes, in letters."""

_REMEDY = (
    "The pages above still open. Choose another car or set-up at the top right, or go back to an earlier "
    "state of this one on the pages Car and Set-up; what was put away is on the notebook's page."
)

PATIENCE = 120.0
"""How long a page may take to be loaded and drawn before the browser is told of a fault. [s]"""

NEED_A_SETUP = tuple(
    place.path for place in PLACES if place.path not in ("/start", "/car", "/tracks", "/notebook")
)
"""Pages that show nothing while no set-up is there."""


def make_server(shop: Shop, port: int, house: House | None = None) -> FastAPI:
    """Return the app of one shop, its pages and its API, guarded for a port."""
    server = FastAPI(openapi_url=None)
    for place in PLACES:
        _add_page(shop, place)
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
    server.add_middleware(NothingOpen, can_open=shop.can_open, paths=NEED_A_SETUP)
    server.add_middleware(Later, below="/api/", make=lambda: _api(shop))
    if house is not None:
        server.add_middleware(AskCode, code=house.code)
    server.add_middleware(Guard, port=port, hosts=(*LOOPBACK, *([house.host] if house else [])))
    return server


def _add_page(shop: Shop, place: Place) -> None:
    """Add a page that is loaded when it is first opened."""

    @ui.page(place.path, response_timeout=PATIENCE)
    async def page(client: Client, request: Request) -> None:
        try:
            loaded = await asyncio.to_thread(import_module, place.module)
            loaded.draw(shop, client, request)
        except Exception as error:  # what is open cannot be read: the way to everything else stays
            _draw_fault(shop, place, client, error)


def _draw_fault(shop: Shop, place: Place, client: Client, error: Exception) -> None:
    """Draw the frame around what went wrong before the page was begun."""
    client.content.clear()
    with (
        client.content,
        frame(place.path, title=place.name, shop=shop),
        ui.element("div").classes("fp-page fp-stack"),
    ):
        ui.label(fault_text(error)).classes("fp-warnbox").props('role="alert"')
        ui.label(_REMEDY).classes("fp-small")


def _api(shop: Shop) -> ASGIApp:
    from fourpatch.app.api.service import make_api

    return make_api(shop)


def _load_the_rest(shop: Shop) -> None:
    """Make ready what the first page asks for, then load what it does not need."""
    shop.warm_up()
    for place in PLACES:
        import_module(place.module)
    shop.warm_up_advice()


def _is_no_answer(record: logging.LogRecord) -> bool:
    """Return whether a record is news: what a page refuses with its reason stands on the page already."""
    return not (record.exc_info and isinstance(record.exc_info[1], FourpatchError))


def serve(shop: Shop, place: socket.socket, house: House | None = None) -> None:
    """Serve until interrupted.

    Parameters
    ----------
    place : where to listen, as `address.listen` gives it.
    house : the same for other devices of the house, which are asked for a code.

    Notes
    -----
    What is loaded by then is never looked through for what could go; collecting begins, if it was off.
    """
    logging.getLogger("nicegui").setLevel(logging.WARNING)
    logging.getLogger("nicegui").addFilter(_is_no_answer)
    config = uvicorn.Config(
        make_server(shop, int(place.getsockname()[1]), house),
        log_level="warning",
        lifespan="on",
        proxy_headers=False,  # who asks is who is connected, whatever a request says of itself
        timeout_graceful_shutdown=2,
    )
    server = uvicorn.Server(config)
    gc.freeze()
    gc.enable()

    async def run() -> None:
        loading = asyncio.create_task(asyncio.to_thread(_load_the_rest, shop))
        await server.serve(sockets=[place, *([house.place] if house else [])])
        await loading

    with contextlib.suppress(KeyboardInterrupt):
        asyncio.run(run())
    shop.close()


_ICON = (
    "data:image/svg+xml,%3Csvg xmlns='http://www.w3.org/2000/svg' viewBox='0 0 22 22'%3E"
    "%3Cg fill='%230b6b4b'%3E%3Cellipse cx='5' cy='5' rx='3' ry='4.2'/%3E"
    "%3Cellipse cx='17' cy='5' rx='2' ry='2.8'/%3E%3Cellipse cx='5' cy='17' rx='3.6' ry='4.8'/%3E"
    "%3Cellipse cx='17' cy='17' rx='2.6' ry='3.5'/%3E%3C/g%3E%3C/svg%3E"
)
