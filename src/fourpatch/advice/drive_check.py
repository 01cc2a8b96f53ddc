"""A cure put to the drive: the car as it stands and the changed one, all degrees of freedom free."""

from collections.abc import Iterator, Mapping
from dataclasses import dataclass

import numpy as np

from fourpatch.advice.cure import ChangeSet, Cure
from fourpatch.advice.sensitivity import Test
from fourpatch.advice.target import Target
from fourpatch.car.car import Car
from fourpatch.car.setup import Setup, apply_setup
from fourpatch.errors import SolveError
from fourpatch.events.corner import Corner
from fourpatch.events.drive import drive, made_ready
from fourpatch.events.drive_start import settle_drive
from fourpatch.events.step_steer import StepSteer, step_steer_values
from fourpatch.events.straight_braking import StraightBraking, braking_values

_SAFE = 0.85  # of a standard corner's lateral acceleration, so that both cars can hold it
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


def drive_check(car: Car, setup: Setup, answer: Cure, chosen: ChangeSet) -> list[DriveNumber]:
    """Return what the drive says of a set of changes.

    Notes
    -----
    Balance at mid-corner: the road-wheel angle that a steady turn takes at 85 % of the standard corner's
    lateral acceleration; less of it is towards oversteer. Braking: the lowest pedal, in twentieths, at which
    a front and a rear wheel lock. Always: how quickly the yaw rate answers a step of steer. Entry and exit
    are not yet driven.
    """
    cars = [apply_setup(car, setup), apply_setup(car, chosen.setup)]
    found: list[DriveNumber] = []
    for target in answer.targets:
        found += _for_complaint(target, cars, answer.table.events)
    found += _response(cars, answer.table.events)
    return list({one.name: one for one in found}.values())


def _for_complaint(target: Target, cars: list[Car], events: Mapping[str, Test]) -> Iterator[DriveNumber]:
    complaint = target.complaint
    if complaint.behaviour in ("understeer", "oversteer") and complaint.phase in ("", "mid"):
        for event in sorted({name.split(".")[0] for name, _ in target.terms}):
            corner = events[event]
            if isinstance(corner, Corner):
                yield from _steady_turn(target, cars, event, corner)
    elif complaint.behaviour in ("locks fronts", "locks rears") or complaint.phase == "braking":
        yield from _lock_up(target, cars)


def _steady_turn(target: Target, cars: list[Car], event: str, corner: Corner) -> Iterator[DriveNumber]:
    driven = made_ready(cars)
    wanted = _SAFE * corner.speed**2 / corner.radius
    try:
        steer = settle_drive(
            driven.parameters,
            driven.engines,
            speed=corner.speed,
            lateral_acceleration=wanted,
            name="steady turn",
        ).steer
    except SolveError:
        return
    yield DriveNumber(
        name=f"road-wheel angle in a steady turn, {event}, {wanted:.1f} m/s²",
        unit="rad",
        before=float(steer[0]),
        after=float(steer[1]),
        agrees=bool(target.sign * (steer[1] - steer[0]) < 0.0),
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


def _response(cars: list[Car], events: Mapping[str, Test]) -> Iterator[DriveNumber]:
    corner = events["medium corner"]
    assert isinstance(corner, Corner)
    try:
        before, after = step_steer_values(
            drive(cars, StepSteer(speed=corner.speed, lateral_acceleration=4.0))
        )
    except SolveError:
        return
    at = f"step of steer to 4 m/s² at {3.6 * corner.speed:.0f} km/h"
    for name, unit, pair in (
        ("time to 90 % of the steady yaw rate", "s", [v.yaw_rate.response_time for v in (before, after)]),
        ("overshoot of the yaw rate", "1", [v.yaw_rate.overshoot for v in (before, after)]),
        ("yaw rate per road-wheel angle", "1/s", [v.yaw_rate.gain for v in (before, after)]),
    ):
        yield DriveNumber(name=f"{name}, {at}", unit=unit, before=pair[0], after=pair[1], agrees=None)
