"""A sound base to begin from: every value with its reason, and the range in which it hardly matters."""

from collections.abc import Mapping

from fastapi import Request
from nicegui import Client, ui

from fourpatch.advice.base_setup import BaseSetup, BaseValue
from fourpatch.advice.base_targets import StyleName
from fourpatch.advice.grip_cost import PARTS
from fourpatch.answers.base import SoundBase, base_in_numbers, base_notes
from fourpatch.app.asking import Answered, ask, on_desk
from fourpatch.app.frame import CAUTION, frame
from fourpatch.app.jobs import Job
from fourpatch.app.parts.bars import Bar, Kind, bars
from fourpatch.app.parts.button import button
from fourpatch.app.parts.choice import Choice
from fourpatch.app.parts.first_read import draw_first
from fourpatch.app.parts.job_bar import JobBar
from fourpatch.app.parts.plain import plain
from fourpatch.app.parts.said_blocks import blocks_html
from fourpatch.app.parts.setup_panel import SetupPanel
from fourpatch.app.shop import Shop
from fourpatch.app.state import Desk
from fourpatch.app.words import capital, shown_text
from fourpatch.car.scale_words import standing_at
from fourpatch.errors import FourpatchError
from fourpatch.picture.base_first import first_of_base
from fourpatch.picture.base_words import around_text, because_text
from fourpatch.picture.shown import pretty

_LEAD = (
    "A set-up to begin with: stated targets (ride frequency, roll, load transfer, damping, balance) put into "
    "this car's own steps, then refined by running it in corners, over bumps and a kerb. Every value says "
    "why, and how far you may move it before it matters."
)
_BALANCE = (
    "This is the balance aimed at. A style of the notebook says how a driver steers, brakes and opens the "
    "throttle; the base does not depend on it, the driven lap does."
)
_SEEN = 0.05
"""Points of a part of the cost below which it is not drawn."""

_STYLES: dict[StyleName, str] = {
    "calm": "calm: 3 points of understeer",
    "neutral": "neutral: 1.5 points of understeer",
    "lively": "lively: none",
}


def draw(shop: Shop, client: Client, request: Request) -> None:
    """Draw the page."""
    desk = shop.desk(request.query_params)
    with frame("/base", title="Sound base", shop=shop, desk=desk):
        BasePage(shop, desk)


class BasePage:
    """The page's parts and what moves them."""

    def __init__(self, shop: Shop, desk: Desk) -> None:
        self._shop, self._desk = shop, desk
        self._style: StyleName = "neutral"
        self._track: int | None = None
        self._draw()
        last = shop.jobs.latest(SoundBase.command, f"{desk.car_id}:")
        if last is not None:
            self._follow(last)

    def _draw(self) -> None:
        with ui.element("div").classes("fp-bench"):
            SetupPanel(self._shop, self._desk)
            with ui.element("div").classes("fp-stack fp-answer"):
                with _card("Find a base"):
                    ui.html("Where to begin", tag="h2", sanitize=True)
                    ui.label(_LEAD).classes("fp-soft")
                    with ui.element("div").classes("fp-row"):
                        Choice(
                            "The driver wants it",
                            {str(name): said for name, said in _STYLES.items()},
                            self._style,
                            on_choose=self._take_style,
                        )
                        tracks = {str(one.id): one.name for one in self._shop.notebook.tracks.listed()}
                        Choice(
                            "For",
                            {"": "standard corners, a rough road and a kerb", **tracks},
                            "",
                            on_choose=self._take_track,
                            tell="Where it is to be driven: a track's corners, surface and kerbs count then",
                        )
                        button(
                            "Find a sound base",
                            self._ask,
                            tell="Takes a minute or more: search, then driven laps",
                            main=True,
                        )
                    ui.label(_BALANCE).classes("fp-small fp-soft")
                    self._bar = JobBar(on_end=self._ended)
                    self._fault = ui.label().classes("fp-warnbox").props('role="alert"')
                self._result = ui.element("div").classes("fp-stack")
                with self._result:
                    ui.label(
                        "Nothing computed yet. It starts from B as it stands and changes nothing by itself."
                    ).classes("fp-card fp-soft")
                ui.label(CAUTION).classes("fp-small fp-soft")
        self._fault.set_visibility(False)

    def _take_style(self, style: str) -> None:
        self._style = next(one for one in _STYLES if one == style)

    def _take_track(self, key: str) -> None:
        self._track = int(key) if key else None

    def _ask(self) -> None:
        self._say_fault("")
        asked = on_desk(self._shop, self._desk, self._track)
        try:
            self._follow(ask(self._shop.jobs, SoundBase(style=self._style), asked))
        except FourpatchError as error:
            self._say_fault(str(error))

    def _say_fault(self, text: str) -> None:
        self._fault.set_text(text)
        self._fault.set_visibility(bool(text))

    def _follow(self, job: Job) -> None:
        if job.over:
            self._ended(job)
        else:
            self._bar.follow(job)

    def _ended(self, job: Job) -> None:
        self._say_fault(job.error)
        if isinstance(job.result, Answered):
            self._show(job.result.answer.source)

    def _show(self, found: BaseSetup) -> None:
        moved = [one for one in found.values if one.position != one.before]
        kept = [one for one in found.values if one.position == one.before]
        self._result.clear()
        with self._result:
            with _card("What it means"):
                plain(f"A base for {found.occasion.name}, style {found.targets.style.name}", "h2")
                draw_first(first_of_base(found))
                if moved:
                    _draw_picture(found)
                with ui.element("div").classes("fp-row"):
                    tried = button(
                        "Try all of it",
                        lambda: self._try(found.setup.values),
                        tell="Put every value into B",
                        main=True,
                    )
                    tried.set_enabled(bool(moved))
                    button("Undo", self._desk.undo, tell="Take the last change of B back")
                for note in base_notes(found):
                    ui.label(shown_text(note.text)).classes("fp-small")
                with ui.element("details").classes("fp-fold fp-stack"):
                    ui.html("In numbers: what it aims at, gains and costs", tag="summary", sanitize=True)
                    ui.html(blocks_html(list(base_in_numbers(found))), sanitize=False)
            with _card("Every value and why"):
                ui.html("What to change, and why", tag="h2", sanitize=True)
                self._draw_values(moved)
                with ui.element("details").classes("fp-fold fp-stack"):
                    ui.html("What stays as it is, and why", tag="summary", sanitize=True)
                    self._draw_values(kept)

    def _draw_values(self, values: list[BaseValue]) -> None:
        for one in values:
            with ui.element("div").classes("fp-value"):
                self._draw_value(one)

    def _draw_value(self, one: BaseValue) -> None:
        moved, name, unit = one.position != one.before, one.adjuster.name, pretty(one.adjuster.unit)
        plain(name, "h3")
        before, after = (standing_at(at, unit) for at in (one.before, one.position))
        ui.label(f"{before} → {after}" if moved else f"stays at {before}").classes("fp-num")
        around = f"hardly matters from {around_text(one)}" if one.low is not None else "not searched"
        ui.label(shown_text(around)).classes("fp-small fp-soft fp-num")
        if moved:
            tried = button("Try it", lambda: self._try({name: one.position}))
            tried._props["aria-label"] = f"Try it: {name} {after}"
        ui.label(shown_text(because_text(one))).classes("fp-small fp-value-why")

    def _try(self, values: Mapping[str, float]) -> None:
        b = self._desk.b
        self._desk.put(b.model_copy(update={"values": {**b.values, **values}}))


def _draw_picture(found: BaseSetup) -> None:
    """Draw what the set-up given and this one cost, part by part."""
    rows = []
    kinds: tuple[tuple[str, Kind], ...] = (("as given", "a"), ("with this", "b"))
    for part, *costs in zip(PARTS, found.given.parts[0], found.found.parts[0], strict=True):
        if max(costs) >= _SEEN:
            rows += [
                Bar(name=f"{capital(part)}, {name}", pieces=[(cost, kind)], told=f"{cost:.2f} points")
                for (name, kind), cost in zip(kinds, map(float, costs), strict=True)
            ]
    bars(
        rows, caption="Grip that is not to be had, in points: as given, and with this set-up; less is better"
    )


def _card(name: str) -> ui.element:
    """Return a named part of the page."""
    return ui.element("section").classes("fp-card fp-stack").props(f'aria-label="{name}"')
