"""A straight braking by the pedal, in a table, in words and for JSON."""

from typing import Any

from fourpatch.cli.output import write_table, write_text
from fourpatch.document.content import number
from fourpatch.events.drive import DriveRun
from fourpatch.events.straight_braking import BrakingValues, WheelSpell, braking_values
from fourpatch.picture.blocks import Head


def write_braking(run: DriveRun, *, title: str) -> None:
    """Write deceleration, distance and what each wheel did."""
    values = braking_values(run)[0]
    write_table(
        [
            Head(text="mean deceleration", unit="m/s²"),
            Head(text="distance", unit="m"),
            Head(text="stopped", right=False),
        ],
        [(f"{values.deceleration:.2f}", f"{values.distance:.1f}", "yes" if values.stopped else "no")],
        title=title,
    )
    write_table(
        [
            Head(text="wheel", right=False),
            Head(text="locks after", unit="s"),
            Head(text="time locked", unit="%"),
        ],
        [(name, first_time(wheel), f"{100.0 * wheel.share:.1f}") for name, wheel in values.lock_up.items()],
    )
    write_text(f"What this means: {braking_meaning(values)}")


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


def braking_content(run: DriveRun) -> dict[str, Any]:
    """Return the characteristic values for JSON."""
    values = braking_values(run)[0]
    return {
        "deceleration": number(values.deceleration, "m/s**2"),
        "distance": number(values.distance, "m"),
        "stopped": values.stopped,
        "lock_up": spell_content(values.lock_up),
    }


def spell_content(spells: dict[str, WheelSpell]) -> dict[str, Any]:
    """Return what each wheel did for JSON."""
    return {
        name: {
            "first": None if wheel.first is None else number(wheel.first, "s"),
            "share": number(wheel.share, "1"),
        }
        for name, wheel in spells.items()
    }
