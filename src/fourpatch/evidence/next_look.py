"""What to measure, say or try next: what would settle most of what is open about one balance."""

from collections.abc import Iterator, Sequence
from dataclasses import dataclass
from typing import Final

import numpy as np
from numpy.typing import NDArray

from fourpatch.car.adjusters import Adjuster
from fourpatch.car.car import Car
from fourpatch.car.evidence import OBSERVABLES, Comparison, Item, Reading, Words, read_value
from fourpatch.errors import AdviceError, CarError, EventError
from fourpatch.evidence.believed import Believed, middle_and_spread
from fourpatch.evidence.heard import FELT, FELT_VAGUE, LITTLE, NOTHING, VAGUE
from fourpatch.evidence.observed import Tracks, observed
from fourpatch.long_work import Cancelled, Progress, go_on, never, unwatched

Array = NDArray[np.float64]

CARS = 64
"""That are asked."""
LEAST: Final = 0.05
"""Share of what is open below which a look is not worth naming."""

_RADIUS = 50.0  # of the bend whose speed may be read [m]
_STEPS = 4  # of an adjuster that a driver would turn at once, at most
_PHASES = ("on entry", "at mid-corner", "on exit")
_PLACES = ("slow", "medium", "fast")


@dataclass(frozen=True, slots=True, kw_only=True)
class Look:
    """Something that could be observed next."""

    item: Item
    """As it would be kept; what is observed is left open."""
    settles: float
    """Share of the variance of the number in question that it is expected to take away."""


@dataclass(frozen=True, slots=True, kw_only=True)
class NextLooks:
    """What would settle a balance."""

    about: str
    """The words whose balance it is."""
    meaning: str
    middle: float
    """Of that balance in the plausible cars, toward what the words name. [points]"""
    spread: float
    """[points]"""
    looks: tuple[Look, ...]
    """What settles most first; those that settle next to nothing left out."""
    tried: int


def next_looks(
    found: Believed,
    about: str,
    *,
    tracks: Tracks | None = None,
    seed: int = 1,
    progress: Progress = unwatched,
    cancelled: Cancelled = never,
) -> NextLooks:
    """Return what to observe next to know a balance better.

    Parameters
    ----------
    about : words of a balance, "loose on exit in fast corners".

    Raises
    ------
    AdviceError
        If the words name no balance.
    Stopped
        If it is cancelled.

    Notes
    -----
    By a straight law: a look at a number n with the error e takes away r^2 V(n) / (V(n) + e^2) of the
    variance of the balance, r their correlation in the plausible cars, as cars show them after all that was
    observed. r^2 is what is left of it after the 1 / (cars - 1) that chance makes. That is the expected gain
    of information of jointly normal numbers, -1/2 log(1 - share), in an order that is the same. Words and
    comparisons count with their width and that of a class.
    """
    wanted = observed(found.car, Words(text=about), tracks or {})
    scores = found.drawn(CARS, seed=seed)
    cars = [found.unknowns.base(one) for one in scores]
    plain = scores.copy()
    plain[:, -2] = 0.0  # the car's balance, whatever its driver calls neutral
    number = wanted.numbers(found.unknowns, plain, cars)
    middle, spread = middle_and_spread(number, np.ones(CARS))
    candidates = list(_candidates(found.car, about))
    looks = []
    for place, item in enumerate(candidates):
        progress(place / len(candidates), "what each look would tell")
        go_on(cancelled, "not all looks were compared")
        looks.append(Look(item=item, settles=_settles(found, item, scores, cars, number, tracks or {})))
    looks.sort(key=lambda one: -one.settles)
    return NextLooks(
        about=about,
        meaning=wanted.meaning,
        middle=middle,
        spread=spread,
        looks=tuple(one for one in looks if one.settles >= LEAST),
        tried=len(looks),
    )


def _candidates(car: Car, about: str) -> Iterator[Item]:
    """Yield what could be observed: every reading, words on every phase, a change of every adjuster."""
    for quantity, one in OBSERVABLES.items():
        for place in one.places or ("",):
            radius = _RADIUS if quantity == "bend speed" else None
            middle = one.unit.show(0.5 * (one.unit.low + one.unit.high))
            yield Reading(quantity=quantity, place=place, value=middle, radius=radius)
    for phase in _PHASES:
        for place in _PLACES:
            yield Words(text=f"pushes {phase} in {place} corners")
    for adjuster in car.adjusters:
        if change := _change(adjuster):
            yield Comparison(changes=[change], text=about, outcome="better")


def _change(one: Adjuster) -> str:
    """Return a change that a driver would try: up if there is more room there, else down."""
    up = round((one.highest - one.baseline) / one.step)
    down = round((one.baseline - one.lowest) / one.step)
    steps = min(max(up, down), _STEPS)
    return f"{one.name}={'+' if up >= down else '-'}{steps}" if steps else ""


def _settles(
    found: Believed, item: Item, scores: Array, cars: Sequence[Car | None], number: Array, tracks: Tracks
) -> float:
    try:
        look = observed(found.car, item, tracks)
    except (AdviceError, CarError, EventError):
        return 0.0
    shown = look.numbers(found.unknowns, scores, cars)
    usable = np.isfinite(shown) & np.isfinite(number)
    if usable.sum() < CARS // 2 or not np.ptp(shown[usable]) > 0.0 or not np.ptp(number[usable]) > 0.0:
        return 0.0
    count = int(usable.sum())
    square = float(np.corrcoef(shown[usable], number[usable])[0, 1]) ** 2
    told = max((square * (count - 1) - 1.0) / (count - 2), 0.0)
    variance = middle_and_spread(shown, np.ones(len(shown)))[1] ** 2
    return told * variance / (variance + _error(item, float(np.median(shown[usable]))) ** 2)


def _error(item: Item, value: float) -> float:
    """Return the standard deviation with which a number would be known after a look."""
    match item:
        case Reading():
            unit = OBSERVABLES[item.quantity].unit
            held = min(max(value, unit.low), unit.high)
            return read_value(item.model_copy(update={"value": unit.show(held)}))[1]
        case Comparison():
            return float(np.hypot(FELT_VAGUE, 2.0 * FELT / np.sqrt(12.0)))
        case _:
            return float(np.hypot(VAGUE, (LITTLE - NOTHING) / np.sqrt(12.0)))
