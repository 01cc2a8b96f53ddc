"""A change put to the test of a complaint: the car as it stood and as it stands, run again side by side."""

from dataclasses import dataclass

from fourpatch.advice.cure import Cure
from fourpatch.advice.drive_check import DriveNumber, drive_check
from fourpatch.advice.guard import Guard
from fourpatch.advice.sensitivity import measured
from fourpatch.car.car import Car
from fourpatch.car.setup import Setup, apply_setup
from fourpatch.long_work import Cancelled, Progress, go_on, never, unwatched


@dataclass(frozen=True, slots=True, kw_only=True)
class Confirmation:
    """What two set-ups do in the events of a complaint, by the rig, and what the drive says."""

    before: tuple[float, ...]
    """Each complaint's number with the set-up it was made of, in its unit."""
    after: tuple[float, ...]
    progress: tuple[float, ...]
    """Share of each wanted change."""
    worse: tuple[tuple[Guard, float], ...]
    """Guarded numbers that became worse, and by how much, in their unit; worst against tolerance first."""
    drive: tuple[DriveNumber, ...]


def confirmation(
    car: Car,
    found: Cure,
    changed: Setup,
    *,
    progress: Progress = unwatched,
    cancelled: Cancelled = never,
) -> Confirmation:
    """Return what a set-up does to the complaints of a cure, whatever was changed.

    Parameters
    ----------
    found : answer of `cure`; its set-up is what it is compared with.
    changed : the set-up in hand, whether or not it is one of the sets suggested.
    progress, cancelled : as `long_work`.

    Raises
    ------
    Stopped
        If it is cancelled before both were run.

    Notes
    -----
    Both set-ups meet the same motion, that of the car as it stood. Nothing of the cure's own runs is reused.
    """
    cars = [apply_setup(car, found.setup), apply_setup(car, changed)]
    progress(0.0, "both set-ups on the rig")
    measures, (before, after) = measured(cars, found.table.events)
    names = [one.name for one in measures]
    go_on(cancelled, "the rig has run, the drive has not")
    progress(0.6, "both set-ups by the drive")
    drive = drive_check(cars[0], cars[1:], found.targets, found.course, found.driven)
    worse = [
        (one, float(one.worsening(one.value(names, before), one.value(names, after)))) for one in found.guards
    ]
    worse = [(one, by) for one, by in worse if by > 0.0]
    worse.sort(key=lambda pair: -pair[1] / pair[0].tolerance)
    numbers = [(float(one.value(names, before)), float(one.value(names, after))) for one in found.targets]
    return Confirmation(
        before=tuple(was for was, _ in numbers),
        after=tuple(now for _, now in numbers),
        progress=tuple(
            float(target.moved(was, now)) / wanted
            for target, (was, now), wanted in zip(found.targets, numbers, found.wanted, strict=True)
        ),
        worse=tuple(worse),
        drive=tuple(drive),
    )
