"""Cures put to the drive: the car as it stands and changed ones, all degrees of freedom free."""

from collections.abc import Iterator, Sequence
from dataclasses import dataclass
from typing import Final, NamedTuple

import numpy as np
from numpy.typing import NDArray

from fourpatch.advice.course import Course
from fourpatch.advice.driven_corner import DrivenAnswer, DrivenCorner, driven_corner
from fourpatch.advice.target import Target
from fourpatch.advice.throttle_on import ThrottleOn, throttle_on
from fourpatch.advice.turns_held import SHARES
from fourpatch.analysis.step_steer import step_steer_values
from fourpatch.analysis.straight_braking import braking_values
from fourpatch.car.car import Car
from fourpatch.errors import SolveError
from fourpatch.events.drive import drive, made_ready
from fourpatch.events.drive_start import settle_drive
from fourpatch.events.step_steer import StepSteer
from fourpatch.events.straight_braking import StraightBraking
from fourpatch.events.trial import CornerTrial, lateral_acceleration, slowest_speed

Array = NDArray[np.float64]

_SAME = 1e-6  # change of road-wheel angle that is none [rad]
_WRONG_WAY = 0.02  # points of balance in a driven corner that are none: a fifth of what can be measured
WHEELSPIN: Final = "spins the inside wheel"
_NO_TRACTION = 0.01  # change of acceleration before a wheel spins that is none [m/s^2]
_NO_TURNING = 0.002  # change of turning under throttle that is none [1]
_PEDALS = np.linspace(0.15, 1.0, 18)
_STOP = 0.8  # time at that pedal: long enough to lock, not to stop [s]


MOST_CORNERS = 4
"""Of those a complaint is about that the drive is asked in."""


@dataclass(frozen=True, slots=True, kw_only=True)
class DriveNumber:
    """One number of the drive, of the car as it stands and of changed ones."""

    name: str
    unit: str
    """SI."""
    before: float | None
    after: tuple[float | None, ...]
    """Of each changed car."""
    agrees: tuple[bool | None, ...]
    """Of each, whether it moves the way the complaint asks for; None where it is shown for information."""


@dataclass(frozen=True, slots=True, kw_only=True)
class DriveAsked:
    """Where the drive is asked about one complaint."""

    driven: tuple[DrivenCorner, ...] = ()
    """Corners that are driven for a balance on entry or exit; where the complaint is worst first."""
    steady: tuple[str, ...] = ()
    """Corners that are turned steadily for a balance at mid-corner, in the same order."""
    throttled: str = ""
    """Corner out of which the throttle is opened, for exit and for a wheel that spins; the slowest."""
    of: int = 0
    """Corners that the complaint is about."""


def drive_check(
    standing: Car,
    changed: Sequence[Car],
    targets: Sequence[Target],
    course: Course,
    asked: Sequence[DriveAsked],
) -> list[DriveNumber]:
    """Return what the drive says of changed cars.

    Parameters
    ----------
    asked : of `drive_asked`.

    Notes
    -----
    Balance on entry and exit: corners driven as the rig goes through them (`driven_corner`). Balance at
    mid-corner: the road-wheel angle that a steady turn takes, as near to the corner's lateral acceleration
    as all cars can hold; less of it is towards oversteer. Exit, and a wheel that spins: the throttle opened
    out of a steady turn (`throttle_on`), where traction and balance are two numbers. Braking: the lowest
    pedal, in twentieths, at which a front and a rear wheel lock. Always: how quickly the yaw rate answers a
    step of steer, which is the standard test of nervous and of slow to answer.
    """
    cars = [standing, *changed]
    found: list[DriveNumber] = []
    for target, where in zip(targets, asked, strict=True):
        for place, corner in enumerate(where.driven):
            found += _through_corner(target, cars, corner, steer_too=place == 0)
        for name in where.steady:
            found += _steady_turn(target, cars, name, course.corners[name])
        if where.throttled:
            found += _throttle_on(target, cars, where.throttled, course.corners[where.throttled])
        complaint = target.complaint
        if complaint.behaviour in ("locks fronts", "locks rears") or complaint.phase == "braking":
            found += _lock_up(target, cars)
    found += _response(cars, targets, course)
    return list({one.name: one for one in found}.values())


def contradicted(
    standing: Car,
    changed: Sequence[Car],
    targets: Sequence[Target],
    course: Course,
    asked: Sequence[DriveAsked],
    *,
    credited: NDArray[np.bool_],
    alone: bool = False,
    must_show: NDArray[np.bool_] | None = None,
) -> list[bool]:
    """Say of each changed car whether the drive contradicts what it is to do for a complaint.

    Parameters
    ----------
    asked : of `drive_asked`.
    credited : whether the rig says that a car is better for a complaint, (changed, targets).
    alone : whether each change may be one of several: then it is asked only about what it is credited with,
        for another change can make good what it costs an opposed complaint.
    must_show : whether a change must show in the driven corners what it is credited with, (changed,): the
        rig joins slipping and held smoothly where a differential holds, and credits lock with too much.

    Notes
    -----
    At mid-corner steady turns must move the right way, summed over the corners, for the complaints that a
    change is to help with; on entry and exit the driven corners must not move the wrong way by more than
    `_WRONG_WAY`, mean of the corners as the complaint's own number is: there the driver's own corrections are
    in the numbers. With the throttle opened out of a turn no change may cost traction that is to stop a wheel
    from spinning, and the differential by itself may not bring round the end that is complained of.
    """
    wrong = np.zeros(len(changed), dtype=bool)
    if not changed:
        return []
    cars = [standing, *changed]
    for target, where, counted in zip(targets, asked, credited.T, strict=True):
        answers = [_answers(corner, cars, target) for corner in where.driven]
        points = [target.moved(one.balance[0], one.balance[1:]) for one in answers if one is not None]
        if points:
            answerable = counted if alone else np.ones_like(counted)
            driven = np.mean(points, axis=0)
            wrong |= answerable & ~(driven > -_WRONG_WAY)
            if must_show is not None:
                wrong |= must_show & counted & ~(driven > _WRONG_WAY)
        turns = [_steer(cars, course.corners[name]) for name in where.steady]
        moved = [target.moved(turn.steer[0], turn.steer[1:]) for turn in turns if turn is not None]
        if moved:
            wrong |= counted & (np.sum(moved, axis=0) <= _SAME)
        if where.throttled:
            wrong |= counted & _against_throttle(target, cars, course.corners[where.throttled], must_show)
    return [bool(one) for one in wrong]


def drive_asked(
    standing: Car, targets: Sequence[Target], course: Course, *, names: Sequence[str], present: Array
) -> tuple[DriveAsked, ...]:
    """Return for each complaint where the drive is asked.

    Parameters
    ----------
    names, present : dotted names and values of the measures as the car stands.

    Notes
    -----
    In all corners that a complaint is about, up to `MOST_CORNERS`; of more, in the one where the number is
    worst and the middle one of each speed class.
    """
    return tuple(_asked_of(standing, target, course, names, present) for target in targets)


def _asked_of(
    standing: Car, target: Target, course: Course, names: Sequence[str], present: Array
) -> DriveAsked:
    corners = {name for name, _ in target.phases()}
    slowest = min(
        (name for name in course.corners if (name, "exit") in target.phases()),
        key=lambda name: slowest_speed(course.corners[name]),
        default="",
    )
    if target.complaint.behaviour not in ("understeer", "oversteer"):
        spins = target.complaint.behaviour == WHEELSPIN
        return DriveAsked(throttled=slowest, of=len(corners)) if spins else DriveAsked()

    def worst_first(name: str) -> float:
        return -target.sign * float(target.within([name]).value(names, present))

    ordered = sorted((name for name in course.corners if name in corners), key=worst_first)
    chosen = ordered
    if len(ordered) > MOST_CORNERS:
        chosen = list(
            dict.fromkeys([ordered[0], *course.typical([n for n in course.corners if n in corners])])
        )
    driven = []
    for name in chosen if _driven_phases(target) else ():
        try:
            driven.append(driven_corner(standing, course.corners[name], name))
        except SolveError:
            continue
    steady = chosen if target.complaint.phase in ("", "mid") else ()
    return DriveAsked(driven=tuple(driven), steady=tuple(steady), throttled=slowest, of=len(ordered))


def _driven_phases(target: Target) -> tuple[str, ...]:
    return tuple(sorted({phase for _, phase in target.phases()} & {"entry", "exit"}))


def _answers(corner: DrivenCorner, cars: Sequence[Car], target: Target) -> DrivenAnswer | None:
    """Return what cars do in the phases of a complaint; None if the first does not get through."""
    phases = [phase for phase in _driven_phases(target) if phase in corner.phases]
    try:
        found = corner.answers(cars, phases)
    except SolveError:
        return None
    return None if np.isnan(found.balance[0]) else found


def _through_corner(
    target: Target, cars: Sequence[Car], corner: DrivenCorner, *, steer_too: bool
) -> Iterator[DriveNumber]:
    found = _answers(corner, cars, target)
    if found is None:
        return
    moved = target.moved(found.balance[0], found.balance[1:])
    phases = " and ".join(phase for phase in _driven_phases(target) if phase in corner.phases)
    yield DriveNumber(
        name=f"balance, {phases}, {corner.name}, driven",
        unit="points",
        before=float(found.balance[0]),
        after=_or_none(found.balance[1:]),
        agrees=tuple(None if not abs(by) >= _WRONG_WAY else bool(by > 0.0) for by in moved),
    )
    if steer_too:
        yield DriveNumber(
            name=f"road-wheel angle beyond the path's, {phases}, {corner.name}, driven",
            unit="rad",
            before=float(found.steer[0]),
            after=_or_none(found.steer[1:]),
            agrees=(None,) * (len(cars) - 1),
        )


def _or_none(values: Array) -> tuple[float | None, ...]:
    return tuple(None if np.isnan(one) else float(one) for one in values)


class _Turn(NamedTuple):
    lateral_acceleration: float
    """[m/s^2]"""
    steer: Array
    """Road-wheel angle of each car. [rad]"""


def _steer(cars: Sequence[Car], corner: CornerTrial) -> _Turn | None:
    """Return the steer of a steady turn, as near to the corner's acceleration as all cars can hold."""
    driven = made_ready(cars)
    for share in SHARES:
        wanted = share * lateral_acceleration(corner)
        try:
            start = settle_drive(
                driven.parameters,
                driven.engines,
                speed=slowest_speed(corner),
                lateral_acceleration=wanted,
                name="steady turn",
            )
        except SolveError:
            continue
        return _Turn(wanted, start.steer)
    return None


def _steady_turn(
    target: Target, cars: Sequence[Car], event: str, corner: CornerTrial
) -> Iterator[DriveNumber]:
    turn = _steer(cars, corner)
    none = (None,) * (len(cars) - 1)
    if turn is None:
        # Said, not left out: that nothing contradicts a change means nothing where nobody was asked.
        yield DriveNumber(
            name=f"{event}: the drive was not asked, no steady turn is found there",
            unit="",
            before=None,
            after=none,
            agrees=none,
        )
        return
    moved = target.moved(turn.steer[0], turn.steer[1:])
    yield DriveNumber(
        name=f"road-wheel angle in a steady turn, {event}, {turn.lateral_acceleration:.1f} m/s²",
        unit="rad",
        before=float(turn.steer[0]),
        after=_or_none(turn.steer[1:]),
        agrees=tuple(None if abs(by) <= _SAME else bool(by > 0.0) for by in moved),
    )


def _throttle_on(
    target: Target, cars: Sequence[Car], event: str, corner: CornerTrial
) -> Iterator[DriveNumber]:
    """Yield traction, and which end slides, with the throttle opened out of a turn."""
    found = throttle_on(cars, corner)
    if found is None:
        return
    spins = target.complaint.behaviour == WHEELSPIN
    at = f"throttle opened at {found.lateral_acceleration:.1f} m/s², {event}"
    for name, unit, row, judged in (
        ("forward acceleration before a wheel spins", "m/s^2", found.traction, spins),
        ("turning beyond the steady turn's", "1", found.turning, not spins),
    ):
        better = _better(target, found)
        least = _NO_TRACTION if spins else _NO_TURNING
        yield DriveNumber(
            name=f"{name}, {at}",
            unit=unit,
            before=float(row[0]),
            after=_or_none(row[1:]),
            agrees=tuple(None if not judged or not abs(by) >= least else bool(by > 0.0) for by in better),
        )


def _better(target: Target, found: ThrottleOn) -> Array:
    """Return by how much each changed car does better what a complaint asks for."""
    if target.complaint.behaviour == WHEELSPIN:
        return np.asarray(found.traction[1:] - found.traction[0])
    # A complaint of oversteer asks for less turning, one of understeer for more.
    return np.asarray(target.sign * (found.turning[1:] - found.turning[0]))


def _against_throttle(
    target: Target, cars: Sequence[Car], corner: CornerTrial, must_show: NDArray[np.bool_] | None
) -> NDArray[np.bool_]:
    """Say of each changed car whether the throttle opened out of a turn contradicts it."""
    spins = target.complaint.behaviour == WHEELSPIN
    alone = np.zeros(len(cars) - 1, dtype=np.bool_) if must_show is None else must_show
    found = throttle_on(cars, corner) if spins or alone.any() else None
    if found is None or (spins and not found.spins[0]):
        return np.zeros(len(cars) - 1, dtype=np.bool_)
    better = _better(target, found)
    if spins:
        return ~(better > -_NO_TRACTION) | (alone & ~(better > _NO_TRACTION))
    return alone & ~(better > -_NO_TURNING)


def _lock_up(target: Target, cars: Sequence[Car]) -> Iterator[DriveNumber]:
    """Yield the lowest pedal at which a front and a rear wheel lock."""
    lowest: dict[tuple[str, int], float] = {}
    for pedal in _PEDALS:
        values = braking_values(drive(cars, StraightBraking(pedal=float(pedal), duration=_STOP)))
        for place, one in enumerate(values):
            for end, corners in (("front", ("FL", "FR")), ("rear", ("RL", "RR"))):
                if any(one.lock_up[corner].first is not None for corner in corners):
                    lowest.setdefault((end, place), float(pedal))
        if len(lowest) == 2 * len(cars):
            break
    complained = "front" if target.sign > 0.0 else "rear"
    for end in ("front", "rear"):
        before, *after = (lowest.get((end, place)) for place in range(len(cars)))
        moved = [(one or 2.0) - (before or 2.0) for one in after]
        yield DriveNumber(
            name=f"lowest pedal that locks a {end} wheel",
            unit="1",
            before=before,
            after=tuple(after),
            agrees=tuple(None if end != complained or by == 0.0 else by > 0.0 for by in moved),
        )


def _response(cars: Sequence[Car], targets: Sequence[Target], course: Course) -> Iterator[DriveNumber]:
    """Yield how the yaw rate answers a step of steer: the standard test of nervous and of slow to answer."""
    asked = [t.complaint for t in targets if t.complaint.behaviour in ("nervous", "slow to answer")]
    typical = course.typical(course.corners)
    speed = course.speed_of(asked[0]) if asked else slowest_speed(course.corners[typical[len(typical) // 2]])
    try:
        values = [
            one.yaw_rate
            for one in step_steer_values(drive(cars, StepSteer(speed=speed, lateral_acceleration=4.0)))
        ]
    except SolveError:
        return
    at = f"step of steer to 4 m/s² at {3.6 * speed:.0f} km/h"
    for name, unit, behaviour, row in (
        ("time to 90 % of the steady yaw rate", "s", "slow to answer", [v.response_time for v in values]),
        ("overshoot of the yaw rate", "1", "", [v.overshoot for v in values]),
        ("yaw rate per road-wheel angle", "1/s", "nervous", [v.gain for v in values]),
    ):
        counts = any(one.behaviour == behaviour for one in asked)
        yield DriveNumber(
            name=f"{name}, {at}",
            unit=unit,
            before=row[0],
            after=tuple(row[1:]),
            agrees=tuple(_falls(row[0], one) if counts else None for one in row[1:]),
        )


def _falls(before: float | None, after: float | None) -> bool | None:
    """Say whether a number falls; None if it does neither or is not known."""
    if before is None or after is None or abs(before - after) <= _SAME:
        return None
    return before > after
