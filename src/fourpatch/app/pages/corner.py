"""One corner: where the load is in each phase, who runs out of grip first, and which way the load goes."""

from typing import Any, Literal

from fastapi import Request
from nicegui import Client, ui

from fourpatch.analysis.phase_balance import UNITS
from fourpatch.analysis.workout import Outcome, Workout
from fourpatch.app.answers.corner import (
    CornerAnswer,
    CornerChosen,
    CornerMeaning,
    come_through,
    corner_answer,
    corner_lines,
    corner_meaning,
    corner_workout,
)
from fourpatch.app.answers.number import Number
from fourpatch.app.fault import fault_text
from fourpatch.app.frame import CAUTION, frame
from fourpatch.app.live import LiveLoop, Stage
from fourpatch.app.number_words import corner_text, number_cells, rows, step_words
from fourpatch.app.parts.car_view import CarView, body_kind, both_runs, car_shape, named_spans
from fourpatch.app.parts.chart import Chart
from fourpatch.app.parts.choice import Choice
from fourpatch.app.parts.number_table import NumberTable
from fourpatch.app.parts.pens import PARTS, axle_pens, named_pens, one_line_pens, tyre_pens
from fourpatch.app.parts.quantity_field import QuantityField
from fourpatch.app.parts.setup_panel import SetupPanel
from fourpatch.app.shop import Shop
from fourpatch.app.state import Desk
from fourpatch.app.step_hint import StepHint
from fourpatch.app.words import PHASES, capital, shown_text
from fourpatch.car.setup import Setup, apply_setup
from fourpatch.events.trial import CornerTrial, slowest_speed
from fourpatch.units import Unit

_LINK = "corner"
_TIME = {"label": "time [s]", "short": "t", "unit": "s"}

_OWN = "own"
_CORNERS = {
    "slow corner": "Slow, 25 m",
    "medium corner": "Medium, 60 m",
    "fast corner": "Fast, 140 m",
    _OWN: "One of my own",
}
_ON_TRACK = "track "
_RADIUS = Unit("m", "m", 5.0, 2000.0)
_SPEED = Unit("m/s", "km/h", 3.0, 110.0)

_AXLES = ("front", "rear")


def draw(shop: Shop, client: Client, request: Request) -> None:
    """Draw the page."""
    desk = shop.desk(request.query_params)
    with frame("/corner", title="Corner", shop=shop, desk=desk):
        CornerPage(shop, desk, client)


class CornerPage:
    """The page's parts and what moves them."""

    def __init__(self, shop: Shop, desk: Desk, client: Client) -> None:
        self._shop, self._desk = shop, desk
        self._chosen = CornerChosen()
        self._axle: Literal["front", "rear"] = "front"
        self._hint = StepHint(desk, self._step_text)
        self._shape = car_shape(apply_setup(desk.car, desk.a), body=body_kind(desk.car))
        self._draw()
        self._loop = LiveLoop(
            [
                Stage(self._compute, self._show),
                Stage(self._compute_numbers, self._show_numbers),
                Stage(self._compute_meaning, self._show_meaning),
                self._hint.stage(),
            ],
            refuse=self._refuse,
        )
        self._hint.say_in(self._panel, self._loop)
        desk.changed.append(self._loop.wake)
        client.on_delete(self._loop.stop)
        self._loop.start()

    # Layout

    def _draw(self) -> None:
        with ui.element("div").classes("fp-bench"):
            self._panel = SetupPanel(self._shop, self._desk, on_tell=self._hint.tell)
            with ui.element("div").classes("fp-bench-right"):
                with ui.element("section").classes("fp-card fp-wide").props('aria-label="The corner"'):
                    ui.label(
                        "One corner, phase by phase: turn a setting of B and see which axle gains or loses "
                        "load, when, and by which path. Point at a chart to follow the car."
                    )
                    self._draw_choice()
                with ui.element("section").classes("fp-card fp-wide").props('aria-label="The car"'):
                    self._car = CarView("The car in the corner", link=_LINK, height=230)
                    self._meaning = ui.label("Preparing this car's corner ...").classes("fp-said")
                    self._meaning.props('role="status"')
                self._draw_charts()
                with ui.element("section").classes("fp-card fp-wide").props('aria-label="Phase by phase"'):
                    ui.html(
                        "<b>Phase by phase</b> <span class='fp-soft fp-small'>mean of the phase with B; "
                        "small: change against A. Point at a name for its meaning.</span>",
                        sanitize=False,
                    )
                    self._table = NumberTable(
                        caption="Means of each phase with B, and the change against A",
                        columns=PHASES,
                        groups=_groups(),
                    )
                ui.label(CAUTION).classes("fp-small fp-soft fp-wide")

    def _draw_choice(self) -> None:
        with ui.element("div").classes("fp-row fp-fields"):
            tracks = {f"{_ON_TRACK}{one.id}": f"On {one.name}" for one in self._shop.notebook.tracks.listed()}
            Choice("Corner", {**_CORNERS, **tracks}, "medium corner", on_choose=self._choose_corner)
            self._number_place = ui.element("div")
            self._direction = Choice(
                "Turns", {"left": "left", "right": "right"}, "left", on_choose=self._choose_direction
            )
            with ui.element("div").classes("fp-row") as self._own:
                self._radius = QuantityField(
                    "Radius",
                    _RADIUS,
                    self._chosen.radius,
                    step=1.0,
                    low=10.0,
                    high=250.0,
                    on_change=lambda radius: self._choose(radius=radius),
                    tell="Of the middle of the corner, along the car's path",
                )
                Choice(
                    "Speed",
                    {"can": "92 % of its grip", "own": "my own"},
                    "can",
                    on_choose=self._choose_speed,
                    tell="What the car can do there with the set-up it came with, or a speed of your own",
                )
                self._speed = QuantityField(
                    "in the middle",
                    _SPEED,
                    25.0,
                    step=1.0,
                    low=8.0,
                    high=75.0,
                    on_change=lambda speed: self._choose(speed=speed),
                    tell="Speed in the middle of the corner",
                )
            self._own.set_visibility(False)
            self._speed.set_visibility(False)
        self._event_text = ui.label().classes("fp-small fp-soft")
        self._fault = ui.label().classes("fp-warnbox").props('role="alert"')
        self._fault.set_visibility(False)

    def _draw_charts(self) -> None:
        with ui.element("section").classes("fp-card").props('aria-label="Load on each tyre"'):
            self._loads = self._chart("Load on each tyre", "N", tyre_pens(), 220)
        with ui.element("section").classes("fp-card").props('aria-label="Load transfer by its paths"'):
            axles = {"front": "front", "rear": "rear"}
            Choice("Axle", axles, "front", on_choose=self._choose_axle).classes("fp-aside")
            self._parts = self._chart("Lateral load transfer by its path", "N", named_pens(PARTS), 220)
        with ui.element("section").classes("fp-card").props('aria-label="Grip used"'):
            self._use = self._chart("Grip used by each axle", "%", axle_pens(digits=1))
        with ui.element("section").classes("fp-card").props('aria-label="Balance"'):
            self._balance = self._chart(
                "Balance: grip used in front less at the rear", "points", one_line_pens("balance", digits=1)
            )
        with ui.element("section").classes("fp-card").props('aria-label="Front share of the load transfer"'):
            self._share = self._chart(
                "Front share of the lateral load transfer", "%", one_line_pens("share", digits=1)
            )
        with ui.element("section").classes("fp-card").props('aria-label="Ride heights"'):
            self._heights = self._chart("Ride height at each axle", "mm", axle_pens(digits=1))

    def _chart(self, title: str, unit: str, pens: list[dict[str, Any]], height: int = 175) -> Chart:
        return Chart(title=title, unit=unit, series=pens, x=_TIME, link=_LINK, height=height)

    # What is chosen

    def _choose(self, **chosen: Any) -> None:
        self._chosen = self._chosen.model_copy(update=chosen)
        self._loop.wake()

    def _choose_corner(self, name: str) -> None:
        self._own.set_visibility(name == _OWN)
        track = int(name.removeprefix(_ON_TRACK)) if name.startswith(_ON_TRACK) else None
        self._direction.set_visibility(track is None)
        self._number_place.clear()
        if track is not None:
            self._draw_number(track)
            self._choose(track=track, number=1)
        else:
            self._choose(track=None, name=None if name == _OWN else name)

    def _draw_number(self, track: int) -> None:
        """Let a track's corner be chosen."""
        corners = self._shop.laps.map(track).corners
        options = {one.corner: f"{one.corner}, {one.direction}, {one.radius:.0f} m" for one in corners}
        with self._number_place:
            Choice(
                "Number",
                options,
                "1",
                on_choose=lambda number: self._choose(number=int(number)),
                tell="Counted from the start line; with the smallest radius of the centre line",
            )

    def _choose_direction(self, direction: str) -> None:
        self._choose(direction=direction)

    def _choose_speed(self, which: str) -> None:
        self._speed.set_visibility(which == "own")
        speed = slowest_speed(self._event) if which == "own" else None
        if speed is not None:
            self._speed.put(speed)
        self._choose(speed=speed)

    def _choose_axle(self, axle: str) -> None:
        self._axle = "front" if axle == "front" else "rear"
        self._loop.wake()

    # What moves

    def _workout(self) -> tuple[Workout, str, CornerTrial]:
        shop, desk = self._shop, self._desk
        return corner_workout(shop.workout, shop.laps.course, desk.car, desk.a, self._chosen)

    def _compute(self) -> tuple[CornerTrial, Outcome, Outcome, int]:
        desk = self._desk
        sequence, b = desk.sequence, desk.b
        workout, name, event = self._workout()
        worked = workout.measure(apply_setup(desk.car, b), only=[name])
        return event, *come_through(worked, name), sequence

    async def _show(self, found: tuple[CornerTrial, Outcome, Outcome, int]) -> None:
        self._event, self._b, self._a, sequence = found
        self._fault.set_visibility(False)
        self._event_text.set_text(corner_text(self._event))
        a, b = corner_lines(self._a), corner_lines(self._b)
        trace = self._b.history
        phases = named_spans(trace.phases)

        def lines(keys: list[tuple[str, str]], scale: float = 1.0) -> list[Any]:
            return [scale * one[key] for one in (a, b) for key in keys]

        of_axle: list[tuple[Chart, str, float]] = [
            (self._use, "use", 100.0),
            (self._heights, "ride_height", 1e3),
        ]
        for chart, name, scale in of_axle:
            chart.show(trace.time, lines([(name, axle) for axle in _AXLES], scale), phases=phases)
        self._share.show(trace.time, lines([("front_transfer_share", "")], 100.0), phases=phases)
        self._balance.show(trace.time, lines([("balance", "")]), phases=phases)
        self._parts.show(
            trace.time, lines([(f"{part}_transfer", self._axle) for part in PARTS]), phases=phases
        )
        self._car.set_runs(both_runs(self._shape, self._a.history, trace))
        tyres = [("tyre_load", corner) for corner in ("FL", "FR", "RL", "RR")]
        await self._loads.show(trace.time, lines(tyres), phases=phases, sequence=sequence)

    def _compute_numbers(self) -> tuple[CornerAnswer, int]:
        return corner_answer(self._event, self._b, self._a), self._desk.sequence

    async def _show_numbers(self, found: tuple[CornerAnswer, int]) -> None:
        answer, sequence = found
        await self._table.show(number_cells(answer.numbers, _place), sequence=sequence)

    def _compute_meaning(self) -> CornerMeaning:
        car = apply_setup(self._desk.car, self._desk.b)
        return corner_meaning(car, self._event, self._b, self._a)

    async def _show_meaning(self, meaning: CornerMeaning) -> None:
        said = [f"With B {meaning.balance}", capital(meaning.transfer)]
        if meaning.against_a:
            said.insert(1, f"Against A {meaning.against_a}")
        self._meaning.set_text(shown_text(" ".join(said)))

    def _step_text(self, up: Setup | None, down: Setup | None) -> str:
        desk = self._desk
        workout, name, event = self._workout()

        def numbers(setup: Setup | None) -> list[Number] | None:
            if setup is None:
                return None
            worked = workout.measure(apply_setup(desk.car, setup), only=[name])
            return corner_answer(event, *come_through(worked, name)).numbers

        return step_words(numbers(up), numbers(down), numbers(desk.b) or [])

    def _refuse(self, error: Exception) -> None:
        self._fault.set_text(fault_text(error))
        self._fault.set_visibility(True)
        for chart in (self._loads, self._use, self._share, self._parts, self._balance, self._heights):
            chart.mark_stale("The last corner that could be computed.")


def _groups() -> list[dict[str, Any]]:
    def of_axles(*names: str) -> list[dict[str, Any]]:
        return [
            row
            for name in names
            for axle in _AXLES
            for row in rows([name], UNITS, axle=axle, key=f"{{name}}.{axle}")
        ]

    def of_car(*names: str) -> list[dict[str, Any]]:
        return rows(names, UNITS, key="{name}.")

    parts = ("lateral_transfer", *(f"{part}_transfer" for part in PARTS))
    return [
        {
            "label": "Who runs out of grip first",
            "rows": [*of_car("balance", "early_balance", "late_balance"), *of_axles("use", "peak_use")],
        },
        {"label": "Where the load is", "rows": [*of_axles("axle_load", "downforce")]},
        {
            "label": "Lateral load transfer, half the outer less the inner tyre's load",
            "rows": [
                *of_car("front_transfer_share"),
                *(row for axle in _AXLES for row in rows(parts, UNITS, axle=axle, key=f"{{name}}.{axle}")),
            ],
        },
        {"label": "How the body stands", "rows": [*of_axles("ride_height"), *of_car("roll", "pitch")]},
    ]


def _place(number: Number) -> str:
    return f"{number.quantity}.{number.place}|{number.part}"
