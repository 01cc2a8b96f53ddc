"""What a cure must move: the computed numbers behind a complaint, which way, and by how much."""

from collections.abc import Mapping, Sequence
from dataclasses import dataclass, field

import numpy as np
from numpy.typing import NDArray

from fourpatch.advice.complaint import Complaint
from fourpatch.advice.sensitivity import Test
from fourpatch.analysis.event_measures import CORNER_PHASES
from fourpatch.car.car import Car
from fourpatch.errors import AdviceError
from fourpatch.events.corner import Corner
from fourpatch.events.kerb_strike import KerbStrike
from fourpatch.events.step_steer import StepSteer

Array = NDArray[np.float64]

STEP_STEER = "step steer"
"""Name of the event that answers how quickly and how much the car turns."""

HALF_OF_THE_EXCESS = 0.5
"""A cure must move the complaint's number by this share of its distance from neutral."""

LEAST_POINTS, MOST_POINTS, USUAL_POINTS = 0.5, 3.0, 1.0
"""Least and most a cure of a balance is asked to move, and what it is asked where the model shows nothing."""

HARDLY = 0.1
"""Points of balance below which a change is hardly measurable: a twentieth of a per cent of corner speed."""

_POINTS = {"a little": 0.5, "clearly": 1.5, "badly": 3.0}
_SHARES = {"a little": 0.5, "": 1.0, "clearly": 1.5, "badly": 2.5}

_CORNERS = ("slow corner", "medium corner", "fast corner")


@dataclass(frozen=True, slots=True, kw_only=True)
class Target:
    """The number behind one complaint."""

    complaint: Complaint
    terms: tuple[tuple[str, float], ...]
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
    shown_by: tuple[tuple[str, float], ...] = ()
    """Where it is another number, weighted as `terms`, that says whether the model shows the complaint."""
    events: Mapping[str, Test] = field(default_factory=dict)
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

    def _number(self, terms: tuple[tuple[str, float], ...], names: Sequence[str], values: Array) -> Array:
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
        if self.shown_by:
            return bool(self._number(self.shown_by, names, values) > 0.0)
        if self.neutral is None:
            return None
        return bool(self.sign * (float(self.value(names, values)) - self.neutral) > self.hardly)

    def wanted(self, present: float) -> float:
        """Return by how much a cure must move the number, above zero, in its unit."""
        size = self.complaint.size
        if self.relative:
            return self.usual * _SHARES[size] * abs(present)
        if self.unit != "points":
            return self.usual * _SHARES[size]
        if size:
            return _POINTS[size]
        excess = 0.0 if self.neutral is None else self.sign * (present - self.neutral)
        if excess <= self.hardly:
            return USUAL_POINTS
        return float(np.clip(HALF_OF_THE_EXCESS * excess, LEAST_POINTS, MOST_POINTS))

    def moved(self, before: float | Array, after: float | Array) -> Array:
        """Return how far a change moved the number the right way, in its unit."""
        return np.asarray(self.sign * (np.asarray(before) - np.asarray(after)))

    def phases(self) -> set[tuple[str, str]]:
        """Return the corners and phases the number is taken from."""
        parts = [name.split(".") for name, _ in self.terms]
        return {(part[0], part[1]) for part in parts if part[1] in CORNER_PHASES}


def target_of(complaint: Complaint, car: Car, events: Mapping[str, Test]) -> Target:
    """Return what a cure of a complaint must move.

    Parameters
    ----------
    car : as it stands.
    events : the usual ones, from `standard_events`.

    Raises
    ------
    AdviceError
        If the model has no number for it.

    Notes
    -----
    A cure must move a balance by half of its distance from neutral (0), at least 0.5 and at most 3 points,
    or by what was said: a little 0.5, clearly 1.5, badly 3. Where the model does not show the complaint, by
    1 point. Other numbers by a stated share of the present value. Choices of this project: nobody has
    published such limits. One point of balance is one hundredth of an axle's grip, and corner speed goes
    with the root of grip: half a per cent.
    """
    match complaint.behaviour:
        case "understeer" | "oversteer":
            return _balance(complaint)
        case "locks fronts" | "locks rears":
            return _lock(complaint)
        case "spins the inside wheel":
            return _wheelspin(complaint, car)
        case "hops":
            return _hop(complaint)
        case "thrown off kerbs":
            return _thrown(complaint, events)
        case "bottoms":
            return _bottom(complaint)
        case "floats":
            return _float(complaint)
        case "nervous" | "slow to answer":
            return _response(complaint, events)
        case "inconsistent":
            return _inconsistent(complaint)
        case "overheats":
            raise AdviceError(
                "Tyres that overheat: this model has no tyre temperature, so nothing here can say what heats "
                "them. Say what the car does when they are hot (pushes, loose, in which phase); tyre "
                "temperatures across the tread after a run would be the information to have."
            )


def _corners(complaint: Complaint) -> tuple[str, ...]:
    return (complaint.place,) if complaint.place in _CORNERS else _CORNERS


def _where(complaint: Complaint) -> str:
    return f"in the {complaint.place}" if complaint.place in _CORNERS else "in slow, medium and fast corners"


def _mean(names: Sequence[str], weight: float = 1.0) -> tuple[tuple[str, float], ...]:
    return tuple((name, weight / len(names)) for name in names)


def _balance(complaint: Complaint) -> Target:
    sign = 1.0 if complaint.behaviour == "understeer" else -1.0
    if complaint.place in ("kerb", "bumpy"):
        return _balance_on_bumps(complaint, sign)
    if complaint.phase == "straight":
        raise AdviceError(
            f'"{complaint.text()}": on a straight neither axle is near its limit, so there is no balance to '
            'cure. Say "nervous on the straight", or name a phase of a corner: braking, entry, mid or exit.'
        )
    quantity = f"{complaint.window}_balance" if complaint.window else "balance"
    phases = (complaint.phase,) if complaint.phase else ("entry", "mid", "exit")
    half = {"early": "first half of ", "late": "second half of "}.get(complaint.window, "")
    named = " and ".join(phases) if complaint.phase else "entry, mid and exit together, no phase being said"
    return Target(
        complaint=complaint,
        terms=_mean([f"{corner}.{phase}.{quantity}" for corner in _corners(complaint) for phase in phases]),
        sign=sign,
        unit="points",
        meaning=f"balance, {half}{named}, {_where(complaint)}",
        hardly=HARDLY,
        neutral=0.0,
    )


def _balance_on_bumps(complaint: Complaint, sign: float) -> Target:
    event = "kerb" if complaint.place == "kerb" else "rough road"
    return Target(
        complaint=complaint,
        terms=((f"{event}.grip_lost.front", 100.0), (f"{event}.grip_lost.rear", -100.0)),
        sign=sign,
        unit="points",
        meaning=f"share of lateral grip that the {event} costs the front beyond the rear",
        hardly=HARDLY,
        neutral=0.0,
        notes=("Bumps are met straight ahead, not in a phase of a corner.",) if complaint.phase else (),
    )


def _lock(complaint: Complaint) -> Target:
    front = complaint.behaviour == "locks fronts"
    phase = complaint.phase if complaint.phase in ("braking", "entry") else "braking"
    return Target(
        complaint=complaint,
        terms=_mean([f"{corner}.{phase}.balance" for corner in _corners(complaint)]),
        sign=1.0 if front else -1.0,
        unit="points",
        meaning=f"share of its grip that the front uses in {phase} beyond the rear, {_where(complaint)}",
        hardly=HARDLY,
        neutral=0.0,
    )


def _wheelspin(complaint: Complaint, car: Car) -> Target:
    front = car.driveline.front_drive_share > 0.5
    axle = "front" if front else "rear"
    corners = _corners(complaint)
    return Target(
        complaint=complaint,
        terms=_mean([f"{corner}.exit.longitudinal_use.{axle}" for corner in corners], 100.0),
        sign=1.0,
        unit="points",
        meaning=f"share of its traction that the {axle} axle uses on exit, {_where(complaint)}",
        hardly=HARDLY,
        usual=USUAL_POINTS,
        shown_by=_mean([f"{corner}.exit.balance" for corner in corners], 1.0 if front else -1.0),
    )


def _ends(complaint: Complaint) -> tuple[str, ...]:
    return (complaint.end,) if complaint.end else ("front", "rear")


def _hop(complaint: Complaint) -> Target:
    event = "kerb" if complaint.place == "kerb" else "rough road"
    ends = _ends(complaint)
    return Target(
        complaint=complaint,
        terms=_mean([f"{event}.load_variation.{end}" for end in ends]),
        sign=1.0,
        unit="1",
        meaning=f"variation of tyre load over its mean, {' and '.join(ends)}, on the {event}",
        hardly=0.001,
        usual=0.05,
        relative=True,
        notes=_straight_only(complaint),
    )


def _straight_only(complaint: Complaint) -> tuple[str, ...]:
    if complaint.phase in ("", "straight") and complaint.place not in _CORNERS:
        return ()
    return ("Bumps and kerbs are met straight ahead at one speed, not in a phase of a corner.",)


def _thrown(complaint: Complaint, events: Mapping[str, Test]) -> Target:
    kerb = events["kerb"]
    assert isinstance(kerb, KerbStrike)
    level = kerb.height if kerb.side == "both" else 0.5 * kerb.height
    return Target(
        complaint=complaint,
        terms=(("kerb.body_throw", 1.0),),
        sign=1.0,
        unit="m",
        meaning=f"rise of the body over a {1e3 * kerb.height:.0f} mm kerb, of which {1e3 * level:.0f} mm "
        "would be had at walking pace",
        hardly=0.0005,
        neutral=level,
        usual=0.1,
        relative=True,
        notes=_straight_only(complaint),
    )


def _bottom(complaint: Complaint) -> Target:
    ends = _ends(complaint)
    if complaint.phase in CORNER_PHASES:
        terms = [
            f"{corner}.{complaint.phase}.ride_height.{end}" for corner in _corners(complaint) for end in ends
        ]
        meaning = f"ride height in {complaint.phase}, {' and '.join(ends)}, {_where(complaint)}"
        shown_by: tuple[tuple[str, float], ...] = ()
    else:
        event = "kerb" if complaint.place == "kerb" else "rough road"
        terms = [f"{event}.{end}_height_least" for end in ends]
        meaning = f"lowest ride height on the {event}, {' and '.join(ends)}"
        shown_by = tuple((f"{event}.stop_contact.{end}", 1.0) for end in ends)
    return Target(
        complaint=complaint,
        terms=_mean(terms),
        sign=-1.0,
        unit="m",
        meaning=meaning,
        hardly=0.0005,
        usual=0.002,
        shown_by=shown_by,
    )


def _float(complaint: Complaint) -> Target:
    ends = _ends(complaint)
    return Target(
        complaint=complaint,
        terms=_mean([f"rough road.{end}_height_rms" for end in ends]),
        sign=1.0,
        unit="m",
        meaning=f"RMS of ride height about its mean on the rough road, {' and '.join(ends)}",
        hardly=0.00005,
        usual=0.05,
        relative=True,
        notes=_straight_only(complaint),
    )


def _response(complaint: Complaint, events: Mapping[str, Test]) -> Target:
    nervous = complaint.behaviour == "nervous"
    if nervous and complaint.place in ("kerb", "bumpy"):
        return _nervous_on_bumps(complaint)
    place = complaint.place if complaint.place in _CORNERS else "medium corner"
    corner = events[place]
    assert isinstance(corner, Corner)
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
        + f", step of steer to 4 m/s² at {3.6 * corner.speed:.0f} km/h",
        hardly=0.01 if nervous else 0.001,
        usual=0.03,
        relative=True,
        events={STEP_STEER: StepSteer(speed=corner.speed, lateral_acceleration=4.0)},
        notes=notes,
    )


def _nervous_on_bumps(complaint: Complaint) -> Target:
    event = "kerb" if complaint.place == "kerb" else "rough road"
    return Target(
        complaint=complaint,
        terms=_mean([f"{event}.grip_lost.{end}" for end in _ends(complaint)], 100.0),
        sign=1.0,
        unit="points",
        meaning=f"share of lateral grip that the {event} costs, {' and '.join(_ends(complaint))}",
        hardly=HARDLY,
        usual=0.1,
        relative=True,
        notes=("Nervous over bumps is taken as grip that comes and goes with the load.",),
    )


def _inconsistent(complaint: Complaint) -> Target:
    corners = _corners(complaint)
    return Target(
        complaint=complaint,
        terms=tuple(
            (f"{corner}.{phase}.{half}_balance", 1.0)
            for corner in corners
            for phase in ("entry", "mid", "exit")
            for half in ("early", "late")
        ),
        spread=True,
        sign=1.0,
        unit="points",
        meaning=f"largest minus smallest balance from turn-in to exit, {_where(complaint)}",
        hardly=HARDLY,
        usual=0.1,
        relative=True,
        notes=(
            "Inconsistent is taken as a balance that changes through the corner; how much a driver's own "
            "scatter makes of it needs the drive with a driver.",
        ),
    )
