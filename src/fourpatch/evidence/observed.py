"""What each plausible car makes of a situation in which something was observed."""

from abc import abstractmethod
from collections.abc import Callable, Mapping, Sequence
from dataclasses import dataclass
from typing import Final

import numpy as np
from numpy.typing import NDArray

from fourpatch.advice.change_text import read_changes
from fourpatch.advice.complaint import Complaint
from fourpatch.advice.complaint_numbers import complaint_numbers
from fourpatch.advice.complaint_text import read_complaint
from fourpatch.advice.course import Course, standard_course, track_course
from fourpatch.advice.target import Target, target_of
from fourpatch.analysis.statics import handling, ride, roll, weights
from fourpatch.analysis.steady_limits import corner_speed, top_speed
from fourpatch.analysis.wheel_rates import Vector, axle_means, spring_rates
from fourpatch.car.car import Car
from fourpatch.car.evidence import OBSERVABLES, Comparison, Item, Reading, Words, read_value
from fourpatch.car.gravity import GRAVITY
from fourpatch.car.pack import pack
from fourpatch.car.setup import Setup, apply_setup
from fourpatch.errors import AdviceError, CarError, EventError, SolveError
from fourpatch.evidence.heard import Heard, outcome_heard, words_heard
from fourpatch.evidence.unknowns import Unknowns, standing_setup
from fourpatch.track.track import Track

Array = NDArray[np.float64]
Tracks = Mapping[str, Track]

_STATIC: Final[dict[str, Callable[[Vector], Sequence[float]]]] = {
    "corner weight": lambda vector: [load / GRAVITY for load in weights(vector).corner_load],
    "total weight": lambda vector: [weights(vector).mass],
    "front weight": lambda vector: [weights(vector).axle_share.front],
    "cross weight": lambda vector: [weights(vector).cross_weight],
    "wheel rate": lambda vector: axle_means(spring_rates(vector)),
    "ride frequency": lambda vector: ride(vector).ride_frequency,
    "roll per g": lambda vector: [roll(vector).gradient * GRAVITY],
    "understeer per g": lambda vector: [handling(vector).understeer_gradient * GRAVITY],
}
"""Of a packed car, a number for each place."""

_BATCH = 64  # cars run together: one that ends in no number takes no more with it


@dataclass(frozen=True, kw_only=True, eq=False)
class Observed:
    """An item of evidence in numbers."""

    heard: Heard
    unit: str
    """Of the number: SI, or points."""
    meaning: str
    """The number in words."""

    @abstractmethod
    def numbers(self, unknowns: Unknowns, scores: Array, cars: Sequence[Car | None]) -> Array:
        """Return the number that each car, and who drives it, would make, (cars,); not a number where none.

        Parameters
        ----------
        scores : (cars, scores)
        cars : made of these scores, as written; None for one that cannot stand.
        """
        raise NotImplementedError


@dataclass(frozen=True, kw_only=True, eq=False)
class _Read(Observed):
    reading: Reading
    setup: Setup

    def numbers(self, unknowns: Unknowns, scores: Array, cars: Sequence[Car | None]) -> Array:
        places = OBSERVABLES[self.reading.quantity].places or ("",)
        place = places.index(self.reading.place)
        found = np.full(len(cars), np.nan)
        for k, car in enumerate(_with(unknowns, scores, cars, self.setup)):
            if car is not None:
                try:
                    found[k] = self._number(car, place)
                except (CarError, SolveError, EventError):
                    continue
        return found * np.sqrt(unknowns.limit(scores)) if self.reading.radius else found

    def _number(self, car: Car, place: int) -> float:
        if self.reading.quantity == "top speed":
            return top_speed(car)
        if self.reading.radius:
            return corner_speed(car, radius=self.reading.radius)
        return float(_STATIC[self.reading.quantity](pack(car))[place])


@dataclass(frozen=True, kw_only=True, eq=False)
class _Balance(Observed):
    """A balance in points toward what the words name, from the driver's neutral."""

    target: Target
    course: Course
    like: Car
    """Whose motion all cars meet."""
    setup: Setup

    def numbers(self, unknowns: Unknowns, scores: Array, cars: Sequence[Car | None]) -> Array:
        made = _with(unknowns, scores, cars, self.setup)
        found = _rig_numbers(self.like, made, self.target, self.course)
        return np.asarray(self.target.sign * (found - unknowns.neutral(scores)))


@dataclass(frozen=True, kw_only=True, eq=False)
class _Moved(Observed):
    """By how many points a change moved a balance the right way."""

    target: Target
    course: Course
    like: Car
    before: Setup
    after: Setup

    def numbers(self, unknowns: Unknowns, scores: Array, cars: Sequence[Car | None]) -> Array:
        first, second = (
            _rig_numbers(self.like, _with(unknowns, scores, cars, one), self.target, self.course)
            for one in (self.before, self.after)
        )
        return self.target.moved(first, second)


def observed(car: Car, item: Item, tracks: Tracks) -> Observed:
    """Return what an item of evidence says in numbers.

    Parameters
    ----------
    car : as written.
    tracks : by the names that items give.

    Raises
    ------
    AdviceError
        If its words cannot be read, or are of something that has no number of its own.
    CarError
        If its set-up cannot be made.
    """
    setup = standing_setup(car, item.setup)
    match item:
        case Reading():
            value, spread = read_value(item)
            kind = OBSERVABLES[item.quantity]
            place = f"{item.place} " if item.place else ""
            return _Read(
                heard=Heard(low=value, high=value, spread=spread),
                unit=kind.unit.si,
                meaning=f"{place}{item.quantity}" + (f", {item.radius:g} m" if item.radius else ""),
                reading=item,
                setup=setup,
            )
        case Words():
            like = apply_setup(car, setup)
            target, course = _target(like, item.text, item.track, tracks)
            return _Balance(
                heard=words_heard(target.complaint.size, nothing=item.nothing),
                unit="points",
                meaning=target.meaning,
                target=target,
                course=course,
                like=like,
                setup=setup,
            )
        case Comparison():
            like = apply_setup(car, setup)
            target, course = _target(like, item.text, item.track, tracks)
            after = read_changes(car, setup, item.changes)
            apply_setup(car, after)
            return _Moved(
                heard=outcome_heard(item.outcome),
                unit="points",
                meaning=f"what {' and '.join(item.changes)} does for {target.meaning}",
                target=target,
                course=course,
                like=like,
                before=setup,
                after=after,
            )


def complained_of(target: Target, course: Course, like: Car, setup: Setup) -> Observed | None:
    """Return what a complaint says in numbers; None where it is of no balance in a corner.

    Parameters
    ----------
    like : the car as written with the set-up, whose motion all cars meet.
    """
    if target.unit != "points" or target.neutral is None or target.shown_by or target.events:
        return None
    heard = words_heard(target.complaint.size, nothing=False)
    return _Balance(
        heard=heard,
        unit="points",
        meaning=target.meaning,
        target=target,
        course=course,
        like=like,
        setup=setup,
    )


def _target(like: Car, text: str, track: str, tracks: Tracks) -> tuple[Target, Course]:
    """Return the balance that words are about, and the corners it is taken in."""
    complaint = _one_complaint(text)
    if complaint.behaviour not in ("understeer", "oversteer", "locks fronts", "locks rears"):
        raise AdviceError(
            f'"{text}" is read as "{complaint.text()}", of which the model has a number but no line from '
            "which on a driver feels it. As evidence say what runs out first, and where: loose or pushes on "
            "entry, mid or exit, locks fronts or rears."
        )
    if complaint.place in ("kerb", "bumpy"):
        raise AdviceError(f'"{text}": as evidence say it of corners, not of kerbs and bumps.')
    if track and track not in tracks:
        raise AdviceError(
            f'"{text}": the track {track} is not at hand. Give it, or say slow, medium or fast.'
        )
    course = track_course(like, tracks[track]) if track else standard_course(like)
    return target_of(complaint, like, course), course


def _one_complaint(text: str) -> Complaint:
    found = read_complaint(text).complaints
    if len(found) > 1:
        said = " and ".join(f'"{one.text()}"' for one in found)
        raise AdviceError(f'"{text}" says several things: {said}. Write each as evidence of its own.')
    return found[0]


def _with(unknowns: Unknowns, scores: Array, cars: Sequence[Car | None], setup: Setup) -> list[Car | None]:
    return [
        None if car is None else unknowns.with_setup(car, setup, own)
        for car, own in zip(cars, scores, strict=True)
    ]


def _rig_numbers(like: Car, cars: Sequence[Car | None], target: Target, course: Course) -> Array:
    """Return a target's number for each car; not a number for one that cannot be run."""
    found = np.full(len(cars), np.nan)
    there = [k for k, car in enumerate(cars) if car is not None]
    for start in range(0, len(there), _BATCH):
        some = there[start : start + _BATCH]
        _fill(found, like, cars, some, target, course)
    return found


def _fill(
    found: Array, like: Car, cars: Sequence[Car | None], some: list[int], target: Target, course: Course
) -> None:
    """Fill the numbers of some cars; where one ends in none, by halves until it stands alone."""
    made = [car for k in some if (car := cars[k]) is not None]
    try:
        found[some] = complaint_numbers(like, made, [target], course.events)[:, 0]
    except (CarError, SolveError):
        if len(some) > 1:
            middle = len(some) // 2
            for half in (some[:middle], some[middle:]):
                _fill(found, like, cars, half, target, course)
