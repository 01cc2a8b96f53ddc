"""What stands around every page: the way past the head, the name, the pages, the choice of light or dark."""

import json
from collections.abc import Iterator
from contextlib import contextmanager
from dataclasses import dataclass
from functools import partial
from html import escape
from urllib.parse import urlencode

from nicegui import Client, ui

from fourpatch.app.engine import PREPARING
from fourpatch.app.fault import fault_text
from fourpatch.app.parts.notice import notice
from fourpatch.app.parts.surviving import surviving
from fourpatch.app.shop import Shop
from fourpatch.app.state import Desk
from fourpatch.app.theme import head_html
from fourpatch.app.words import setup_names
from fourpatch.picture.caution import COMPUTED


@dataclass(frozen=True, slots=True)
class Place:
    """A page as the head names it."""

    path: str
    name: str
    question: str
    """What it answers; shown on hovering, and read after the name."""
    in_head: bool = True
    """Whether the head names it; else a page that does leads there."""
    short: str = ""
    """Word of its name that the head has room for; all of it if left out."""

    @property
    def module(self) -> str:
        """Of the page: its path, and the bench at the root."""
        return f"fourpatch.app.pages.{self.path.strip('/').replace('-', '_') or 'bench'}"


PLACES = (
    Place("/", "Bench", "What does this click do, everywhere at once?"),
    Place("/start", "Start", "What is this, where do I begin, and where is what?", in_head=False),
    Place("/setup", "Set-up", "What is changed, and since when?"),
    Place("/corner", "Corner", "Where is the load in each phase?"),
    Place("/bumps", "Bumps and kerbs", "Do the tyres stay on the road?", short="Bumps"),
    Place("/lap", "Track and lap", "What is it worth on a lap?", short="Lap"),
    Place("/tracks", "Tracks", "What track do I drive on, and how do I make my own?", in_head=False),
    Place("/base", "Base", "Where to begin with this car?"),
    Place("/cure", "Complaint", "What cures it, and what does that cost?"),
    Place("/did-it-help", "Did it help?", "What do the laps before and after a change tell?"),
    Place("/rules", "Rules of thumb", "Which of them hold for this car?", short="Rules"),
    Place("/lessons", "Lessons", "What does this part do, and how do I use it?"),
    Place(
        "/own-lesson",
        "Lessons of your own",
        "How do I make a lesson, give it away, or follow one that I was given?",
        in_head=False,
    ),
    Place("/trade-off", "Trade-off", "Quicker or calmer: what is there to choose from?"),
    Place("/questions", "More", "What else can be computed of it?"),
    Place("/car", "Car", "What does the tool know of the car?"),
    Place("/evidence", "Evidence", "What do I know of the real car, and what did that teach?", in_head=False),
    Place("/logbook", "Logbook", "What was driven, and what came of it?"),
    Place("/garage", "Garage screen", "Which settings does the car have, and on what scale?", in_head=False),
    Place("/notebook", "Notebook", "What is kept, and where?"),
)
"""The pages, in the order of the head."""

CAUTION = COMPUTED
"""What stands below what a page answers."""

_MARK = (
    '<svg width="22" height="22" viewBox="0 0 22 22" aria-hidden="true"><g fill="currentColor">'
    '<ellipse cx="5" cy="5" rx="3" ry="4.2"/><ellipse cx="17" cy="5" rx="2" ry="2.8"/>'
    '<ellipse cx="5" cy="17" rx="3.6" ry="4.8"/><ellipse cx="17" cy="17" rx="2.6" ry="3.5"/></g></svg>'
)


_AS_OPEN = "this.search = location.search"
"""A link to another page carries what is open now, which may differ from when the page was drawn."""


def _options(shop: Shop, desk: Desk | None) -> str:
    """Return all cars and set-ups to choose from, as HTML."""
    groups = []
    for car in shop.notebook.cars.listed():
        names = setup_names(shop.notebook.setups.listed(car.id))
        options = "".join(
            f'<option value="{one.id}"{" selected" if desk and one.id == desk.setup_id else ""}>'
            f"{escape(car.name)}: {escape(names[one.id])}</option>"
            for one in shop.notebook.setups.listed(car.id)
        )
        groups.append(f'<optgroup label="{escape(car.name)}">{options}</optgroup>')
    return "".join(groups)


def name_anew(client: Client, shop: Shop, desk: Desk | None) -> None:
    """Write the names in the head as they are now, after something was renamed, put away or brought back.

    Parameters
    ----------
    client : the page's; whatever was pressed may be gone from it by now.
    """
    client.run_javascript(
        f"document.querySelector('.fp-open').innerHTML = {json.dumps(_options(shop, desk))}"
    )


def _choice(shop: Shop, desk: Desk | None) -> str:
    """Return the choice of car and set-up, as HTML."""
    return (
        '<label class="fp-small"><span class="fp-hidden">Open</span> '
        '<select title="Car and set-up that are open" class="fp-select fp-open" '
        f"onchange=\"location.search = '?setup=' + this.value\">{_options(shop, desk)}</select></label>"
    )


def _head(here: str, shop: Shop, desk: Desk | None) -> str:
    """Return the head of every page, as HTML."""
    carried = f"?{urlencode(desk.query())}" if desk else ""
    marked = {here: ' aria-current="page"'}
    items = "".join(
        f'<li><a href="{place.path}{carried}" onclick="{_AS_OPEN}" title="{place.question}"'
        f"{marked.get(place.path, '')}{_named(place)}</a></li>"
        for place in PLACES
        if place.in_head
    )
    return (
        f'<header class="fp-head"><a class="fp-brand" href="/{carried}" onclick="{_AS_OPEN}">{_MARK}'
        f'Fourpatch</a><nav aria-label="Pages"><ul class="fp-nav">{items}</ul></nav>'
        '<span class="fp-spacer"></span>'
        f'<a class="fp-button fp-help" href="/start{carried}" onclick="{_AS_OPEN}" '
        'aria-label="Help and search" title="Help and search: the key ?">'
        f"?</a>{_choice(shop, desk)}{_LOOK}</header>"
    )


def _named(place: Place) -> str:
    """Return a link's end of its tag and its text: the short word is seen, the whole name is heard."""
    return f' aria-label="{place.name}">{place.short}' if place.short else f">{place.name}"


def _say_what_is_open(desk: Desk) -> str:
    """Return a script that puts what is open into the address, so that links and a reload keep A beside B."""
    puts = "".join(f"q.set('{key}', '{int(value)}');" for key, value in desk.query().items())
    return (
        f"<script>(() => {{ const q = new URLSearchParams(location.search); {puts}"
        "history.replaceState(history.state, '', '?' + q + location.hash); })()</script>"
    )


def _preparing(shop: Shop) -> None:
    """Say that the engine is being prepared, while it is."""
    with ui.element("div").classes("fp-strip") as strip:
        ui.label(PREPARING).props('role="status"')
        so_far = ui.label().classes("fp-soft").props('aria-hidden="true"')  # nobody wants seconds read out

    def look() -> None:
        strip.set_visibility(shop.engine.preparing)
        so_far.set_text(f"{shop.engine.spent:.0f} s so far")

    look()
    ui.timer(0.5, look)


def _seat(shop: Shop, desk: Desk, client: Client) -> None:
    """Give the desk of a page to the browser tab that shows it, known since it is connected."""
    if client.tab_id:
        shop.seat(desk, client.tab_id)


def _say_fault(error: Exception) -> None:
    """Show what went wrong on this page after it was drawn."""
    notice(fault_text(error), warning=True)


_LOOK = (
    '<label class="fp-small"><span class="fp-hidden">Look</span> <select class="fp-select fp-look" '
    'title="Light or dark" onchange="fpKeepLook(this.value)" id="fp-look-choice">'
    '<option value="system">auto</option><option value="light">light</option>'
    '<option value="dark">dark</option></select></label>'
)


@contextmanager
def frame(here: str, *, title: str, shop: Shop, desk: Desk | None = None) -> Iterator[None]:
    """Draw the frame; what is drawn inside is the page. If that fails, the frame stays and says so.

    Parameters
    ----------
    here : path of the page.
    title : of the browser's tab, and the page's heading for who cannot see it.
    desk : what is open; the links to the other pages carry it along.
    """
    ui.add_head_html(head_html())
    if desk:
        ui.add_head_html(_say_what_is_open(desk))
    ui.page_title(f"{title} · Fourpatch")
    ui.html('<a class="fp-skip" href="#fp-content">To the content</a>', sanitize=False)
    ui.html(_head(here, shop, desk), sanitize=False)
    _preparing(shop)
    ui.on_exception(_say_fault)
    if desk:
        ui.context.client.on_connect(partial(_seat, shop, desk))
    # The landmark of the main content is around all of it already.
    with ui.element("div").classes("fp-main-area").props('id="fp-content" tabindex="-1"'):
        ui.html(f'<h1 class="fp-hidden">{title}</h1>', sanitize=False)
        with surviving(f"The page {title}"):
            yield
