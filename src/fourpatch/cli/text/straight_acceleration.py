"""A straight acceleration, in a table, in words and for JSON."""

from typing import Any

from fourpatch.cli.output import write_table, write_text
from fourpatch.cli.text.straight_braking import first_time, spell_content
from fourpatch.document.content import number
from fourpatch.events.drive import DriveRun
from fourpatch.events.straight_acceleration import (
    AccelerationValues,
    StraightAcceleration,
    acceleration_values,
)
from fourpatch.picture.blocks import Head


def write_acceleration(run: DriveRun, event: StraightAcceleration, *, title: str) -> None:
    """Write acceleration, speed, distance and what each wheel did."""
    values = acceleration_values(run, event)[0]
    write_table(
        [
            Head(text="mean acceleration", unit="m/s²"),
            Head(text="largest", unit="m/s²"),
            Head(text="final speed", unit="km/h"),
            Head(text="distance", unit="m"),
        ],
        [
            (
                f"{values.acceleration:.2f}",
                f"{values.largest_acceleration:.2f}",
                f"{values.final_speed * 3.6:.1f}",
                f"{values.distance:.1f}",
            )
        ],
        title=title,
    )
    write_table(
        [
            Head(text="wheel", right=False),
            Head(text="spins after", unit="s"),
            Head(text="time spinning", unit="%"),
        ],
        [
            (name, first_time(wheel), f"{100.0 * wheel.share:.1f}")
            for name, wheel in values.wheel_spin.items()
        ],
    )
    write_text(f"What this means: {acceleration_meaning(values, event)}")


def acceleration_meaning(values: AccelerationValues, event: StraightAcceleration) -> str:
    """Say how the car gathers speed and which wheels spin."""
    said = (
        f"from {event.speed * 3.6:.0f} km/h the car reaches {values.final_speed * 3.6:.0f} km/h within "
        f"{values.distance:.0f} m"
    )
    if event.to_speed is not None:
        aim = f"{event.to_speed * 3.6:.0f} km/h"
        said += (
            f"; {aim} is not reached"
            if values.reached_after is None
            else f", {aim} after {values.reached_after:.2f} s and {values.reached_within:.0f} m"
        )
    spun = [name for name, wheel in values.wheel_spin.items() if wheel.first is not None]
    return f"{said}; {'these wheels spin: ' + ', '.join(spun) if spun else 'no wheel spins'}."


def acceleration_content(run: DriveRun, event: StraightAcceleration) -> dict[str, Any]:
    """Return the characteristic values for JSON."""
    values = acceleration_values(run, event)[0]
    after, within = values.reached_after, values.reached_within
    return {
        "acceleration": number(values.acceleration, "m/s**2"),
        "largest_acceleration": number(values.largest_acceleration, "m/s**2"),
        "final_speed": number(values.final_speed, "m/s"),
        "distance": number(values.distance, "m"),
        "reached_after": None if after is None else number(after, "s"),
        "reached_within": None if within is None else number(within, "m"),
        "wheel_spin": spell_content(values.wheel_spin),
    }
