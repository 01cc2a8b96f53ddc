"""Did it help: laps before and after a change, pasted or read, and what they tell."""

import asyncio

from fastapi import Request
from nicegui import Client, ui

from fourpatch.answers.trial_plan import TrialPlan
from fourpatch.app.answers.did_it_help import MOST_TEXT, HelpAsked, Helped, helped
from fourpatch.app.answers.files import decoded
from fourpatch.app.asking import Answered, ask, on_desk
from fourpatch.app.fault import fault_text
from fourpatch.app.frame import CAUTION, frame
from fourpatch.app.jobs import Job
from fourpatch.app.parts.button import button
from fourpatch.app.parts.choice import Choice
from fourpatch.app.parts.file_button import FileButton, GivenFile
from fourpatch.app.parts.job_bar import JobBar
from fourpatch.app.parts.lap_dots import lap_dots
from fourpatch.app.parts.plain_table import plain_table
from fourpatch.app.parts.setup_panel import SetupPanel
from fourpatch.app.shop import Shop
from fourpatch.app.state import Desk
from fourpatch.app.words import shown_text
from fourpatch.errors import FourpatchError
from fourpatch.picture.change_effect_words import (
    EFFECT_HEADS,
    effect_details,
    effect_row,
    effect_sentences,
    expectation_sentence,
)

_LEAD = (
    "Paste the lap times, a line for each run in the order driven, what you call the set-up before them. "
    "Put an x behind a lap that does not count. Best go back to the first set-up at the end: A, B, A."
)
_EXAMPLE = (
    "A: 1:38.2x 1:35.41 1:35.18 1:35.6 1:35.22 1:35.3\n"
    "B: 1:37.9x 1:34.9 1:34.81 1:37.2 (traffic) 1:34.98 1:34.77\n"
    "A: 1:37.0x 1:35.2 1:35.31 1:35.01 1:35.25"
)
_TABLE = (
    "A table does too: a head that names set-up and time, and run, note, fuel, sectors or corners where you "
    "have them."
)
_BESIDE = "Computed beside it"
_NO_CHANGE = (
    "A and B are alike: put B where the car stood after the change, and A where it stood before, and what "
    "that should do is computed beside what the laps tell."
)


def draw(shop: Shop, client: Client, request: Request) -> None:
    """Draw the page."""
    desk = shop.desk(request.query_params)
    with frame("/did-it-help", title="Did it help?", shop=shop, desk=desk):
        HelpPage(shop, desk)


class HelpPage:
    """The page's parts and what moves them."""

    def __init__(self, shop: Shop, desk: Desk) -> None:
        self._shop, self._desk = shop, desk
        self._text = ""
        self._helped: Helped | None = None
        self._track: int | None = None
        self._tracks = {"": "standard corners"}
        self._tracks |= {str(one.id): one.name for one in shop.notebook.tracks.listed()}
        with ui.element("div").classes("fp-bench"):
            SetupPanel(shop, desk)
            with ui.element("div").classes("fp-stack fp-answer"):
                self._draw_question()
                self._told = ui.element("div").classes("fp-stack")
                self._draw_beside()
                ui.label(CAUTION).classes("fp-small fp-soft")
        desk.changed.append(self._say_beside)
        self._say_beside()

    def _draw_question(self) -> None:
        with ui.element("section").classes("fp-card fp-stack").props('aria-label="Lap times"'):
            ui.html('<label for="fp-laps">Lap times before and after the change</label>', sanitize=False)
            ui.label(_LEAD).classes("fp-soft")
            self._laps = ui.element("textarea").classes("fp-field fp-laps")
            self._laps.props('id="fp-laps" rows="6" spellcheck="false"')
            self._laps._props["placeholder"] = _EXAMPLE
            self._laps.on(
                "input",
                lambda event: self._take(str(event.args)),
                js_handler="(event) => emit(event.target.value)",
            )
            ui.label(_TABLE).classes("fp-small fp-soft")
            with ui.element("div").classes("fp-row"):
                button("Did it help?", self._ask, tell="What these laps tell", main=True)
                FileButton(
                    "Read a file", self._read, tell="Lap times as text or CSV", accept=".txt,.csv,.tsv"
                )
                button("Show an example", lambda: self._put(_EXAMPLE), tell="Invented laps")
            self._fault = ui.label().classes("fp-warnbox").props('role="alert"')
            self._fault.set_visibility(False)

    def _draw_beside(self) -> None:
        with ui.element("section").classes("fp-card fp-stack").props(f'aria-label="{_BESIDE}"'):
            ui.html(_BESIDE, tag="h2", sanitize=True)
            self._change = ui.label().classes("fp-small")
            with ui.element("div").classes("fp-row"):
                Choice(
                    "Driven on", self._tracks, "", on_choose=self._take_track, tell="Whose lap is computed"
                )
                self._compute = button("Compute B against A", self._ask_beside, tell="What it should do")
            self._bar = JobBar(on_end=self._computed)
            self._beside = ui.label().props('role="status"')

    # Laps

    def _take(self, text: str) -> None:
        self._text = text[: MOST_TEXT + 1]

    def _put(self, text: str) -> None:
        self._take(text)
        self._laps._props["value"] = text
        self._laps.update()

    async def _read(self, files: list[GivenFile]) -> None:
        for content in decoded({one.name: one.content for one in files}).values():
            self._put(content)
        await self._ask()

    async def _ask(self) -> None:
        self._fault.set_visibility(False)
        try:
            if len(self._text) > MOST_TEXT:
                raise FourpatchError(f"More than {MOST_TEXT} signs. Leave some runs out.")
            self._helped = await asyncio.to_thread(helped, HelpAsked(laps=self._text))
        except FourpatchError as error:
            self._fault.set_text(fault_text(error))
            self._fault.set_visibility(True)
            return
        self._show(self._helped)

    def _show(self, told: Helped) -> None:
        found = told.found
        self._beside.set_text("")
        self._told.clear()
        with (
            self._told,
            ui.element("section").classes("fp-card fp-stack").props('aria-label="What the laps tell"'),
        ):
            first, *more = effect_sentences(found)
            ui.label(first).classes("fp-told").props('role="status"')
            for sentence in more:
                ui.label(sentence)
            lap_dots(told.laps, found)
            with ui.element("details").classes("fp-fold"):
                ui.html("Numbers, and what they rest on", tag="summary", sanitize=True)
                with ui.element("div").classes("fp-scroll"):
                    plain_table(
                        EFFECT_HEADS,
                        [[shown_text(cell) for cell in effect_row(one)] for one in (found.lap, *found.parts)],
                        caption="Change of the time, and the interval that holds it in nine of ten cases",
                        numbers=range(1, 5),
                    )
                for sentence in effect_details(found):
                    ui.label(shown_text(sentence)).classes("fp-small")

    # What was computed

    def _take_track(self, key: str) -> None:
        self._track = int(key) if key else None

    def _say_beside(self) -> None:
        differing = self._desk.differing()
        names = ", ".join(name for name, _, _ in differing)
        self._change.set_text(f"Changed from A to B: {names}." if differing else _NO_CHANGE)
        self._compute.set_enabled(bool(differing))

    def _ask_beside(self) -> None:
        if self._helped is None:
            self._beside.set_text("First paste the laps, above.")
            return
        desk = self._desk
        plan = TrialPlan.model_construct(scatter=self._helped.found.lap.scatter)
        job = ask(self._shop.jobs, plan, on_desk(self._shop, desk, self._track, before=desk.a))
        if job.over:
            self._computed(job)
        else:
            self._compute.set_enabled(False)
            self._bar.follow(job)

    def _computed(self, job: Job) -> None:
        self._say_beside()
        if job.state == "failed":
            self._beside.set_text(job.error)
        if isinstance(job.result, Answered) and self._helped is not None:
            plan = job.result.answer.source
            self._beside.set_text(
                expectation_sentence(
                    self._helped.found,
                    effect=plan.effect,
                    computed_by=plan.computed_by,
                    timed=plan.timed,
                    on_a_track=plan.timed == "a lap",
                )
            )
