"""Two set-ups of a car side by side, adjuster by adjuster."""

from pydantic import BaseModel, Field

from fourpatch.car.adjusters import Adjuster
from fourpatch.car.car import Car
from fourpatch.car.paths import parameter
from fourpatch.car.setup import Setup


class Position(BaseModel):
    """Where an adjuster stands, and what that is."""

    step: float = Field(description="On the driver's own scale, in the adjuster's `unit`.")
    value: float = Field(description="Of the first parameter the adjuster acts on, SI.")


class AdjusterRow(BaseModel):
    """One adjuster in both set-ups."""

    name: str
    system: str
    axle: str
    unit: str = Field(description="What the scale counts.")
    target: str = Field(description="Dotted name of the first parameter it acts on.")
    si: str = Field(description="SI unit of that parameter.")
    a: Position
    b: Position
    steps: float = Field(description="B less A, in steps of the adjuster.")
    more_means: str = Field(description="What a higher number does.")


def side_by_side(car: Car, a: Setup, b: Setup) -> list[AdjusterRow]:
    """Return every adjuster of a car with where it stands in two set-ups, in the order of the car's file."""
    return [_row(car, one, a, b) for one in car.adjusters]


def _row(car: Car, one: Adjuster, a: Setup, b: Setup) -> AdjusterRow:
    target = parameter(car, one.targets[0])
    before, after = (
        Position(step=at, value=one.value(at, target)) for at in (a.position(one), b.position(one))
    )
    return AdjusterRow(
        name=one.name,
        system=one.system,
        axle=one.axle,
        unit=one.unit,
        target=target.path,
        si=target.unit.si,
        a=before,
        b=after,
        steps=round((after.step - before.step) / one.step, 6),
        more_means=one.more_means,
    )
