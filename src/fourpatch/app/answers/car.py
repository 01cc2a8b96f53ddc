"""A car as a form: its numbers with unit, meaning and origin, what can be turned on it, and what it is."""

from typing import Literal

from pydantic import BaseModel, Field

from fourpatch.analysis.quantity import Quantity, quantities
from fourpatch.analysis.statics import statics
from fourpatch.car.adjusters import Adjuster
from fourpatch.car.car import Car
from fourpatch.car.checks import oddities
from fourpatch.car.paths import Parameter, parameter, parameters
from fourpatch.car.provenance import origin, spread


class ParameterRow(BaseModel):
    """One number of a car."""

    path: str = Field(description="Its dotted name; those of a list are counted from one.")
    value: float = Field(description="SI.")
    text: str = Field(description="As the car's file says it, with its unit.")
    si: str = Field(description="SI unit.")
    lowest: float = Field(description="The least it can be, SI.")
    highest: float = Field(description="The most it can be, SI.")
    allowed: str = Field(description="That range with its unit.")
    meaning: str
    source: Literal["given", "estimated", "identified", "demo"]
    method: str = Field(description="How it was found; empty if it was given.")
    recording: str = Field(description="The recording it was identified from, if it was.")
    spread: float = Field(description="One standard deviation, SI; 0 where none is said.")
    spread_text: str = Field(description="The same as it is written.")
    adjusters: list[str] = Field(description="What turns it in a set-up.")


class AdjusterScale(BaseModel):
    """What can be turned on a car, and how far."""

    name: str
    system: str
    axle: str
    unit: str = Field(description="What the scale counts.")
    lowest: float
    highest: float
    step: float
    baseline: float = Field(description="The position at which the car's numbers hold as they are written.")
    targets: list[str] = Field(description="Dotted names of the numbers it acts on.")
    map: str = Field(description="How steps become numbers.")
    from_text: str = Field(description="The first number it acts on, at the lowest step.")
    to_text: str = Field(description="The same at the highest step.")
    more_means: str = Field(description="What a higher number does.")


class Fact(BaseModel):
    """Something a car is, that follows from its numbers."""

    name: str
    values: dict[str, float | None] = Field(
        description='By "front" and "rear", by corner, or "car"; SI; null where there is no such value.'
    )
    texts: dict[str, str] = Field(description="The same in `unit`.")
    si: str
    unit: str = Field(description="As it is shown.")
    meaning: str


class CarSheet(BaseModel):
    """All numbers of a car, and what can be turned on it."""

    name: str
    note: str
    parameters: list[ParameterRow] = Field(description="In the order of the car's file.")
    adjusters: list[AdjusterScale]
    hints: list[str] = Field(description="What is possible but looks like a slip, a sentence each.")


def car_sheet(car: Car) -> CarSheet:
    """Return all numbers of a car, and what can be turned on it."""
    turned: dict[str, list[str]] = {}
    for one in car.adjusters:
        for path in one.targets:
            turned.setdefault(path, []).append(one.name)
    return CarSheet(
        name=car.name,
        note=car.note,
        parameters=[_row(car, found, turned.get(found.path, [])) for found in parameters(car)],
        adjusters=[_scale(car, one) for one in car.adjusters],
        hints=oddities(car),
    )


def car_facts(car: Car) -> list[Fact]:
    """Return what a car is, as it stands.

    Raises
    ------
    CarError, SolveError
        If it cannot stand.
    """
    found = {quantity.name: quantity for quantity in quantities(statics(car))}
    return [_fact(label, found[name]) for name, label in _FACTS.items()]


_FACTS = {
    "weights.mass": "Mass",
    "weights.sprung_mass": "Sprung mass",
    "weights.corner_load": "Tyre loads at rest",
    "weights.axle_share": "Weight on the axle",
    "weights.cross_weight": "Cross weight",
    "weights.cg_height": "Height of the centre of gravity",
    "ride.ride_frequency": "Ride frequency",
    "ride.wheel_hop_frequency": "Wheel-hop frequency",
    "low_speed_damping.mean_ratio": "Damping, slow movement",
    "high_speed_damping.mean_ratio": "Damping, fast movement",
    "travel.to_bump_stop": "Travel to the bump stop",
    "roll.gradient": "Body roll",
    "roll.front_share": "Front part of the roll stiffness",
    "cornering.front_share": "Front part of the lateral load transfer",
    "handling.understeer_gradient": "Understeer, gentle cornering",
}


def _row(car: Car, found: Parameter, turned: list[str]) -> ParameterRow:
    unit, came = found.unit, origin(car, found.path)
    return ParameterRow(
        path=found.path,
        value=found.value,
        text=unit.show(found.value),
        si=unit.si,
        lowest=unit.low,
        highest=unit.high,
        allowed=unit.range(),
        meaning=" ".join(found.description.split()),
        source=came.source,
        method=came.method,
        recording=came.recording,
        spread=spread(car, found.path),
        spread_text=came.spread,
        adjusters=turned,
    )


def _scale(car: Car, one: Adjuster) -> AdjusterScale:
    target = parameter(car, one.targets[0])
    ends = [target.unit.brief(one.value(end, target)) for end in (one.lowest, one.highest)]
    return AdjusterScale(
        **one.model_dump(include=_KEPT), map=one.map.kind, from_text=ends[0], to_text=ends[1]
    )


_KEPT = AdjusterScale.model_fields.keys() & Adjuster.model_fields.keys() - {"map"}


def _fact(label: str, quantity: Quantity) -> Fact:
    places = quantity.places or ("car",)
    measure = quantity.measure
    return Fact(
        name=label,
        values=dict(zip(places, quantity.values, strict=True)),
        texts={place: measure.text(value) for place, value in zip(places, quantity.values, strict=True)},
        si=measure.si,
        unit=measure.shown,
        meaning=" ".join(quantity.meaning.split()),
    )
