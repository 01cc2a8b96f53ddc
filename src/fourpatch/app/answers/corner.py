"""One corner: balance, load transfer by its paths and attitude, phase by phase and in time, B against A."""

from collections.abc import Callable, Mapping
from typing import TYPE_CHECKING, Literal, NamedTuple

import numpy as np
from numpy.typing import NDArray
from pydantic import BaseModel, Field

from fourpatch.analysis.event_measures import CORNER_PHASES
from fourpatch.analysis.phase_balance import (
    AXLES,
    CORNERS,
    UNITS,
    front_share_in_time,
    labelled,
    transfer_parts,
)
from fourpatch.analysis.standard_events import scaled_corner
from fourpatch.analysis.within_grip import most_within_grip
from fourpatch.analysis.workout import Outcome, RigEvent, Worked, Workout
from fourpatch.app.answers.number import Histories, Lines, Number, finite, paired_lines
from fourpatch.car.car import Car
from fourpatch.car.setup import Setup
from fourpatch.errors import EventError, FourpatchError
from fourpatch.events.corner import Corner
from fourpatch.events.track_corner import CornerOnLap
from fourpatch.events.trial import CornerTrial
from fourpatch.picture.phase_meaning import change_meaning, phase_meaning, transfer_meaning

if TYPE_CHECKING:
    import xarray as xr

    from fourpatch.advice.course import Course

Array = NDArray[np.float64]

CAR_QUANTITIES = (
    "balance",
    "early_balance",
    "late_balance",
    "balance_swing",
    "front_transfer_share",
    "roll",
    "pitch",
)
AXLE_QUANTITIES = (
    "use",
    "peak_use",
    "axle_load",
    "axle_load_peak",
    "axle_load_swing",
    "lateral_transfer",
    "elastic_transfer",
    "geometric_transfer",
    "unsprung_transfer",
    "damper_transfer",
    "ride_height",
    "downforce",
)


class CornerChosen(BaseModel):
    """Which corner: a standard one, or one's own."""

    name: Literal["slow corner", "medium corner", "fast corner"] | None = Field(
        default="medium corner", description="A standard corner; null for one's own."
    )
    radius: float = Field(default=60.0, ge=5.0, le=2000.0, description="Of one's own corner. [m]")
    speed: float | None = Field(
        default=None,
        ge=3.0,
        le=110.0,
        description="In its middle; null for that at which the car as written uses 92 % of its grip. [m/s]",
    )
    direction: Literal["left", "right"] = Field(
        default="left", description="Which way it turns; a track's corner turns as the track does."
    )
    track: int | None = Field(
        default=None,
        description="Id of the track whose corner is meant, whatever else is said; null for none.",
    )
    number: int = Field(default=1, ge=1, description="Of the track's corner, counted from the start line.")


class CornerAnswer(BaseModel):
    """A corner in numbers: means of its phases, B against A, in the motion the car as written sets."""

    radius: float = Field(description="In the middle; of a track's corner where the car is slowest. [m]")
    speed: float = Field(description="There. [m/s]")
    direction: str
    deceleration: float = Field(description="Largest before it. [m/s^2]")
    acceleration: float = Field(description="Largest on the way out. [m/s^2]")
    numbers: list[Number]
    histories: Histories | None = None
    computed_on: str = Field(default="rig", description="Rig or drive.")


class CornerMeaning(BaseModel):
    """What the numbers of a corner say, in computed sentences."""

    balance: str
    transfer: str
    against_a: str = Field(description="Where B differs most, and by which path; empty if nowhere.")


OWN = "own corner"
"""Name of the event that is not a standard one."""

Workouts = Callable[[Car, Setup, Mapping[str, RigEvent] | None], Workout]
"""Prepares the events of a car with a reference set-up; of those already prepared it returns the same."""


Courses = Callable[[Car, int], "Course"]
"""Returns the corners of a track, by its id, as the lap of a car goes."""


def corner_workout(
    workouts: Workouts, courses: Courses, car: Car, a: Setup, chosen: CornerChosen
) -> tuple[Workout, str, CornerTrial]:
    """Return a workout that holds a chosen corner, the event's name in it, and the event.

    Raises
    ------
    FourpatchError
        If A cannot stand, there is no such track or corner, or it cannot be driven as described.
    """
    if chosen.track is not None:
        on_lap = _of_track(courses(car, chosen.track), chosen.number)
        return workouts(car, a, {on_lap.name: on_lap}), on_lap.name, on_lap
    if chosen.name is not None and chosen.direction == "left":
        standard = workouts(car, a, None)
        return standard, chosen.name, _corner_of(standard, chosen.name)
    if chosen.name is not None:
        event = _corner_of(workouts(car, a, None), chosen.name)
    else:
        event = scaled_corner(car, radius=chosen.radius, speed=chosen.speed)
    event = event.model_copy(update={"direction": chosen.direction})
    return workouts(car, a, {OWN: event}), OWN, event


def _of_track(course: "Course", number: int) -> CornerOnLap:
    event = course.corners.get(f"corner {number}")
    if not isinstance(event, CornerOnLap):
        raise EventError(
            f"corner: {course.name} has no corner {number}; there are 1 to {len(course.corners)}, counted "
            "from the start line. Give one of these."
        )
    return event


def _corner_of(workout: Workout, name: str) -> Corner:
    event = workout.events[name]
    assert isinstance(event, Corner)
    return event


def come_through(worked: Worked, name: str) -> tuple[Outcome, Outcome]:
    """Return what B and A did in an event.

    Raises
    ------
    FourpatchError
        With what kept either from coming through.
    """
    if name in worked.errors:
        raise FourpatchError(worked.errors[name])
    return worked.outcomes[name], worked.reference[name]


def corner_answer(event: CornerTrial, b: Outcome, a: Outcome, *, histories: bool = False) -> CornerAnswer:
    """Return the numbers of a corner, and its lines in time if wanted."""
    names = [phase.name for phase in b.history.phases]
    numbers = []
    for part in (one for one in CORNER_PHASES if one in names):
        row = names.index(part)
        numbers += [_number(part, row, name, "", b, a) for name in CAR_QUANTITIES]
        numbers += [_number(part, row, name, axle, b, a) for name in AXLE_QUANTITIES for axle in AXLES]
    return CornerAnswer(
        **corner_figures(event)._asdict(),
        numbers=numbers,
        histories=corner_histories(b, a) if histories else None,
    )


class CornerFigures(NamedTuple):
    """A corner in five figures."""

    radius: float
    """In the middle; of a track's corner where the car is slowest. [m]"""
    speed: float
    """There. [m/s]"""
    direction: str
    """Left or right."""
    deceleration: float
    """Largest before it. [m/s^2]"""
    acceleration: float
    """Largest on the way out. [m/s^2]"""


def corner_figures(event: CornerTrial) -> CornerFigures:
    """Return what a corner is."""
    if isinstance(event, Corner):
        return CornerFigures(
            event.radius, event.speed, event.direction, event.deceleration, event.acceleration
        )
    curvature = float(np.interp(event.slowest, event.time, event.curvature))
    along = np.gradient(event.speed, event.time)
    before = event.time <= event.slowest
    after = ~before & (event.time <= event.end)
    return CornerFigures(
        radius=1.0 / abs(curvature),
        speed=event.slowest_speed,
        direction="left" if curvature > 0.0 else "right",
        deceleration=max(0.0, -float(along[before].min())),
        acceleration=max(0.0, float(along[after].max(initial=0.0))),
    )


def corner_meaning(car: Car, event: CornerTrial, b: Outcome, a: Outcome) -> CornerMeaning:
    """Return in words what the numbers say; seconds if the car cannot follow the motion, else in no time.

    Parameters
    ----------
    car : with set-up B.
    """
    phases, before = _dataset(b), _dataset(a)
    beyond = float(phases.peak_use.max()) > 1.0
    return CornerMeaning(
        balance=phase_meaning(
            phases, most_within_grip(car, event) if isinstance(event, Corner) and beyond else {}
        ),
        transfer=transfer_meaning(phases),
        against_a=change_meaning(phases, before),
    )


def corner_lines(outcome: Outcome) -> Lines:
    """Return the lines of one car in time, by quantity and place."""
    series, trace = outcome.series, outcome.history
    lines: dict[tuple[str, str], Array] = {
        ("tyre_load", corner): trace.tyre_load[:, k] for k, corner in enumerate(CORNERS)
    }
    for k, axle in enumerate(AXLES):
        lines["use", axle] = series["use"][:, k]
        for part, values in transfer_parts(series).items():
            lines[f"{part}_transfer", axle] = values[:, k]
        lines["ride_height", axle] = series["ride_height"][:, k]
    lines["balance", ""] = series["balance"]
    lines["front_transfer_share", ""] = front_share_in_time(series)
    return lines


def corner_histories(b: Outcome, a: Outcome) -> Histories:
    """Return the lines of both cars in time."""
    units = {"tyre_load": "N", **{name: unit for name, (unit, _) in UNITS.items()}}
    trace = b.history
    return Histories(
        time=trace.time.tolist(),
        phases=[(phase.name, phase.start, phase.end) for phase in trace.phases],
        lines=paired_lines(corner_lines(b), corner_lines(a), units),
    )


def _number(part: str, row: int, quantity: str, axle: str, b: Outcome, a: Outcome) -> Number:
    place = (row, AXLES.index(axle)) if axle else (row,)
    unit, meaning = UNITS[quantity]
    return Number(
        part=part,
        quantity=quantity,
        place=axle,
        value=finite(b.numbers[quantity][place]),
        reference=finite(a.numbers[quantity][place]),
        unit=unit,
        meaning=meaning,
    )


def _dataset(outcome: Outcome) -> "xr.Dataset":
    numbers = {name: values[None] for name, values in outcome.numbers.items()}
    return labelled(numbers, outcome.history.phases, ["one"], event="").isel(setup=0, drop=True)
