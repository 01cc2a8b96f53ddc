"""The trade-off: quicker or calmer, and what there is to choose from."""

from html import escape
from urllib.parse import urlencode

from fastapi import Request
from nicegui import Client, ui

from fourpatch.advice.trade_off import OBJECTIVES
from fourpatch.app.answers.trade_off import (
    KIND,
    MOST_ADJUSTERS,
    TradeOffAnswer,
    recounted_answer,
    setups_words,
    start_trade_off,
    usual_adjusters,
)
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
from fourpatch.app.words import capital, true_minus

_LEAD = (
    f"Choose what you are willing to turn. Every combination of its steps is then computed for "
    f"{term_html('pace', 'pace')}, {term_html('grip on bumps', 'bumps')}, "
    f"{term_html('calmness', 'calmness')}, {term_html('scatter', 'scatter')} and "
    f"{term_html('tyre work', 'tyre work')}, so that you see what one costs in the others, and what B can "
    "have for nothing."
)
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
        self._answer: TradeOffAnswer | None = None
        self._board: TradeBoard | None = None
        self._shown = ""
        """Id of the job whose answer is shown."""
        self._running = False
        self._track: int | None = None
        last = shop.jobs.latest(KIND, f"{desk.car_id}:")
        known = last.result if last and isinstance(last.result, TradeOffAnswer) else None
        names = {one.name for one in desk.car.adjusters}
        chosen = [name for name in known.adjusters if name in names] if known else []
        self._chosen = chosen or usual_adjusters(desk.car)
        if known:
            self._track = known.track
        self._counted = known.objectives if known else list(OBJECTIVES)
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
        if self._answer is not None and self._counted:
            self._draw_answer(self._answer, anew=False)

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
            self._said.set_text(
                setups_words(self._desk.car, self._chosen, with_track=self._track is not None)
            )
        if not self._counted:
            self._said.set_text("Let at least one of pace, bumps, calmness, scatter and tyre work count.")
        ready = 0 < count <= MOST_ADJUSTERS and bool(self._counted)
        self._compute.set_enabled(ready and not self._running)

    # The answer

    def _ask(self) -> None:
        desk = self._desk
        track = None if self._track is None else (self._track, self._shop.notebook.tracks.read(self._track))
        self._say_fault("")
        job = start_trade_off(
            self._shop.jobs,
            desk.car_id,
            desk.car,
            desk.b,
            self._chosen,
            track=track,
            objectives=self._counted,
        )
        self._follow(job)

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
        if self._answer is not None:
            self._compute.set_text("Go on computing" if self._answer.stopped else "Compute")

    def _show(self, job: Job) -> None:
        """Show what a job has found so far: a plot that grows if it is the same job as before."""
        if isinstance(job.result, TradeOffAnswer):
            same, self._shown = job.id == self._shown, job.id
            self._draw_answer(job.result, anew=not same)

    def _draw_answer(self, answer: TradeOffAnswer, *, anew: bool) -> None:
        if answer.objectives != self._counted:
            answer = recounted_answer(answer, self._counted)
        self._answer = answer
        if anew or self._board is None:
            self._place.clear()
            with self._place:
                plain(f"What there is to choose from: {answer.occasion}", "h2")
                self._meaning = ui.label()
                self._stale = ui.label().classes("fp-warnbox").props('role="status"')
                self._board = TradeBoard(answer, on_try=self._try, held=self._held())
                for note in answer.notes:
                    ui.label(true_minus(note)).classes("fp-small fp-soft")
                self._how = ui.label().classes("fp-small fp-soft")
                ui.html(
                    f'<a class="fp-button" href="/?{urlencode(self._desk.query())}" '
                    'onclick="this.search = location.search">See B on the bench</a>',
                    sanitize=False,
                )
        else:
            self._board.show(answer, held=self._held())
        self._meaning.set_text(capital(true_minus(answer.meaning)))
        self._how.set_text(true_minus(answer.how))
        self._follow_b()

    def _try(self, place: int) -> None:
        """Put a computed set-up into B, all its adjusters as they stood when it was computed."""
        if self._answer is None:
            return
        values = {**self._desk.b.values, **self._answer.setup, **self._answer.setups[place].positions}
        self._desk.put(self._desk.b.model_copy(update={"values": values}))

    def _held(self) -> int | None:
        """Return the place of the set-up that B stands at."""
        answer, desk = self._answer, self._desk
        if answer is None or self._others_moved():
            return None
        here = {one.name: desk.b.position(one) for one in desk.car.adjusters if one.name in answer.adjusters}
        return next((place for place, one in enumerate(answer.setups) if one.positions == here), None)

    def _others_moved(self) -> list[str]:
        answer, desk = self._answer, self._desk
        if answer is None:
            return []
        return [
            one.name
            for one in desk.car.adjusters
            if one.name not in answer.adjusters and desk.b.position(one) != answer.setup.get(one.name)
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


_VALUE = "(e) => emit(e.target.value)"
_CHECKED = "(e) => emit(e.target.checked)"


def _option(value: str, text: str, *, chosen: bool) -> None:
    option = ui.element("option").props(f'value="{value}"')
    if chosen:
        option._props["selected"] = True
    with option:
        plain(text)
