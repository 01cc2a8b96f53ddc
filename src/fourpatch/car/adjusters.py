"""What the driver may change, in the driver's own steps, and what each step does to the car.

A car's own parameters hold at the `baseline` step of each adjuster; a map says what other steps give.
"""

import difflib
import itertools
import math
from collections.abc import Iterator
from decimal import Decimal
from functools import lru_cache
from typing import TYPE_CHECKING, Annotated, Literal, Self

from pydantic import BeforeValidator, Field, model_validator

from fourpatch.car.parameters import MeasuredDamper
from fourpatch.car.paths import Parameter, is_complete, parameter, part_of_kind
from fourpatch.car.provenance import GIVEN, RELATIVE_SPREAD, WHOLE_CAR, Provenance
from fourpatch.document.fault import Fault, Key
from fourpatch.document.part import Part
from fourpatch.errors import CarError
from fourpatch.units import Unit, to_si

if TYPE_CHECKING:
    from fourpatch.car.car import Car

MOST_STEPS = 10_000
"""More steps than any knob has: a range and step that give more are a slip of the pen."""

BASELINE_TOLERANCE = 0.01
"""How far the map may miss the car's own value at baseline, in steps: what rounding to print costs."""

_STIFFNESS = ("N/m", "N*s/m", "N*m*s/rad")
"""Measures of which more is stiffer."""

FACTOR = Unit("1", "%", 1e-3, 1e3)
"""A multiple of the car's own value."""


def _as_text(value: object) -> object:
    """Let a number without a unit stand where text with a unit may stand."""
    return repr(value) if isinstance(value, int | float) and not isinstance(value, bool) else value


Reading = Annotated[str, BeforeValidator(_as_text)]
"""A value as written, with its unit; read in the unit of the target it is meant for."""

Number = Annotated[float, Field(strict=True, allow_inf_nan=False)]

Step = Annotated[float, Field(strict=True, allow_inf_nan=False, ge=-1e6, le=1e6)]
"""A number on the driver's own scale."""


class DirectMap(Part):
    """The number on the scale is the value itself, times a unit."""

    kind: Literal["direct"]
    unit: str
    """Of the number on the scale: "bar", "N/mm", "deg"."""

    def value(self, step: float, adjuster: "Adjuster", measure: Unit) -> float:
        """Return what a step gives, SI."""
        return to_si(step, self.unit, measure.si)


class RateMap(Part):
    """Each step changes the car's own value by the same amount, or by the same share (compounded)."""

    kind: Literal["rate"]
    rate: Reading
    """Change per one on the scale, upward: "0.5 mm"; with sets = "factor" a share: "6 %"."""


class TableMap(Part):
    """Measured or published values at some steps, linear in between."""

    kind: Literal["table"]
    steps: list[Step] = Field(min_length=2)
    """Rising, from the lowest to the highest step of the adjuster."""
    values: list[Reading] = Field(min_length=2)
    """The value at each of these steps."""

    @model_validator(mode="after")
    def _is_a_table(self) -> Self:
        if len(self.steps) != len(self.values):
            raise ValueError(f"{len(self.steps)} steps, {len(self.values)} values. Give one value per step.")
        if any(later <= earlier for earlier, later in itertools.pairwise(self.steps)):
            raise ValueError("steps do not rise. Sort them, with their values, and leave out repeats.")
        return self

    def value(self, step: float, adjuster: "Adjuster", measure: Unit) -> float:
        """Return what a step gives, SI."""
        place = max(1, next((i for i, at in enumerate(self.steps) if at >= step), len(self.steps) - 1))
        below, above = (measure.parse(text) for text in self.values[place - 1 : place + 1])
        share = (step - self.steps[place - 1]) / (self.steps[place] - self.steps[place - 1])
        return below + (above - below) * share


class CurveMap(Part):
    """A polynomial in the step, as fitted from a recording."""

    kind: Literal["curve"]
    coefficients: list[Number] = Field(min_length=2, max_length=6)
    """Constant first, then of step, of step squared ..."""
    unit: str
    """Of what the polynomial gives."""

    def value(self, step: float, adjuster: "Adjuster", measure: Unit) -> float:
        """Return what a step gives, SI."""
        number = 0.0
        for coefficient in reversed(self.coefficients):
            number = number * step + coefficient
        return to_si(number, self.unit, measure.si)


class UnknownMap(Part):
    """Nobody has said what a step does: the ends are put where they may plausibly lie."""

    kind: Literal["unknown"]
    at_lowest: Reading
    """Plausible value at the lowest step."""
    at_highest: Reading
    """Plausible value at the highest step."""
    law: Literal["geometric", "linear"] = "geometric"
    """Each step multiplies by the same factor, or adds the same amount."""

    def value(self, step: float, adjuster: "Adjuster", measure: Unit) -> float:
        """Return what a step gives, SI."""
        low, high = measure.parse(self.at_lowest), measure.parse(self.at_highest)
        share = (step - adjuster.lowest) / (adjuster.highest - adjuster.lowest)
        if self.law == "linear":
            return low + (high - low) * share
        if low * high <= 0.0:
            raise ValueError(
                f"cannot be found by equal factors from {self.at_lowest} to {self.at_highest}. "
                'Write law = "linear", or two ends above zero.'
            )
        return float(low * (high / low) ** share)


class Adjuster(Part):
    """Something the driver may change: a range of steps, and what they do."""

    name: str = Field(min_length=1, max_length=60)
    """As it is called where it is set."""
    system: Literal[
        "tyres",
        "camber and toe",
        "ride height",
        "springs",
        "anti-roll bars",
        "dampers",
        "brakes",
        "differential",
        "gears",
        "aero",
        "steering",
        "fuel",
    ]
    """The group it belongs to."""
    axle: Literal["front", "rear", "car"]
    """The end of the car it acts on."""
    targets: list[str] = Field(min_length=1)
    """The parameters it acts on, by dotted name."""
    sets: Literal["value", "factor"] = "value"
    """Whether the map gives the targets' value itself, or a multiple of the car's own values."""
    unit: str = ""
    """What the scale counts, for display: "clicks", "mm", "bar"."""
    lowest: Step
    """One end of the scale."""
    highest: Step
    """The other."""
    step: Annotated[float, Field(strict=True, gt=0.0, le=1e6)] = 1.0
    """Between neighbouring positions."""
    baseline: Step
    """The position at which the car's parameters hold as they are written."""
    stiffer: Literal["up", "down", "none"]
    """Whether a higher number is stiffer, softer, or neither."""
    more_means: str = Field(min_length=1)
    """What a higher number does, in one line."""
    map: Annotated[DirectMap | RateMap | TableMap | CurveMap | UnknownMap, Field(discriminator="kind")]
    """From the step to the car."""
    provenance: Provenance | None = None
    """Where the map came from; its spread is a share of the change the adjuster makes."""

    @model_validator(mode="after")
    def _scale_is_usable(self) -> Self:
        if self.highest <= self.lowest:
            raise ValueError(f"highest = {self.highest:g} is not above lowest = {self.lowest:g}. Swap them?")
        steps = (self.highest - self.lowest) / self.step
        if steps > MOST_STEPS:
            raise ValueError(f"lowest to highest is {steps:.6g} steps, more than {MOST_STEPS}. Check step.")
        for name in ("highest", "baseline"):
            value = getattr(self, name)
            if not self.allows(value):
                raise ValueError(f"{name} = {value:g} {self.refusal(value)}")
        if self.provenance and self.provenance.spread and not self.provenance.spread.rstrip().endswith("%"):
            raise ValueError(
                f'its spread is "{self.provenance.spread}", without %. A map\'s spread is a share of the '
                "change the "
                'adjuster makes: write for example "30 %".'
            )
        return self

    @model_validator(mode="after")
    def _unknown_says_how_unsure(self) -> Self:
        if isinstance(self.map, UnknownMap) and not (self.provenance and self.provenance.spread):
            raise ValueError(
                "its map is unknown and nothing says how unsure it is. Add provenance = "
                '{ source = "estimated", method = "plausible range", spread = "50 %" }.'
            )
        return self

    def overwrites(self) -> bool:
        """Say whether the map puts a value in place of the car's own, rather than changing it."""
        return self.sets == "value" and not isinstance(self.map, RateMap)

    def positions(self) -> list[float]:
        """Return all steps from lowest to highest."""
        return [self._position(count) for count in range(round((self.highest - self.lowest) / self.step) + 1)]

    def nearest(self, number: float) -> float:
        """Return the step nearest to a number; to one that is none the lowest."""
        last = math.floor((self.highest - self.lowest) / self.step + 1e-6)
        # In this order nothing but a count of steps reaches round(): no infinity, and of NaN the zero.
        return self._position(round(min(max(0.0, (number - self.lowest) / self.step), last)))

    def allows(self, number: float) -> bool:
        """Say whether a number is one of the steps, but for rounding."""
        return abs(number - self.nearest(number)) <= 1e-6 * self.step

    def refusal(self, number: float) -> str:
        """Return why a number is not allowed and which are, as the rest of a sentence."""
        unit = f" {self.unit}" if self.unit else ""
        near = self.nearest(number)
        if not self.lowest <= number <= self.highest:
            return f"is outside {self.lowest:g} to {self.highest:g}{unit}. The nearest allowed is {near:g}."
        other = self.nearest(near + math.copysign(self.step, number - near))
        both = " and ".join(f"{n:g}" for n in sorted({near, other}))
        allowed = f"are {both}" if other != near else f"is {near:g}"
        return f"is between two steps of {self.step:g}{unit}. The nearest allowed {allowed}."

    def value(self, step: float, target: Parameter) -> float:
        """Return what a step makes of a target whose value in the car is ``target.value``, SI.

        Raises
        ------
        ValueError
            If the map is not written in a unit of the target.

        Notes
        -----
        At baseline the car's own value, exactly. A rate adds ``rate * (step - baseline)``, or with
        ``sets = "factor"`` multiplies by ``(1 + rate) ** (step - baseline)``; other maps give the value,
        or with ``sets = "factor"`` multiply by ``map(step) / map(baseline)``.
        """
        if step == self.baseline:
            return target.value
        if isinstance(self.map, RateMap):
            steps = step - self.baseline
            if self.sets == "value":
                return target.value + target.unit.parse_difference(self.map.rate) * steps
            return float(target.value * (1.0 + FACTOR.parse(self.map.rate)) ** steps)
        if self.sets == "value":
            return self.map.value(step, self, target.unit)
        return target.value * self.map.value(step, self, FACTOR) / self.map.value(self.baseline, self, FACTOR)

    def nearest_step(self, value: float, target: Parameter) -> float:
        """Return the step whose value of a target comes nearest to ``value``, SI: the map backward.

        Notes
        -----
        Of a map that gives the value itself the map alone counts: at baseline `value` is what the target has,
        and where that is not what the map says there, baseline would be nearest to it whatever the map says.
        """

        def at(step: float) -> float:
            if self.overwrites():
                assert not isinstance(self.map, RateMap)
                return self.map.value(step, self, target.unit)
            return self.value(step, target)

        return min(self.positions(), key=lambda step: abs(at(step) - value))

    def _position(self, count: int) -> float:
        return _on_scale(self.lowest, self.step, count)


@lru_cache(maxsize=1 << 14)
def _on_scale(lowest: float, step: float, count: int) -> float:
    """Return the step that is so many above the lowest; each car made of a set-up asks 120 times."""
    # Decimal, so that 0.1 + 0.2 is the 0.3 the driver reads.
    return float(Decimal(repr(lowest)) + count * Decimal(repr(step)))


def adjuster(car: "Car", name: str) -> Adjuster:
    """Return an adjuster of a car by its name.

    Raises
    ------
    CarError
        If the car has none of that name; the text proposes near ones.
    """
    found = next((a for a in car.adjusters if a.name == name), None)
    if found is None:
        raise CarError(f'"{name}" {unknown_adjuster(car, name)}')
    return found


def unknown_adjuster(car: "Car", name: str) -> str:
    """Return the rest of a sentence that refuses an adjuster's name and proposes near ones."""
    names = [one.name for one in car.adjusters]
    near = " or ".join(f'"{close}"' for close in difflib.get_close_matches(name, names, n=3, cutoff=0.5))
    remedy = f"Did you mean {near}?" if near else f"It has: {', '.join(names) or 'none'}."
    return f"is not an adjuster of this car. {remedy}"


def map_origin(car: "Car", adjuster: Adjuster) -> Provenance:
    """Return where an adjuster's map came from; what it does not say itself, the car says for all."""
    return adjuster.provenance or car.provenance.get(WHOLE_CAR, GIVEN)


def map_spread(car: "Car", adjuster: Adjuster) -> float:
    """Return one standard deviation of the change an adjuster makes, as a share of it; 0 if none is said."""
    text = map_origin(car, adjuster).spread
    return RELATIVE_SPREAD.parse(text) if text.rstrip().endswith("%") else 0.0


def adjuster_faults(car: "Car") -> list[Fault]:
    """Return what is wrong with a car's adjusters: names, targets, maps that do not fit the car."""
    faults: list[Fault] = []
    set_by: dict[str, str] = {}
    seen: set[str] = set()
    for place, one in enumerate(car.adjusters):
        key: Key = ("adjusters", place)
        try:
            if one.name in seen:
                faults.append(
                    Fault((*key, "name"), f'is "{one.name}" a second time. Each needs a name of its own.')
                )
            seen.add(one.name)
            targets, wrong = _targets(car, one, key)
            wrong += _set_twice(one, targets, set_by, key)
            faults += [*wrong, *_map_faults(one, targets, (*key, "map"))]
        except AttributeError:
            if is_complete(one):
                raise
            # It needs a value that is at fault, and said so.
    return faults


def _set_twice(one: Adjuster, targets: list[Parameter], set_by: dict[str, str], key: Key) -> list[Fault]:
    """Return a fault for each target another adjuster overwrites too; ``set_by`` remembers them."""
    return [
        Fault(
            (*key, "targets"),
            f'set {target.path}, which "{set_by[target.path]}" sets too. Let one of them act by '
            'sets = "factor" or a rate.',
        )
        for target in (targets if one.overwrites() else [])
        if set_by.setdefault(target.path, one.name) != one.name
    ]


def _targets(car: "Car", one: Adjuster, key: Key) -> tuple[list[Parameter], list[Fault]]:
    targets, faults = [], []
    for place, path in enumerate(one.targets):
        where = (*key, "targets", place)
        other_end = {"front": "rear", "rear": "front"}.get(one.axle)
        try:
            targets.append(parameter(car, path))
        except CarError as error:
            scaled = _scaled_instead(car, one, path)
            if scaled:
                return [], [Fault((*key, "targets"), scaled)]
            faults.append(Fault(where, f"does not apply: {error}"))
            continue
        except AttributeError:
            continue  # its value is at fault, and said so
        if path.split(".")[0] == other_end:
            text = f'is "{path}", but the adjuster says axle = "{one.axle}". Change one of the two.'
            faults.append(Fault(where, text))
        if path in one.targets[:place]:
            faults.append(Fault(where, f'is "{path}" a second time. Name each target once.'))
    return targets, faults


def _scaled_instead(car: "Car", one: Adjuster, path: str) -> str:
    """Return how clicks act on a measured damper, if that is what a path for another kind leads to."""
    found = part_of_kind(car, path)
    if found is None or not isinstance(found[1], MeasuredDamper):
        return ""
    owner, _, missing = found
    direction = missing.split(".")[0]
    if direction not in ("bump", "rebound"):
        return ""
    rate = "6 %" if one.stiffer != "down" else "-6 %"
    return (
        f'do not apply: {owner}.kind is "measured", and its clicks act on {owner}.{direction}_factor. '
        f'Write targets = ["{owner}.{direction}_factor"], sets = "factor", map = {{ kind = "rate", '
        f'rate = "{rate}" }}, with your own share per click, or delete this adjuster.'
    )


def _map_faults(one: Adjuster, targets: list[Parameter], key: Key) -> list[Fault]:
    if not targets:
        return []
    measure = targets[0].unit if one.sets == "value" else FACTOR
    faults = list(_reading_faults(one, measure, key))
    if isinstance(one.map, TableMap):
        first, last = one.map.steps[0], one.map.steps[-1]
        if first > one.lowest or last < one.highest:
            text = (
                f"run from {first:g} to {last:g} and leave out part of the scale, {one.lowest:g} to "
                f"{one.highest:g}. "
                "Add the ends."
            )
            faults.append(Fault((*key, "steps"), text))
    return faults or _fit_faults(one, targets, key)


def _reading_faults(one: Adjuster, measure: Unit, key: Key) -> Iterator[Fault]:
    """Yield what is not written in a unit of the target."""
    match one.map:
        case TableMap():
            readings = {(*key, "values", place): text for place, text in enumerate(one.map.values)}
        case RateMap():
            readings = {(*key, "rate"): one.map.rate}
        case UnknownMap():
            readings = {(*key, "at_lowest"): one.map.at_lowest, (*key, "at_highest"): one.map.at_highest}
        case _:
            readings = {}
            if not _measures(one.map.unit, measure):
                due = " or ".join(measure.usual_units())
                text = f'is "{one.map.unit}", in which what it sets is not measured. Write {due}.'
                yield Fault((*key, "unit"), text)
    faults = []
    for where, text in readings.items():
        try:
            measure.parse_difference(text)
        except ValueError as error:
            faults.append(Fault(where, str(error)))
    if len(faults) == len(readings) > 1:  # one slip, not many
        (*place, _), text = faults[0]
        where = tuple(place) if isinstance(one.map, TableMap) else key
        share = ' Or write sets = "factor" and map = { kind = "rate", rate = "6 %" }.'
        text = f"is in another unit than what it sets: the first {text}{share if measure.si == '1' else ''}"
        faults = [Fault(where, text)]
    yield from faults


def _measures(unit: str, measure: Unit) -> bool:
    try:
        to_si(1.0, unit, measure.si)
    except ValueError:
        return False
    return True


def _fit_faults(one: Adjuster, targets: list[Parameter], key: Key) -> list[Fault]:
    """Return the first way a readable map does not fit its targets: one mistake shows in many steps."""
    faults = _unequal_faults(one, targets, key)
    for target in targets:
        faults = faults or _range_faults(one, target, key) or _sense_faults(one, target, key)
    return faults or (_baseline_faults(one, targets[0], key) if one.overwrites() else [])


def _unequal_faults(one: Adjuster, targets: list[Parameter], key: Key) -> list[Fault]:
    """Return a fault if one value is to be set on targets that differ."""
    first = targets[0]
    for other in targets[1:] if one.overwrites() else []:
        if other.unit.si != first.unit.si or other.value != first.value:
            text = (
                f"get one value from this map, but {first.path} is {first.unit.show(first.value)} and "
                f"{other.path} is "
                f'{other.unit.show(other.value)}. Make them equal, or write sets = "factor".'
            )
            return [Fault((*key[:-1], "targets"), text)]
    return []


def _range_faults(one: Adjuster, target: Parameter, key: Key) -> list[Fault]:
    """Return a fault for the first step that takes a target out of its range."""
    for step in one.positions():
        try:
            target.unit.check(one.value(step, target))
        except ValueError as error:
            return [Fault(key, f"does not fit: at {step:g} {target.path} {error}")]
    return []


def _sense_faults(one: Adjuster, target: Parameter, key: Key) -> list[Fault]:
    """Return a fault if the ends are alike, or softer and stiffer are the wrong way round."""
    low, high = one.value(one.lowest, target), one.value(one.highest, target)
    if low == high:
        return [Fault(key, f"changes nothing: {target.path} is the same at both ends of the scale.")]
    rises = "up" if high > low else "down"
    if target.unit.si in _STIFFNESS and one.stiffer not in (rises, "none"):
        text = (
            f'is "{one.stiffer}", but {target.path} goes from {target.unit.brief(low)} at {one.lowest:g} to '
            f'{target.unit.brief(high)} at {one.highest:g}. Write "{rises}", or turn the map round.'
        )
        return [Fault((*key[:-1], "stiffer"), text)]
    return []


def _baseline_faults(one: Adjuster, target: Parameter, key: Key) -> list[Fault]:
    """Return a fault if the map, at baseline, does not give the value the car is written with."""
    assert not isinstance(one.map, RateMap)
    at_baseline = one.map.value(one.baseline, one, target.unit)
    ends = [one.map.value(step, one, target.unit) for step in (one.lowest, one.highest)]
    one_step = abs(ends[1] - ends[0]) * one.step / (one.highest - one.lowest)
    if abs(at_baseline - target.value) <= BASELINE_TOLERANCE * one_step:
        return []
    near = one.nearest_step(target.value, target)
    says = "" if near == one.baseline else f"baseline = {near:g}, or "
    text = (
        f"is {one.baseline:g}, where the map gives {target.unit.brief(at_baseline, 6)}, but {target.path} "
        "of this car is "
        f"{target.unit.brief(target.value, 6)}. Write {says}{target.path} = "
        f'"{target.unit.brief(at_baseline, 8)}".'
    )
    return [Fault((*key[:-1], "baseline"), text)]
