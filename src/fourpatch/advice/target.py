"""What a cure must move: the computed numbers behind a complaint, which way, and by how much."""

from collections.abc import Collection, Mapping, Sequence
from dataclasses import dataclass, field, replace

import numpy as np
from numpy.typing import NDArray

from fourpatch.advice.complaint import Complaint
from fourpatch.advice.course import Course
from fourpatch.analysis.event_measures import CORNER_PHASES
from fourpatch.car.car import Car
from fourpatch.errors import AdviceError
from fourpatch.events.kerb_strike import KerbStrike
from fourpatch.events.step_steer import StepSteer
from fourpatch.events.trial import BumpTrial, Trial

Array = NDArray[np.float64]

Terms = tuple[tuple[str, float], ...]
"""Dotted names of measures and the weight of each."""

STEP_STEER = "step steer"
"""Name of the event that answers how quickly and how much the car turns."""

FELT = 0.75
"""Points of balance that a first change moves where no amount is said: half as much again as the least that
is worth a word (0.5, a little): a driver feels it, and who complains of that least is overshot by half at
most. Common practice of one or two steps at a time, no published source."""

COMPLAINED = 3.0
"""Points of balance from which on a driver has something to complain of. A choice, no published source."""

HARDLY = 0.1
"""Points of balance below which a change is hardly measurable: a twentieth of a per cent of corner speed."""

_POINTS = {"a little": 0.5, "clearly": 1.5, "badly": 3.0}
_SHARES = {"a little": 0.5, "": 1.0, "clearly": 1.5, "badly": 2.5}


@dataclass(frozen=True, slots=True, kw_only=True)
class Target:
    """The number behind one complaint."""

    complaint: Complaint
    terms: Terms
    """Dotted names of measures and the weight of each; their weighted sum is the number."""
    sign: float
    """1 if a high number is the complaint, -1 if a low one is."""
    unit: str
    """SI, or points."""
    meaning: str
    """The number in words."""
    hardly: float
    """Change below which it is hardly measurable."""
    neutral: float | None = None
    """Where the complaint ends; None where nobody has said."""
    usual: float = 0.0
    """What a cure is asked to move where ``neutral`` does not say; a share of the number if `relative`."""
    relative: bool = False
    spread: bool = False
    """The number is the largest minus the smallest of the terms, instead of their sum."""
    shown_by: Terms = ()
    """Where it is another number, weighted as `terms`, that says whether the model shows the complaint."""
    events: Mapping[str, Trial] = field(default_factory=dict)
    """Events it needs beside the usual ones."""
    notes: tuple[str, ...] = ()
    """What of the complaint was set aside, and why."""

    def value(self, names: Sequence[str], values: Array) -> Array:
        """Return the number.

        Parameters
        ----------
        names : of the measures.
        values : (..., measures)
        """
        return self._number(self.terms, names, values)

    def _number(self, terms: Terms, names: Sequence[str], values: Array) -> Array:
        parts = np.stack([weight * values[..., names.index(name)] for name, weight in terms], axis=-1)
        if self.spread and terms is self.terms:
            return np.asarray(parts.max(axis=-1) - parts.min(axis=-1))
        return np.asarray(parts.sum(axis=-1))

    def shows(self, names: Sequence[str], values: Array) -> bool | None:
        """Say whether the model shows the complaint; None where there is no line to tell by.

        Parameters
        ----------
        values : (measures,) of the car as it stands.
        """
        telling = self.telling()
        return None if telling is None else bool(telling.beyond(telling.value(names, values)))

    def telling(self) -> "Target | None":
        """Return what tells whether the complaint is there, itself or another number; None without a line."""
        if self.shown_by:
            other = replace(self, terms=self.shown_by, shown_by=(), spread=False)
            return replace(other, sign=1.0, neutral=0.0, hardly=0.0)
        return None if self.neutral is None else self

    def beyond(self, numbers: Array) -> NDArray[np.bool_]:
        """Say of numbers whether they lie beyond neutral, by more than is hardly measurable."""
        assert self.neutral is not None, "a target that tells has a line"
        return np.asarray(self.sign * (np.asarray(numbers) - self.neutral) > self.hardly)

    def wanted(self, present: float) -> float:
        """Return by how much a cure must move the number, above zero, in its unit."""
        size = self.complaint.size
        if self.relative:
            return self.usual * _SHARES[size] * abs(present)
        if self.unit != "points":
            return self.usual * _SHARES[size]
        if size:
            return _POINTS[size]
        return FELT

    def moved(self, before: float | Array, after: float | Array) -> Array:
        """Return how far a change moved the number the right way, in its unit."""
        return np.asarray(self.sign * (np.asarray(before) - np.asarray(after)))

    def within(self, corners: Collection[str]) -> "Target":
        """Return the same with those of its corners alone, their weights raised to the same sum."""
        total = sum(abs(weight) for _, weight in self.terms)
        kept = tuple(term for term in self.terms if term[0].split(".")[0] in corners)
        if self.spread or not kept:
            return replace(self, terms=kept or self.terms)
        scale = total / sum(abs(weight) for _, weight in kept)
        return replace(self, terms=tuple((name, scale * weight) for name, weight in kept))

    def in_phase(self, phase: str) -> "Target | None":
        """Return the same of one phase alone, weights raised to the same sum; None if it is not in it."""
        kept = tuple(term for term in self.terms if term[0].split(".")[1] == phase)
        if not kept:
            return None
        scale = sum(abs(weight) for _, weight in self.terms) / sum(abs(weight) for _, weight in kept)
        return replace(self, terms=tuple((name, scale * weight) for name, weight in kept))

    def phases(self) -> set[tuple[str, str]]:
        """Return the corners and phases the number is taken from."""
        parts = [name.split(".") for name, _ in self.terms]
        return {(part[0], part[1]) for part in parts if part[1] in CORNER_PHASES}


def target_of(complaint: Complaint, car: Car, course: Course) -> Target:
    """Return what a cure of a complaint must move.

    Parameters
    ----------
    car : as it stands.
    course : the corners, bumps and kerbs it may be about.

    Raises
    ------
    AdviceError
        If the model has no number for it, or the course not the place.

    Notes
    -----
    A cure must move a balance by what was said: a little 0.5, clearly 1.5, badly 3 points. Where nothing
    was said, by what a driver is sure to feel, `FELT`, and the answer is a first change; how much more, what
    he then says tells (`next_changes`). How far the model's number is from neutral says nothing of how much
    is wrong: of an estimated car it is unsure by ten points, and a
    car that a driver likes has an understeer of its own. Other numbers by a stated share of the present
    value. Choices of this project: nobody has published such limits. One point of balance is one hundredth
    of an axle's grip, and corner speed goes with the root of grip: half a per cent.
    """
    match complaint.behaviour:
        case "understeer" | "oversteer":
            return _balance(complaint, course)
        case "locks fronts" | "locks rears":
            return _lock(complaint, course)
        case "spins the inside wheel":
            return _wheelspin(complaint, car, course)
        case "hops":
            return _hop(complaint, course)
        case "thrown off kerbs":
            return _thrown(complaint, course)
        case "bottoms":
            return _bottom(complaint, course)
        case "floats":
            return _float(complaint, course)
        case "nervous" | "slow to answer":
            return _response(complaint, course)
        case "inconsistent":
            return _inconsistent(complaint, course)


def _bumps(complaint: Complaint, course: Course) -> dict[str, BumpTrial]:
    """Return the kerbs or bumps a complaint is about, by name."""
    return course.kerbs_of(complaint) if complaint.place == "kerb" else course.roads_of(complaint)


def _named(events: Mapping[str, BumpTrial]) -> str:
    return f"the {' and the '.join(events)}"


def _per_phase(has: Mapping[str, Sequence[str]], quantity: str, weight: float = 1.0) -> Terms:
    """Return the mean over corners of the mean over those of the phases that each has."""
    return tuple(
        (f"{corner}.{phase}.{quantity}", weight / len(has) / len(phases))
        for corner, phases in has.items()
        for phase in phases
    )


def _mean(names: Sequence[str], weight: float = 1.0) -> Terms:
    return tuple((name, weight / len(names)) for name in names)


def _balance(complaint: Complaint, course: Course) -> Target:
    sign = 1.0 if complaint.behaviour == "understeer" else -1.0
    if complaint.place in ("kerb", "bumpy"):
        return _balance_on_bumps(complaint, course, sign)
    if complaint.phase == "straight":
        raise AdviceError(
            f'"{complaint.text()}": on a straight neither axle is near its limit, so there is no balance to '
            'cure. Say "nervous on the straight", or name a phase of a corner: braking, entry, mid or exit.'
        )
    quantity = f"{complaint.window}_balance" if complaint.window else "balance"
    phases = (complaint.phase,) if complaint.phase else ("entry", "mid", "exit")
    has = course.corners_with(complaint, phases)
    half = {"early": "first half of ", "late": "second half of "}.get(complaint.window, "")
    named = " and ".join(phases) if complaint.phase else "entry, mid and exit together, no phase being said"
    return Target(
        complaint=complaint,
        terms=_per_phase(has, quantity),
        sign=sign,
        unit="points",
        meaning=f"balance, {half}{named}, {course.where(has, complaint)}",
        hardly=HARDLY,
        neutral=0.0,
    )


def _balance_on_bumps(complaint: Complaint, course: Course, sign: float) -> Target:
    events = _bumps(complaint, course)
    front, rear = ([f"{event}.grip_lost.{end}" for event in events] for end in ("front", "rear"))
    return Target(
        complaint=complaint,
        terms=_mean(front, 100.0) + _mean(rear, -100.0),
        events=events,
        sign=sign,
        unit="points",
        meaning=f"share of lateral grip that {_named(events)} costs the front beyond the rear",
        hardly=HARDLY,
        neutral=0.0,
        notes=("Bumps are met straight ahead, not in a phase of a corner.",) if complaint.phase else (),
    )


def _lock(complaint: Complaint, course: Course) -> Target:
    front = complaint.behaviour == "locks fronts"
    phases = (complaint.phase if complaint.phase in ("braking", "entry") else "braking",)
    try:
        has = course.corners_with(complaint, phases)
    except AdviceError:
        if complaint.phase:
            raise
        # On a track a brake may be pressed only once the car turns in: then that is where a wheel locks.
        phases = ("entry",)
        has = course.corners_with(complaint, phases)
    return Target(
        complaint=complaint,
        terms=_per_phase(has, "balance"),
        sign=1.0 if front else -1.0,
        unit="points",
        meaning=f"share of its grip that the front uses in {phases[0]} beyond the rear, "
        f"{course.where(has, complaint)}",
        hardly=HARDLY,
        neutral=0.0,
    )


def _wheelspin(complaint: Complaint, car: Car, course: Course) -> Target:
    front = car.driveline.front_drive_share > 0.5
    axle = "front" if front else "rear"
    has = course.corners_with(complaint, ("exit",))
    return Target(
        complaint=complaint,
        terms=_per_phase(has, f"longitudinal_use.{axle}", 100.0),
        sign=1.0,
        unit="points",
        meaning=f"share of its traction that the {axle} axle uses on exit, {course.where(has, complaint)}",
        hardly=HARDLY,
        usual=FELT,
        shown_by=_per_phase(has, "balance", 1.0 if front else -1.0),
    )


def _ends(complaint: Complaint) -> tuple[str, ...]:
    return (complaint.end,) if complaint.end else ("front", "rear")


def _hop(complaint: Complaint, course: Course) -> Target:
    events = _bumps(complaint, course)
    ends = _ends(complaint)
    return Target(
        complaint=complaint,
        terms=_mean([f"{event}.load_variation.{end}" for event in events for end in ends]),
        events=events,
        sign=1.0,
        unit="1",
        meaning=f"variation of tyre load over its mean, {' and '.join(ends)}, on {_named(events)}",
        hardly=0.001,
        usual=0.05,
        relative=True,
        notes=_straight_only(complaint),
    )


def _straight_only(complaint: Complaint) -> tuple[str, ...]:
    if complaint.phase in ("", "straight") and not (complaint.corners or complaint.place.endswith("corner")):
        return ()
    return ("Bumps and kerbs are met straight ahead at one speed, not in a phase of a corner.",)


def _thrown(complaint: Complaint, course: Course) -> Target:
    events = course.kerbs_of(complaint)
    heights, levels = [], []
    for kerb in events.values():
        assert isinstance(kerb, KerbStrike)
        heights.append(f"{1e3 * kerb.height:.0f} mm")
        levels.append(kerb.height if kerb.side == "both" else 0.5 * kerb.height)
    level = sum(levels) / len(levels)
    over = f"a {heights[0]} kerb" if len(heights) == 1 else f"kerbs of {' and '.join(heights)}, mean"
    return Target(
        complaint=complaint,
        terms=_mean([f"{event}.body_throw" for event in events]),
        events=events,
        sign=1.0,
        unit="m",
        meaning=f"rise of the body over {over}, of which {1e3 * level:.0f} mm would be had at walking pace",
        hardly=0.0005,
        neutral=level,
        usual=0.1,
        relative=True,
        notes=_straight_only(complaint),
    )


def _bottom(complaint: Complaint, course: Course) -> Target:
    ends = _ends(complaint)
    events: dict[str, BumpTrial] = {}
    shown_by: Terms = ()
    if complaint.phase in CORNER_PHASES:
        has = course.corners_with(complaint, (complaint.phase,))
        terms = [f"{corner}.{complaint.phase}.ride_height.{end}" for corner in has for end in ends]
        meaning = f"ride height in {complaint.phase}, {' and '.join(ends)}, {course.where(has, complaint)}"
    else:
        events = _bumps(complaint, course)
        terms = [f"{event}.{end}_height_least" for event in events for end in ends]
        meaning = f"lowest ride height on {_named(events)}, {' and '.join(ends)}"
        shown_by = tuple((f"{event}.stop_contact.{end}", 1.0) for event in events for end in ends)
    return Target(
        complaint=complaint,
        terms=_mean(terms),
        events=events,
        sign=-1.0,
        unit="m",
        meaning=meaning,
        hardly=0.0005,
        usual=0.002,
        shown_by=shown_by,
    )


def _float(complaint: Complaint, course: Course) -> Target:
    ends = _ends(complaint)
    events = course.roads_of(complaint)
    return Target(
        complaint=complaint,
        terms=_mean([f"{event}.{end}_height_rms" for event in events for end in ends]),
        events=events,
        sign=1.0,
        unit="m",
        meaning=f"RMS of ride height about its mean on {_named(events)}, {' and '.join(ends)}",
        hardly=0.00005,
        usual=0.05,
        relative=True,
        notes=_straight_only(complaint),
    )


def _response(complaint: Complaint, course: Course) -> Target:
    nervous = complaint.behaviour == "nervous"
    if nervous and complaint.place in ("kerb", "bumpy"):
        return _nervous_on_bumps(complaint, course)
    speed = course.speed_of(complaint)
    notes = (
        ("How the car answers the steering is computed from straight running at steady speed, by the drive.",)
        if complaint.phase
        else ()
    )
    return Target(
        complaint=complaint,
        terms=((f"{STEP_STEER}.{'yaw_rate_gain' if nervous else 'yaw_response_time'}", 1.0),),
        sign=1.0,
        unit="1/s" if nervous else "s",
        meaning=(
            "steady yaw rate per steer of the road wheels"
            if nervous
            else "time to 90 % of the steady yaw rate"
        )
        + f", step of steer to 4 m/s² at {3.6 * speed:.0f} km/h",
        hardly=0.01 if nervous else 0.001,
        usual=0.03,
        relative=True,
        events={STEP_STEER: StepSteer(speed=speed, lateral_acceleration=4.0)},
        notes=notes,
    )


def _nervous_on_bumps(complaint: Complaint, course: Course) -> Target:
    events = _bumps(complaint, course)
    return Target(
        complaint=complaint,
        terms=_mean([f"{event}.grip_lost.{end}" for event in events for end in _ends(complaint)], 100.0),
        events=events,
        sign=1.0,
        unit="points",
        meaning=f"share of lateral grip that {_named(events)} costs, {' and '.join(_ends(complaint))}",
        hardly=HARDLY,
        usual=0.1,
        relative=True,
        notes=("Nervous over bumps is taken as grip that comes and goes with the load.",),
    )


def _inconsistent(complaint: Complaint, course: Course) -> Target:
    has = course.corners_with(complaint, ("entry", "mid", "exit"))
    return Target(
        complaint=complaint,
        terms=tuple(
            (f"{corner}.{phase}.{half}_balance", 1.0)
            for corner, phases in has.items()
            for phase in phases
            for half in ("early", "late")
        ),
        spread=True,
        sign=1.0,
        unit="points",
        meaning=f"largest minus smallest balance from turn-in to exit, {course.where(has, complaint)}",
        hardly=HARDLY,
        usual=0.1,
        relative=True,
        notes=(
            "Inconsistent is taken as a balance that changes through the corner; how much a driver's own "
            "scatter makes of it needs the drive with a driver.",
        ),
    )
