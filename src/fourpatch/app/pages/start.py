"""The first page: three doors, what A, B and a point are, and a search over pages, settings and words."""

from html import escape
from typing import NamedTuple
from urllib.parse import urlencode

from fastapi import Request
from nicegui import Client, ui

from fourpatch.app.answers.ready import ready_answer
from fourpatch.app.frame import PLACES, frame
from fourpatch.app.parts.finder import Findable, Finder
from fourpatch.app.parts.ready_table import draw_ready
from fourpatch.app.shop import Shop
from fourpatch.app.state import Desk
from fourpatch.app.words import capital
from fourpatch.errors import NotebookError

_WHAT = (
    "Turn a setting of your car here and see what it really does: to the load on each tyre, to which end "
    "runs out of grip first in each part of a corner, and on a lap. Computed from the physics of your car, "
    "with how sure it is."
)


class Door(NamedTuple):
    """A way in."""

    path: str
    name: str
    says: str


DOORS = (
    Door(
        "/car?new",
        "My own car",
        "Ten numbers that you know make it; then a table for what your garage screen shows. Five minutes.",
    ),
    Door(
        "/cure",
        "A complaint",
        'Say it in your words, "pushes at mid-corner", and read what to turn, how sure, and what it costs.',
    ),
    Door(
        "/",
        "Look round",
        "An invented demo car is on the bench: move a slider, and the car, its loads and balance answer.",
    ),
)

_TOUR = '<button type="button" class="fp-button fp-tour-begin">A tour of two minutes</button>'
"""What it says and does is in parts/tour.head.js."""

_ANSWER_HEAD = (
    '<h2 id="fp-ready-head">What an answer looks like: the end that runs out of grip first, and what a turn '
    "of one setting moves</h2>"
)

_FIRST_WORDS = (
    (
        "A and B",
        "B is the set-up in hand, what the sliders show. A is the one it is compared with, grey and dashed.",
    ),
    (
        "point",
        "A hundredth of an axle's grip. Front 5 points: the front uses 5 hundredths more of its grip than "
        "the rear, so it runs out first, and the car pushes.",
    ),
)


def draw(shop: Shop, client: Client, request: Request) -> None:
    """Draw the page."""
    desk: Desk | None = None
    try:
        desk = shop.desk(request.query_params)
    except NotebookError:  # a first car is still to be made
        pass
    with frame("/start", title="Start", shop=shop, desk=desk), ui.element("div").classes("fp-page fp-stack"):
        with ui.element("section").classes("fp-card fp-stack").props('aria-label="What this is"'):
            ui.label(_WHAT).classes("fp-start-what")
            ui.html(_doors(desk), sanitize=False)
            if desk is not None:  # it needs a car to turn
                with ui.element("div").classes("fp-row"):
                    ui.html(_TOUR, sanitize=False)
        with ui.element("section").classes("fp-card").props('aria-labelledby="fp-first-words"'):
            ui.html(f'<h2 id="fp-first-words">Two words you meet at once</h2>{_words()}', sanitize=False)
        with ui.element("section").classes("fp-card fp-stack").props('aria-labelledby="fp-ready-head"'):
            ui.html(_ANSWER_HEAD, sanitize=False)
            draw_ready(ready_answer())
        with ui.element("section").classes("fp-card fp-stack").props('aria-labelledby="fp-find-head"'):
            ui.html('<h2 id="fp-find-head">Find a page, a setting or a word</h2>', sanitize=False)
            Finder(_findable(desk))
            ui.label("The key ? leads here from every page.").classes("fp-small fp-soft")


def _doors(desk: Desk | None) -> str:
    carried = urlencode(desk.query()) if desk else ""
    items = []
    for door in DOORS:
        path, _, query = door.path.partition("?")
        both = "&".join(filter(None, (query, carried)))
        items.append(
            f'<li><a class="fp-door" href="{path}{"?" if both else ""}{both}"><b>{escape(door.name)}</b>'
            f"<span>{escape(door.says)}</span></a></li>"
        )
    return f'<ul class="fp-doors">{"".join(items)}</ul>'


def _words() -> str:
    rows = (f"<dt>{escape(word)}</dt><dd>{escape(says)}</dd>" for word, says in _FIRST_WORDS)
    return f'<dl class="fp-start-words">{"".join(rows)}</dl>'


def _findable(desk: Desk | None) -> list[Findable]:
    """Return pages and the open car's settings; words come by themselves."""
    carried = f"?{urlencode(desk.query())}" if desk else ""
    found = [
        Findable(kind="page", name=place.name, says=place.question, path=f"{place.path}{carried}")
        for place in PLACES
        if place.path != "/start"
    ]
    for one in desk.car.adjusters if desk else ():
        says = f"{capital(one.more_means)}. On the bench."
        found.append(Findable(kind="setting", name=capital(one.name), says=says, path=f"/{carried}"))
    return found
