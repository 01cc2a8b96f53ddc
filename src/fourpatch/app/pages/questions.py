"""Everything else that can be asked of the car: one page for all questions, made from what they say."""

from typing import Any

from fastapi import Request
from nicegui import Client, ui
from pydantic import BaseModel

from fourpatch.answers.listing import QUESTIONS, question
from fourpatch.answers.question import Asked, Question
from fourpatch.app.frame import CAUTION, frame
from fourpatch.app.jobs import Job
from fourpatch.app.parts.button import button
from fourpatch.app.parts.choice import Choice
from fourpatch.app.parts.job_bar import JobBar
from fourpatch.app.parts.said_blocks import blocks_html
from fourpatch.app.parts.setting_form import setting_form
from fourpatch.app.parts.setup_panel import SetupPanel
from fourpatch.app.shop import Shop
from fourpatch.app.state import Desk
from fourpatch.car.setup import apply_setup
from fourpatch.document.digest import digest
from fourpatch.face.standing_car import car as standing
from fourpatch.picture.page import page

KIND = "question"
_STALE = "B has changed since: this answer is of B as it stood then."


def draw(shop: Shop, client: Client, request: Request) -> None:
    """Draw the page."""
    desk = shop.desk(request.query_params)
    with frame("/questions", title="More to ask", shop=shop, desk=desk):
        QuestionsPage(shop, desk)


class Answered(BaseModel):
    """An answer as it was computed, for the page and for programs."""

    title: str
    answer: dict[str, Any]
    """With the keys of the command line's JSON."""
    shown: str
    """As it stands on this page."""
    page: str
    """As a page of its own."""


class QuestionsPage:
    """The page's parts and what moves them."""

    def __init__(self, shop: Shop, desk: Desk) -> None:
        self._shop, self._desk = shop, desk
        self._command = next(iter(QUESTIONS))
        self._settings: dict[str, Any] = {}
        self._tracks = {str(one.id): one.name for one in shop.notebook.tracks.listed()}
        self._track = next(iter(self._tracks), "")
        self._shown: Job | None = None
        with ui.element("div").classes("fp-bench"):
            SetupPanel(shop, desk)
            card = ui.element("section").classes("fp-card fp-stack fp-answer-first")
            with card.props('aria-label="More to ask"'):
                options = {command: question(command).question for command in QUESTIONS}
                with ui.element("div").classes("fp-row fp-fields"):
                    Choice("Question", options, self._command, on_choose=self._choose)
                self._says = ui.label().classes("fp-small fp-soft")
                self._form = ui.element("div").classes("fp-row fp-fields")
                with ui.element("div").classes("fp-row"):
                    self._ask_button = button("Answer", self._ask, tell="For B, as it stands", main=True)
                    self._page_button = button("Page to print", self._save, tell="One file, to print or send")
                    self._bar = JobBar(on_end=self._ended)
                self._said = ui.label().classes("fp-warnbox").props('role="status"')
                self._place = ui.element("div")
                ui.label(CAUTION).classes("fp-small fp-soft")
        self._say("")
        desk.changed.append(self._say_changed)
        self._choose(self._command)

    def _choose(self, command: str) -> None:
        """Show the settings of a question, and its answer if it has been asked of this car."""
        self._command, self._settings = command, {}
        model = question(command)
        self._says.set_text((model.__doc__ or "").replace("CAR", "the car").split("\n")[0])
        self._form.clear()
        with self._form:
            if model.of != "car":
                Choice("Track", self._tracks, self._track, on_choose=self._choose_track)
            setting_form(model, self._set)
        self._shown = None
        self._place.clear()
        self._page_button.set_enabled(False)
        job = self._shop.jobs.of(KIND, self._key())
        if job is not None and job.over:
            self._ended(job)
        elif job is not None:
            self._follow(job)

    def _choose_track(self, track: str) -> None:
        self._track = track

    def _set(self, name: str, value: Any) -> None:
        self._settings[name] = value

    def _asked(self) -> Question:
        return question(self._command).model_validate(self._settings)

    def _key(self) -> str:
        desk = self._desk
        standing_b = apply_setup(desk.car, desk.b)
        return f"{desk.car_id}:{self._command}:{digest(standing_b, self._asked(), self._track)}"

    def _ask(self) -> None:
        desk, what = self._desk, self._asked()
        about, notebook = standing(desk.car, desk.b), self._shop.notebook
        track_id = int(self._track) if what.of != "car" else None

        def work(job: Job) -> Answered:
            track = None if track_id is None else notebook.tracks.read(track_id)
            asked = Asked(about=about, track=track, progress=job.progress, cancelled=job.cancelled)
            answer = what.answer(asked)
            return Answered(
                title=answer.title,
                answer=answer.content(),
                shown=blocks_html(answer.blocks),
                page=page(answer.title, answer.blocks),
            )

        self._follow(self._shop.jobs.start(KIND, what.question, self._key(), work))

    def _follow(self, job: Job) -> None:
        self._ask_button.set_enabled(False)
        self._bar.follow(job)

    def _ended(self, job: Job) -> None:
        self._ask_button.set_enabled(True)
        if isinstance(job.result, Answered):
            self._shown = job
            self._place.clear()
            with self._place:
                ui.label(job.result.title).classes("fp-small fp-soft")
                ui.html(job.result.shown, sanitize=False)
            self._page_button.set_enabled(True)
        self._say_changed()
        if job.state == "failed":
            self._say(job.error)

    def _save(self) -> None:
        if self._shown is not None:
            ui.download.content(self._shown.result.page, f"{self._command.replace(' ', '-')}.html")

    def _say_changed(self) -> None:
        stale = self._shown is not None and self._shown.key != self._key()
        self._say(_STALE if stale else "")

    def _say(self, text: str) -> None:
        self._said.set_text(text)
        self._said.set_visibility(bool(text))
