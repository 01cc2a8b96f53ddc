"""Everything else that can be asked of the car: one page for all questions, made from what they say."""

from typing import Any

from fastapi import Request
from nicegui import Client, ui

from fourpatch.answers.listing import QUESTIONS, question
from fourpatch.answers.question import Question
from fourpatch.app.asking import Answered, Subject, ask, on_desk, question_key
from fourpatch.app.fault import fault_text
from fourpatch.app.frame import CAUTION, frame
from fourpatch.app.jobs import Job
from fourpatch.app.parts.button import button
from fourpatch.app.parts.choice import Choice
from fourpatch.app.parts.job_bar import JobBar
from fourpatch.app.parts.setting_form import setting_form
from fourpatch.app.parts.setup_panel import SetupPanel
from fourpatch.app.shop import Shop
from fourpatch.app.state import Desk
from fourpatch.errors import FourpatchError

_STALE = "B has changed since: this answer is of B as it stood then."


def draw(shop: Shop, client: Client, request: Request) -> None:
    """Draw the page."""
    desk = shop.desk(request.query_params)
    with frame("/questions", title="More to ask", shop=shop, desk=desk):
        QuestionsPage(shop, desk)


class QuestionsPage:
    """The page's parts and what moves them."""

    def __init__(self, shop: Shop, desk: Desk) -> None:
        self._shop, self._desk = shop, desk
        self._commands = [command for command in QUESTIONS if not question(command).page]
        self._command = self._commands[0]
        self._settings: dict[str, Any] = {}
        self._tracks = {str(one.id): one.name for one in shop.notebook.tracks.listed()}
        self._track = next(iter(self._tracks), "")
        self._shown: Job | None = None
        with ui.element("div").classes("fp-bench"):
            SetupPanel(shop, desk)
            card = ui.element("section").classes("fp-card fp-stack fp-answer-first")
            with card.props('aria-label="More to ask"'):
                options = {command: question(command).question for command in self._commands}
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
        job = self._shop.jobs.of(command, self._key())
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

    def _subject(self) -> Subject:
        if question(self._command).of == "car" or not self._track:
            return on_desk(self._shop, self._desk)
        return on_desk(self._shop, self._desk, int(self._track))

    def _key(self) -> str:
        return question_key(self._asked(), self._subject())

    def _ask(self) -> None:
        try:
            self._follow(ask(self._shop.jobs, self._asked(), self._subject(), drawn=True))
        except FourpatchError as error:
            self._say(fault_text(error))

    def _follow(self, job: Job) -> None:
        self._ask_button.set_enabled(False)
        self._bar.follow(job)

    def _ended(self, job: Job) -> None:
        self._ask_button.set_enabled(True)
        if isinstance(job.result, Answered):
            self._shown = job
            self._place.clear()
            with self._place:
                ui.label(job.result.answer.title).classes("fp-small fp-soft")
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
