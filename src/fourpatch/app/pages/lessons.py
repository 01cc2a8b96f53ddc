"""Lessons: one part of the set-up or of driving, its slider and the moving car, on the car at hand."""

import json
from functools import partial
from typing import get_args
from urllib.parse import urlencode

from fastapi import Request
from nicegui import Client, ui

from fourpatch.advice.lessons.lesson import Topic, topic_lesson
from fourpatch.advice.lessons.study import Answered as Right
from fourpatch.advice.lessons.study import Study, adjusters_of
from fourpatch.advice.rules.rule import SOURCE
from fourpatch.answers.lesson import LessonAsked
from fourpatch.app.answers.lesson import Shown, Stage
from fourpatch.app.asking import Answered, ask, on_desk
from fourpatch.app.fault import fault_text
from fourpatch.app.frame import CAUTION, frame
from fourpatch.app.jobs import Job
from fourpatch.app.live import LiveLoop
from fourpatch.app.live import Stage as LiveStage
from fourpatch.app.parts.button import Button, button
from fourpatch.app.parts.car_view import CarView, body_kind, both_runs, car_shape
from fourpatch.app.parts.chart import Chart
from fourpatch.app.parts.choice import Choice
from fourpatch.app.parts.job_bar import JobBar
from fourpatch.app.parts.one_slider import OneSlider
from fourpatch.app.parts.plain import plain
from fourpatch.app.parts.plain_table import table_html
from fourpatch.app.shop import Shop
from fourpatch.app.state import Desk
from fourpatch.app.words import capital, true_minus
from fourpatch.car.setup import apply_setup
from fourpatch.errors import FourpatchError
from fourpatch.picture.lesson_words import (
    CHOICES,
    answer_said,
    change_text,
    filled,
    from_where,
    measure_words,
    most_said,
    number_text,
    rule_lead,
    rule_said,
    saying_said,
)
from fourpatch.picture.shown import measure_of, pretty

TOPICS: tuple[Topic, ...] = get_args(Topic)

_LEAD = (
    "Each lesson is about one thing that you can turn. Every number in it is computed on the car that is "
    "open, so on another car it says something else. Choose one:"
)
_INKS = ("front", "rear", "ink", "road", "warn", "b", "fr", "rr")
_DASHES: tuple[list[int], ...] = ([], [14, 3], [6, 2], [2, 3], [14, 3, 3, 3], [1, 4], [10, 2], [4, 4])


def draw(shop: Shop, client: Client, request: Request) -> None:
    """Draw the page."""
    desk = shop.desk(request.query_params)
    with frame("/lessons", title="Lessons", shop=shop, desk=desk):
        LessonsPage(shop, desk, client, topic=request.query_params.get("topic", ""))


class LessonsPage:
    """The page's parts and what moves them."""

    def __init__(self, shop: Shop, desk: Desk, client: Client, *, topic: str) -> None:
        self._shop, self._desk, self._client = shop, desk, client
        self._live: LiveLesson | None = None
        self._wanted = ""
        self._topics: dict[Topic, Button] = {}
        with ui.element("div").classes("fp-page fp-stack fp-lesson"):
            with ui.element("section").classes("fp-card fp-stack").props('aria-label="Which lesson"'):
                ui.label(_LEAD)
                with ui.element("ul").classes("fp-topics").props('aria-label="Lessons"'):
                    for one in TOPICS:
                        with ui.element("li"):
                            title = topic_lesson(one).title
                            tell = f"The lesson on {title.lower()}"
                            self._topics[one] = button(title, partial(self._choose, one), tell=tell)
                ui.html(
                    f'<a href="/own-lesson?{urlencode(desk.query())}">Lessons of your own</a>: make one from '
                    "what you turn, and give it away as one file.",
                    tag="p",
                    sanitize=False,
                ).classes("fp-small")
                self._of = ui.element("div").classes("fp-row")
                self._bar = JobBar(on_end=self._ended)
                self._fault = ui.label().classes("fp-warnbox").props('role="alert"')
            self._place = ui.element("div").classes("fp-stack")
            ui.label(CAUTION).classes("fp-small fp-soft")
        self._say("")
        client.on_delete(self._stop)
        if topic in TOPICS:
            self._choose(topic)

    def _choose(self, topic: Topic, adjuster: str | None = None) -> None:
        """Begin a lesson on an adjuster; on the first that it can be about if none is named."""
        desk = self._desk
        found = adjusters_of(topic_lesson(topic), desk.car)
        for one, drawn in self._topics.items():
            drawn.props(f'aria-pressed="{str(one == topic).lower()}"')
        self._of.clear()
        if len(found) > 1:
            options = {one.name: capital(one.name) for one in found}
            with self._of:
                Choice(
                    "About",
                    options,
                    adjuster or found[0].name,
                    on_choose=lambda name: self._choose(topic, name),
                )
        ui.run_javascript(
            "const u = new URL(location); "
            f"u.searchParams.set('topic', {json.dumps(topic)}); history.replaceState(history.state, '', u)"
        )
        try:
            job = ask(self._shop.jobs, LessonAsked(topic=topic, adjuster=adjuster), on_desk(self._shop, desk))
        except FourpatchError as error:
            self._say(fault_text(error))
            return
        self._say("")
        self._wanted = job.id
        self._bar.follow(job)

    def _ended(self, job: Job) -> None:
        if job.id != self._wanted:
            return
        self._stop()
        self._place.clear()
        if isinstance(job.result, Answered):
            with self._place:
                self._draw(job.result.answer.source)
        self._say(job.error)

    def _say(self, text: str) -> None:
        self._fault.set_text(text)
        self._fault.set_visibility(bool(text))

    def _stop(self) -> None:
        if self._live is not None:
            self._live.stop()
            self._live = None

    def _draw(self, study: Study) -> None:
        lesson = study.lesson
        with ui.element("div").classes("fp-lesson-two"):
            with _card(lesson.title):
                plain(lesson.title, "h2")
                ui.label(f"On {study.car.name}, set-up {study.setup.name}").classes("fp-small fp-soft")
                for text in lesson.what:
                    _said(filled(text, study))
            with _card("On this car"):
                plain("On this car", "h2")
                if study.turned is not None:
                    for text in (from_where(study), *(filled(one, study) for one in lesson.turn)):
                        _said(text)
                _said(most_said(study))
        if study.turned is not None:
            self._live = LiveLesson(study)
        with ui.element("div").classes("fp-lesson-two"):
            if study.rules or study.sayings:
                with _card("Rules of thumb"):
                    _draw_rules(study)
            with ui.element("div").classes("fp-stack"):
                for title, texts in (("Common mistakes", lesson.mistakes), ("Take care", lesson.cautions)):
                    with _card(title):
                        plain(title, "h2")
                        _listed([filled(text, study) for text in texts])
        if study.questions:
            with _card("Do you see it?"):
                plain("Do you see it?", "h2")
                for one in study.questions:
                    _QuestionCard(one, study)


class LiveLesson:
    """The slider, the moving car, the numbers and the one picture."""

    def __init__(self, study: Study) -> None:
        assert study.turned is not None
        self._study, self._turned = study, study.turned
        self._position = study.turned.position
        self._stage: Stage | None = None
        self._shape = car_shape(apply_setup(study.car, study.setup), body=body_kind(study.car))
        with ui.element("div").classes("fp-lesson-two"):
            with _card("Turn it"):
                plain("Turn it", "h2")
                self._slider = OneSlider(study.turned.adjuster, self._position, on_turn=self._turn)
                self._fault = ui.label().classes("fp-warnbox").props('role="alert"')
                event = study.effect(study.lesson.plot.shows[0]).measure.event
                self._car = CarView(
                    f"The car in the {event}: A where the lesson begins, B where the slider stands",
                    height=230,
                    autoplay=True,
                )
            with _card("What it does"):
                plain(study.lesson.plot.says, "h2")
                self._chart = self._draw_chart()
                self._table = ui.html("", sanitize=False)
        self._fault.set_visibility(False)
        self._loop = LiveLoop([LiveStage(self._compute, self._show)], refuse=self._refuse)
        self._loop.start()

    def stop(self) -> None:
        """Compute no more."""
        self._loop.stop()

    def _draw_chart(self) -> Chart:
        study, adjuster = self._study, self._turned.adjuster
        effects = [study.effect(name) for name in study.lesson.plot.shows]
        unit = pretty(measure_of(effects[0].measure.unit).shown)
        series = []
        for place, effect in enumerate(effects):
            alone = [one.measure.axle for one in effects].count(effect.measure.axle) == 1
            ink = effect.measure.axle if effect.measure.axle and alone else _INKS[place % len(_INKS)]
            dash = _DASHES[place % len(_DASHES)]
            label = capital(measure_words(effect.measure))
            series.append({"label": label, "ink": ink, "width": 2, "dash": dash or None, "digits": 2})
        scale = {
            "label": f"{adjuster.name} [{pretty(adjuster.unit) or 'step'}]",
            "unit": pretty(adjuster.unit),
        }
        title = capital(adjuster.name)
        return Chart(
            title=title, unit=unit, series=series, x={**scale, "short": "at", "digits": 1}, height=230
        )

    def _turn(self, position: float) -> None:
        self._position = position
        self._slider.say(position)
        self._loop.wake()

    def _compute(self) -> Shown:
        if self._stage is None:
            self._stage = Stage(self._study)
        return self._stage.at(self._position)

    async def _show(self, shown: Shown) -> None:
        self._fault.set_visibility(False)
        self._car.set_runs(both_runs(self._shape, shown.a, shown.b))
        self._table.set_content(self._numbers(shown))
        study, begun = self._study, self._turned.position
        names = [study.effect(name).measure.name for name in study.lesson.plot.shows]
        scale = measure_of(study.effects[names[0]].measure.unit).scale
        low, high = sorted((begun, shown.position))
        turned = {"name": "turned by you", "start": low, "end": high}
        await self._chart.show(
            study.positions,
            [study.over[name] / scale for name in names],
            phases=[{"name": "", "start": low, "end": low}, turned] if high > low else [],
        )

    def _numbers(self, shown: Shown) -> str:
        study = self._study
        rows = []
        for name in study.lesson.numbers:
            effect = study.effect(name)
            value, unit = shown.values[effect.measure.name], effect.measure.unit
            ends = ["-", "-"]  # a swing is counted from the start, and has no value of its own
            if not effect.measure.quantity.endswith("swing"):
                ends = [number_text(one, unit) for one in (effect.now, value)]
            rows.append(
                [capital(measure_words(effect.measure)), *ends, change_text(value - effect.now, unit)]
            )
        heads = ["number", "lesson's start", "slider", "change"]
        cells = [[true_minus(cell) for cell in row] for row in rows]
        return table_html(
            heads, cells, caption="Where the lesson begins, and where the slider stands", numbers=(1, 2, 3)
        )

    def _refuse(self, error: Exception) -> None:
        self._fault.set_text(fault_text(error))
        self._fault.set_visibility(True)


class _QuestionCard:
    """A question with its choices; the one that is pressed is told right or wrong, with the number."""

    def __init__(self, one: Right, study: Study) -> None:
        self._one, self._study = one, study
        plain(filled(one.check.asks, study), "h3")
        with ui.element("div").classes("fp-answers"):
            for way, _ in CHOICES:
                text = capital(filled(getattr(one.check, way), study))
                button(text, partial(self._answered, way), tell="Answer so")
        self._told = ui.label().props('role="status"')

    def _answered(self, way: str) -> None:
        right = way == self._one.right
        said = answer_said(self._one, self._study).partition(") ")[2]
        self._told.set_text(true_minus(f"{'Right' if right else 'Not here'}: {said}"))


def _draw_rules(study: Study) -> None:
    plain("Rules of thumb", "h2")
    ui.label(f"All of them: {SOURCE}. Each was tried on this car, both ways.").classes("fp-small fp-soft")
    said = [(rule_lead(one), rule_said(one)) for one in study.rules]
    said += [(rule_lead(one), saying_said(one)) for one in study.sayings]
    with ui.element("ul"):
        for lead, text in said:
            with ui.element("li"):
                plain(f"{lead}: ", "b")
                plain(true_minus(text))


def _listed(texts: list[str]) -> None:
    with ui.element("ul"):
        for text in texts:
            plain(true_minus(text), "li")


def _said(text: str) -> None:
    plain(true_minus(capital(text)), "p")


def _card(name: str) -> ui.element:
    """Return a named part of the page."""
    return ui.element("section").classes("fp-card fp-stack").props(f'aria-label="{name}"')
