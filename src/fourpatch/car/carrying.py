"""A set-up carried over to a car on which other things can be turned, or the same on another scale."""

from typing import NamedTuple

from fourpatch.car.adjusters import Adjuster, DirectMap
from fourpatch.car.car import Car
from fourpatch.car.paths import parameter
from fourpatch.car.scale_words import from_to, standing_at
from fourpatch.car.setup import Setup
from fourpatch.units import to_si


class CarriedSetup(NamedTuple):
    """A set-up as the changed car takes it."""

    setup: Setup
    told: tuple[str, ...]
    """What could not be kept by meaning, a sentence each."""


def carried_over(setup: Setup, before: Car, after: Car) -> CarriedSetup:
    """Return a set-up of a car for the car as it was changed, by meaning.

    Notes
    -----
    A number in a unit stays what it is, and so does one that gives the car the same on the longer or shorter
    scale. On another scale an adjuster stands at the same share of the way from where the car is as it is
    written to the end on that side; several knobs made one stand at the mean of theirs, one made several
    gives each its own. What is new stands where the car is; where something stood that is gone is told.
    """
    values: dict[str, float] = {}
    told: list[str] = []
    for one in after.adjusters:
        old = [was for was in before.adjusters if set(was.targets) & set(one.targets)]
        old = [was for was in old if set(was.targets) == set(one.targets)] or old
        same = next((was for was in old if was == one), None)
        if same is not None:
            values[one.name] = setup.position(same)
        elif len(old) == 1 and isinstance(one.map, DirectMap) and isinstance(old[0].map, DirectMap):
            si = parameter(after, one.targets[0]).unit.si
            meant = to_si(setup.position(old[0]), old[0].map.unit, si)
            number = round((meant - to_si(0.0, one.map.unit, si)) / to_si(1.0, one.map.unit, si), 9)
            values[one.name] = one.nearest(number)
            told += _ended(setup, one, number)
        elif len(old) == 1 and _gives_the_same(before, old[0], after, one, setup.position(old[0])):
            number = setup.position(old[0])
            values[one.name] = one.nearest(number)
            told += _ended(setup, one, number)
        elif old:
            shares = [_share(was, setup.position(was), turned=_turned(was, one)) for was in old]
            values[one.name] = one.nearest(_position(one, sum(shares) / len(shares)))
        else:
            values[one.name] = one.baseline
    about = {path for one in after.adjusters for path in one.targets}
    for was in before.adjusters:
        at = setup.position(was)
        if at != was.baseline and not about & set(was.targets):
            told.append(f"{setup.name}: {was.name} stood at {standing_at(at, was.unit)}, and is gone.")
    return CarriedSetup(setup.model_copy(update={"car": after.name, "values": values}), tuple(told))


def _ended(setup: Setup, one: Adjuster, number: float) -> list[str]:
    """Say that a scale no longer reaches a number."""
    if one.lowest - 0.5 * one.step <= number <= one.highest + 0.5 * one.step:
        return []
    gone = from_to(number, one.nearest(number), one.unit)
    return [f"{setup.name}: {one.name} {gone}, for the scale ends there now."]


def _gives_the_same(before: Car, old: Adjuster, after: Car, new: Adjuster, at: float) -> bool:
    """Say whether a number means on the new scale what it means on the old one; below and above too."""
    if set(old.targets) != set(new.targets):
        return False
    pairs = [(parameter(before, path), parameter(after, path)) for path in new.targets]
    try:
        return all(
            abs(old.value(number, was) - new.value(number, now)) <= 1e-9 * abs(was.value)
            for number in {at, old.baseline, old.lowest, old.highest}
            for was, now in pairs
        )
    except ValueError:
        return False


def _turned(old: Adjuster, new: Adjuster) -> bool:
    return {old.stiffer, new.stiffer} == {"up", "down"}


def _share(one: Adjuster, at: float, *, turned: bool) -> float:
    """Return how far a position is from where the car is, -1 at the lowest end and 1 at the highest."""
    room = one.highest - one.baseline if at >= one.baseline else one.baseline - one.lowest
    share = (at - one.baseline) / room if room > 0.0 else 0.0
    return -share if turned else share


def _position(one: Adjuster, share: float) -> float:
    room = one.highest - one.baseline if share >= 0.0 else one.baseline - one.lowest
    return one.baseline + share * room
