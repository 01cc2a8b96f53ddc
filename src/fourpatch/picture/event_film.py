"""An event as a film: the car from the side, from behind or above, and what characterises it, A against B."""

from collections.abc import Iterator, Sequence
from dataclasses import dataclass
from typing import TYPE_CHECKING, Any, ClassVar, Final

import numpy as np
from matplotlib.axes import Axes
from matplotlib.patches import Circle, Polygon
from numpy.typing import NDArray

from fourpatch.car.car import Car
from fourpatch.car.pack import mass_properties
from fourpatch.picture.moving_sheet import HEIGHT, WIDTH, Frame, MovingSheet
from fourpatch.picture.palette import FRONT, GROUND, INK, QUIET, REAR, ROAD, SHADE, Pen
from fourpatch.picture.sheet import styled

if TYPE_CHECKING:
    import xarray as xr

Array = NDArray[np.float64]

_PENS: Final = (FRONT, REAR)
_WHEELS: Final = ("FL", "FR", "RL", "RR")
_LARGER: Final = (1, 2, 5, 10, 20)
_SEEN = 0.1  # to which the largest movement up or down is drawn, about [m]
_OVERHANG, _BODY, _GLASS = 0.75, 0.5, 1.1  # beyond the axles, heights of the body over its underside [m]


@dataclass(frozen=True, slots=True, kw_only=True)
class Charted:
    """A quantity drawn against time."""

    name: str
    """In the run's dataset."""
    says: str
    unit: str
    scale: float
    """SI value of one shown unit."""


_LOAD = Charted(name="tyre_load", says="load of the {wheel} tyre", unit="N", scale=1.0)
_HEAVE = Charted(name="heave", says="body up and down", unit="mm", scale=1e-3)
_ROLL = Charted(name="roll", says="roll, left side up", unit="deg", scale=np.pi / 180.0)
_PITCH = Charted(name="pitch", says="pitch, nose down", unit="deg", scale=np.pi / 180.0)
_YAW = Charted(name="yaw_rate", says="yaw rate, to the left", unit="deg/s", scale=np.pi / 180.0)
_LATERAL = Charted(name="lateral_acceleration", says="lateral acceleration", unit="m/s²", scale=1.0)
_SIDESLIP = Charted(name="sideslip", says="sideslip angle", unit="deg", scale=np.pi / 180.0)
_SPEED = Charted(name="speed", says="speed", unit="km/h", scale=1.0 / 3.6)

CHARTS: Final = {
    "corner": (_LOAD, _ROLL),
    "braking": (_LOAD, _PITCH),
    "step-steer": (_YAW, _LATERAL),
    "braking-in-a-turn": (_YAW, _SIDESLIP),
    "straight-braking": (_SPEED, _PITCH),
    "straight-acceleration": (_SPEED, _PITCH),
}
"""What characterises each kind of event; bumps by load and heave."""


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class FilmedRun:
    """A car that has been through an event."""

    name: str
    car: Car
    run: "xr.Dataset"
    """Of one set-up: dimensions ``time`` and ``corner``."""

    def row(self, name: str, wheel: str = "") -> Array:
        """Return a quantity against time, of one wheel where it has four."""
        values = self.run[name]
        return np.asarray(values.sel(corner=wheel) if "corner" in values.dims else values, dtype=np.float64)

    @property
    def time(self) -> Array:
        """[s]"""
        return np.asarray(self.run["time"], dtype=np.float64)

    @property
    def driven(self) -> bool:
        """Whether it moves in the plane by itself."""
        return "yaw_rate" in self.run

    def plan(self) -> tuple[Array, Array, Array]:
        """Return x, y and heading in the plane, from the origin along x. [m], [m], [rad]"""
        step = np.diff(self.time, prepend=self.time[0])
        heading = np.cumsum(self.row("yaw_rate") * step)
        ahead, aside = self.row("forward_velocity"), self.row("lateral_velocity")
        x = np.cumsum((ahead * np.cos(heading) - aside * np.sin(heading)) * step)
        y = np.cumsum((ahead * np.sin(heading) + aside * np.cos(heading)) * step)
        return x, y, heading


class EventFilm(MovingSheet):
    """Frames of one event, of one car or of two that go through the same."""

    def __init__(
        self, runs: tuple[FilmedRun, ...], *, kind: str, title: str, source: str, caption: str = ""
    ) -> None:
        """Draw what does not move.

        Parameters
        ----------
        runs : one, or two to be seen together; the first is A.
        kind : of the event.
        caption : below the title.
        """
        self._runs = runs
        self._larger = _enlargement(runs)
        self._wheel = _busiest(runs[0])
        with styled():
            larger = f"; up and down drawn {self._larger} times as large" if self._larger > 1 else ""
            super().__init__(title, source + larger, caption)
            self._side = _Side(self, self.figure.add_axes((0.03, 0.49, 0.55, 0.36)), runs, self._larger)
            lower = self.figure.add_axes((0.03, 0.10, 0.55, 0.36))
            self._lower = (_Above if runs[0].driven else _Behind)(self, lower, runs, self._larger)
            charts = CHARTS.get(kind, (_LOAD, _HEAVE))
            self._charts = [
                self._chart(one, self.figure.add_axes((0.66, bottom, 0.31, 0.22)))
                for one, bottom in zip(charts, (0.45, 0.13), strict=True)
            ]
            self._charts[-1][1].axes.set_xlabel("time [s]", fontsize=11)
            told = self.figure.text(0.63, 0.85, "", fontsize=15, va="top", linespacing=1.4, color=INK)
            self._told = self.moves(self.figure, told)
            self.stands()

    @property
    def length(self) -> float:
        """Of the event. [s]"""
        return float(self._runs[0].time[-1])

    def frames(self, *, start: float, seconds: float, rate: int, slow: float = 1.0) -> Iterator[Frame]:
        """Yield the frames.

        Parameters
        ----------
        start : in the event. [s]
        seconds : how long the film runs. [s]
        rate : frames per second.
        slow : how many times slower than it happened.
        """
        for moment in start + np.arange(max(round(seconds * rate), 1)) / rate / slow:
            self._put(min(float(moment), self.length))
            yield self.drawn()

    def _chart(self, charted: Charted, axes: Axes) -> tuple[Charted, Any, list[Any]]:
        for one, pen in zip(self._runs, _PENS, strict=False):
            values = one.row(charted.name, self._wheel) / charted.scale
            axes.plot(one.time, values, color=pen.color, linestyle=pen.dash, linewidth=2.0)
        axes.set_title(f"{charted.says.format(wheel=self._wheel)} [{charted.unit}]", fontsize=12)
        axes.tick_params(labelsize=10)
        axes.set_xlim(0.0, self.length)
        now = self.moves(axes, axes.axvline(0.0, color=QUIET, linewidth=1.2))
        dots = [
            self.moves(
                axes,
                axes.plot([], [], linestyle="none", marker=pen.marker, markersize=9, color=pen.color)[0],
            )
            for _, pen in zip(self._runs, _PENS, strict=False)
        ]
        return charted, now, dots

    def _put(self, moment: float) -> None:
        phase = str(self._runs[0].run["phase"].sel(time=moment, method="nearest").values)
        said = [f"{moment:5.2f} s" + (f", {phase}" if phase else "")]
        for charted, now, dots in self._charts:
            now.set_xdata([moment, moment])
            for one, dot in zip(self._runs, dots, strict=True):
                value = _at(one, one.row(charted.name, self._wheel), moment) / charted.scale
                dot.set_data([moment], [value])
        for one, sign in zip(self._runs, "●◻", strict=False):
            values = ", ".join(_told(one, charted, self._wheel, moment) for charted, _, _ in self._charts)
            said.append(f"{sign} {one.name}:  {values}" if len(self._runs) > 1 else values)
        self._told.set_text("\n".join(said))
        self._side.put(moment)
        self._lower.put(moment)


def _at(one: FilmedRun, row: Array, moment: float) -> float:
    return float(np.interp(moment, one.time, row))


def _enlargement(runs: Sequence[FilmedRun]) -> int:
    """Return how many times as large up and down is drawn."""
    arms = {
        "heave": 1.0,
        "pitch": 0.6 * runs[0].car.chassis.wheelbase,
        "roll": 0.5 * runs[0].car.rear.track_width,
    }
    largest = max(
        arms.get(name, 1.0) * float(np.abs(one.row(name, wheel)).max())
        for one in runs
        for name, wheel in (*((name, "") for name in arms), *(("wheel_height", wheel) for wheel in _WHEELS))
    )
    return max(one for one in _LARGER if one == 1 or one * largest <= _SEEN)


def _told(one: FilmedRun, charted: Charted, wheel: str, moment: float) -> str:
    decimals = 0 if charted.unit in ("N", "km/h") else 1 if charted.unit == "mm" else 2
    value = _at(one, one.row(charted.name, wheel), moment) / charted.scale
    return f"{value:.{decimals}f} {charted.unit}"


def _busiest(one: FilmedRun) -> str:
    return max(_WHEELS, key=lambda wheel: float(np.ptp(one.row("tyre_load", wheel))))


class _View:
    """The car from one direction: bodies and wheels of all runs."""

    says: ClassVar[str]

    def __init__(self, sheet: MovingSheet, axes: Axes, runs: tuple[FilmedRun, ...], larger: int) -> None:
        self._runs, self._axes, self._larger = runs, axes, larger
        axes.axis("off")
        axes.text(0.0, 1.0, self.says, transform=axes.transAxes, fontsize=11, color=QUIET, va="top")
        self._ground(sheet)
        self._cars = [self._car(sheet, one, pen) for one, pen in zip(runs, _PENS, strict=False)]

    def _ground(self, sheet: MovingSheet) -> None:
        """Draw what the car stands on."""

    def _limit(self, across: float, up: float, *, wide: float, high: float) -> None:
        """Show a middle and so much around it, lengths alike both ways. [m]"""
        box = self._axes.get_position()
        aspect = box.width * WIDTH / (box.height * HEIGHT)
        half = 0.5 * max(high, wide / aspect)
        self._axes.set_xlim(across - half * aspect, across + half * aspect)
        self._axes.set_ylim(up - half, up + half)

    def _shape(self, sheet: MovingSheet, corners: Any, pen: Pen) -> Any:
        first = pen is FRONT
        face = SHADE if first else "none"
        shape = Polygon(
            corners, closed=True, facecolor=face, edgecolor=pen.color, linestyle=pen.dash, linewidth=2.0
        )
        self._axes.add_patch(shape)
        return sheet.moves(self._axes, shape)

    def _car(self, sheet: MovingSheet, one: FilmedRun, pen: Pen) -> Any:
        raise NotImplementedError

    def put(self, moment: float) -> None:
        """Move all to a moment."""
        raise NotImplementedError


class _Side(_View):
    """From the side, the nose to the right, on the road under the left wheels."""

    says = "from the side, left wheels and the road under them"

    def _ground(self, sheet: MovingSheet) -> None:
        length = self._runs[0].car.chassis.wheelbase
        self._limit(-0.5 * length, 0.5, wide=length + 2.0, high=2.0)
        (road,) = self._axes.plot([], [], color=ROAD.color, linewidth=2.5)
        self._road = sheet.moves(self._axes, road)

    def _car(self, sheet: MovingSheet, one: FilmedRun, pen: Pen) -> Any:
        wheels = []
        for axle in (one.car.front, one.car.rear):
            wheel = Circle(
                (0.0, 0.0),
                axle.tyre.radius,
                facecolor=GROUND if pen is FRONT else "none",
                edgecolor=pen.color,
                linestyle=pen.dash,
                linewidth=2.5,
            )
            self._axes.add_patch(wheel)
            wheels.append(sheet.moves(self._axes, wheel))
        body = self._shape(sheet, np.zeros((4, 2)), pen)
        body.set_alpha(0.9)
        return body, wheels, _outline(one.car), mass_properties(one.car).sprung_to_front

    def put(self, moment: float) -> None:
        """Move all to a moment."""
        first = self._runs[0]
        speed = max(_at(first, np.broadcast_to(first.row("speed"), first.time.shape), moment), 1.0)
        places = np.linspace(-first.car.chassis.wheelbase - 1.5, 1.5, 241)
        road = np.interp(moment + places / speed, first.time, first.row("road_height", "FL"))
        self._road.set_data(places, self._larger * road)
        for one, (body, wheels, outline, behind) in zip(self._runs, self._cars, strict=True):
            heave, pitch = (self._larger * _at(one, one.row(name), moment) for name in ("heave", "pitch"))
            lifted = outline.copy()
            lifted[:, 1] += heave - pitch * (outline[:, 0] + behind)
            body.set_xy(lifted)
            for wheel, name, axle, place in zip(
                wheels,
                ("FL", "RL"),
                (one.car.front, one.car.rear),
                (0.0, -one.car.chassis.wheelbase),
                strict=True,
            ):
                height = self._larger * _at(one, one.row("wheel_height", name), moment)
                wheel.set_center((place, axle.tyre.radius + height))


def _outline(car: Car) -> Array:
    """Return a body from the side, x from the front axle forward: nobody's, for the drawing only. [m]"""
    back, front, rear = -car.chassis.wheelbase, car.front.ride_height, car.rear.ride_height
    return np.array(
        [
            (_OVERHANG, front),
            (_OVERHANG, front + 0.7 * _BODY),
            (-0.3, front + _BODY),
            (0.4 * back, front + _GLASS),
            (0.75 * back, rear + _GLASS),
            (back - 0.5 * _OVERHANG, rear + _BODY),
            (back - _OVERHANG, rear + 0.9 * _BODY),
            (back - _OVERHANG, rear),
        ]
    )


class _Behind(_View):
    """From behind: roll, and the rear wheels."""

    says = "from behind"

    def _ground(self, sheet: MovingSheet) -> None:
        self._limit(0.0, 0.55, wide=2.6, high=2.0)
        self._roads = [
            sheet.moves(self._axes, self._axes.plot([], [], color=ROAD.color, linewidth=2.5)[0])
            for _ in range(2)
        ]

    def _car(self, sheet: MovingSheet, one: FilmedRun, pen: Pen) -> Any:
        wheels = [self._shape(sheet, np.zeros((4, 2)), pen) for _ in range(2)]
        return self._shape(sheet, np.zeros((4, 2)), pen), wheels

    def put(self, moment: float) -> None:
        """Move all to a moment."""
        first = self._runs[0]
        for road, name, side in zip(self._roads, ("RL", "RR"), (-1.0, 1.0), strict=True):
            height = self._larger * _at(first, first.row("road_height", name), moment)
            half = 0.5 * first.car.rear.track_width
            road.set_data([side * (half - 0.35), side * (half + 0.5)], [height, height])
        for one, (body, wheels) in zip(self._runs, self._cars, strict=True):
            half, low = 0.5 * one.car.rear.track_width, one.car.rear.ride_height
            heave, roll = (self._larger * _at(one, one.row(name), moment) for name in ("heave", "roll"))
            across = np.array([-half, -half, -0.6 * half, 0.6 * half, half, half])
            up = low + np.array([0.0, _BODY, _GLASS, _GLASS, _BODY, 0.0])
            body.set_xy(np.stack([across, up + heave - roll * across], axis=1))
            for wheel, name, side in zip(wheels, ("RL", "RR"), (-1.0, 1.0), strict=True):
                height = self._larger * _at(one, one.row("wheel_height", name), moment)
                radius, middle = one.car.rear.tyre.radius, side * half
                wide = np.array([-0.11, 0.11, 0.11, -0.11]) + middle
                wheel.set_xy(np.stack([wide, height + radius * np.array([0.0, 0.0, 2.0, 2.0])], axis=1))


class _Above(_View):
    """From above: the way driven, and the car along it."""

    says = "from above, the car drawn three times as large"

    def _ground(self, sheet: MovingSheet) -> None:
        self._ways = [one.plan() for one in self._runs]
        for (x, y, _), pen in zip(self._ways, _PENS, strict=False):
            self._axes.plot(x, y, color=pen.color, linestyle=pen.dash, linewidth=1.2)
        x, y = (np.concatenate([way[k] for way in self._ways]) for k in (0, 1))
        wide, high = np.ptp(x) + 14.0, np.ptp(y) + 14.0
        self._limit(0.5 * (x.min() + x.max()), 0.5 * (y.min() + y.max()), wide=wide, high=high)

    def _car(self, sheet: MovingSheet, one: FilmedRun, pen: Pen) -> Any:
        return self._shape(sheet, np.zeros((4, 2)), pen)

    def put(self, moment: float) -> None:
        """Move all to a moment."""
        for one, (x, y, heading), shape in zip(self._runs, self._ways, self._cars, strict=True):
            at = [_at(one, row, moment) for row in (x, y)]
            turned = np.exp(1j * _at(one, heading, moment))
            # Three times as long as the car is, so that its heading is seen.
            nose, half = 1.5 * one.car.chassis.wheelbase, 0.5 * one.car.front.track_width * 3.0
            corners = np.array(
                [
                    nose * 1.4,
                    nose * 0.6 + 1j * half,
                    -nose + 1j * half,
                    -nose - 1j * half,
                    nose * 0.6 - 1j * half,
                ]
            )
            placed = complex(*at) + corners * turned
            shape.set_xy(np.stack([placed.real, placed.imag], axis=1))
