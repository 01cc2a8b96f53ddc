"""The trade-off: quicker or calmer, and what there is to choose from."""

from collections.abc import Sequence
from html import escape
from math import prod
from urllib.parse import urlencode

from fastapi import Request
from nicegui import Client, ui

from fourpatch.advice.trade_off import (
    MOST_LAPS,
    MOST_SETUPS,
    OBJECTIVES,
    TradeOff,
    recounted,
    usual_adjusters,
)
from fourpatch.answers.trade_off import TradeOffs
from fourpatch.app.asking import Answered, ask, on_desk
from fourpatch.app.frame import CAUTION, frame
from fourpatch.app.jobs import Job
from fourpatch.app.parts.button import button
from fourpatch.app.parts.job_bar import JobBar
from fourpatch.app.parts.plain import plain
from fourpatch.app.parts.setup_panel import SetupPanel
from fourpatch.app.parts.term import term_html
from fourpatch.app.parts.trade_board import TradeBoard
from fourpatch.app.shop import Shop
from fourpatch.app.state import Desk
from fourpatch.app.words import capital, shown_text
from fourpatch.car.adjusters import Adjuster, adjuster
from fourpatch.car.car import Car
from fourpatch.picture.trade_off_words import trade_off_how, trade_off_meaning

_LEAD = (
    f"Choose what you are willing to turn. Every combination of its steps is then computed for "
    f"{term_html('pace', 'pace')}, {term_html('grip on bumps', 'bumps')}, "
    f"{term_html('calmness', 'calmness')}, {term_html('scatter', 'scatter')} and "
    f"{term_html('tyre work', 'tyre work')}, so that you see what one costs in the others, and what B can "
    "have for nothing."
)
MOST_ADJUSTERS = 6
"""Adjusters that are traded at once; of more a sample says little."""
_EMPTY = (
    "Nothing computed yet for this car. Press Compute: two anti-roll bars take ten seconds or some more, on "
    "a track or with more adjusters it is minutes. You can leave the page meanwhile, and stop it at any time."
)


def draw(shop: Shop, client: Client, request: Request) -> None:
    """Draw the page."""
    desk = shop.desk(request.query_params)
    with frame("/trade-off", title="Trade-off", shop=shop, desk=desk):
        TradeOffPage(shop, desk)


class TradeOffPage:
    """The page's parts and what moves them."""

    def __init__(self, shop: Shop, desk: Desk) -> None:
        self._shop, self._desk = shop, desk
        self._answered: Answered | None = None
        self._found: TradeOff | None = None
        """With what counts now."""
        self._board: TradeBoard | None = None
        self._shown = ""
        """Id of the job whose answer is shown."""
        self._running = False
        self._track: int | None = None
        last = shop.jobs.latest(TradeOffs.command, f"{desk.car_id}:")
        known = last.result if last and isinstance(last.result, Answered) else None
        names = {one.name for one in desk.car.adjusters}
        before = [one.name for one in known.answer.source.adjusters] if known else []
        self._chosen = [name for name in before if name in names] or usual_adjusters(desk.car)
        if known:
            self._track = known.subject.track
        self._counted = list(known.answer.source.objectives) if known else list(OBJECTIVES)
        with ui.element("div").classes("fp-bench"):
            SetupPanel(shop, desk)
            with ui.element("div").classes("fp-stack fp-answer-first"):
                self._draw_question()
                self._place = ui.element("section").classes("fp-card fp-stack")
                self._place.props('aria-label="What there is to choose from"')
                with self._place:
                    ui.label(_EMPTY).classes("fp-soft")
                ui.label(CAUTION).classes("fp-small fp-soft")
        desk.changed.append(self._follow_b)
        self._say_choice()
        if last is not None:
            self._follow(last)

    # The question

    def _draw_question(self) -> None:
        with ui.element("section").classes("fp-card fp-stack").props('aria-label="What to trade"'):
            ui.html(_LEAD, tag="p", sanitize=False)
            with ui.element("details") as choice:
                with ui.element("summary"):
                    self._named = ui.html("", tag="span", sanitize=False)
                for system in dict.fromkeys(one.system for one in self._desk.car.adjusters):
                    with ui.element("fieldset").classes("fp-trade-system"):
                        plain(capital(system), "legend")
                        with ui.element("div").classes("fp-trade-choice"):
                            for one in self._desk.car.adjusters:
                                if one.system == system:
                                    self._draw_box(one.name)
            choice.props('aria-label="Adjusters that may be turned"')
            with ui.element("fieldset").classes("fp-trade-system"):
                plain("What counts", "legend")
                with ui.element("div").classes("fp-row"):
                    for name in OBJECTIVES:
                        self._draw_objective(name)
            with ui.element("div").classes("fp-row"):
                with ui.element("label"):
                    ui.html("Pace is ", tag="span", sanitize=True)
                    select = ui.element("select").classes("fp-select")
                    with select:
                        _option("", "grip used in the standard corners", chosen=self._track is None)
                        for track in self._shop.notebook.tracks.listed():
                            _option(
                                str(track.id), f"lap time on {track.name}", chosen=track.id == self._track
                            )
                    select.on("change", lambda event: self._choose_track(str(event.args)), js_handler=_VALUE)
                self._compute = button("Compute", self._ask, tell="Compute what can be had", main=True)
                self._bar = JobBar(on_end=self._ended, on_part=self._show)
            self._said = ui.label().classes("fp-small fp-soft").props('role="status"')
            self._fault = ui.label().classes("fp-warnbox").props('role="alert"')
            self._fault.set_visibility(False)

    def _draw_objective(self, name: str) -> None:
        with ui.element("label"):
            box = ui.element("input").props('type="checkbox"')
            if name in self._counted:
                box._props["checked"] = True
            box.on("change", lambda event: self._count(name, bool(event.args)), js_handler=_CHECKED)
            plain(name)

    def _count(self, name: str, wanted: bool) -> None:
        """Count an objective or not, in what is shown and in what is computed next."""
        counted = {*self._counted, name} if wanted else {*self._counted} - {name}
        self._counted = [one for one in OBJECTIVES if one in counted]
        self._say_choice()
        if self._found is not None and self._counted:
            self._draw_answer(self._found, anew=False)

    def _draw_box(self, name: str) -> None:
        with ui.element("label"):
            box = ui.element("input").props('type="checkbox"')
            if name in self._chosen:
                box._props["checked"] = True
            box.on("change", lambda event: self._choose(name, bool(event.args)), js_handler=_CHECKED)
            plain(name)

    def _choose(self, name: str, wanted: bool) -> None:
        chosen = {*self._chosen, name} if wanted else {*self._chosen} - {name}
        self._chosen = [one.name for one in self._desk.car.adjusters if one.name in chosen]
        self._say_choice()

    def _choose_track(self, value: str) -> None:
        self._track = int(value) if value.isdigit() else None
        self._say_choice()

    def _say_choice(self) -> None:
        count = len(self._chosen)
        names = escape(", ".join(self._chosen) or "nothing")
        self._named.set_content(
            f'To turn: <b>{names}</b> · <span class="fp-trade-others">choose others</span>'
        )
        if count > MOST_ADJUSTERS:
            self._said.set_text(f"{count} adjusters are chosen; choose at most {MOST_ADJUSTERS}.")
        else:
            self._said.set_text(setups_words(self._desk.car, self._chosen, self._most()))
        if not self._counted:
            self._said.set_text("Let at least one of pace, bumps, calmness, scatter and tyre work count.")
        ready = 0 < count <= MOST_ADJUSTERS and bool(self._counted)
        self._compute.set_enabled(ready and not self._running)

    # The answer

    def _ask(self) -> None:
        self._say_fault("")
        asked = TradeOffs(adjusters=tuple(self._chosen), objectives=tuple(self._counted))
        self._follow(ask(self._shop.jobs, asked, on_desk(self._shop, self._desk, self._track)))

    def _most(self) -> int:
        """Return how many set-ups are computed at most."""
        return MOST_SETUPS if self._track is None else MOST_LAPS

    def _follow(self, job: Job) -> None:
        if job.over:
            self._ended(job)
        else:
            self._running = True
            self._say_choice()
            self._bar.follow(job)

    def _ended(self, job: Job) -> None:
        self._running = False
        self._say_choice()
        self._say_fault(job.error)
        self._show(job)
        if self._found is not None:
            self._compute.set_text("Go on computing" if self._found.stopped else "Compute")

    def _show(self, job: Job) -> None:
        """Show what a job has found so far: a plot that grows if it is the same job as before."""
        if isinstance(job.result, Answered):
            same, self._shown = job.id == self._shown, job.id
            self._answered = job.result
            self._draw_answer(job.result.answer.source, anew=not same)

    def _draw_answer(self, found: TradeOff, *, anew: bool) -> None:
        if list(found.objectives) != self._counted:
            found = recounted(found, self._counted)
        self._found = found
        if anew or self._board is None:
            self._place.clear()
            with self._place:
                plain(f"What there is to choose from: {found.occasion.name}", "h2")
                self._meaning = ui.label()
                self._stale = ui.label().classes("fp-warnbox").props('role="status"')
                self._board = TradeBoard(found, on_try=self._try, held=self._held())
                for note in found.occasion.notes:
                    ui.label(shown_text(note)).classes("fp-small fp-soft")
                self._how = ui.label().classes("fp-small fp-soft")
                ui.html(
                    f'<a class="fp-button" href="/?{urlencode(self._desk.query())}" '
                    'onclick="this.search = location.search">See B on the bench</a>',
                    sanitize=False,
                )
        else:
            self._board.show(found, held=self._held())
        self._meaning.set_text(capital(shown_text(trade_off_meaning(found))))
        self._how.set_text(shown_text(trade_off_how(found)))
        self._follow_b()

    def _try(self, place: int) -> None:
        """Put a computed set-up into B, all its adjusters as they stood when it was computed."""
        if self._found is None:
            return
        then = {one.name: self._stood(one) for one in self._desk.car.adjusters}
        picked = zip(self._found.adjusters, self._found.points[place].positions, strict=True)
        values = {**self._desk.b.values, **then, **{one.name: at for one, at in picked}}
        self._desk.put(self._desk.b.model_copy(update={"values": values}))

    def _stood(self, one: Adjuster) -> float:
        """Return where an adjuster stood when it was computed."""
        about = self._answered.subject.about if self._answered else None
        return (about.setup if about else self._desk.b).position(one)

    def _held(self) -> int | None:
        """Return the place of the set-up that B stands at."""
        found = self._found
        if found is None or self._others_moved():
            return None
        here = tuple(self._desk.b.position(one) for one in found.adjusters)
        return next((place for place, one in enumerate(found.points) if one.positions == here), None)

    def _others_moved(self) -> list[str]:
        if self._found is None:
            return []
        traded = {one.name for one in self._found.adjusters}
        return [
            one.name
            for one in self._desk.car.adjusters
            if one.name not in traded and self._desk.b.position(one) != self._stood(one)
        ]

    def _follow_b(self) -> None:
        if self._board is None:
            return
        self._board.hold(self._held())
        moved = self._others_moved()
        self._stale.set_visibility(bool(moved))
        if moved:
            self._stale.set_text(
                f"B has changed since in {', '.join(moved)}: this is of B as it stood then. Compute again, "
                "or try a set-up to go back to how it stood."
            )

    def _say_fault(self, text: str) -> None:
        self._fault.set_text(text)
        self._fault.set_visibility(bool(text))


def setups_words(car: Car, names: Sequence[str], most: int) -> str:
    """Say how many set-ups a choice of adjusters makes, and how many of them are computed."""
    if not names:
        return "Choose at least one adjuster."
    sizes = [len(adjuster(car, name).positions()) for name in names]
    possible = prod(sizes)
    counted = f"{' × '.join(map(str, sizes))} = {possible:,}" if len(sizes) > 1 else f"{possible}"
    part = "all are computed" if possible <= most else f"a sample and its best neighbours, at most {most}"
    return f"{counted} set-ups: {part}."


_VALUE = "(e) => emit(e.target.value)"
_CHECKED = "(e) => emit(e.target.checked)"


def _option(value: str, text: str, *, chosen: bool) -> None:
    option = ui.element("option").props(f'value="{value}"')
    if chosen:
        option._props["selected"] = True
    with option:
        plain(text)
