"""What has been observed of a real car, kept in its file: numbers read, times taken, words, comparisons.

Nothing here changes a parameter. How likely each plausible car makes what was observed, and so which of
them are believed, is computed elsewhere, from the parameters with their spreads and from this.
"""

import math
from dataclasses import dataclass
from typing import TYPE_CHECKING, Annotated, Final, Literal

from pydantic import Field

from fourpatch.document.fault import Fault, Key
from fourpatch.document.part import Part
from fourpatch.units import Unit

if TYPE_CHECKING:
    from fourpatch.car.car import Car

Text = Annotated[str, Field(max_length=300)]
Positions = Annotated[dict[str, Annotated[float, Field(allow_inf_nan=False)]], Field(max_length=200)]

AXLES: Final = ("front", "rear")
CORNERS: Final = ("FL", "FR", "RL", "RR")


@dataclass(frozen=True, slots=True, kw_only=True)
class Observable:
    """A number that somebody can read off a car or a stopwatch, and the model can compute."""

    unit: Unit
    places: tuple[str, ...] = ()
    """Which of them it is read at; none: of the whole car."""
    spread: float
    """One standard deviation where nobody says it, SI. Common practice, no published source."""
    model: float
    """One standard deviation of what the model itself is off by, SI. A choice."""
    relative: bool = False
    """Whether both are shares of the value."""
    meaning: str


_DEGREE = math.pi / 180.0

OBSERVABLES: Final[dict[str, Observable]] = {
    "corner weight": Observable(
        unit=Unit("kg", "kg", 20.0, 3000.0),
        places=CORNERS,
        spread=3.0,
        model=0.5,
        meaning="what the scales show under one wheel, driver and fuel on board",
    ),
    "total weight": Observable(
        unit=Unit("kg", "kg", 100.0, 6000.0),
        spread=5.0,
        model=0.5,
        meaning="of the whole car, driver and fuel on board",
    ),
    "front weight": Observable(
        unit=Unit("1", "%", 0.2, 0.8), spread=0.003, model=0.0005, meaning="share of the weight in front"
    ),
    "cross weight": Observable(
        unit=Unit("1", "%", 0.3, 0.7),
        spread=0.003,
        model=0.0005,
        meaning="share of the weight on front right and rear left",
    ),
    "wheel rate": Observable(
        unit=Unit("N/m", "N/mm", 1e3, 2e6),
        places=AXLES,
        spread=0.05,
        model=0.02,
        relative=True,
        meaning="force at a wheel per travel of it, from the springs, both wheels alike",
    ),
    "ride frequency": Observable(
        unit=Unit("Hz", "Hz", 0.3, 15.0),
        places=AXLES,
        spread=0.05,
        model=0.02,
        relative=True,
        meaning="of the body on its springs at one end, from a recording or a push at rest",
    ),
    "roll per g": Observable(
        unit=Unit("rad", "deg", 0.0, 0.5),
        spread=0.1,
        model=0.05,
        relative=True,
        meaning="roll of the body against the road in gentle cornering, per 1 g of lateral acceleration",
    ),
    "understeer per g": Observable(
        unit=Unit("rad", "deg", -0.5, 0.5),
        spread=0.3 * _DEGREE,
        model=0.2 * _DEGREE,
        meaning="steer at the wheels beyond that of no slip in gentle cornering, per 1 g",
    ),
    "top speed": Observable(
        unit=Unit("m/s", "km/h", 10.0, 150.0),
        spread=0.01,
        model=0.01,
        relative=True,
        meaning="on a long flat straight without wind",
    ),
    "bend speed": Observable(
        unit=Unit("m/s", "km/h", 3.0, 120.0),
        spread=0.02,
        model=0.02,
        relative=True,
        meaning="slowest speed in a bend of some radius, driven as fast as the driver goes",
    ),
}
"""By name: what can be read and computed."""


class _Observed(Part):
    setup: Positions = Field(default_factory=dict)
    """Where the adjusters stood, by name; those not named at their baseline."""
    note: Text = ""
    """When, where, by whom."""


class Reading(_Observed):
    """A number read in the garage, off a stopwatch, or out of a recording."""

    kind: Literal["reading"] = "reading"
    quantity: Text
    """What was read: corner weight, top speed, bend speed ..."""
    place: Text = ""
    """Which wheel or end, where there are several: FL, FR, RL, RR, front, rear."""
    value: Text
    """What it was, with its unit."""
    spread: Text = ""
    """How far it may be off, one standard deviation, "2 kg" or "1 %"; by its kind if left out."""
    radius: Annotated[float, Unit("m", "m", 5.0, 2000.0)] | None = None
    """Of the bend, for a bend speed."""


class Words(_Observed):
    """What a driver says the car does in some phase, or that there is nothing to complain of."""

    kind: Literal["words"] = "words"
    text: Annotated[str, Field(min_length=1, max_length=300)]
    """As one would say it: "loose on exit in slow corners"."""
    nothing: bool = False
    """Whether there is nothing of the kind: neither that nor its opposite."""
    track: Text = ""
    """Where, if it names corners by number."""


class Comparison(_Observed):
    """Two set-ups driven one after the other, and which was better at something."""

    kind: Literal["comparison"] = "comparison"
    changes: Annotated[list[Text], Field(min_length=1, max_length=12)]
    """What was changed: "front bar=+2"."""
    text: Annotated[str, Field(min_length=1, max_length=300)]
    """What it was to cure: "pushes on entry in slow corners"."""
    outcome: Literal["better", "no difference", "worse"]
    """Of that, after the change."""
    track: Text = ""
    """Where, if it names corners by number."""


Item = Annotated[Reading | Words | Comparison, Field(discriminator="kind")]


def read_value(one: Reading) -> tuple[float, float]:
    """Return what was read and its standard deviation, the model's own error in it, SI.

    Raises
    ------
    ValueError
        If it cannot be meant; the text names the key and says what is allowed.
    """
    kind = OBSERVABLES.get(one.quantity)
    if kind is None:
        raise ValueError(f'quantity is "{one.quantity}". It can be {", ".join(OBSERVABLES)}.')
    if one.place not in (kind.places or ("",)):
        where = f"Write one of {', '.join(kind.places)}." if kind.places else "Leave place out."
        raise ValueError(f'place is "{one.place}" for {one.quantity}. {where}')
    if (one.radius is None) == (one.quantity == "bend speed"):
        raise ValueError(
            'radius is due for a bend speed, and for no other: radius = "40 m", of the middle of the car.'
        )
    value = kind.unit.check(kind.unit.parse(kind.unit.completed(one.value)), written=one.value)
    spread = _spread(one, kind, value)
    own = kind.model * abs(value) if kind.relative else kind.model
    return value, (spread**2 + own**2) ** 0.5


def _spread(one: Reading, kind: Observable, value: float) -> float:
    if not one.spread:
        return kind.spread * abs(value) if kind.relative else kind.spread
    text = one.spread.strip()
    try:
        share = text.endswith("%") and kind.unit.shown != "%"
        size = float(text[:-1]) / 100.0 * abs(value) if share else kind.unit.parse_difference(text)
    except ValueError as error:
        raise ValueError(f'spread is "{text}": {error}') from None
    if not size > 0.0:
        raise ValueError(f'spread is "{text}". It is one standard deviation, above zero.')
    return size


def evidence_faults(car: "Car") -> list[Fault]:
    """Return what is wrong with what was observed of a car: numbers that cannot be, unknown adjusters."""
    faults = []
    known = {one.name: one for one in car.adjusters}
    for place, item in enumerate(car.evidence):
        key: Key = ("evidence", place)
        if isinstance(item, Reading):
            try:
                read_value(item)
            except ValueError as error:
                faults.append(Fault((*key, "value"), f"cannot be meant: {error}"))
        for name, position in item.setup.items():
            if name not in known:
                there = ", ".join(known) or "none"
                faults.append(Fault((*key, "setup", name), f"is no adjuster of this car; it has {there}."))
            elif not known[name].allows(position):
                faults.append(Fault((*key, "setup", name), f"= {position:g} {known[name].refusal(position)}"))
    return faults
