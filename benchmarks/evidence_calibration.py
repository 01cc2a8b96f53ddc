#!/usr/bin/env python3
"""Do the intervals that evidence leaves hold the truth as often as they say?

Simulation-based calibration (Talts et al. 2018, from memory): a car is drawn from the spreads of an
invented one, it makes the evidence, errors included, and the plausible cars are weighed by that evidence.
Where the truth then lies among them must be anywhere with the same chance. Case by case for each kind of
evidence and for all together; besides with a car that the spreads cannot make, where intervals must widen.

python benchmarks/evidence_calibration.py [--smallest] [--cases N] [--kind NAME] writes the table of
docs/evidence-calibration.md to standard output.
"""

import argparse
import time
from collections.abc import Sequence
from dataclasses import dataclass, replace

import numpy as np
from numpy.typing import NDArray
from scipy.stats import chi2

from fourpatch.car.car import Car
from fourpatch.car.estimate import CarBrief, estimate_car
from fourpatch.car.evidence import Comparison, Item, Reading, Words
from fourpatch.evidence.believed import forward_of, middle_and_spread
from fourpatch.evidence.heard import BADLY, FELT, LITTLE, NOTHING, Heard
from fourpatch.evidence.observed import Observed, observed
from fourpatch.evidence.unknowns import Unknowns
from fourpatch.evidence.weighing import ENOUGH, FEW, Weighed, weigh

Array = NDArray[np.float64]

GARAGE: list[Item] = [
    *(Reading(quantity="corner weight", place=place, value="300 kg") for place in ("FL", "FR", "RL", "RR")),
    Reading(quantity="ride frequency", place="front", value="2 Hz"),
    Reading(quantity="roll per g", value="2 deg"),
]
STOPWATCH: list[Item] = [
    Reading(quantity="top speed", value="200 km/h"),
    Reading(quantity="bend speed", radius=40.0, value="70 km/h"),
]
WORDS: list[Item] = [
    Words(text="loose on exit in fast corners", nothing=True),
    Words(text="pushes on entry in slow corners", nothing=True),
    Words(text="pushes on exit in medium corners", nothing=True),
]
COMPARISONS: list[Item] = [
    Comparison(changes=["rear bar=+2"], text="pushes on entry in slow corners", outcome="better"),
    Comparison(changes=["front camber=+4"], text="pushes on entry in slow corners", outcome="better"),
    Comparison(changes=["brake bias=+3"], text="loose on entry in medium corners", outcome="better"),
]
KINDS: dict[str, list[Item]] = {
    "garage": GARAGE,
    "stopwatch": STOPWATCH,
    "words": WORDS,
    "comparisons": COMPARISONS,
    "all together": [*GARAGE[:2], STOPWATCH[0], WORDS[0], COMPARISONS[1]],
}
BINS = 10
LOOKED_AT = 6
"""Unknowns whose place is looked at: those that the evidence sees most."""


def invented_car() -> Car:
    """Return the car whose spreads everything is drawn from."""
    return estimate_car(
        CarBrief(
            name="Invented",
            mass=1150.0,
            front_weight_share=0.62,
            wheelbase=2.55,
            driven="front",
            power=120e3,
            front_tyre="205/50R16",
            rear_tyre="205/50R16",
            grip="semi-slick",
            body="hatchback",
        )
    )


@dataclass
class Situation:
    """A kind of evidence of the invented car, with what cars drawn first would show."""

    unknowns: Unknowns
    looked: list[Observed]
    pool: tuple[Array, Array]

    @classmethod
    def of(cls, car: Car, items: Sequence[Item], first: int) -> "Situation":
        """Draw the first cars and see what they show."""
        unknowns = Unknowns.of(car)
        looked = [observed(car, item, {}) for item in items]
        scores = unknowns.drawn(first, np.random.default_rng(1))
        return cls(unknowns, looked, (scores, forward_of(unknowns, looked)(scores)))

    def shown(self, scores: Array) -> Array:
        """Return what cars would show."""
        return forward_of(self.unknowns, self.looked)(scores)


def heard_of(one: Observed, number: float, generator: np.random.Generator) -> Heard:
    """Return what is heard of a number: with its error, and for words the interval it falls in."""
    told = one.heard.told(number, generator)
    if one.heard.low == one.heard.high:
        return replace(one.heard, low=told, high=told)
    edges = [-BADLY, -LITTLE, -NOTHING, NOTHING, LITTLE, BADLY]
    if one.meaning.startswith("what "):
        edges = [-FELT, FELT]
    ends = [-np.inf, *edges, np.inf]
    place = int(np.searchsorted(edges, told))
    return replace(one.heard, low=ends[place], high=ends[place + 1])


@dataclass
class Case:
    """Where the truth lay, and what the evidence left."""

    places: list[float]
    left: list[float]
    effective: float
    rounds: int
    wider: float


def case(situation: Situation, truth: Array, shown: Array, number: int) -> Case:
    """Return where the truth of a case lies in what is left of the plausible cars."""
    generator = np.random.default_rng([7, number])
    heard = [heard_of(one, shown[k], generator) for k, one in enumerate(situation.looked)]
    found = weigh(
        situation.shown,
        len(truth),
        heard,
        seed=1000 + number,
        first=len(situation.pool[0]),
        pool=situation.pool,
    )
    size = np.abs(found.law.slope / np.maximum(found.law.error[:, None], 1e-12)).max(axis=0)
    most = np.argsort(-size, kind="stable")[:LOOKED_AT]
    numbers = [(found.scores[:, k], truth[k]) for k in most]
    numbers += [(found.numbers[:, k], shown[k]) for k in range(len(heard))]
    return Case(
        places=[place(found.weights, values, true, generator) for values, true in numbers],
        left=[spread_left(found, values) for values, _ in numbers],
        effective=found.effective,
        rounds=found.rounds,
        wider=found.wider,
    )


def place(weights: Array, values: Array, true: float, generator: np.random.Generator) -> float:
    """Return the share of the weight below the truth, ties broken by chance."""
    usable = np.isfinite(values)
    below, at = weights[usable & (values < true)].sum(), weights[usable & (values == true)].sum()
    return float(below + generator.random() * at)


def spread_left(found: Weighed, values: Array) -> float:
    """Return the spread after the evidence over that before."""
    before = found.with_only([], [])
    return middle_and_spread(values, found.weights)[1] / max(middle_and_spread(values, before)[1], 1e-12)


def truths(situation: Situation, count: int) -> tuple[Array, Array]:
    """Return the scores of true cars and what they would show without error; those that stand."""
    scores = situation.unknowns.drawn(count + count // 4 + 4, np.random.default_rng(99))
    shown = situation.shown(scores)
    good = np.isfinite(shown).all(axis=1)
    return scores[good][:count], shown[good][:count]


def line(name: str, cases: Sequence[Case], seconds: float) -> str:
    """Return a row of the table."""
    places = np.array([one.places for one in cases])
    inside = (places > 0.05) & (places < 0.95)
    chances = []
    for column in places.T:
        counts, _ = np.histogram(np.clip(column, 0.0, 1.0), BINS, (0.0, 1.0))
        expected = len(cases) / BINS
        chances.append(float(chi2.sf(((counts - expected) ** 2 / expected).sum(), BINS - 1)))
    held = 100.0 * inside.mean(axis=0)
    few = sum(one.effective < FEW for one in cases)
    below = sum(chance < 0.05 / len(chances) for chance in chances)
    left = np.median([one.left for one in cases], axis=0)
    effective = [one.effective for one in cases]
    return (
        f"| {name} | {len(cases)} | {held.mean():.1f} % | {held.min():.1f} to {held.max():.1f} % | "
        f"{min(chances):.3f} | {below} of {len(chances)} | "
        f"{100 * left.min():.0f} to {100 * left.max():.0f} % | "
        f"{np.median(effective):.0f} ({min(effective):.0f}) | {few} | "
        f"{np.mean([one.rounds for one in cases]):.1f} | {sum(one.wider > 1.0 for one in cases)} | "
        f"{seconds:.0f} s |"
    )


def beyond_the_model(situation: Situation, count: int) -> str:
    """Return how often intervals hold the truth where the car is none that the spreads can make.

    The true car's scores are 2.5 times as far out as drawn, and what is heard of it has the stated error.
    """
    scores, _ = truths(situation, count)
    scores = 2.5 * scores
    shown = situation.shown(scores)
    good = np.isfinite(shown).all(axis=1)
    held = {"widened": [0, 0], "as stated": [0, 0]}
    sizes = []
    for number, (_, own) in enumerate(zip(scores[good], shown[good], strict=True)):
        generator = np.random.default_rng([11, number])
        heard = [heard_of(one, own[k], generator) for k, one in enumerate(situation.looked)]
        found = weigh(situation.shown, scores.shape[1], heard, seed=number, pool=situation.pool)
        sizes.append(found.wider)
        for name, weights in (
            ("widened", found.weights),
            ("as stated", replace(found, wider=1.0).with_only(heard, range(len(heard)))),
        ):
            for k in range(len(heard)):
                at = place(weights, found.numbers[:, k], own[k], generator)
                held[name][0] += 0.05 < at < 0.95
                held[name][1] += 1
    shares = {name: 100.0 * inside / max(of, 1) for name, (inside, of) in held.items()}
    return (
        f"{int(good.sum())} cars 2.5 times as far from the file as its spreads say: 90 % intervals hold the "
        f"true numbers in {shares['widened']:.0f} % where they are widened by what does not fit (by "
        f"{np.median(sizes):.1f} times, median), in {shares['as stated']:.0f} % if they were not."
    )


HEAD = (
    "| evidence | cases | held | by quantity | least chance of the ranks | below 5 % | spread left | "
    "cars count as (least) | under "
    f"{FEW:.0f} | rounds | widened | time |\n|---|---|---|---|---|---|---|---|---|---|---|---|"
)


def main() -> None:
    """Write the table."""
    parser = argparse.ArgumentParser(description=__doc__)
    parser.add_argument("--smallest", action="store_true", help="two cases of two kinds: to see that it runs")
    parser.add_argument("--cases", type=int, default=200)
    parser.add_argument("--first", type=int, default=1024, help="cars drawn first, alike for all cases")
    parser.add_argument("--kind", choices=[*KINDS, "beyond"], action="append")
    given = parser.parse_args()
    cases, first = (2, 64) if given.smallest else (given.cases, given.first)
    kinds = given.kind or (["garage", "words"] if given.smallest else [*KINDS, "beyond"])
    car = invented_car()
    print(HEAD if kinds != ["beyond"] else "", flush=True)
    for name in kinds:
        began = time.process_time()
        situation = Situation.of(car, KINDS.get(name, GARAGE), first)
        if name == "beyond":
            print("\n" + beyond_the_model(situation, max(cases // 4, 2)), flush=True)
            continue
        scores, shown = truths(situation, cases)
        told = [case(situation, scores[k], shown[k], k) for k in range(len(scores))]
        print(line(name, told, time.process_time() - began), flush=True)
    print(f"\nEnough is {ENOUGH:.0f} cars of equal weight.")


if __name__ == "__main__":
    main()
