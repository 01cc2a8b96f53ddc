"""What a driver's hands and feet do in a driven corner: habits to turn, and what is measured."""

from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from functools import cache
from typing import Final, NamedTuple

import numpy as np
from numpy.typing import NDArray

from fourpatch.advice.driven_corner import PACE, Stretch, level_line
from fourpatch.analysis.axle_use import axle_use
from fourpatch.analysis.driver_plan import driver_plan
from fourpatch.analysis.event_measures import Measure
from fourpatch.analysis.limits_map import limits_map
from fourpatch.analysis.standard_events import CORNER_RADII
from fourpatch.analysis.workout import Trace, trace_in_time
from fourpatch.car.adjusters import Adjuster, DirectMap
from fourpatch.car.car import Car
from fourpatch.errors import SolveError
from fourpatch.events.drive import made_ready
from fourpatch.events.driver_style import DriverStyle
from fourpatch.events.lap import LapRun, PacePlan, drive_lap, lay_lap_road
from fourpatch.events.phase import Phase
from fourpatch.events.run import FEW
from fourpatch.physics.layout import O, X
from fourpatch.track.line import Line
from fourpatch.track.road import RoadProfile

Array = NDArray[np.float64]

DRIVEN: Final = "driven corner"
"""Name of the corner: a left-hander of the medium corner's radius, through a right angle."""

RADIUS: Final = CORNER_RADII["medium corner"]
_STRAIGHT, _UNWOUND, _RUN_OUT = 300.0, 45.0, 115.0
"""Before turning in; over which the steering is unwound; after that. Chosen here. [m]"""
_TIMED = (200.0, 100.0)
"""Before turning in and after the steering is straight, between which time is taken. [m]"""
_SPACING = 1.0  # of the line [m]
_SEEN = 60.0  # before turning in and after the steering is straight, shown of the car in motion [m]

TRAIL: Final = Adjuster(
    name="trail braking",
    system="brakes",
    axle="car",
    targets=["driver.trail_braking"],
    unit="%",
    lowest=0.0,
    highest=100.0,
    step=10.0,
    baseline=50.0,
    stiffer="none",
    more_means="more of the grip that turning leaves is used to brake on the way in",
    map=DirectMap(kind="direct", unit="%"),
)
TURN_IN: Final = Adjuster(
    name="length of the turn-in",
    system="steering",
    axle="car",
    targets=["driver.turn_in"],
    unit="m",
    lowest=15.0,
    highest=60.0,
    step=5.0,
    baseline=35.0,
    stiffer="none",
    more_means="the steering is wound on over more road, so with slower hands",
    map=DirectMap(kind="direct", unit="m"),
)
THROTTLE: Final = Adjuster(
    name="time to full throttle",
    system="steering",
    axle="car",
    targets=["driver.throttle_time"],
    unit="s",
    lowest=0.1,
    highest=2.5,
    step=0.1,
    baseline=1.5,
    stiffer="none",
    more_means="the right foot goes down more slowly",
    map=DirectMap(kind="direct", unit="s"),
)
HABITS: Final = (TRAIL, TURN_IN, THROTTLE)
"""What a lesson on driving turns, where other lessons turn the car's adjusters. The driver is invented."""

_AXLES: Final = ("front", "rear")
_PARTS: Final = ("entry", "mid", "exit")
DRIVEN_HARDLY: Final = {
    "time": 0.01,
    "speed": 0.1,
    "sideslip": float(np.radians(0.05)),
    "run_wide": 0.05,
    "wheel_slip": 1e-3,
}
"""Change of what only the drive measures below which it is hardly measurable, SI. Chosen here: a hundredth of
a second, as timing shows it, a tenth of a metre per second, 5 cm on the road."""


class Run(NamedTuple):
    """One way to drive the corner: a car of a run, and where its phases lie."""

    run: LapRun
    car: int
    phases: Mapping[str, Stretch]


@dataclass(frozen=True, slots=True, kw_only=True)
class Bend:
    """The corner with one length of turn-in."""

    line: Line
    phases: dict[str, Stretch]


def bend(turn_in: float) -> Bend:
    """Return the corner in which the steering is wound on over so many metres; all turn by a right angle."""
    arc = 0.5 * np.pi * RADIUS - 0.5 * (turn_in + _UNWOUND)
    ends = np.cumsum([_STRAIGHT, turn_in, arc, _UNWOUND])
    distance = np.arange(0.0, float(ends[-1]) + _RUN_OUT, _SPACING)
    curvature = np.interp(distance, ends, np.array([0.0, 1.0, 1.0, 0.0]) / RADIUS)
    stretches = zip(_PARTS, ends[:-1].tolist(), ends[1:].tolist(), strict=True)
    return Bend(
        line=level_line(distance, curvature), phases={part: Stretch(*ends) for part, *ends in stretches}
    )


@cache
def driven_measures() -> tuple[Measure, ...]:
    """Return what is measured, in the order of `measured_hands`."""
    found = [
        _measure("", "time", "s", "From 200 m before turning in to 100 m after the corner."),
        _measure("entry", "speed", "m/s", "Where the steering is first turned."),
        _measure("", "sideslip", "rad", "Largest angle between where the car points and where it goes."),
        _measure("", "run_wide", "m", "Farthest out of the line that the driver aims for."),
        _measure("exit", "wheel_slip", "1", "Largest slip of a driven wheel."),
    ]
    for part in _PARTS:
        found.append(_measure(part, "balance", "points", "100 (U_front - U_rear), positive is understeer."))
        found += [
            _measure(part, "use", "1", "Of the axle's grip, mean over the road.", axle) for axle in _AXLES
        ]
    return tuple(found)


def _measure(part: str, quantity: str, unit: str, meaning: str, axle: str = "") -> Measure:
    return Measure(event=DRIVEN, part=part, quantity=quantity, axle=axle, unit=unit, meaning=meaning)


def style_of(habits: Mapping[str, float]) -> DriverStyle:
    """Return the style of a driver from where his habits stand; what is left out as other drivers have it."""
    usual = DriverStyle()
    throttle = habits.get(THROTTLE.name)
    return DriverStyle(
        trail_braking=0.01 * habits.get(TRAIL.name, TRAIL.baseline),
        throttle_rate=usual.throttle_rate if throttle is None else 1.0 / throttle,
    )


def drive_hands(car: Car, ways: Sequence[Mapping[str, float]]) -> list[Run]:
    """Drive a car through the corner in several ways.

    Parameters
    ----------
    car : as it stands.
    ways : where the habits of each driver stand, by name of `HABITS`.

    Raises
    ------
    SolveError
        If the car finds no steady turn, or a driver does not get through the corner.

    Notes
    -----
    By the drive, all degrees of freedom free, on a smooth level road. Each driver plans at `PACE` of the
    quasi-steady speeds of his own line and way of braking. He is a simple one: he follows a line and a speed
    and corrects what he sees; he does not invent another line.
    """
    limits = limits_map(car)
    lengths = [one.get(TURN_IN.name, TURN_IN.baseline) for one in ways]
    found: dict[int, Run] = {}
    for length in dict.fromkeys(lengths):
        places = [place for place, one in enumerate(lengths) if one == length]
        laid = bend(length)
        plans = [driver_plan(car, laid.line, style=style_of(ways[place]), limits=limits) for place in places]
        plans += plans[:1] * (FEW - len(plans))  # one or two cars would need another kernel to be compiled
        paces = [plan.by_factors(np.full((1, laid.line.distance.size), PACE)) for plan in plans]
        even = RoadProfile(
            distance=laid.line.distance,
            left=np.zeros_like(laid.line.distance),
            right=np.zeros_like(laid.line.distance),
        )
        run = drive_lap(
            made_ready([car] * len(plans)),
            laid.line,
            PacePlan.side_by_side(paces),
            habits=np.array([plan.habits for plan in plans]),
            handling=plans[0].handling,
            road=lay_lap_road(car, even, closed=False),
        )
        for row, place in enumerate(places):
            if not run.finished[row]:
                raise SolveError(
                    f"driven corner: with {_told(ways[place])} the car does not get through the corner. "
                    "Choose a calmer set-up, or a way of driving nearer to the usual one."
                )
            found[place] = Run(run, row, laid.phases)
    return [found[place] for place in range(len(ways))]


def _told(way: Mapping[str, float]) -> str:
    units = {one.name: one.unit for one in HABITS}
    return ", ".join(f"{name} {value:g} {units[name]}" for name, value in way.items()) or "usual habits"


def measured_hands(runs: Sequence[Run]) -> Array:
    """Return what is measured of ways to drive, (ways, measures), as `driven_measures`."""
    return np.array([_measured(one) for one in runs])


def trace_of(one: Run) -> Trace:
    """Return one way to drive in time, from before turning in until it is straight again."""
    run, car = one.run, one.car
    at = run.history.states[car, :, X.distance]
    shown = (at >= one.phases["entry"].begin - _SEEN) & (at <= one.phases["exit"].end + _SEEN)
    states, outputs = run.history.states[car, shown], run.history.outputs[car, shown]
    time, at = run.time[shown] - run.time[shown][0], at[shown]
    places = [one.phases["entry"].begin, *(part.end for part in one.phases.values())]
    ends = [0.0, *np.interp(places, at, time).tolist(), float(time[-1])]
    names = ("straight", *one.phases, "straight out")
    parameters = run.driven.parameters[car : car + 1]
    return trace_in_time(
        parameters[0],
        states,
        outputs,
        time=time,
        speed=states[:, X.forward_velocity],
        path_curvature=states[:, X.yaw_rate] / states[:, X.forward_velocity],
        road_height=np.zeros((time.size, 4)),
        use=axle_use(parameters, outputs[None]).use[0],
        phases=tuple(Phase(*three) for three in zip(names, ends[:-1], ends[1:], strict=True)),
    )


def _measured(one: Run) -> list[float]:
    run, car = one.run, one.car
    inside = np.isfinite(run.history.states[car, :, X.distance])
    states, outputs = run.history.states[car, inside], run.history.outputs[car, inside]
    at, speed = states[:, X.distance], states[:, X.forward_velocity]
    use = axle_use(run.driven.parameters[car : car + 1], outputs[None]).use[0]
    turn_in, straight = one.phases["entry"].begin, one.phases["exit"].end
    cornering = (at >= turn_in) & (at <= straight)
    leaving = (at >= one.phases["exit"].begin) & (at <= straight)
    when = [float(run.crossing(place)[car]) for place in (turn_in - _TIMED[0], straight + _TIMED[1])]
    slips = outputs[:, O.slip : O.slip + 4][leaving]
    front = run.driven.cars[car].driveline.front_drive_share
    driven = [wheel for wheel, share in enumerate((front, front, 1.0 - front, 1.0 - front)) if share > 0.0]
    found = [
        when[1] - when[0],
        float(np.interp(turn_in, at, speed)),
        float(np.abs(np.arctan2(states[:, X.lateral_velocity], speed))[cornering].max()),
        float(max(0.0, -states[cornering, X.offset].min())),
        float(slips[:, driven].max()),
    ]
    for stretch in one.phases.values():
        part = (at >= stretch.begin) & (at <= stretch.end)
        # Over distance, not over time: a slower car must not count a place twice.
        front, rear = np.trapezoid(use[part], at[part], axis=0) / (at[part][-1] - at[part][0])
        found += [100.0 * float(front - rear), float(front), float(rear)]
    return found
