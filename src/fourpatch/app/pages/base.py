"""A sound base to begin from: every value with its reason, and the range in which it hardly matters."""

from fastapi import Request
from nicegui import Client, ui

from fourpatch.advice.base_targets import StyleName
from fourpatch.app.answers.base import KIND, BaseAnswer, BaseFound, CostFound, start_base
from fourpatch.app.answers.cure import car_key
from fourpatch.app.frame import CAUTION, frame
from fourpatch.app.jobs import Job
from fourpatch.app.parts.bars import Bar, Kind, bars
from fourpatch.app.parts.button import button
from fourpatch.app.parts.choice import Choice
from fourpatch.app.parts.first_read import draw_first
from fourpatch.app.parts.job_bar import JobBar
from fourpatch.app.parts.plain import plain
from fourpatch.app.parts.plain_table import plain_table
from fourpatch.app.parts.setup_panel import SetupPanel
from fourpatch.app.shop import Shop
from fourpatch.app.state import Desk
from fourpatch.app.words import capital
from fourpatch.car.scale_words import standing_at

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
        self._answer: BaseAnswer | None = None
        self._style: StyleName = "neutral"
        self._track: int | None = None
        self._draw()
        last = shop.jobs.latest(KIND, car_key(desk.car_id))
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
        desk, tracks = self._desk, self._shop.notebook.tracks
        self._fault.set_visibility(False)
        track = None if self._track is None else tracks.read(self._track)
        self._follow(start_base(self._shop.jobs, desk.car_id, desk.car, desk.b, self._style, track=track))

    def _follow(self, job: Job) -> None:
        if job.over:
            self._ended(job)
        else:
            self._bar.follow(job)

    def _ended(self, job: Job) -> None:
        if job.error:
            self._fault.set_text(job.error)
            self._fault.set_visibility(True)
        if isinstance(job.result, BaseAnswer):
            self._show(job.result)

    def _show(self, answer: BaseAnswer) -> None:
        self._answer = answer
        self._result.clear()
        with self._result:
            with _card("What it means"):
                plain(f"A base for {answer.occasion}, style {answer.style}", "h2")
                if answer.first_read is not None:
                    draw_first(answer.first_read)
                moved = any(one.position != one.before for one in answer.values)
                if moved:
                    _draw_picture(answer)
                with ui.element("div").classes("fp-row"):
                    tried = button(
                        "Try all of it",
                        lambda: self._try(answer.setup),
                        tell="Put every value into B",
                        main=True,
                    )
                    tried.set_enabled(moved)
                    button("Undo", self._desk.undo, tell="Take the last change of B back")
                for note in answer.notes:
                    ui.label(note).classes("fp-small")
                with ui.element("details").classes("fp-fold fp-stack"):
                    ui.html("In numbers: what it aims at, gains and costs", tag="summary", sanitize=True)
                    for said in (capital(answer.meaning), answer.drive, answer.targets):
                        ui.label(said).classes("fp-small")
                    _draw_cost(answer)
                    _draw_turns(answer)
            with _card("Every value and why"):
                ui.html("What to change, and why", tag="h2", sanitize=True)
                self._draw_values([one for one in answer.values if one.position != one.before])
                with ui.element("details").classes("fp-fold fp-stack"):
                    ui.html("What stays as it is, and why", tag="summary", sanitize=True)
                    self._draw_values([one for one in answer.values if one.position == one.before])

    def _draw_values(self, values: list[BaseFound]) -> None:
        for one in values:
            with ui.element("div").classes("fp-value"):
                self._draw_value(one)

    def _draw_value(self, one: BaseFound) -> None:
        moved = one.position != one.before
        plain(one.adjuster, "h3")
        before, after = (standing_at(at, one.unit) for at in (one.before, one.position))
        ui.label(f"{before} → {after}" if moved else f"stays at {before}").classes("fp-num")
        around = f"hardly matters from {one.around}" if one.low is not None else "not searched"
        ui.label(around).classes("fp-small fp-soft fp-num")
        if moved:
            tried = button("Try it", lambda: self._try({one.adjuster: one.position}))
            tried._props["aria-label"] = f"Try it: {one.adjuster} {after}"
        ui.label(one.because).classes("fp-small fp-value-why")

    def _try(self, values: dict[str, float]) -> None:
        b = self._desk.b
        self._desk.put(b.model_copy(update={"values": {**b.values, **values}}))


def _draw_picture(answer: BaseAnswer) -> None:
    """Draw what the set-up given and this one cost, part by part."""
    given, found = answer.costs[0], answer.costs[-1]
    rows = []
    kinds: tuple[tuple[str, CostFound, Kind], ...] = (("as given", given, "a"), ("with this", found, "b"))
    seen = [part for part in found.parts if max(given.parts[part], found.parts[part]) >= _SEEN]
    for part in seen:
        for name, cost, kind in kinds:
            value = cost.parts[part]
            rows.append(
                Bar(name=f"{capital(part)}, {name}", pieces=[(value, kind)], told=f"{value:.2f} points")
            )
    bars(
        rows, caption="Grip that is not to be had, in points: as given, and with this set-up; less is better"
    )


def _draw_cost(answer: BaseAnswer) -> None:
    parts = list(answer.costs[0].parts)
    plain_table(
        ["set-up", *parts, "total"],
        [
            [one.name, *(f"{one.parts[part]:.2f}" for part in parts), f"{one.total:.2f}"]
            for one in answer.costs
        ],
        caption="Cost [points]: hundredths of the grip the tyres could have; less is better",
        numbers=range(1, len(parts) + 2),
    )
    phases = list(answer.balance[0].given)
    plain_table(
        ["corner", *phases],
        [
            [f"{one.corner}, {name}", *(f"{values[phase]:+.1f}" for phase in phases)]
            for one in answer.balance
            for name, values in (("as given", one.given), ("this set-up", one.found))
        ],
        caption=f"Balance [points]: above 0 the front runs out of grip first; sought {answer.sought:+g}",
        numbers=range(1, len(phases) + 1),
    )


def _draw_turns(answer: BaseAnswer) -> None:
    plain_table(
        ["corner", "cornering [m/s²]", "as given", "this set-up"],
        [
            [
                one.corner,
                f"{one.lateral_acceleration:.1f}",
                f"{one.given:+.2f}",
                "not held" if one.found is None else f"{one.found:+.2f}",
            ]
            for one in answer.turns
        ],
        caption="Driven in steady turns: how fast a disturbance grows [1/s]; below 0 it dies away",
        numbers=range(1, 4),
    )


def _card(name: str) -> ui.element:
    """Return a named part of the page."""
    return ui.element("section").classes("fp-card fp-stack").props(f'aria-label="{name}"')
