"""A lesson computed on a car: what a step of its adjuster changes, and what is right of what it asks."""

from collections.abc import Sequence
from dataclasses import dataclass
from typing import Literal

import numpy as np
from numpy.typing import NDArray

from fourpatch.advice.lessons.hands import HABITS, drive_hands, driven_measures, measured_hands
from fourpatch.advice.lessons.lesson import Check, Lesson, Saying
from fourpatch.advice.lessons.vocabulary import BUMPS, at_end, event_measures, hardly_measurable
from fourpatch.advice.rules.catalogue import rule_named
from fourpatch.advice.rules.check import check_rules
from fourpatch.advice.rules.verdict import CheckedRule, Verdict
from fourpatch.advice.sensitivity import measured
from fourpatch.analysis.event_measures import Measure
from fourpatch.analysis.quantity import Quantity, quantities
from fourpatch.analysis.standard_events import CORNER_RADII, standard_bumps, standard_corners
from fourpatch.analysis.statics import statics
from fourpatch.car.adjusters import Adjuster
from fourpatch.car.car import Car
from fourpatch.car.pack import pack
from fourpatch.car.paths import parameter
from fourpatch.car.setup import Setup, apply_setup, step
from fourpatch.errors import AdviceError
from fourpatch.events.trial import Trial
from fourpatch.long_work import Cancelled, Progress, never, stretch, unwatched

Array = NDArray[np.float64]

MOST_POSITIONS = 9
"""Of a scale that are computed for a curve over it."""

Way = Literal["rises", "falls", "stays"]


@dataclass(frozen=True, slots=True, kw_only=True)
class Turned:
    """What is turned, and from where."""

    adjuster: Adjuster
    others: tuple[str, ...]
    """Adjusters of the car of which the lesson could speak as well."""
    end: str
    """front, rear, or empty for the whole car."""
    position: float
    """From which the steps are counted."""
    moved: bool
    """Whether that is not where the adjuster stands: it is too near the stop that the step goes to."""
    said: float
    """Where one step as the lesson speaks of it leads."""
    back: float | None
    """Where one the other way leads; None beyond its stop."""


@dataclass(frozen=True, slots=True, kw_only=True)
class Effect:
    """A measure as the car stands, and what a step either way changes."""

    measure: Measure
    now: float
    said: float
    """Not a number where nothing can be turned."""
    back: float
    limit: float
    """A change below which is hardly measurable."""

    def way(self, change: float) -> Way:
        """Return whether a change rises, falls, or is hardly measurable."""
        return "stays" if not abs(change) > self.limit else "rises" if change > 0.0 else "falls"


@dataclass(frozen=True, slots=True, kw_only=True)
class Said:
    """A rule of thumb of driving, and what became of it."""

    saying: Saying
    effect: Effect

    @property
    def verdict(self) -> Verdict:
        """Agrees if the step does as said and one the other way the opposite; as the rules of set-up."""
        opposite: Way = "falls" if self.saying.way == "rises" else "rises"
        told = [(self.effect.said, self.saying.way), (self.effect.back, opposite)]
        found = [(self.effect.way(change), due) for change, due in told if change == change]
        if all(way == "stays" for way, _ in found):
            return "hardly matters"
        if all(way == due for way, due in found):
            return "agrees"
        return "depends" if any(way == due for way, due in found) else "disagrees"


@dataclass(frozen=True, slots=True, kw_only=True)
class Answered:
    """A question to check what was understood, and what is right."""

    check: Check
    effect: Effect
    difference: float
    """What decides: a change, or the first number less the second."""
    right: Way


@dataclass(frozen=True, slots=True, kw_only=True)
class Study:
    """A lesson and everything it says of a car."""

    lesson: Lesson
    car: Car
    setup: Setup
    """From which steps are counted."""
    turned: Turned | None
    """None where the car has nothing to turn for this lesson."""
    at_rest: dict[str, Quantity]
    """By dotted name, without the axle."""
    effects: dict[str, Effect]
    """By the measure's dotted name."""
    positions: Array
    """(positions,) of the scale that were computed."""
    over: dict[str, Array]
    """Values there, by the measure's dotted name, (positions,)."""
    rules: tuple[CheckedRule, ...]
    sayings: tuple[Said, ...]
    questions: tuple[Answered, ...]

    @property
    def computed_by(self) -> str:
        """What computed the numbers of events."""
        return "drive" if self.lesson.slider.habits else "rig"

    @property
    def end(self) -> str:
        """The adjuster's own end of the car; front where there is none."""
        return self.turned.end or "front" if self.turned else "front"

    def effect(self, name: str) -> Effect:
        """Return a measure by the name that the lesson gives it."""
        return self.effects[at_end(name, self.end)]


def study(
    lesson: Lesson,
    car: Car,
    setup: Setup,
    *,
    adjuster: str = "",
    progress: Progress = unwatched,
    cancelled: Cancelled = never,
) -> Study:
    """Compute a lesson on a car.

    Parameters
    ----------
    adjuster : which one is turned, of those that the lesson may speak of; the first if empty.
    progress, cancelled : as `long_work`.

    Raises
    ------
    AdviceError
        If the lesson is not about that adjuster, or needs an end of the car and it acts on the whole.
    Stopped
        If it is cancelled.

    Notes
    -----
    All positions meet the motion of the car from where steps are counted. An adjuster too near the stop that
    the lesson's step goes to is taken off it, and the lesson says so.
    """
    turned = turned_by(lesson, car, setup, adjuster)
    begin = setup if turned is None else put_at(setup, turned.adjuster, turned.position)
    standing = apply_setup(car, begin)
    names = list(dict.fromkeys(_named(name, turned) for name in lesson.measures() if _has(name, turned)))
    places = [] if turned is None else list(_computed_positions(turned))
    if turned is not None and turned.adjuster in HABITS:
        measures: Sequence[Measure] = driven_measures()
        ways = [{turned.adjuster.name: one} for one in (turned.position, *places)]
        table = measured_hands(drive_hands(standing, ways))
    else:
        cars = [
            standing,
            *(apply_setup(car, put_at(setup, turned.adjuster, one)) for one in places if turned),
        ]
        told = stretch(progress, 0.0, 0.4)
        measures, table = measured(cars, events_of(standing, names), progress=told, cancelled=cancelled)
    at = {one.name: k for k, one in enumerate(measures)}
    effects = {name: _effect(standing, table[:, at[name]], places, turned, name) for name in names}
    checked = check_rules(
        car,
        begin,
        rules=[rule_named(name) for name in lesson.rules],
        progress=stretch(progress, 0.4, 1.0),
        cancelled=cancelled,
    )
    return Study(
        lesson=lesson,
        car=car,
        setup=begin,
        turned=turned,
        at_rest={one.name: one for one in quantities(statics(standing))},
        effects=effects,
        positions=np.array(places),
        over={name: table[1:, at[name]] for name in names},
        rules=tuple(checked),
        sayings=tuple(Said(saying=one, effect=effects[one.number]) for one in lesson.sayings),
        questions=tuple(_answered(lesson.questions, effects, turned)) if turned else (),
    )


def adjusters_of(lesson: Lesson, car: Car) -> list[Adjuster]:
    """Return the adjusters of a car, or the habits of its driver, that a lesson may speak of."""
    return lesson.slider.habits or [one for one in car.adjusters if lesson.slider.takes(one)]


def turned_by(lesson: Lesson, car: Car, setup: Setup, name: str = "") -> Turned | None:
    """Return what a lesson turns on a car; None if that has nothing to turn for it.

    Raises
    ------
    AdviceError
        If the lesson is not about the adjuster of that name.
    """
    found = adjusters_of(lesson, car)
    names = [one.name for one in found]
    if name and name not in names:
        has = f"Name one of: {', '.join(names)}." if names else f"{car.name} has no adjuster for it."
        raise AdviceError(f'adjuster is "{name}", and "{lesson.title}" is not about that. {has}')
    if not found:
        return None
    one = found[names.index(name) if name else 0]
    up = _upward(one, car, setup) == (lesson.slider.way == "rises")
    direction = 1 if up else -1
    begin, moved = setup, False
    steps = direction * lesson.slider.steps(one)
    if step(setup, one, steps) is None:
        begin, moved = _off_the_stop(setup, one, steps), True
    ahead, behind = step(begin, one, steps), step(begin, one, -steps)
    position = begin.position(one)
    return Turned(
        adjuster=one,
        others=tuple(other for other in names if other != one.name),
        end=_end(one),
        position=position,
        moved=moved,
        said=position if ahead is None else ahead.position(one),
        back=None if behind is None else behind.position(one),
    )


def _off_the_stop(setup: Setup, adjuster: Adjuster, steps: int) -> Setup:
    """Return the set-up with an adjuster so far from the stop that some steps towards it are left."""
    stop = adjuster.highest if steps > 0 else adjuster.lowest
    return put_at(setup, adjuster, adjuster.nearest(stop - steps * adjuster.step))


def _upward(adjuster: Adjuster, car: Car, setup: Setup) -> bool:
    """Say whether a higher number on the scale means a higher value of what it acts on."""
    if adjuster in HABITS:
        return True  # their scale is the value itself
    ends = (put_at(setup, adjuster, one) for one in (adjuster.lowest, adjuster.highest))
    low, high = (parameter(apply_setup(car, one), adjuster.targets[0]).value for one in ends)
    return high >= low


def _end(adjuster: Adjuster) -> str:
    if adjuster.axle != "car":
        return adjuster.axle
    return next((end for end in ("front", "rear") if any(end in path for path in adjuster.targets)), "")


def put_at(setup: Setup, adjuster: Adjuster, position: float) -> Setup:
    """Return a set-up with an adjuster of the car put elsewhere; a driver's habit is no part of it."""
    if adjuster in HABITS:
        return setup
    return setup.model_copy(update={"values": {**setup.values, adjuster.name: position}})


def _computed_positions(turned: Turned) -> Sequence[float]:
    """Return the positions that are computed, rising: both steps, from where, others over the scale."""
    every = turned.adjuster.positions()
    spread = [every[round(k)] for k in np.linspace(0, len(every) - 1, min(len(every), MOST_POSITIONS))]
    steps = [turned.position, turned.said, *([] if turned.back is None else [turned.back])]
    return sorted({*spread, *steps})


def _has(name: str, turned: Turned | None) -> bool:
    """Say whether a measure can be named on this car: it is of no end, or something is turned."""
    return turned is not None or at_end(name, "front") == name


def _named(name: str, turned: Turned | None) -> str:
    if turned is not None and not turned.end and at_end(name, "front") != name:
        raise AdviceError(
            f"{name} speaks of the adjuster's own end of the car, and {turned.adjuster.name} acts on the "
            "whole. Write front or rear."
        )
    return at_end(name, turned.end if turned else "front")


def events_of(car: Car, names: Sequence[str]) -> dict[str, Trial]:
    """Return the standard events that measures speak of."""
    wanted = {event_measures()[name].event for name in names}
    found: dict[str, Trial] = dict(standard_corners(car, [one for one in CORNER_RADII if one in wanted]))
    if wanted & set(BUMPS):
        found |= {name: one for name, one in standard_bumps(car).items() if name in wanted}
    return found


def _effect(car: Car, values: Array, places: Sequence[float], turned: Turned | None, name: str) -> Effect:
    """Return one measure.

    Parameters
    ----------
    values : (1 + positions,), from where steps are counted first.
    """
    measure = event_measures()[name]

    def change(place: float | None) -> float:
        return float("nan") if place is None else float(values[1 + places.index(place)] - values[0])

    return Effect(
        measure=measure,
        now=float(values[0]),
        said=change(turned.said if turned else None),
        back=change(turned.back if turned else None),
        limit=hardly_measurable(measure, pack(car)),
    )


def _answered(checks: Sequence[Check], effects: dict[str, Effect], turned: Turned) -> list[Answered]:
    found = []
    for check in checks:
        effect = effects[at_end(check.number, turned.end)]
        difference = effect.said
        if check.than:
            difference = effect.now - effects[at_end(check.than, turned.end)].now
        found.append(
            Answered(check=check, effect=effect, difference=difference, right=effect.way(difference))
        )
    return found
