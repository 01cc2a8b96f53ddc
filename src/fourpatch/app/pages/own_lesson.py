"""A lesson of a coach's own: made step by step from the set-up in hand, shown, and given away as one file."""

from collections.abc import Callable
from functools import partial
from typing import get_args

from fastapi import Request
from nicegui import Client, ui

from fourpatch.analysis.workout import Worked
from fourpatch.app.fault import fault_text
from fourpatch.app.frame import CAUTION, frame
from fourpatch.app.live import LiveLoop, Stage
from fourpatch.app.parts.button import button
from fourpatch.app.parts.car_view import CarView, body_kind, both_runs, car_shape, named_spans
from fourpatch.app.parts.chart import Chart
from fourpatch.app.parts.choice import Choice
from fourpatch.app.parts.pens import tyre_pens
from fourpatch.app.parts.plain import plain
from fourpatch.app.parts.plain_table import table_html
from fourpatch.app.parts.setup_panel import SetupPanel
from fourpatch.app.parts.text_form import TextForm, WordField
from fourpatch.app.shop import Shop
from fourpatch.app.state import Desk
from fourpatch.app.words import capital, true_minus
from fourpatch.car.adjusters import adjuster
from fourpatch.car.scale_words import from_to
from fourpatch.car.setup import apply_setup
from fourpatch.errors import FourpatchError, SolveError
from fourpatch.notebook.entries import Entry
from fourpatch.notebook.kinds import file_name
from fourpatch.notebook.own_lesson import (
    LONGEST_TEXT,
    MOST_STEPS,
    Event,
    OwnLesson,
    OwnStep,
    View,
    refuse_unfit_lesson,
    step_setup,
)
from fourpatch.notebook.share import ENDING, share_text
from fourpatch.picture.lesson_words import change_text, measure_words, number_text

_LEAD = (
    "A lesson is a row of steps. Each has a sentence of yours, what stands in B against A, something the car "
    "goes through, and what is seen of it. Turn B, write the sentence, add the step. Numbers are computed "
    "whenever a step is shown, and never kept."
)
_VIEWS: dict[View, str] = {
    "car": "the moving car",
    "tyre loads": "the load on each tyre",
    "numbers": "numbers",
}
_CORNER = ("braking.balance", "entry.balance", "mid.balance", "exit.balance")
_BUMPS = ("grip_lost.front", "grip_lost.rear", "body_throw", "body_acceleration_peak")


def draw(shop: Shop, client: Client, request: Request) -> None:
    """Draw the page."""
    desk = shop.desk(request.query_params)
    with frame("/own-lesson", title="Lessons of your own", shop=shop, desk=desk):
        OwnLessonPage(shop, desk, client, asked=request.query_params.get("lesson", ""))


class OwnLessonPage:
    """The page's parts and what moves them."""

    def __init__(self, shop: Shop, desk: Desk, client: Client, *, asked: str) -> None:
        self._shop, self._desk = shop, desk
        self._shelf = shop.notebook.lessons
        self._entry: Entry | None = None
        self._lesson = OwnLesson(name="unnamed")
        self._place = 0
        self._event: Event = "medium corner"
        self._view: View = "car"
        with ui.element("div").classes("fp-bench"):
            SetupPanel(shop, desk)
            with ui.element("div").classes("fp-stack fp-lesson"):
                self._fault = ui.label().classes("fp-warnbox").props('role="alert"')
                self._choose_place = ui.element("div")
                self._show_place = ui.element("div").classes("fp-stack")
                self._make_place = ui.element("div").classes("fp-stack")
                ui.label(CAUTION).classes("fp-small fp-soft")
        self._loop = LiveLoop([Stage(self._compute, self._show)], refuse=self._refuse)
        client.on_delete(self._loop.stop)
        self._say("")
        listed = self._shelf.listed()
        self._open(next((one for one in listed if str(one.id) == asked), next(iter(listed), None)))
        self._loop.start()

    # Which lesson

    def _open(self, entry: Entry | None, *, at: int = 0) -> None:
        self._entry, self._place = entry, at
        if entry is not None:
            try:
                self._lesson = self._shelf.read(entry.id, entry.revision)
            except FourpatchError as error:
                self._say(fault_text(error))
                self._entry = None
        self._draw()

    def _draw(self) -> None:
        self._choose_place.clear()
        with self._choose_place, _card("Which lesson"):
            plain("Lessons of your own", "h2")
            ui.label(_LEAD).classes("fp-small fp-soft")
            with ui.element("div").classes("fp-row"):
                if listed := self._shelf.listed():
                    options = {str(one.id): one.name for one in listed}
                    chosen = str(self._entry.id) if self._entry else ""
                    Choice("Open", options, chosen, on_choose=self._choose)
                name = TextForm([WordField(key="name", label="A new one"), WordField(key="by", label="By")])
                button("Begin it", partial(self._begin, name), tell="An empty lesson of that name")
        self._draw_step()
        self._draw_making()

    def _choose(self, id: str) -> None:
        self._say("")
        self._open(next((one for one in self._shelf.listed() if str(one.id) == id), None))

    def _begin(self, told: TextForm) -> None:
        lesson = {key: value.strip() for key, value in told.values.items()}
        self._do(
            lambda: self._shelf.add(OwnLesson(name=lesson["name"] or " ", by=lesson["by"][:80]), by=self._by)
        )

    @property
    def _by(self) -> str:
        return self._desk.window

    def _do(self, keep: Callable[[], Entry], *, at: int = 0) -> None:
        """Keep something of a lesson and show it, or say why not."""
        try:
            entry = keep()
        except (FourpatchError, ValueError) as error:
            self._say(
                fault_text(error) if isinstance(error, FourpatchError) else "The name is empty; write one."
            )
            return
        self._say("")
        self._open(entry, at=at)

    def _change(self, steps: list[OwnStep], *, at: int) -> None:
        entry = self._entry
        assert entry is not None
        lesson = self._lesson.model_copy(update={"steps": steps})
        self._do(
            lambda: self._shelf.change(entry.id, lesson, revision=entry.revision, by=self._by),
            at=min(max(at, 0), max(len(steps) - 1, 0)),
        )

    # A step, shown

    @property
    def _step(self) -> OwnStep | None:
        steps = self._lesson.steps if self._entry else []
        return steps[self._place] if self._place < len(steps) else None

    def _draw_step(self) -> None:
        self._car: CarView | None = None
        self._chart: Chart | None = None
        self._table: ui.html | None = None
        self._show_place.clear()
        step, lesson = self._step, self._lesson
        if step is None:
            return
        with self._show_place, _card("The lesson"):
            plain(lesson.name, "h2")
            by = f"By {lesson.by}. " if lesson.by else ""
            of = f"{by}Step {self._place + 1} of {len(lesson.steps)}, on {self._desk.car.name}"
            plain(of, "p")
            plain(step.says, "p")
            plain(self._changes(step), "p")
            with ui.element("div").classes("fp-row"):
                back = button("Back", partial(self._go, -1), tell="The step before")
                on = button("Next step", partial(self._go, 1), tell="The step after", main=True)
                button("Put it into B", self._put, tell="Turn B where this step has it")
                back.set_enabled(self._place > 0)
                on.set_enabled(self._place + 1 < len(lesson.steps))
            about = f"the {step.event}: A as the lesson begins, B as in this step"
            if step.view == "car":
                self._car = CarView(f"The car, {about}", height=250, autoplay=True)
            elif step.view == "tyre loads":
                self._chart = Chart(
                    title=f"Load on each tyre, {step.event}",
                    unit="N",
                    series=tyre_pens(),
                    x={"label": "time [s]", "short": "t", "unit": "s"},
                    height=260,
                )
            else:
                self._table = ui.html("", sanitize=False)
        self._loop.wake()

    def _changes(self, step: OwnStep) -> str:
        car, a = self._desk.car, self._desk.a
        known = {one.name for one in car.adjusters}
        moved = [
            f"{name} {from_to(a.position(one), position, one.unit)}"
            for name, position in step.change.items()
            if name in known and a.position(one := adjuster(car, name)) != position
        ]
        return f"B against A: {'; '.join(moved)}." if moved else "B stands as A does."

    def _go(self, by: int) -> None:
        self._place += by
        self._draw_step()

    def _put(self) -> None:
        step, desk = self._step, self._desk
        if step is None:
            return
        try:
            wanted = step_setup(step, desk.a)
            refuse_unfit_lesson(self._lesson, desk.car, desk.a)
        except FourpatchError as error:
            self._say(fault_text(error))
            return
        desk.put(desk.b.model_copy(update={"values": dict(wanted.values)}))

    def _compute(self) -> tuple[OwnStep, Worked] | None:
        step, desk = self._step, self._desk
        if step is None:
            return None
        refuse_unfit_lesson(self._lesson.model_copy(update={"steps": [step]}), desk.car, desk.a)
        worked = self._shop.workout(desk.car, desk.a).measure(
            apply_setup(desk.car, step_setup(step, desk.a)), only=[step.event]
        )
        if worked.errors:
            raise SolveError(" ".join(worked.errors.values()))
        return step, worked

    async def _show(self, found: tuple[OwnStep, Worked] | None) -> None:
        if found is None or found[0] is not self._step:
            return
        step, worked = found
        a, b = worked.reference[step.event].history, worked.outcomes[step.event].history
        if self._car is not None:
            shape = car_shape(apply_setup(self._desk.car, self._desk.a), body=body_kind(self._desk.car))
            self._car.set_runs(both_runs(shape, a, b))
        elif self._chart is not None:
            lines = [one.tyre_load[:, corner] for one in (a, b) for corner in range(4)]
            await self._chart.show(b.time, lines, phases=named_spans(b.phases))
        elif self._table is not None:
            self._table.set_content(_numbers(step, worked))

    def _refuse(self, error: Exception) -> None:
        self._say(fault_text(error))

    # Making one

    def _draw_making(self) -> None:
        self._make_place.clear()
        if self._entry is None:
            return
        with self._make_place, _card("Make it"):
            plain("Steps", "h2")
            with ui.element("ol"):
                for place, step in enumerate(self._lesson.steps):
                    with ui.element("li").classes("fp-row"):
                        plain(f"{step.says[:80]} ({step.event}, {_VIEWS[step.view]})")
                        button("Show", partial(self._go, place - self._place), tell=f"Show step {place + 1}")
                        button("Earlier", partial(self._earlier, place), tell="Before the step above")
                        button("Take out", partial(self._take_out, place), tell="Take this step out")
            with ui.element("div").classes("fp-row"):
                events = {one: one for one in get_args(Event)}
                Choice("The car goes through", events, self._event, on_choose=partial(self._set, "_event"))
                Choice(
                    "Seen",
                    {str(key): text for key, text in _VIEWS.items()},
                    self._view,
                    on_choose=partial(self._set, "_view"),
                )
            said = TextForm([WordField(key="says", label="What you say", kind="text")])
            with ui.element("div").classes("fp-row"):
                button(
                    "Add the step", partial(self._add, said), tell="With B as it stands against A", main=True
                )
                button("Give it away", self._give, tell="Car, set-up A and lesson as one file")

    def _set(self, name: str, value: str) -> None:
        setattr(self, name, value)

    def _add(self, said: TextForm) -> None:
        text = said.values["says"].strip()
        if not text:
            self._say("The step says nothing yet; write a sentence.")
            return
        change = {name: after for name, _, after in self._desk.differing()}
        told = {"says": text, "event": self._event, "view": self._view, "change": change}
        steps = [*self._lesson.model_dump()["steps"], told]
        try:
            checked = OwnLesson.model_validate({**self._lesson.model_dump(), "steps": steps})
        except ValueError:
            self._say(
                f"A step says up to {LONGEST_TEXT} signs, and a lesson has up to {MOST_STEPS} steps. "
                "Make it shorter."
            )
            return
        self._change(checked.steps, at=len(steps) - 1)

    def _earlier(self, place: int) -> None:
        steps = list(self._lesson.steps)
        if place:
            steps[place - 1 : place + 1] = [steps[place], steps[place - 1]]
            self._change(steps, at=place - 1)

    def _take_out(self, place: int) -> None:
        steps = [one for k, one in enumerate(self._lesson.steps) if k != place]
        self._change(steps, at=place)

    def _give(self) -> None:
        desk = self._desk
        try:
            refuse_unfit_lesson(self._lesson, desk.car, desk.a)
        except FourpatchError as error:
            self._say(fault_text(error))
            return
        written = self._shop.notebook.cars.get(desk.car_id).written
        text = share_text(written, desk.a, desk.car, lesson=self._lesson)
        ui.download.content(text, f"{file_name(self._lesson.name).removesuffix('.toml')}{ENDING}")

    def _say(self, text: str) -> None:
        self._fault.set_text(text)
        self._fault.set_visibility(bool(text))


def _numbers(step: OwnStep, worked: Worked) -> str:
    """Return the numbers of an event as the lesson begins and as in a step, each with its unit."""
    a, b = worked.reference[step.event], worked.outcomes[step.event]
    wanted = _CORNER if step.event.endswith("corner") else _BUMPS
    rows = []
    for name in (f"{step.event}.{one}" for one in wanted):
        measure = next(one for one in b.measures if one.name == name)
        values = a.value(name), b.value(name)
        rows.append(
            [
                capital(measure_words(measure)),
                *(true_minus(number_text(one, measure.unit)) for one in values),
                true_minus(change_text(values[1] - values[0], measure.unit)),
            ]
        )
    return table_html(
        ["number", "A", "B", "change"],
        rows,
        caption="As the lesson begins, and in this step",
        numbers=(1, 2, 3),
    )


def _card(name: str) -> ui.element:
    """Return a named part of the page."""
    return ui.element("section").classes("fp-card fp-stack").props(f'aria-label="{name}"')
