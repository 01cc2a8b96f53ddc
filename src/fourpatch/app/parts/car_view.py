"""The moving car: an event's arrays sent to the browser once, and played there.

The drawing itself is `car_view.js`; this file shapes the data and places the element on a page.
"""

from base64 import b64encode
from collections.abc import Callable, Sequence
from dataclasses import dataclass
from typing import Any, Final, Literal

import numpy as np
from nicegui.element import Element
from nicegui.events import GenericEventArguments
from numpy.typing import NDArray

from fourpatch.analysis.workout import Trace
from fourpatch.car.car import Car
from fourpatch.car.pack import mass_properties, pack, static_tyre_loads
from fourpatch.car.parameters import Axle
from fourpatch.events.phase import Phase
from fourpatch.physics.layout import CORNER_BASE, N_CORNER, C
from fourpatch.picture.chosen_units import decimals_shown, scale_shown, unit_shown

Array = NDArray[np.float64]

BodyKind = Literal["open-wheel", "closed"]

MOST_INSTANTS: Final = 2000
"""Longer runs are thinned to at most so many instants before they are sent."""

_OPEN_WHEEL = 750.0  # kg; for the drawing only
_TREAD_SHARE = 0.8  # tread width over section width, as in car.tyre_size


@dataclass(frozen=True, slots=True, kw_only=True)
class CarShape:
    """What the drawing must know of a car. All lengths in m."""

    wheelbase: float
    front_track: float
    rear_track: float
    front_axle_to_cg: float
    """Sprung centre of gravity behind the front axle: heave, roll and pitch are about it."""
    cg_height: float
    wheel_radius_front: float
    wheel_radius_rear: float
    tyre_width_front: float
    tyre_width_rear: float
    ride_height_front: float
    """Underside over the road at the axle, car at rest."""
    ride_height_rear: float
    tyre_deflection_front: float
    """Of the tyre under its load at rest."""
    tyre_deflection_rear: float
    body: BodyKind


@dataclass(frozen=True, slots=True, kw_only=True)
class CarRun:
    """One run of an event, n instants. Corners in the order FL, FR, RL, RR; signs as in ISO 8855."""

    label: str
    """Such as A or B."""
    loads: Array
    """(n, 4) vertical load of each tyre on the road. [N]"""
    travel: Array
    """(n, 4) wheel travel from static, bump positive. [m]"""
    heave: Array
    """(n,) of the sprung centre of gravity, up positive. [m]"""
    pitch: Array
    """(n,) nose down positive. [rad]"""
    roll: Array
    """(n,) left side up positive. [rad]"""
    longitudinal_acceleration: Array
    """(n,) forward positive. [m/s^2]"""
    lateral_acceleration: Array
    """(n,) left positive. [m/s^2]"""
    speed: Array
    """(n,) [m/s]"""
    steer: Array | None = None
    """(n, 2) of the front wheels, left positive. [rad]"""
    road: Array | None = None
    """(n, 4) height of the road under each wheel. [m]"""
    off: Array | None = None
    """(n, 4) 1 while a wheel is off the ground; if left out, while its load is 0."""


def car_shape(car: Car, *, body: BodyKind) -> CarShape:
    """Return what the drawing must know of a car.

    Parameters
    ----------
    car : as it stands.
    body : a car file does not say what its body looks like.

    Notes
    -----
    A car file does not hold the width of its tyres either: drawn is load / (pressure x contact length) as
    tread width, over 0.8 as section width, the relation by which `car.tyre_size` estimates the contact
    length. For the drawing only.
    """
    masses = mass_properties(car)
    loads = static_tyre_loads(car)
    front, rear = 0.5 * (loads[0] + loads[1]), 0.5 * (loads[2] + loads[3])
    parameters = pack(car)
    deflection = parameters[CORNER_BASE + C.tyre_static_deflection :: N_CORNER][:4]
    return CarShape(
        wheelbase=car.chassis.wheelbase,
        front_track=car.front.track_width,
        rear_track=car.rear.track_width,
        front_axle_to_cg=masses.sprung_to_front,
        cg_height=masses.sprung_height,
        wheel_radius_front=car.front.tyre.radius,
        wheel_radius_rear=car.rear.tyre.radius,
        tyre_width_front=_tyre_width(car.front, front),
        tyre_width_rear=_tyre_width(car.rear, rear),
        ride_height_front=car.front.ride_height,
        ride_height_rear=car.rear.ride_height,
        tyre_deflection_front=float(np.mean(deflection[:2])),
        tyre_deflection_rear=float(np.mean(deflection[2:])),
        body=body,
    )


def body_kind(car: Car) -> BodyKind:
    """Return which of the two bodies to draw: a car file does not say, so a light one has open wheels."""
    return "open-wheel" if mass_properties(car).total < _OPEN_WHEEL else "closed"


def car_run(label: str, trace: Trace) -> CarRun:
    """Return a run of the rig as the drawing takes it."""
    return CarRun(
        label=label,
        loads=trace.tyre_load,
        travel=trace.travel,
        heave=trace.heave,
        pitch=trace.pitch,
        roll=trace.roll,
        longitudinal_acceleration=trace.longitudinal_acceleration,
        lateral_acceleration=trace.lateral_acceleration,
        speed=trace.speed,
        steer=trace.steer[:, :2],
        road=trace.road_height,
    )


def both_runs(shape: CarShape, a: Trace, b: Trace) -> dict[str, Any]:
    """Return what `car_view.js` plays of one event with set-ups A and B."""
    return car_view_payload(shape, b.time, [car_run("A", a), car_run("B", b)], b.phases)


def named_spans(phases: Sequence[Phase]) -> list[dict[str, Any]]:
    """Return parts of an event as the browser takes them, for the car and for charts."""
    return [phase._asdict() for phase in phases]


def car_view_payload(
    shape: CarShape, time: Array, runs: Sequence[CarRun], phases: Sequence[Phase] = ()
) -> dict[str, Any]:
    """Return what `car_view.js` plays: numbers as base64 of little-endian float32.

    Parameters
    ----------
    shape : of the car; runs A and B share it.
    time : (n,) rising. [s]
    runs : one, or A and B of the same event.
    phases : parts of the event.

    Raises
    ------
    ValueError
        If there are not one or two runs, or an array has not the shape `CarRun` says.

    Notes
    -----
    Runs longer than `MOST_INSTANTS` are thinned to every k-th instant and the last one. A wheel that was
    off the ground anywhere between two sent instants counts as off at the first of them, so that no short
    flight is lost.
    """
    if len(runs) not in (1, 2):
        raise ValueError(f"{len(runs)} runs were given; the car is drawn for one run or two (A and B)")
    every = max(1, int(np.ceil((time.size - 1) / (MOST_INSTANTS - 1))))
    rows = np.unique(np.append(np.arange(0, time.size, every), time.size - 1))
    return {
        "car": {name: getattr(shape, name) for name in CarShape.__slots__},
        "time": _float32(time[rows]),
        "runs": [_run_payload(run, rows, time.size) for run in runs],
        "phases": named_spans(phases),
        "units": {unit: _in_unit(unit) for unit in ("N", "mm", "km/h")},
    }


def _in_unit(unit: str) -> dict[str, Any]:
    """Return how the browser writes a number of a usual unit: the reader's unit, its scale and decimals."""
    return {"unit": unit_shown(unit), "scale": scale_shown(unit), "digits": decimals_shown(unit, 0)}


_KEYS: Final = {
    "loads": ("loads", 4),
    "travel": ("travel", 4),
    "heave": ("heave", 0),
    "pitch": ("pitch", 0),
    "roll": ("roll", 0),
    "ax": ("longitudinal_acceleration", 0),
    "ay": ("lateral_acceleration", 0),
    "speed": ("speed", 0),
    "steer": ("steer", 2),
    "road": ("road", 4),
}
"""Name in the browser: name here, and how many numbers stand side by side (0: one alone)."""


def _run_payload(run: CarRun, rows: NDArray[np.int64], instants: int) -> dict[str, str]:
    sent = {"label": run.label}
    for key, (name, columns) in _KEYS.items():
        values = getattr(run, name)
        if values is not None:
            sent[key] = _float32(_checked(values, name, columns, instants)[rows])
    off = run.loads <= 0.0 if run.off is None else _checked(run.off, "off", 4, instants) > 0.0
    sent["off"] = _float32(np.logical_or.reduceat(off, rows, axis=0))
    return sent


def _checked(values: Array, name: str, columns: int, instants: int) -> Array:
    wanted = (instants, columns) if columns else (instants,)
    if values.shape != wanted:
        raise ValueError(f"{name} has the shape {values.shape}, not {wanted}")
    return values


def _float32(values: NDArray[Any]) -> str:
    return b64encode(np.ascontiguousarray(values, dtype="<f4").tobytes()).decode("ascii")


def _tyre_width(axle: Axle, load: float) -> float:
    """Return a section width that looks right: see `car_shape`. [m]"""
    return load / (axle.tyre.pressure * axle.tyre.contact_length * _TREAD_SHARE)


class CarView(Element, component="car_view.js"):
    """A drawn car that plays an event.

    Parameters
    ----------
    name : what is shown, for those who do not see it: "Car over the kerb".
    link : views and charts of one page that carry the same link share one time cursor in the browser,
        without asking the server: each sends and obeys window events ``fp-time`` whose detail is
        ``{link, time, source}``; ``source`` is whoever sent it, so that it does not answer itself.
    rate : playback speed over real time at the start: "1", "0.25" or "0.1".
    side_by_side : two runs beside each other instead of A's outline over B.
    height : of the drawing where it is wide; a share of the width if 0. [px]
    autoplay : begin to play when the first runs arrive, unless the user prefers reduced motion.
    on_cursor : called with the time of the cursor [s], at most 20 times a second.
    """

    def __init__(
        self,
        name: str,
        *,
        link: str = "",
        rate: Literal["1", "0.25", "0.1"] = "0.25",
        side_by_side: bool = False,
        height: int = 0,
        autoplay: bool = False,
        on_cursor: Callable[[float], None] | None = None,
    ) -> None:
        super().__init__()
        self._props.update(
            name=name, link=link, rate=rate, side=side_by_side, height=height, autoplay=autoplay
        )
        if on_cursor is not None:
            handler = on_cursor

            def moved(event: GenericEventArguments) -> None:
                handler(float(event.args["time"]))

            self.on("cursor", moved, throttle=0.05)

    def set_runs(self, payload: dict[str, Any]) -> None:
        """Show other runs, of `car_view_payload`; the cursor stays where it is if the event is as long."""
        # Kept as a property too, for a browser that (re)loads the page; what is open is told alone.
        with self._props.suspend_updates():
            self._props["payload"] = payload
        self.run_method("setRuns", payload)

    def set_time(self, time: float) -> None:
        """Move the cursor. [s]"""
        self.run_method("setTime", time)

    def pause(self) -> None:
        """Stop where it is."""
        self.run_method("pause")
