"""A car as a form: its numbers with unit, meaning and origin, what can be turned on it, and what it is."""

from typing import Literal, NamedTuple

from pydantic import BaseModel, Field

from fourpatch.analysis.quantity import Measure, Quantity, quantities
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


class _Said(NamedTuple):
    """How a fact is put."""

    name: str
    meaning: str
    measure: Measure | None = None
    """In which it is shown, if not as the analysis does."""


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
    return [_fact(said, found[name]) for name, said in _FACTS.items()]


_CRITICAL = Measure("1", "%", 0.01)

_FACTS: dict[str, _Said] = {
    "weights.mass": _Said("Mass", "Whole car with driver and fuel."),
    "weights.sprung_mass": _Said("Sprung mass", "What the springs carry."),
    "weights.corner_load": _Said("Tyre loads at rest", "On a level road, the car standing as its file says."),
    "weights.axle_share": _Said("Weight on the axle", "Share of the whole weight."),
    "weights.cross_weight": _Said("Cross weight", "Share of the weight on the FR and RL tyres together."),
    "weights.cg_height": _Said("Height of the centre of gravity", "Whole car, above the road."),
    "ride.ride_frequency": _Said(
        "Ride frequency", "The body over one axle bouncing on its springs and tyres, undamped."
    ),
    "ride.wheel_hop_frequency": _Said(
        "Wheel-hop frequency", "A wheel bouncing between tyre and springs, undamped."
    ),
    "low_speed_damping.mean_ratio": _Said(
        "Damping, slow movement",
        "Share of critical, mean of bump and rebound at low damper speed.",
        _CRITICAL,
    ),
    "high_speed_damping.mean_ratio": _Said(
        "Damping, fast movement", "The same where the damper moves at 250 mm/s.", _CRITICAL
    ),
    "travel.to_bump_stop": _Said(
        "Travel to the bump stop", "Of the wheel, upwards from rest; below zero the car stands on it."
    ),
    "roll.gradient": _Said("Body roll", "Per lateral acceleration, tyres and leaning weight included."),
    "roll.front_share": _Said("Front part of the roll stiffness", "Of springs and anti-roll bars."),
    "cornering.front_share": _Said(
        "Front part of the lateral load transfer",
        "Set in a corner: what leaves the inner tyres, front over both.",
    ),
    "handling.understeer_gradient": _Said(
        "Understeer, gentle cornering",
        "Road-wheel angle it takes more per lateral acceleration, far from the limit; below zero less.",
    ),
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
        meaning=" ".join(found.meaning.split()),
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


def _fact(said: _Said, quantity: Quantity) -> Fact:
    measure = said.measure or quantity.measure
    values = dict(zip(quantity.places or ("car",), quantity.values, strict=True))
    return Fact(
        name=said.name,
        values=values,
        texts={place: _text(measure, value) for place, value in values.items()},
        si=measure.si,
        unit=measure.shown,
        meaning=said.meaning,
    )


def _text(measure: Measure, value: float | None) -> str:
    """Write a value to three figures, as many as the numbers behind it bear."""
    if value is None:
        return "none"
    number = value / measure.scale
    return f"{number:.0f}" if abs(number) >= 100.0 else f"{number:.3g}"
