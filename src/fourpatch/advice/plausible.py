"""Plausible cars: drawn from the spreads of what is not known, and changed as their adjusters would."""

import re
from collections.abc import Callable, Iterator, Mapping, Sequence
from math import exp, log, sqrt
from typing import NamedTuple

import numpy as np

from fourpatch.advice.sets import Changes
from fourpatch.car.adjusters import Adjuster, map_spread
from fourpatch.car.car import Car
from fourpatch.car.pack import pack
from fourpatch.car.paths import Parameter, parameter, parameters, replace_parameters
from fourpatch.car.provenance import alike, of_other_axle, spread
from fourpatch.car.setup import Setup, apply_setup
from fourpatch.errors import CarError

BOTH, APART = ", both axles", ", front against rear"
"""Ends of the names of what both axles share, and of what the front is off against the rear."""

_TRIES = 20  # draws for one plausible car before its spreads count as impossible


class Moves(NamedTuple):
    """What one unknown does to a parameter."""

    parameter: Parameter
    size: float
    """One standard deviation of the parameter, SI."""
    weight: float = 1.0
    """Of its standard deviations, for one of the unknown."""


Groups = Mapping[str, Sequence[Moves]]
"""Unknowns by name, independent of each other, each with the parameters that it moves."""

OF_LAPS = re.compile(r"(front|rear)\.tyre\.stint\.\w+|driveline\.fuel_per_work")
"""Parameters that act over laps alone."""


def uncertain(car: Car) -> Groups:
    """Return the parameters whose spread is stated and on which a motion hangs.

    Notes
    -----
    What only laps bring about, how tyres warm and wear and what fuel is burnt, moves no car: see `stint`.
    The numbers of a list (engine speeds, gear ratios) move together, and ride height moves with the height
    it is designed for: apart they would make cars that nobody builds.

    Numbers of which the car says how alike both axles are become two unknowns, what both share and what
    the front is off against the rear. With weights sqrt((1 + r) / 2) and ± sqrt((1 - r) / 2) each axle
    keeps its spread and the two have the correlation r.
    """
    return unknowns(car, lambda one: 0.0 if OF_LAPS.fullmatch(one.path) else spread(car, one.path))


def unknowns(car: Car, size_of: Callable[[Parameter], float]) -> Groups:
    """Return the parameters of which a standard deviation is told, 0 for none, grouped as in `uncertain`."""
    groups: dict[str, list[Moves]] = {}
    for one in parameters(car):
        size = size_of(one)
        if size > 0.0:
            name = re.sub(r"\.\d+$", "", one.path).replace("design_ride_height", "ride_height")
            groups.setdefault(name, []).append(Moves(one, size))
    return dict(_paired(car, groups))


def _paired(car: Car, groups: Groups) -> Iterator[tuple[str, Sequence[Moves]]]:
    """Yield the unknowns, those of two axles that are alike in two parts, where the front one was."""
    for name, own in groups.items():
        other = of_other_axle(name)
        same = alike(car, own[0].parameter.path) if other in groups else 0.0
        if not same:
            yield name, own
        elif re.search(r"(^|\.)front[._]", name):
            what = re.sub(r"(^|\.)front[._]", r"\1", name)
            both, apart = sqrt(0.5 * (1.0 + same)), sqrt(0.5 * (1.0 - same))
            yield (
                f"{what}{BOTH}",
                [*(one._replace(weight=both) for one in (*own, *groups[other]))],
            )
            yield (
                f"{what}{APART}",
                [
                    *(one._replace(weight=apart) for one in own),
                    *(one._replace(weight=-apart) for one in groups[other]),
                ],
            )


def shifted(car: Car, groups: Groups, scores: Mapping[str, float]) -> Car:
    """Return a car with groups of parameters moved by so many standard deviations.

    Raises
    ------
    CarError
        If no such car can exist or stand.
    """
    total: dict[str, tuple[Moves, float]] = {}
    for name, score in scores.items():
        for one in groups[name]:
            path = one.parameter.path
            total[path] = (one, total.get(path, (one, 0.0))[1] + one.weight * score)
    values = {path: moved(one.parameter, one.size, score) for path, (one, score) in total.items()}
    changed = replace_parameters(car, values)
    pack(changed)
    return changed


def moved(one: Parameter, size: float, score: float) -> float:
    """Return a parameter's value, SI, so many standard deviations of a size from where it is.

    Notes
    -----
    A parameter that cannot be negative is multiplied by exp(s z), s^2 = log(1 + (spread / value)^2), so
    that its median is the value; others are added to. All are kept inside their range.
    """
    if one.unit.low >= 0.0 and one.value > 0.0:
        value = one.value * exp(_log_spread(size / one.value) * score)
    else:
        value = one.value + size * score
    return min(max(value, one.unit.low), one.unit.high)


def _log_spread(relative: float) -> float:
    return sqrt(log(1.0 + relative**2))


def drawn(car: Car, groups: Groups, generator: np.random.Generator) -> Car | None:
    """Return a plausible car, or None if none of twenty could stand."""
    for _ in range(_TRIES):
        scores = {name: float(generator.standard_normal()) for name in groups}
        try:
            return shifted(car, groups, scores)
        except CarError:
            continue
    return None


def factors(car: Car, adjusters: Sequence[Adjuster], generator: np.random.Generator) -> list[float]:
    """Return by how much each adjuster's change is multiplied in one plausible car."""
    return factors_of(car, generator.standard_normal(len(adjusters)).tolist(), adjusters)


def factors_of(car: Car, scores: Sequence[float], adjusters: Sequence[Adjuster] | None = None) -> list[float]:
    """Return by how much each adjuster's change is multiplied, so many standard deviations off."""
    of = car.adjusters if adjusters is None else adjusters
    return [exp(_log_spread(map_spread(car, one)) * z) for one, z in zip(of, scores, strict=True)]


class PlausibleCar(NamedTuple):
    """A car drawn before."""

    scores: Mapping[str, float]
    """Standard deviations of each group of parameters."""
    factors: Sequence[float]
    """By how much each adjuster's change is multiplied."""


def made(car: Car, groups: Groups, one: PlausibleCar) -> tuple[Car | None, Sequence[float]]:
    """Return a car drawn before, None if it cannot stand, and its factors."""
    try:
        return shifted(car, groups, {name: one.scores.get(name, 0.0) for name in groups}), one.factors
    except CarError:
        return None, one.factors


class Turns:
    """What each adjuster's steps change on a car as written, to be made on plausible ones."""

    def __init__(self, car: Car, setup: Setup) -> None:
        self.car, self.setup = car, setup
        self.standing = apply_setup(car, setup)
        self._known: dict[tuple[int, int], Car] = {}

    def made_on(self, other: Car, changes: Changes, factor: Sequence[float]) -> Car:
        """Return another car with changes made as on the car as written, each times its factor.

        Notes
        -----
        An adjuster that multiplies keeps its ratio, to the power of its factor; others keep their
        difference, times it. So a spring that is not what is written still gets softer by what the
        next softer spring is softer.
        """
        values: dict[str, float] = {}
        for place, steps in changes:
            one = self.car.adjusters[place]
            stepped = self._stepped(place, steps)
            for path in one.targets:
                own = parameter(other, path)
                now = values.get(path, own.value)
                before, after = (parameter(c, path).value for c in (self.standing, stepped))
                if one.sets == "factor" and before * after > 0.0:
                    now *= (after / before) ** factor[place]
                else:
                    now += (after - before) * factor[place]
                values[path] = min(max(now, own.unit.low), own.unit.high)
        return replace_parameters(other, values)

    def _stepped(self, place: int, steps: int) -> Car:
        if (place, steps) not in self._known:
            one = self.car.adjusters[place]
            moved = one.nearest(self.setup.position(one) + steps * one.step)
            named = self.setup.model_copy(update={"values": {**self.setup.values, one.name: moved}})
            self._known[place, steps] = apply_setup(self.car, named)
        return self._known[place, steps]
