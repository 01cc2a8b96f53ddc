"""Bumps and kerbs: do the tyres stay on the road, what do the dampers do, and where would they do better."""

from collections.abc import Mapping
from dataclasses import fields, replace
from typing import Any

import numpy as np
from fastapi import Request
from nicegui import Client, ui
from pydantic import ValidationError

from fourpatch.analysis import contact_patch_load, damper_speed
from fourpatch.analysis.damper_speed import BIN_WIDTH
from fourpatch.analysis.standard_events import standard_kerb, standard_road
from fourpatch.analysis.workout import Outcome, Trace
from fourpatch.app.answers.bumps import (
    AXLE_QUANTITIES,
    BODY_QUANTITIES,
    DAMPER_QUANTITIES,
    PLATFORM_QUANTITIES,
    BumpsAnswer,
    bumps_answer,
    bumps_lines,
)
from fourpatch.app.answers.corner import come_through
from fourpatch.app.answers.number import Number
from fourpatch.app.fault import fault_text
from fourpatch.app.frame import CAUTION, frame
from fourpatch.app.live import LiveLoop, Stage
from fourpatch.app.number_words import number_cells, rows, step_words
from fourpatch.app.pages.damper_map import MapSection
from fourpatch.app.parts.car_view import CarView, body_kind, both_runs, car_shape, named_spans
from fourpatch.app.parts.chart import Chart
from fourpatch.app.parts.choice import Choice
from fourpatch.app.parts.number_table import NumberTable
from fourpatch.app.parts.pens import axle_pens, one_line_pens
from fourpatch.app.parts.quantity_field import QuantityField
from fourpatch.app.parts.setup_panel import SetupPanel
from fourpatch.app.shop import Shop
from fourpatch.app.state import Desk
from fourpatch.app.step_hint import StepHint
from fourpatch.app.words import capital, shown_text
from fourpatch.car.setup import Setup, apply_setup
from fourpatch.document.meaning import meaning
from fourpatch.events.kerb_strike import KerbStrike
from fourpatch.events.rough_road import RoughRoad
from fourpatch.units import Unit

_LINK = "bumps"
_TIME = {"label": "time [s]", "short": "t", "unit": "s"}
_SPEEDS = {"label": "damper speed [mm/s], bump positive", "short": "from", "unit": "mm/s", "digits": 0}

_SHORT = 2.0
"""Of a road that much is drawn unless more is wanted. [s]"""

_SHAPES = {
    "ramped": "ramped",
    "flat-topped": "flat-topped",
    "saw-tooth": "saw-tooth",
    "sausage": "sausage",
    "half-sine": "half-sine",
}
_CLASSES = {
    "A": "A, very smooth",
    "B": "B, good",
    "C": "C, average",
    "D": "D, poor",
}
_WHEELS = {"left": ("FL", "RL"), "right": ("FR", "RR")}


def draw(shop: Shop, client: Client, request: Request) -> None:
    """Draw the page."""
    desk = shop.desk(request.query_params)
    with frame("/bumps", title="Bumps and kerbs", shop=shop, desk=desk):
        BumpsPage(shop, desk, client)


class BumpsPage:
    """The page's parts and what moves them."""

    def __init__(self, shop: Shop, desk: Desk, client: Client) -> None:
        self._shop, self._desk = shop, desk
        standing = apply_setup(desk.car, desk.a)
        self._kerb, self._road = standard_kerb(desk.car), standard_road(desk.car)
        self._over, self._side, self._whole = "kerb", "left", False
        self._hint = StepHint(desk, self._step_text)
        self._shape = car_shape(standing, body=body_kind(desk.car))
        self._draw()
        self._loop = LiveLoop(
            [
                Stage(self._compute, self._show),
                Stage(self._compute_numbers, self._show_numbers),
                self._hint.stage(),
            ],
            refuse=self._refuse,
        )
        self._hint.say_in(self._panel, self._loop)
        desk.changed.append(self._loop.wake)
        client.on_delete(self._loop.stop)
        ui.timer(0.0, self._loop.start, once=True)

    @property
    def _event(self) -> KerbStrike | RoughRoad:
        return self._kerb if self._over == "kerb" else self._road

    # Layout

    def _draw(self) -> None:
        with ui.element("div").classes("fp-bench"):
            self._panel = SetupPanel(self._shop, self._desk, on_tell=self._hint.tell)
            with ui.element("div").classes("fp-bench-right"):
                with ui.element("section").classes("fp-card fp-wide").props('aria-label="Kerb or road"'):
                    ui.label(
                        "A kerb or a rough road under the car: turn a damper or a spring of B and see "
                        "whether the tyres stay on the road. Point at a chart to follow the car; drag "
                        "across one to look closer."
                    )
                    self._draw_choice()
                with ui.element("section").classes("fp-card fp-wide").props('aria-label="The car"'):
                    self._car = CarView("The car over the bumps", link=_LINK, height=230)
                    self._meaning = ui.label("Preparing the kerb ...").classes("fp-said")
                    self._meaning.props('role="status"')
                self._draw_charts()
                with ui.element("section").classes("fp-card").props('aria-label="In numbers"'):
                    ui.html(
                        "<b>In numbers</b> <span class='fp-soft fp-small'>with B; small: change against A. "
                        "Point at a name for its meaning.</span>",
                        sanitize=False,
                    )
                    self._table = NumberTable(
                        caption="What the bumps do with B, and the change against A",
                        columns=_COLUMNS,
                        groups=_groups(),
                    )
                self._map = MapSection(self._shop, self._desk, lambda: self._event)
                ui.label(CAUTION).classes("fp-small fp-soft fp-wide")

    def _draw_choice(self) -> None:
        with ui.element("div").classes("fp-row fp-fields"):
            Choice("Over", {"kerb": "a kerb", "road": "a rough road"}, "kerb", on_choose=self._choose_over)
            with ui.element("div").classes("fp-row fp-fields fp-tight") as self._of_kerb:
                self._draw_kerb()
            with ui.element("div").classes("fp-row fp-fields fp-tight") as self._of_road:
                self._draw_road()
            Choice(
                "Wheels drawn",
                {"left": "left", "right": "right"},
                "left",
                on_choose=self._choose_side,
                tell="Whose load, travel and damper speed the charts show: front and rear of one side",
            )
        self._of_road.set_visibility(False)
        self._misfit, self._fault = (ui.label().classes("fp-warnbox").props('role="alert"') for _ in range(2))
        for one in (self._misfit, self._fault):
            one.set_visibility(False)

    def _draw_kerb(self) -> None:
        kerb = self._kerb
        Choice("Shape", _SHAPES, kerb.shape, on_choose=lambda shape: self._put_kerb(shape=shape))
        self._quantity("Height", KerbStrike, "height", kerb.height, 5.0, (0.005, 0.12), self._put_kerb)
        self._quantity("Length", KerbStrike, "length", kerb.length, 0.1, (0.3, 6.0), self._put_kerb)
        with ui.element("div") as self._tooth:
            self._quantity(
                "Tooth", KerbStrike, "tooth_length", kerb.tooth_length, 0.1, (0.2, 2.0), self._put_kerb
            )
        self._tooth.set_visibility(False)
        self._quantity("Speed", KerbStrike, "speed", kerb.speed, 5.0, (10.0, 75.0), self._put_kerb)
        Choice(
            "Under",
            {"left": "left wheels", "right": "right wheels", "both": "all wheels"},
            kerb.side,
            on_choose=lambda side: self._put_kerb(side=side),
        )

    def _draw_road(self) -> None:
        road = self._road
        Choice(
            "Class",
            _CLASSES,
            road.road_class,
            on_choose=lambda name: self._put_road(road_class=name),
            tell="Roughness after ISO 8608, at the geometric mean of the class",
        )
        self._quantity("Speed", RoughRoad, "speed", road.speed, 5.0, (10.0, 80.0), self._put_road)
        Choice(
            "Drawn",
            {"short": f"the first {_SHORT:g} s", "whole": "all of it"},
            "short",
            on_choose=self._choose_length,
        )

    def _quantity(
        self,
        label: str,
        model: type[KerbStrike] | type[RoughRoad],
        name: str,
        value: float,
        step: float,
        ends: tuple[float, float],
        put: Any,
    ) -> None:
        unit = next(one for one in model.model_fields[name].metadata if isinstance(one, Unit))
        QuantityField(
            label,
            unit,
            value,
            step=step,
            low=ends[0],
            high=ends[1],
            on_change=lambda number: put(**{name: number}),
            tell=meaning(model, name),
        )

    def _draw_charts(self) -> None:
        with ui.element("section").classes("fp-card").props('aria-label="Tyre load"'):
            self._loads = self._chart("Tyre load", "N", axle_pens())
        with ui.element("section").classes("fp-card").props('aria-label="Wheel travel"'):
            self._travel = self._chart("Wheel travel, bump positive", "mm", axle_pens(digits=1))
        with ui.element("section").classes("fp-card").props('aria-label="Damper speed"'):
            self._speed = self._chart("Damper speed, bump positive", "mm/s", axle_pens())
        with ui.element("section").classes("fp-card").props('aria-label="Body heave"'):
            self._heave = self._chart(
                "Body heave, up positive", "mm from static", one_line_pens("heave", digits=1)
            )
        for axle in ("front", "rear"):
            with ui.element("section").classes("fp-card").props(f'aria-label="Damper speeds, {axle}"'):
                chart = Chart(
                    title=f"How often each damper speed, {axle}",
                    unit="% of time",
                    series=one_line_pens(axle, digits=1, step=True),
                    x=_SPEEDS,
                    height=165,
                )
                setattr(self, f"_histogram_{axle}", chart)

    def _chart(self, title: str, unit: str, pens: list[dict[str, Any]], height: int = 175) -> Chart:
        return Chart(title=title, unit=unit, series=pens, x=_TIME, link=_LINK, height=height)

    # What is chosen

    def _choose_over(self, over: str) -> None:
        self._over = over
        self._of_kerb.set_visibility(over == "kerb")
        self._of_road.set_visibility(over == "road")
        self._loop.wake()

    def _choose_side(self, side: str) -> None:
        self._side = side
        self._loop.wake()

    def _choose_length(self, which: str) -> None:
        self._whole = which == "whole"
        self._loop.wake()

    def _put_kerb(self, **changed: Any) -> None:
        self._tooth.set_visibility((changed.get("shape") or self._kerb.shape) == "saw-tooth")
        try:
            self._kerb = KerbStrike.model_validate({**self._kerb.model_dump(), **changed})
        except ValidationError as error:
            faults = (one["msg"].removeprefix("Value error, ") for one in error.errors())
            _say(self._misfit, "; ".join(faults))
            return
        _say(self._misfit, "")
        self._loop.wake()

    def _put_road(self, **changed: Any) -> None:
        self._road = RoughRoad.model_validate({**self._road.model_dump(), **changed})
        self._loop.wake()

    # What moves

    def _compute(self) -> tuple[KerbStrike | RoughRoad, Outcome, Outcome, int]:
        desk, event = self._desk, self._event
        sequence, b = desk.sequence, desk.b
        workout = self._shop.workout(desk.car, desk.a, {event.kind: event})
        worked = workout.measure(apply_setup(desk.car, b))
        return event, *come_through(worked, event.kind), sequence

    async def _show(self, found: tuple[KerbStrike | RoughRoad, Outcome, Outcome, int]) -> None:
        self._shown, self._b, self._a, sequence = found
        _say(self._fault, "")
        until = None
        if isinstance(self._shown, RoughRoad) and not self._whole:
            until = self._b.history.phases[1].start + _SHORT
        trace, before = _until(self._b.history, until), _until(self._a.history, until)
        lines = [bumps_lines(replace(one, history=t)) for one, t in ((self._a, before), (self._b, trace))]
        phases = named_spans(trace.phases)

        def of_side(name: str, scale: float) -> list[Any]:
            return [scale * one[name, wheel] for one in lines for wheel in _WHEELS[self._side]]

        self._travel.show(trace.time, of_side("travel", 1e3), phases=phases)
        self._speed.show(trace.time, of_side("damper_speed", 1e3), phases=phases)
        self._heave.show(trace.time, [1e3 * one["heave", ""] for one in lines], phases=phases)
        self._car.set_runs(both_runs(self._shape, before, trace))
        await self._loads.show(trace.time, of_side("tyre_load", 1.0), phases=phases, sequence=sequence)

    def _compute_numbers(self) -> tuple[BumpsAnswer, int]:
        return bumps_answer(self._shown, self._b, self._a), self._desk.sequence

    async def _show_numbers(self, found: tuple[BumpsAnswer, int]) -> None:
        answer, sequence = found
        said = [f"{answer.name}. With B {answer.meaning}"]
        if answer.against_a:
            said.append(f"Against A: {answer.against_a}")
        said.append(capital(answer.damper_meaning))
        if any(one.quantity == "floor_strikes" and one.value for one in answer.numbers):
            said.append("The floor meets the road; the blow itself is not in the model, so take less kerb.")
        self._meaning.set_text(shown_text(" ".join(said)))
        self._show_histograms(answer)
        self._map.look_soon()
        await self._table.show(number_cells(answer.numbers, _place), sequence=sequence)

    def _show_histograms(self, answer: BumpsAnswer) -> None:
        edges = 1e3 * (np.array(answer.damper_speeds) - 0.5 * BIN_WIDTH)
        ends = np.append(edges, edges[-1] + 1e3 * BIN_WIDTH)
        of = {one.place: one for one in answer.histograms}
        for axle, wheel in zip(("front", "rear"), _WHEELS[self._side], strict=True):
            both = [100.0 * np.array(values) for values in (of[wheel].reference, of[wheel].value)]
            chart: Chart = getattr(self, f"_histogram_{axle}")
            chart.show(ends, [np.append(values, values[-1]) for values in both])

    def _step_text(self, up: Setup | None, down: Setup | None) -> str:
        desk, event = self._desk, self._event
        workout = self._shop.workout(desk.car, desk.a, {event.kind: event})

        def numbers(setup: Setup | None) -> list[Number] | None:
            if setup is None:
                return None
            worked = workout.measure(apply_setup(desk.car, setup))
            return bumps_answer(event, *come_through(worked, event.kind)).numbers

        return step_words(numbers(up), numbers(down), numbers(desk.b) or [])

    def _refuse(self, error: Exception) -> None:
        _say(self._fault, fault_text(error))
        for chart in (self._loads, self._travel, self._speed, self._heave):
            chart.mark_stale("The last one that could be computed.")


def _say(label: ui.label, fault: str) -> None:
    """Say what is wrong, or nothing."""
    label.set_text(fault)
    label.set_visibility(bool(fault))


def _until(trace: Trace, end: float | None) -> Trace:
    """Return a run up to a time, or all of it."""
    if end is None:
        return trace
    count = int(np.searchsorted(trace.time, end, side="right"))
    every = {field.name: getattr(trace, field.name) for field in fields(trace)}
    arrays: dict[str, Any] = {
        name: values[:count] for name, values in every.items() if isinstance(values, np.ndarray)
    }
    return replace(trace, **arrays)


_COLUMNS: list[Mapping[str, str]] = [
    {"key": "front", "label": "Front", "say": "Front axle"},
    {"key": "rear", "label": "Rear", "say": "Rear axle"},
]


def _groups() -> list[dict[str, Any]]:
    units = contact_patch_load.UNITS | damper_speed.UNITS
    return [
        {"label": "Tyres", "rows": rows(AXLE_QUANTITIES, units)},
        {"label": "Floor", "rows": rows(PLATFORM_QUANTITIES, units)},
        {"label": "Dampers, slow below 25 mm/s", "rows": rows(DAMPER_QUANTITIES, units)},
        {"label": "Body", "rows": rows(BODY_QUANTITIES, units)},
    ]


def _place(number: Number) -> str:
    return f"{number.quantity}|{number.place or 'front'}"
