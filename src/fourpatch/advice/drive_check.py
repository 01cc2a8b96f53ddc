"""A cure put to the drive: the car as it stands and the changed one, all degrees of freedom free."""

from collections.abc import Iterator, Sequence
from dataclasses import dataclass
from typing import NamedTuple

import numpy as np
from numpy.typing import NDArray

from fourpatch.advice.course import Course
from fourpatch.advice.driven_corner import PACE, DrivenAnswer, DrivenCorner, driven_corner
from fourpatch.advice.target import Target
from fourpatch.car.car import Car
from fourpatch.errors import SolveError
from fourpatch.events.drive import drive, made_ready
from fourpatch.events.drive_start import settle_drive
from fourpatch.events.step_steer import StepSteer, step_steer_values
from fourpatch.events.straight_braking import StraightBraking, braking_values
from fourpatch.events.trial import CornerTrial, lateral_acceleration, slowest_speed

Array = NDArray[np.float64]

_SHARES = (1.0, 0.95, 0.9, 0.85)  # of a standard corner's lateral acceleration, tried until all cars hold it
_SAME = 1e-6  # change of road-wheel angle that is none [rad]
_WRONG_WAY = 0.02  # points of balance in a driven corner that are none: a fifth of what can be measured
_PEDALS = np.linspace(0.15, 1.0, 18)
_STOP = 0.8  # time at that pedal: long enough to lock, not to stop [s]


@dataclass(frozen=True, slots=True, kw_only=True)
class DriveNumber:
    """One number of the drive, before and after a cure."""

    name: str
    unit: str
    """SI."""
    before: float | None
    after: float | None
    agrees: bool | None
    """Whether it moves the way the complaint asks for; None where it is shown for information."""


def drive_check(
    standing: Car,
    changed: Car,
    targets: Sequence[Target],
    course: Course,
    *,
    driven: Sequence[DrivenCorner | None] | None = None,
) -> list[DriveNumber]:
    """Return what the drive says of a changed car.

    Parameters
    ----------
    driven : of `driven_corners`, if they are known already.

    Notes
    -----
    Balance on entry and exit: a corner driven as the rig goes through it (`driven_corner`), the middle one
    of those complained of. Balance at mid-corner: the road-wheel angle that a steady turn takes, as near to
    the corner's lateral acceleration as both cars can hold; less of it is towards oversteer. Braking: the
    lowest pedal, in twentieths, at which a front and a rear wheel lock. Always: how quickly the yaw rate
    answers a step of steer, which is the standard test of nervous and of slow to answer.
    """
    cars = [standing, changed]
    found: list[DriveNumber] = []
    through = driven_corners(standing, targets, course) if driven is None else driven
    for target, driven_one in zip(targets, through, strict=True):
        if driven_one is not None:
            found += _through_corner(target, cars, driven_one)
        for event, corner in _steady_corners(target, course):
            found += _steady_turn(target, cars, event, corner)
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
    driven: Sequence[DrivenCorner | None],
) -> list[bool]:
    """Say of each changed car whether the drive contradicts what it is to do for a complaint.

    Parameters
    ----------
    driven : of `driven_corners`.

    Notes
    -----
    At mid-corner a steady turn must move the right way, summed over the corners; on entry and exit the driven
    corner must not move the wrong way by more than `_WRONG_WAY`: there the driver's own corrections are in
    the numbers.
    """
    wrong = np.zeros(len(changed), dtype=bool)
    for target, driven_one in zip(targets, driven, strict=True):
        if driven_one is not None and changed:
            balance = _answers(driven_one, [standing, *changed], target)
            if balance is not None:
                moved_points = target.sign * (balance.balance[0] - balance.balance[1:])
                wrong |= ~(moved_points > -_WRONG_WAY)
        turns = [_steer([standing, *changed], corner) for _, corner in _steady_corners(target, course)]
        moved = [target.sign * (turn.steer[0] - turn.steer[1:]) for turn in turns if turn is not None]
        if moved:
            wrong |= np.sum(moved, axis=0) <= _SAME
    return [bool(one) for one in wrong]


def driven_corners(
    standing: Car, targets: Sequence[Target], course: Course
) -> tuple[DrivenCorner | None, ...]:
    """Return for each complaint of balance on entry or exit a corner to be driven; None for others."""
    found: list[DrivenCorner | None] = []
    for target in targets:
        corners = [name for name in course.corners if name in {one for one, _ in target.phases()}]
        if not _driven_phases(target) or not corners:
            found.append(None)
            continue
        typical = course.typical(corners)
        name = typical[len(typical) // 2]
        try:
            found.append(driven_corner(standing, course.corners[name], name))
        except SolveError:
            found.append(None)
    return tuple(found)


def _driven_phases(target: Target) -> tuple[str, ...]:
    if target.complaint.behaviour not in ("understeer", "oversteer"):
        return ()
    return tuple(sorted({phase for _, phase in target.phases()} & {"entry", "exit"}))


def _answers(corner: DrivenCorner, cars: Sequence[Car], target: Target) -> DrivenAnswer | None:
    """Return what cars do in the phases of a complaint; None if the first does not get through."""
    phases = [phase for phase in _driven_phases(target) if phase in corner.phases]
    try:
        found = corner.answers(cars, phases)
    except SolveError:
        return None
    return None if np.isnan(found.balance[0]) else found


def _through_corner(target: Target, cars: list[Car], corner: DrivenCorner) -> Iterator[DriveNumber]:
    found = _answers(corner, cars, target)
    if found is None or np.isnan(found.balance).any():
        return
    moved = target.sign * float(found.balance[0] - found.balance[1])
    phases = " and ".join(phase for phase in _driven_phases(target) if phase in corner.phases)
    at = f"{phases}, {corner.name} driven at {100.0 * PACE:.0f} % of the rig's speeds"
    yield DriveNumber(
        name=f"balance, {at}",
        unit="points",
        before=float(found.balance[0]),
        after=float(found.balance[1]),
        agrees=None if abs(moved) < _WRONG_WAY else moved > 0.0,
    )
    yield DriveNumber(
        name=f"road-wheel angle beyond the path's, {at}",
        unit="rad",
        before=float(found.steer[0]),
        after=float(found.steer[1]),
        agrees=None,
    )


class _Turn(NamedTuple):
    lateral_acceleration: float
    """[m/s^2]"""
    steer: Array
    """Road-wheel angle of each car. [rad]"""


def _steady_corners(target: Target, course: Course) -> Iterator[tuple[str, CornerTrial]]:
    """Yield the corners whose mid a complaint of balance is about; of many, the middle one of each class."""
    complaint = target.complaint
    if complaint.behaviour in ("understeer", "oversteer") and complaint.phase in ("", "mid"):
        corners = {name.split(".")[0] for name, _ in target.terms} & set(course.corners)
        for name in course.typical([one for one in course.corners if one in corners]):
            yield name, course.corners[name]


def _steer(cars: Sequence[Car], corner: CornerTrial) -> _Turn | None:
    """Return the steer of a steady turn, as near to the corner's acceleration as all cars can hold."""
    driven = made_ready(cars)
    for share in _SHARES:
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


def _steady_turn(target: Target, cars: list[Car], event: str, corner: CornerTrial) -> Iterator[DriveNumber]:
    turn = _steer(cars, corner)
    if turn is None:
        return
    before, after = (float(angle) for angle in turn.steer)
    moved = target.sign * (before - after)
    yield DriveNumber(
        name=f"road-wheel angle in a steady turn, {event}, {turn.lateral_acceleration:.1f} m/s²",
        unit="rad",
        before=before,
        after=after,
        agrees=None if abs(moved) <= _SAME else moved > 0.0,
    )


def _lock_up(target: Target, cars: list[Car]) -> Iterator[DriveNumber]:
    """Yield the lowest pedal at which a front and a rear wheel lock."""
    lowest: dict[tuple[str, int], float] = {}
    for pedal in _PEDALS:
        values = braking_values(drive(cars, StraightBraking(pedal=float(pedal), duration=_STOP)))
        for place, one in enumerate(values):
            for end, corners in (("front", ("FL", "FR")), ("rear", ("RL", "RR"))):
                if any(one.lock_up[corner].first is not None for corner in corners):
                    lowest.setdefault((end, place), float(pedal))
        if len(lowest) == 4:
            break
    complained = "front" if target.sign > 0.0 else "rear"
    for end in ("front", "rear"):
        before, after = lowest.get((end, 0)), lowest.get((end, 1))
        moved = (after or 2.0) - (before or 2.0)
        yield DriveNumber(
            name=f"lowest pedal that locks a {end} wheel",
            unit="1",
            before=before,
            after=after,
            agrees=None if end != complained or moved == 0.0 else moved > 0.0,
        )


def _response(cars: list[Car], targets: Sequence[Target], course: Course) -> Iterator[DriveNumber]:
    """Yield how the yaw rate answers a step of steer: the standard test of nervous and of slow to answer."""
    asked = [t.complaint for t in targets if t.complaint.behaviour in ("nervous", "slow to answer")]
    typical = course.typical(course.corners)
    speed = course.speed_of(asked[0]) if asked else slowest_speed(course.corners[typical[len(typical) // 2]])
    try:
        before, after = step_steer_values(drive(cars, StepSteer(speed=speed, lateral_acceleration=4.0)))
    except SolveError:
        return
    at = f"step of steer to 4 m/s² at {3.6 * speed:.0f} km/h"
    for name, unit, behaviour, pair in (
        (
            "time to 90 % of the steady yaw rate",
            "s",
            "slow to answer",
            [v.yaw_rate.response_time for v in (before, after)],
        ),
        ("overshoot of the yaw rate", "1", "", [v.yaw_rate.overshoot for v in (before, after)]),
        ("yaw rate per road-wheel angle", "1/s", "nervous", [v.yaw_rate.gain for v in (before, after)]),
    ):
        moved = None
        if any(one.behaviour == behaviour for one in asked) and None not in pair:
            moved = pair[0] > pair[1] if abs(pair[0] - pair[1]) > _SAME else None
        yield DriveNumber(name=f"{name}, {at}", unit=unit, before=pair[0], after=pair[1], agrees=moved)
