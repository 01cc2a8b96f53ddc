"""A car with spreads as a weighted set of complete cars, and what each piece of evidence taught of them."""

from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from fourpatch.advice.plausible import PlausibleCar
from fourpatch.car.car import Car
from fourpatch.car.evidence import Item
from fourpatch.errors import AdviceError, CarError
from fourpatch.evidence.observed import Observed, Tracks, observed
from fourpatch.evidence.unknowns import LIMIT, NEUTRAL, Unknowns
from fourpatch.evidence.weighing import ENOUGH, FIRST, MORE, Forward, Weighed, weigh
from fourpatch.long_work import Cancelled, Progress, never, unwatched

Array = NDArray[np.float64]

SEED = 1
LEARNT = 0.9
"""Share of its spread before, below which an unknown counts as narrowed."""


@dataclass(frozen=True, slots=True, kw_only=True)
class Narrowed:
    """An unknown of which something was learnt."""

    name: str
    """Dotted name of a parameter, an adjuster, or what concerns the driver."""
    left: float
    """Spread after over spread before."""
    moved: float
    """Middle after, in standard deviations before."""


@dataclass(frozen=True, slots=True, kw_only=True)
class Taught:
    """What one item of evidence taught."""

    item: Item
    meaning: str
    """The number it is about, in words."""
    unit: str
    before: tuple[float, float]
    """Middle and spread of that number in the plausible cars before any evidence; SI or points."""
    after: tuple[float, float]
    """... and with all evidence."""
    beyond: float
    """By how many standard deviations what the cars now show lies outside of what was observed."""
    alone: tuple[Narrowed, ...]
    """What it narrows by itself, most first."""


@dataclass(frozen=True, kw_only=True, eq=False)
class Believed:
    """Plausible cars of a car, weighed by all that was observed of it."""

    unknowns: Unknowns
    observed: tuple[Observed, ...]
    weighed: Weighed
    taught: tuple[Taught, ...]
    narrowed: tuple[Narrowed, ...]
    """What all evidence together narrowed, most first."""
    seed: int

    @property
    def car(self) -> Car:
        """The car as written."""
        return self.unknowns.car

    @property
    def effective(self) -> float:
        """How many cars of equal weight would say as much."""
        return self.weighed.effective

    def drawn(self, count: int, *, seed: int | None = None) -> Array:
        """Return the scores of cars that all count alike, (count, scores), drawn by their weights.

        Notes
        -----
        Systematic resampling: each car stands in it as often as its weight says, to one.
        """
        generator = np.random.default_rng(self.seed if seed is None else seed)
        at = (np.arange(count) + generator.random()) / count
        places = np.searchsorted(np.cumsum(self.weighed.weights), at)
        places = np.minimum(places, len(self.weighed.weights) - 1)
        return np.asarray(self.weighed.scores[generator.permutation(places)])

    def plausible(self, count: int, *, seed: int | None = None) -> list[PlausibleCar]:
        """Return cars that all count alike, for whatever is asked of plausible cars; as `drawn`."""
        groups = self.unknowns.groups
        return [
            PlausibleCar(dict(zip(groups, one.tolist(), strict=False)), self.unknowns.factors(one))
            for one in self.drawn(count, seed=seed)
        ]


def believed(
    car: Car,
    *,
    tracks: Tracks | None = None,
    beside: Sequence[Observed] = (),
    seed: int = SEED,
    first: int = FIRST,
    more: int = MORE,
    enough: float = ENOUGH,
    progress: Progress = unwatched,
    cancelled: Cancelled = never,
) -> Believed:
    """Return the plausible cars of a car, weighed by the evidence in its file.

    Parameters
    ----------
    tracks : by the names that items give.
    beside : what was observed beside the evidence in the file.

    Raises
    ------
    AdviceError
        If the car states no spread, or an item cannot be read; the text names it.
    Stopped
        If it is cancelled.
    """
    unknowns = Unknowns.of(car)
    if not unknowns.groups and not unknowns.adjusters:
        raise AdviceError(
            f"{car.name} says of none of its numbers how far it may be off, so nothing can be learnt of it. "
            'Say it in the car\'s file, for all of them: [provenance] car = { source = "given", '
            'spread = "5 %" }, or number by number.'
        )
    looked = [_observed(car, item, number, tracks or {}) for number, item in enumerate(car.evidence, start=1)]
    looked += beside
    weighed = weigh(
        forward_of(unknowns, looked),
        len(unknowns.names),
        [one.heard for one in looked],
        seed=seed,
        first=first,
        more=more,
        enough=enough,
        progress=progress,
        cancelled=cancelled,
    )
    return Believed(
        unknowns=unknowns,
        observed=tuple(looked),
        weighed=weighed,
        taught=tuple(_taught(unknowns, looked, weighed, k) for k in range(len(car.evidence))),
        narrowed=_narrowed(unknowns, looked, weighed, range(len(looked))),
        seed=seed,
    )


def forward_of(unknowns: Unknowns, looked: Sequence[Observed]) -> Forward:
    """Return what tells what cars of some scores would show, (cars, items)."""

    def forward(scores: Array) -> Array:
        cars = [unknowns.base(one) for one in scores] if looked else [None] * len(scores)
        found = [one.numbers(unknowns, scores, cars) for one in looked]
        return np.stack(found, axis=1) if found else np.empty((len(scores), 0))

    return forward


def _observed(car: Car, item: Item, number: int, tracks: Tracks) -> Observed:
    try:
        return observed(car, item, tracks)
    except (AdviceError, CarError) as error:
        raise AdviceError(f"evidence {number}: {error}") from None


def _taught(unknowns: Unknowns, looked: Sequence[Observed], weighed: Weighed, k: int) -> Taught:
    heard = [one.heard for one in looked]
    before = weighed.with_only(heard, [])
    numbers = weighed.numbers[:, k]
    after = middle_and_spread(numbers, weighed.weights)
    return Taught(
        item=unknowns.car.evidence[k],
        meaning=looked[k].meaning,
        unit=looked[k].unit,
        before=middle_and_spread(numbers, before),
        after=after,
        beyond=heard[k].beyond(after[0]),
        alone=_narrowed(unknowns, looked, weighed, [k]),
    )


def middle_and_spread(numbers: Array, weights: Array) -> tuple[float, float]:
    """Return the median and half of the 68 % interval of weighted numbers; those that are none left out."""
    usable = np.isfinite(numbers) & (weights > 0.0)
    low, middle, high = quantiles(numbers[usable], weights[usable], (0.1587, 0.5, 0.8413))
    return middle, 0.5 * (high - low)


def quantiles(numbers: Array, weights: Array, at: Sequence[float]) -> list[float]:
    """Return quantiles of weighted numbers."""
    order = np.argsort(numbers, kind="stable")
    reached = np.cumsum(weights[order])
    middle = (reached - 0.5 * weights[order]) / reached[-1]
    return [float(v) for v in np.interp(at, middle, numbers[order])]


def _narrowed(
    unknowns: Unknowns, looked: Sequence[Observed], weighed: Weighed, kept: Sequence[int]
) -> tuple[Narrowed, ...]:
    """Return what some items narrow, most first, by the straight law of what they show."""
    if not kept:
        return ()
    law = weighed.law.only(kept)
    given = law.given([looked[k].heard for k in kept], wider=weighed.wider)
    left, moved = given.spread(), given.mean()
    order = [k for k in np.argsort(left, kind="stable") if left[k] < LEARNT]
    names = unknowns.names
    return tuple(Narrowed(name=names[k], left=float(left[k]), moved=float(moved[k])) for k in order)


OF_THE_DRIVER = (NEUTRAL, LIMIT)
"""Unknowns that are none of the car's."""
