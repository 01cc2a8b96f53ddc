"""The complaint: typed or chosen, answered with the smallest changes that cure it, tried and confirmed."""

from collections.abc import Iterable, Mapping
from functools import partial
from typing import Any, Literal
from urllib.parse import urlencode

from fastapi import Request
from nicegui import Client, ui

from fourpatch.advice.change_set import ChangeSet
from fourpatch.advice.complaint_text import EXAMPLES
from fourpatch.advice.cure import Cure
from fourpatch.advice.trial_plan import SessionPlan
from fourpatch.answers.confirm import run_again
from fourpatch.answers.cure import MOST_TEXT, WhatCures, moved_to
from fourpatch.answers.trial_plan import SCATTER, TrialPlan
from fourpatch.app.answers.complaint_read import ComplaintChosen, read_answer
from fourpatch.app.answers.confirm import start_confirm
from fourpatch.app.answers.cure_sheet import SheetKind, start_sheet
from fourpatch.app.answers.files import TakenFile
from fourpatch.app.answers.good_setups import good_setups
from fourpatch.app.answers.said import (
    keep_answer,
    keep_said,
    keep_trial,
    said_of,
    said_with,
    summary,
)
from fourpatch.app.asking import Answered, ask, on_desk, question_key
from fourpatch.app.frame import CAUTION, frame
from fourpatch.app.jobs import Job
from fourpatch.app.parts.bars import Bar, Kind, bars
from fourpatch.app.parts.button import button
from fourpatch.app.parts.choice import Choice
from fourpatch.app.parts.complaint_form import ComplaintForm
from fourpatch.app.parts.first_read import draw_first
from fourpatch.app.parts.job_bar import JobBar
from fourpatch.app.parts.plain import plain
from fourpatch.app.parts.plain_table import plain_table
from fourpatch.app.parts.said_blocks import blocks_html
from fourpatch.app.parts.said_list import SaidList
from fourpatch.app.parts.setup_panel import SetupPanel
from fourpatch.app.shop import Shop
from fourpatch.app.state import Desk
from fourpatch.app.words import capital, shown_text
from fourpatch.car.scale_words import from_to
from fourpatch.car.setup import Setup
from fourpatch.document.digest import digest
from fourpatch.errors import FourpatchError
from fourpatch.face.cure_blocks import drive_blocks, elsewhere_blocks, helping_blocks, measured_blocks
from fourpatch.face.cured import Cured
from fourpatch.picture.blocks import Block, Table
from fourpatch.picture.cure_words import (
    NO_LEVER,
    changes_text,
    course_text,
    limits_text,
    outcome,
    sets_note,
    sureness_text,
    unit_text,
    value_text,
)
from fourpatch.picture.first_change_words import follow_up, question_choices, question_text, what_then
from fourpatch.picture.trial_plan_words import plan_sections

_LEAD = (
    "Say it in a driver's words, or choose below. Every adjuster of the car is then tried in the corners, "
    "bumps and kerbs behind the complaint, and the smallest changes that cure it come first, each with what "
    "it costs."
)
_GOOD = "With which it did not do it: the changes then lead back towards that set-up, and no farther"
_TRACK = "With a track its corners can be named by number: pushes on entry in turn 3"
_UNTOUCHED = (
    "B stands as it did when you asked. Press Try it on a set above, or turn steppers by hand; Confirm then "
    "runs the car as it stood and as it stands, side by side."
)

_OWN_MOTION = (
    "Asked of one set-up, the answer takes its motion from that set-up; the bench takes it from the car as "
    "written, so that far from there the two may differ a little."
)

_NOTHING_SAID = (
    "Nothing yet. What you ask here is kept with the set-up it was said of, and so is what you try. Come "
    "back after the session and say what came of it."
)
_NOT_KEPT = (
    "The complaint is not written in the notebook: B itself is not, see above its sliders. The cure is "
    "looked for all the same."
)
_SHEET = (
    "The answer on one or two pages: the complaint, a picture of where it is and what moves it, what to turn "
    "and its price, how sure that is, and the test plan with the scatter above."
)
_SHEETS: dict[SheetKind, str] = {"a4": "PDF, A4", "letter": "PDF, Letter", "html": "One HTML file"}
_USUAL_SCATTER = TrialPlan().scatter
_MOST_SAID = 12
"""Complaints that the page lists."""


def draw(shop: Shop, client: Client, request: Request) -> None:
    """Draw the page."""
    desk = shop.desk(request.query_params)
    with frame("/cure", title="Complaint", shop=shop, desk=desk):
        CurePage(shop, desk, asked=request.query_params.get("question", "")[:MOST_TEXT])


class CurePage:
    """The page's parts and what moves them."""

    def __init__(self, shop: Shop, desk: Desk, *, asked: str) -> None:
        self._shop, self._desk = shop, desk
        self._answered: Answered | None = None
        self._asked = asked
        self._tracks = {"": "standard corners, a rough road and a kerb"}
        self._tracks |= {str(one.id): one.name for one in shop.notebook.tracks.listed()}
        self._track: int | None = None
        self._good = ""
        last = shop.jobs.latest(WhatCures.command, f"{desk.car_id}:")
        if not asked and last is not None and isinstance(last.result, Answered):
            self._asked = last.result.answer.source.reading.typed
        self._draw()
        self._read(self._asked)
        desk.changed.append(self._say_changed)
        if last is not None and not asked:
            self._follow(last)

    # Layout

    def _draw(self) -> None:
        with ui.element("div").classes("fp-bench"):
            self._panel = SetupPanel(self._shop, self._desk)
            with ui.element("div").classes("fp-stack fp-answer"):
                with _card("Complaint"):
                    ui.label(_LEAD).classes("fp-soft")
                    self._form = ComplaintForm(
                        start=self._asked, on_typed=self._read, on_chose=self._chose, on_asked=self._ask
                    )
                    with ui.element("div").classes("fp-row"):
                        Choice("Driven on", self._tracks, "", on_choose=self._take_track, tell=_TRACK)
                        Choice(
                            "It was good with",
                            good_setups(self._shop.notebook, self._desk.car_id, self._desk.head),
                            "",
                            on_choose=self._take_good,
                            tell=_GOOD,
                        )
                    self._bar = JobBar(on_end=self._ended, on_part=self._ended)
                    self._fault = ui.label().classes("fp-warnbox").props('role="alert"')
                with _card("What to change") as self._what:
                    self._head, self._sets, self._rest = (
                        ui.element("div").classes("fp-stack") for _ in range(3)
                    )
                self._what.set_visibility(False)
                self._draw_trial()
                self._draw_sheets()
                self._more = ui.element("div").classes("fp-stack")
                with self._more, _card("Nothing asked yet"):
                    ui.label(
                        "Nothing asked yet. Begin with one of these, or with your own words; two complaints "
                        "may be joined by a comma."
                    )
                    with ui.element("div").classes("fp-row"):
                        for text in EXAMPLES:
                            button(text, partial(self._take, text), tell="Write this complaint above")
                with _card("Said of this car before"):
                    ui.html("Said of this car before", tag="h2", sanitize=True)
                    self._unsaid = ui.label(_NOTHING_SAID).classes("fp-small fp-soft")
                    self._said = ui.element("div").classes("fp-stack fp-close")
                    self._older = ui.html("", tag="p", sanitize=False)
                    self._said_list = SaidList(
                        self._shop.notebook,
                        by=self._desk.window,
                        on_change=self._draw_said,
                        on_again=self._take,
                    )
                ui.label(CAUTION).classes("fp-small fp-soft")
        self._fault.set_visibility(False)
        self._draw_said()

    def _draw_trial(self) -> None:
        with _card("Try and confirm") as self._trial:
            ui.html("Try, confirm, plan", tag="h2", sanitize=True)
            self._changed = ui.label().classes("fp-wide").props('role="status"')
            with ui.element("div").classes("fp-row"):
                self._confirm = button(
                    "Confirm", self._ask_confirm, tell="Run the car as it stood and as it stands", main=True
                )
                self._back = button("Undo", self._desk.undo, tell="Take the last change of B back")
                ui.html(
                    f'<a class="fp-button" href="/?{urlencode(self._desk.query())}" '
                    'onclick="this.search = location.search">See it on the bench</a>',
                    sanitize=False,
                )
            self._confirm_bar = JobBar(on_end=self._confirmed)
            self._confirm_place = ui.element("div").classes("fp-stack")
            with ui.element("div").classes("fp-row"):
                with ui.element("label").classes("fp-small fp-row"):
                    ui.html("Your laps scatter by", sanitize=True)
                    self._scatter = ui.element("input").classes("fp-field fp-num fp-scatter")
                    self._scatter.props('type="number" min="0.01" step="0.05"')
                    self._scatter.props(f'max="{SCATTER.high:g}"')
                    self._scatter._props["^value"] = f"{_USUAL_SCATTER:g}"  # a start only
                    ui.html("s (standard deviation of a lap time)", sanitize=True)
                self._plan = button(
                    "Plan the test", self._ask_plan, tell="Laps before and after, what to watch"
                )
            self._plan_bar = JobBar(on_end=self._planned)
            self._plan_place = ui.element("div").classes("fp-plan")
        self._seconds = _USUAL_SCATTER
        self._scatter.on("input", self._scattered, js_handler="(event) => emit(event.target.valueAsNumber)")
        self._trial.set_visibility(False)

    def _draw_sheets(self) -> None:
        with _card("Print or send") as self._sheets:
            plain("Print or send", "h2")
            ui.label(_SHEET).classes("fp-small fp-soft")
            with ui.element("div").classes("fp-row"):
                for kind, text in _SHEETS.items():
                    button(text, partial(self._ask_sheet, kind), tell="The answer with its test plan")
                self._sheet_bar = JobBar(on_end=self._made)
            self._sheet_fault = ui.label().classes("fp-warnbox").props('role="alert"')
        self._sheet_fault.set_visibility(False)
        self._sheets.set_visibility(False)

    # Asking

    def _read(self, text: str) -> None:
        self._form.show(read_answer(text))

    def _take_track(self, key: str) -> None:
        self._track = int(key) if key else None

    def _take_good(self, key: str) -> None:
        self._good = key

    def _opened_good(self) -> Setup | None:
        if not self._good:
            return None
        return self._desk.a if self._good == "a" else self._shop.notebook.setups.opened(int(self._good)).setup

    @property
    def _answer(self) -> Cured | None:
        """The answer that is shown."""
        return None if self._answered is None else self._answered.answer.source

    def _take(self, text: str) -> None:
        self._form.put(text)
        self._read(text)

    def _chose(self, parts: Mapping[str, str]) -> None:
        if not parts.get("behaviour"):
            return
        self._take(ComplaintChosen.model_validate(parts).text())

    async def _ask(self, text: str) -> None:
        desk = self._desk
        self._say_fault("")
        try:
            asked = on_desk(self._shop, desk, self._track, good=self._opened_good())
            job = ask(self._shop.jobs, WhatCures(complaint=text), asked)
            self._keep_said(text, job)
        except FourpatchError as error:
            self._say_fault(str(error))
            return
        self._follow(job)

    def _follow(self, job: Job) -> None:
        if job.over:
            self._ended(job)
        else:
            self._bar.follow(job)

    def _ended(self, job: Job) -> None:
        if job.state == "failed":
            self._say_fault(job.error)
        if isinstance(job.result, Answered):
            self._show(job.result, stopped=job.state == "cancelled")
        if job.over:
            self._draw_said()

    def _say_fault(self, text: str) -> None:
        self._fault.set_text(text)
        self._fault.set_visibility(bool(text))

    # The answer

    def _show(self, answered: Answered, *, stopped: bool) -> None:
        if answered is self._answered:
            return
        before, self._answered = self._answer, answered
        answer: Cured = answered.answer.source
        found = answer.cure
        self._what.set_visibility(True)
        self._head.clear()
        with self._head:
            self._draw_head(answer)
        if before is None or before.cure is not found:  # else a press just made would be lost
            self._forget_trial()
            self._sets.clear()
            with self._sets:
                self._draw_sets(found)
        self._rest.clear()
        with self._rest:
            _draw_rest(answer, stopped=stopped)
        self._more.clear()
        with self._more:
            _draw_why(answer)
            _draw_levers(answer)
            if not found.first:
                _draw_limits(found)
        self._trial.set_visibility(not found.first)
        self._sheets.set_visibility(not found.first)
        self._say_changed()

    def _draw_head(self, answer: Cured) -> None:
        found = answer.cure
        complaint = "; ".join(one.complaint.text() for one in found.targets)
        where = f", on {found.course.name}" if found.course.lap else ""
        plain(f"What to change against {complaint}{where}", "h2")
        if answer.first_read is not None:
            draw_first(answer.first_read)
        for target, said in zip(found.targets, measured_blocks(found), strict=True):
            if found.shows(target) is False:
                ui.label(shown_text(said.text)).classes("fp-warnbox")
        if found.sets:
            _draw_picture(found)
        self._draw_question(found)
        then = list(follow_up(found))
        if then:
            with ui.element("ul").classes("fp-stack fp-close").props('aria-label="And then"'):
                for one in then:
                    plain(one, "li")

    def _draw_sets(self, found: Cure) -> None:
        if found.sets and sets_note(found):
            ui.label(shown_text(sets_note(found)))
        for place, one in enumerate(found.sets, start=1):
            with ui.element("article").classes(f"fp-set fp-set-{_tone(one)}"):
                self._draw_set(place, one, found)

    def _draw_question(self, found: Cure) -> None:
        """Draw what is asked back, with the complaints to choose from."""
        question = question_text(found)
        if not question or found.first:
            return
        ui.label(shown_text(question))
        with ui.element("div").classes("fp-row"):
            for text in question_choices(found):
                button(text, partial(self._take, text), tell="Write this complaint above")

    def _draw_set(self, place: int, one: ChangeSet, found: Cure) -> None:
        title = changes_text(found, one)
        with ui.element("div").classes("fp-set-head"):
            plain(f"{place}. {title}", "h3")
            ui.label(_state(one, found)).classes("fp-chip").classes(f"fp-chip-{_tone(one)}")
            tried = button("Try it", lambda: self._try(one), tell="Put these changes into B")
            tried._props["aria-label"] = f"Try it: {title}"
        with _fold("What it does and costs, in numbers"):
            for said in outcome(found, one):
                ui.label(shown_text(said)).classes("fp-small")

    # Kept in the notebook

    def _keep_said(self, text: str, job: Job) -> None:
        """Keep what is asked as said of the set-up as it stands, and the answer once it is there."""
        version = self._kept_version()
        if version is None:
            self._say_fault(_NOT_KEPT)
            return
        said = keep_said(self._shop.notebook, version, text, by=self._desk.window)
        job.when_over(partial(keep_answer, self._shop.notebook, said.id))
        self._draw_said()

    def _kept_version(self) -> int | None:
        """Return the version that B is in the notebook, or None if it cannot be kept there."""
        self._panel.keep_now()
        desk = self._desk
        return desk.head if dict(desk.b.values) == dict(desk.kept.values) else None

    def _draw_said(self) -> None:
        notebook, desk = self._shop.notebook, self._desk
        complaints = notebook.complaints.listed(desk.car_id)
        listed, older = complaints[:_MOST_SAID], len(complaints) - _MOST_SAID
        self._unsaid.set_visibility(not complaints)
        self._said_list.keep_only(listed)
        with self._said:
            for place, one in enumerate(listed):
                drawn = self._said_list.draw(one, of=said_with(notebook, one), car=desk.car)
                if self._said.default_slot.children[place] is not drawn:
                    drawn.move(target_index=place)
        self._older.set_visibility(older > 0)
        self._older.set_content(
            f'{older} older ones are on the page <a href="/notebook?{urlencode(desk.query())}">Notebook</a>.'
        )

    # Trying and confirming

    def _try(self, one: ChangeSet) -> None:
        answer, desk, notebook = self._answer, self._desk, self._shop.notebook
        if answer is None:
            return
        before = self._kept_version()
        b, changes = desk.b, moved_to(answer.cure, one)
        desk.put(b.model_copy(update={"values": {**b.values, **answer.setup.values, **changes}}))
        said = said_of(notebook, desk.car_id, answer)
        if said is None and before is not None:  # the question was put elsewhere, which keeps nothing
            said = keep_said(notebook, before, answer.reading.typed, by=desk.window)
            notebook.complaints.answered(said.id, summary(answer).model_dump(mode="json"))
        if said is not None:
            keep_trial(notebook, said.id, changes, version_id=self._kept_version(), by=desk.window)
            self._draw_said()

    def _say_changed(self) -> None:
        if self._answer is None:
            return
        before, b = self._answer.setup, self._desk.b
        moved = [
            f"{one.name} {from_to(before.position(one), b.position(one), one.unit)}"
            for one in self._desk.car.adjusters
            if before.position(one) != b.position(one)
        ]
        self._changed.set_text(f"B now differs by: {'; '.join(moved)}." if moved else _UNTOUCHED)
        self._confirm.set_enabled(bool(moved))
        self._plan.set_enabled(bool(moved))
        self._back.set_enabled(self._desk.can_undo)
        self._forget_trial()

    def _forget_trial(self) -> None:
        self._confirm_place.clear()
        self._plan_place.clear()

    def _ask_confirm(self) -> None:
        if self._answered is None:
            return
        job = start_confirm(self._shop.jobs, self._answered, self._desk.b)
        self._confirm_bar.follow(job)

    def _confirmed(self, job: Job) -> None:
        self._confirm_place.clear()
        with self._confirm_place:
            if job.error:
                ui.label(job.error).classes("fp-warnbox").props('role="alert"')
            elif self._answer is not None and isinstance(job.result, Answered):
                _draw_blocks(run_again(self._answer.cure, job.result.answer.source))

    # Planning

    def _scattered(self, event: Any) -> None:
        value = event.args
        valid = isinstance(value, int | float) and SCATTER.low <= value <= SCATTER.high
        self._seconds = float(value) if valid else 0.0

    def _ask_plan(self) -> None:
        if self._answer is None:
            return
        if not self._seconds:
            self._plan_place.clear()
            with self._plan_place:
                ui.label(f"The scatter must be above 0 and at most {SCATTER.high:g} s.").classes("fp-warnbox")
            return
        before = self._answer.setup
        subject = on_desk(self._shop, self._desk, self._track, before=before)
        self._plan_bar.follow(ask(self._shop.jobs, TrialPlan(scatter=self._seconds), subject))

    def _ask_sheet(self, kind: SheetKind) -> None:
        answered = self._answered
        if answered is None:
            return
        scatter = self._seconds or _USUAL_SCATTER
        cured: Cured = answered.answer.source
        key = digest(question_key(answered.question, answered.subject), cured.drawn, bool(cured.drive))
        self._sheet_bar.follow(
            start_sheet(self._shop.jobs, key, cured, kind, track=answered.subject.on, scatter=scatter)
        )

    def _made(self, job: Job) -> None:
        self._sheet_fault.set_text(job.error)
        self._sheet_fault.set_visibility(bool(job.error))
        if isinstance(job.result, TakenFile):
            ui.download.content(job.result.content, job.result.name, job.result.media_type)

    def _planned(self, job: Job) -> None:
        self._plan_place.clear()
        with self._plan_place:
            if job.error:
                ui.label(job.error).classes("fp-warnbox").props('role="alert"')
            elif isinstance(job.result, Answered):
                _draw_plan(job.result.answer.source, f"{self._desk.car.name}, set-up {self._desk.b.name}")


def _tone(one: ChangeSet) -> Literal["broken", "good", "part"]:
    return "broken" if one.broken else "good" if one.cured else "part"


def _state(one: ChangeSet, found: Cure) -> str:
    """Say in a word what a set comes to."""
    return {"broken": "costs too much", "good": _good(found), "part": "helps"}[_tone(one)]


def _good(found: Cure) -> str:
    """Say in a word what a set that does all that is wanted comes to."""
    return "enough to feel" if "felt" in found.sized_by else "cures it"


def _draw_rest(answer: Cured, *, stopped: bool) -> None:
    found = answer.cure
    _draw_standing(answer, stopped=stopped)
    for said in what_then(found):
        ui.label(shown_text(said)).classes("fp-small")
    with _fold("In numbers: what was measured, and how sure it is"):
        for said in filter(None, (course_text(found), *(one.text for one in measured_blocks(found)))):
            ui.label(shown_text(said)).classes("fp-small")
        ui.label(_OWN_MOTION).classes("fp-small")
        for said in sureness_text(found, answer.sureness) if answer.drawn else ():
            ui.label(shown_text(said)).classes("fp-small")


def _draw_standing(answer: Cured, *, stopped: bool) -> None:
    """Say how far the answer is, where that is not the end."""
    if stopped:
        said = "Stopped; what was known by then is shown."
    elif answer.cure.first:
        said = "A first, coarse ranking stands below; sets of changes are being computed."
    elif not answer.sets and not answer.cure.levers:
        said = NO_LEVER
    elif not answer.complete:
        said = "Why it works and how sure it is, is still being computed."
    else:
        return
    ui.label(said).classes("fp-soft").props('role="status"')


def _draw_why(answer: Cured) -> None:
    if answer.reasons or answer.drive:
        with _folded("Why the first set does it"):
            for one in answer.reasons:
                ui.label(shown_text(one.sentence))
            _draw_blocks(drive_blocks(answer.cure, answer.drive))


def _draw_levers(answer: Cured) -> None:
    found = answer.cure
    if not found.levers:
        return
    table, *notes = helping_blocks(answer)
    assert isinstance(table, Table)
    with _folded("What one step of each adjuster does", opened=found.first or not found.sets):
        plain_table(
            [head.in_a_line() for head in table.heads],
            table.rows,
            caption=table.title,
            numbers=range(1, len(table.heads)),
            bars=[one.share / found.levers[0].share for one in found.levers[: len(table.rows)]],
        )
        _draw_blocks(notes)
        with _fold("What the same step changes elsewhere"):
            _draw_blocks(elsewhere_blocks(found))


def _draw_limits(found: Cure) -> None:
    limits = list(limits_text(found))
    if limits:
        with _folded("What adjusters cannot do"):
            for said in limits:
                ui.label(shown_text(said)).classes("fp-small")


def _draw_blocks(blocks: Iterable[Block]) -> None:
    ui.html(blocks_html(list(blocks)), sanitize=False)


def _draw_picture(found: Cure) -> None:
    """Draw how much of the first complaint is left with each set; the numbers are those of the sets."""
    target = found.targets[0]
    present, aim = found.present(target), found.present(target) - target.sign * found.wanted[0]

    def bar(name: str, value: float, kind: Kind) -> Bar:
        return Bar(name=name, pieces=[(value, kind)], told=f"{value_text(value, target)} {unit_text(target)}")

    rows = [bar("as it stands", present, "a")]
    rows += [
        bar(f"with set {place}", one.confirmed[0], _tone(one))
        for place, one in enumerate(found.sets, start=1)
    ]
    same_side = all(value * present >= 0.0 for value in (*(one.confirmed[0] for one in found.sets), aim))
    bars(
        rows,
        caption=f"{capital(target.meaning)}: as it stands, and with each set below",
        mark=(abs(aim), f"{_good(found)} from here on") if same_side else None,
    )


def _draw_plan(found: SessionPlan, title: str) -> None:
    with ui.element("div").classes("fp-row"):
        ui.html("Plan for the next session", tag="h3", sanitize=True)
        printing = button("Print", lambda: ui.run_javascript("window.print()"), tell="Print the plan alone")
        printing.classes("fp-noprint")
    ui.label(title).classes("fp-small fp-soft")
    for heading, sentences in plan_sections(found):
        with ui.element("div").classes("fp-plan-part"):
            plain(heading, "h4")
            with ui.element("div"):
                for sentence in sentences:
                    ui.label(shown_text(sentence))
    ui.label(CAUTION).classes("fp-small fp-soft")


def _card(name: str) -> ui.element:
    """Return a named part of the page."""
    return ui.element("section").classes("fp-card fp-stack").props(f'aria-label="{name}"')


def _fold(title: str) -> ui.element:
    """Return a part that is opened on demand."""
    fold = ui.element("details").classes("fp-fold")
    with fold:
        plain(title, "summary")
    return fold


def _folded(title: str, *, opened: bool = False) -> ui.element:
    """Return a card that is opened on demand by its heading."""
    fold = ui.element("details").classes("fp-card fp-stack fp-folded")
    if opened:
        fold.props("open")
    with fold, ui.element("summary"):
        plain(title, "h2")
    return fold
