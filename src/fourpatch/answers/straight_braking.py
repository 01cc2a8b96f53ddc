"""A straight braking by the pedal."""

from collections.abc import Mapping

from fourpatch.analysis.straight_braking import BrakingValues, braking_values
from fourpatch.analysis.wheel_spells import WheelSpell
from fourpatch.answers.answer import Said, found_of
from fourpatch.events.drive import DriveRun
from fourpatch.picture.blocks import Table, means
from fourpatch.picture.head import Head


def braking_said(run: DriveRun) -> Said:
    """Return deceleration, distance and what each wheel did."""
    values = braking_values(run)[0]
    car = Table(
        heads=[
            Head(text="mean deceleration", unit="m/s²"),
            Head(text="distance", unit="m"),
            Head(text="stopped", right=False),
        ],
        rows=[(f"{values.deceleration:.2f}", f"{values.distance:.1f}", "yes" if values.stopped else "no")],
    )
    wheels = Table(
        heads=[
            Head(text="wheel", right=False),
            Head(text="locks after", unit="s"),
            Head(text="time locked", unit="%"),
        ],
        rows=spell_rows(values.lock_up),
    )
    return Said(found_of(values), [car, wheels, means(braking_meaning(values))])


def spell_rows(spells: Mapping[str, WheelSpell]) -> list[tuple[str, ...]]:
    """Return a row for each wheel: when it first was, and for how much of the time."""
    return [(name, first_time(wheel), f"{100.0 * wheel.share:.1f}") for name, wheel in spells.items()]


def first_time(wheel: WheelSpell) -> str:
    """Return when a wheel first was, in a table."""
    return "never" if wheel.first is None else f"{wheel.first:.2f}"


def braking_meaning(values: BrakingValues) -> str:
    """Say how hard the car slows and which wheels lock, in their order."""
    locked = sorted((wheel.first, name) for name, wheel in values.lock_up.items() if wheel.first is not None)
    said = f"the car slows at {values.deceleration:.1f} m/s² on the mean"
    if not locked:
        return f"{said}; no wheel locks."
    return f"{said}; these wheels lock, in this order: {', '.join(name for _, name in locked)}."
