"""A set of changes: run as changed, judged, and put in order."""

from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from fourpatch.advice.guard import Guard
from fourpatch.advice.sensitivity import measured
from fourpatch.advice.sets import CURED, Changes, Question
from fourpatch.car.adjusters import Adjuster
from fourpatch.car.car import Car
from fourpatch.car.pack import pack
from fourpatch.car.setup import Setup, apply_setup
from fourpatch.errors import CarError

Array = NDArray[np.float64]

ONE_HANDED = ("chassis.cross_weight_share", "chassis.cg_lateral_offset")
"""Parameters that help one hand of corner and hurt the other; the standard corners are left-handed."""

WORTH = 0.02
"""Share of the wanted change below which something does nothing for the complaint."""

_NO_WORSE = 0.05  # share of a wanted change by which a complaint may be worse and count as left alone
_GROSS = 3.0  # times its tolerance by which something may become worse before a set counts as of no use
_AMPLE = 1.15  # share of the wanted change beyond which fewer steps are tried


@dataclass(frozen=True, slots=True, kw_only=True)
class ChangeSet:
    """Changes made together, what they were predicted to do and what the runs confirmed."""

    changes: Changes
    setup: Setup
    predicted: tuple[float, ...]
    """Each complaint's number, one-step effects added up."""
    confirmed: tuple[float, ...]
    """The same, by running the changed car."""
    progress: tuple[float, ...]
    """Confirmed share of each wanted change."""
    worse: tuple[tuple[Guard, float], ...]
    """Guarded numbers that became worse, and by how much, in their unit; worst against tolerance first."""
    values: Array
    """(measures,) of the changed car."""
    cost: float
    enough: float = CURED
    """Share of each wanted change from which on it counts as had."""
    lap: float | None = None
    """Change of the lap time on the track, quasi-steady with `course.MARGINS`; None without a track, or if
    there is no such lap. [s]"""

    @property
    def cured(self) -> bool:
        """Whether every complaint moved as far as wanted, to a tenth; of a first change, enough to feel."""
        return min(self.progress) >= self.enough

    @property
    def answers(self) -> bool:
        """Whether it helps a complaint and makes none worse."""
        return max(self.progress) >= WORTH and min(self.progress) >= -_NO_WORSE

    @property
    def broken(self) -> tuple[tuple[Guard, float], ...]:
        """What became worse by more than its tolerance."""
        return tuple((guard, worse) for guard, worse in self.worse if worse > guard.tolerance)


def changed_setup(setup: Setup, adjusters: Sequence[Adjuster], changes: Changes, name: str) -> Setup:
    """Return a set-up with some adjusters moved by whole steps."""
    values = dict(setup.values)
    for place, steps in changes:
        one = adjusters[place]
        values[one.name] = one.nearest(setup.position(one) + steps * one.step)
    return setup.model_copy(update={"name": name, "values": values})


def left_alone(one: Adjuster) -> str:
    """Return why an adjuster is ranked but never part of a set; empty if it may be."""
    if one.system == "fuel":
        return "the race decides it"
    if any(path in ONE_HANDED for path in one.targets):
        return "it helps corners of one hand and hurts those of the other"
    return ""


def steps_left(adjusters: Sequence[Adjuster], setup: Setup) -> NDArray[np.int64]:
    """Return the steps to the stops, (adjusters, 2), down and up; 0 for adjusters that are left alone."""
    left = np.zeros((len(adjusters), 2), dtype=np.int64)
    for place, one in enumerate(adjusters):
        if not left_alone(one):
            at = setup.position(one)
            left[place] = (
                int((at - one.lowest) / one.step + 1e-6),
                int((one.highest - at) / one.step + 1e-6),
            )
    return left


def order(one: ChangeSet) -> tuple[bool, float]:
    """Last what makes a complaint worse, does nothing or costs grossly; the rest by what is wrong."""
    gross = any(worse > _GROSS * guard.tolerance for guard, worse in one.worse)
    return (gross or not one.answers, one.cost)


def different(ordered: Sequence[ChangeSet]) -> list[ChangeSet]:
    """Return those that are not the same adjusters again, nor a better set with something added."""
    shown: list[ChangeSet] = []
    for one in ordered:
        turned = {(place, steps > 0) for place, steps in one.changes}
        if not any(turned >= {(place, steps > 0) for place, steps in other.changes} for other in shown):
            shown.append(one)
    return shown


def run_sets(car: Car, setup: Setup, question: Question, sets: Sequence[Changes]) -> dict[Changes, ChangeSet]:
    """Run the car as it stands and with each set; a set with which it cannot stand is left out."""
    table = question.table
    cars, kept = [apply_setup(car, setup)], []
    for changes in sets:
        named = changed_setup(setup, table.adjusters, changes, f"{setup.name}, changed")
        try:
            changed = apply_setup(car, named)
            pack(changed)
        except CarError:
            continue
        cars.append(changed)
        kept.append((changes, named))
    if not kept:
        return {}
    _, values = measured(cars, table.events)
    return {
        changes: _judged(question, changes, named, row)
        for (changes, named), row in zip(kept, values[1:], strict=True)
    }


def _judged(question: Question, changes: Changes, setup: Setup, values: Array) -> ChangeSet:
    names = question.names
    over = question.worsening(values)
    worse = [
        (guard, float(over[k] * guard.tolerance))
        for k, guard in enumerate(question.guards)
        if over[k] > WORTH
    ]
    worse.sort(key=lambda pair: -pair[1] / pair[0].tolerance)
    steps = float(sum(abs(n) for _, n in changes))
    sum_of_steps = question.predicted(changes)
    return ChangeSet(
        changes=changes,
        setup=setup,
        predicted=tuple(float(target.value(names, sum_of_steps)) for target in question.targets),
        confirmed=tuple(float(target.value(names, values)) for target in question.targets),
        progress=tuple(float(share) for share in question.progress(values)),
        worse=tuple(worse),
        values=values,
        cost=float(question.cost(values, len(changes), np.array(steps))),
        enough=question.enough,
    )


def corrected_steps(question: Question, one: ChangeSet) -> list[Changes]:
    """Return a set with steps added or taken, where its run fell short of what is wanted or went beyond."""
    least = min(one.progress)
    if question.enough <= least <= _AMPLE or least <= 0.0:
        return []
    found = []
    for place, steps in one.changes:
        direction = int(steps > 0)
        after = question.table.present + question.table.effects[place, direction]
        per_step = float(question.progress(after).mean())
        if per_step <= WORTH:
            continue
        lacking = (1.0 - least) / per_step
        more = max(1, round(lacking)) if lacking > 0.0 else min(-1, round(lacking))
        size = min(max(abs(steps) + more, 0), int(question.left[place, direction]))
        if size:
            rest = [change for change in one.changes if change[0] != place]
            found.append(tuple(sorted((*rest, (place, size if direction else -size)))))
    return found
