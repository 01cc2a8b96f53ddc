"""A straight acceleration."""

from fourpatch.analysis.straight_acceleration import AccelerationValues, acceleration_values
from fourpatch.answers.answer import Said, found_of
from fourpatch.answers.straight_braking import spell_rows
from fourpatch.events.drive import DriveRun
from fourpatch.events.straight_acceleration import StraightAcceleration
from fourpatch.picture.blocks import Table, means
from fourpatch.picture.head import Head


def acceleration_said(run: DriveRun, event: StraightAcceleration) -> Said:
    """Return acceleration, speed, distance and what each wheel did."""
    values = acceleration_values(run, event)[0]
    car = Table(
        heads=[
            Head(text="mean acceleration", unit="m/s²"),
            Head(text="largest", unit="m/s²"),
            Head(text="final speed", unit="km/h"),
            Head(text="distance", unit="m"),
        ],
        rows=[
            (
                f"{values.acceleration:.2f}",
                f"{values.largest_acceleration:.2f}",
                f"{values.final_speed * 3.6:.1f}",
                f"{values.distance:.1f}",
            )
        ],
    )
    wheels = Table(
        heads=[
            Head(text="wheel", right=False),
            Head(text="spins after", unit="s"),
            Head(text="time spinning", unit="%"),
        ],
        rows=spell_rows(values.wheel_spin),
    )
    return Said(found_of(values), [car, wheels, means(acceleration_meaning(values, event))])


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
