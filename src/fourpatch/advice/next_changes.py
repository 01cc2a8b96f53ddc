"""What to turn after the first change was tried: as much again, or half of it back."""

from collections.abc import Sequence
from dataclasses import dataclass, replace

import numpy as np

from fourpatch.advice.change_set import ChangeSet, run_sets
from fourpatch.advice.good_before import GoodBefore
from fourpatch.advice.sets import Changes, Question, likely_sets
from fourpatch.car.car import Car
from fourpatch.car.setup import Setup

_AGAIN = 2.0  # times what is wanted that the first change and the next come to
_MORE = 1.3  # times the first change's effect that both must come to
_MOST = 4  # adjusters in both together
_LIKELY = 12  # sets of each size that are looked at


@dataclass(frozen=True, slots=True, kw_only=True)
class NextChanges:
    """What follows a first change; both from the set-up as it stands, so that each is a whole set-up."""

    more: ChangeSet | None
    """If the car still does it: the first change and about as much again. None if nothing is left."""
    less: ChangeSet | None
    """If it was too much: about half. None if the first change is a single step."""


def next_changes(
    car: Car,
    setup: Setup,
    question: Question,
    first: ChangeSet,
    others: Sequence[ChangeSet],
    good: GoodBefore | None,
) -> NextChanges:
    """Return what to turn after the first change, each run as changed.

    Parameters
    ----------
    question : that the first change answers.
    others : sets that answer it otherwise; the drive contradicts none of them.
    good : the set-up to go back to, where that is the answer.

    Notes
    -----
    More begins with the first change: who has tried it need not turn it back. Where the way leads back to a
    good set-up, more is all of that way.
    """
    farther = replace(question, wanted=[_AGAIN * one for one in question.wanted])
    onward = [good.changes] if good is not None else _onward(farther, first, others)
    back = halved(first.changes)
    run = run_sets(car, setup, question, [*onward, *back])
    enough = _MORE * sum(first.progress)
    ahead = [run[one] for one in onward if one in run and one != first.changes]
    ahead = [one for one in ahead if good is not None or (one.answers and sum(one.progress) >= enough)]
    ahead.sort(key=lambda one: _cost(farther, one))
    less = [run[one] for one in back if one in run and 0.0 < sum(run[one].progress) < sum(first.progress)]
    half = 0.5 * sum(first.progress)
    return NextChanges(
        more=next(iter(ahead), None),
        less=min(less, key=lambda one: abs(sum(one.progress) - half), default=None),
    )


def _onward(farther: Question, first: ChangeSet, others: Sequence[ChangeSet]) -> list[Changes]:
    """Return sets that begin with the first change and go on."""
    turned = dict(first.changes)
    doubled = []
    for place, steps in first.changes:
        most = int(farther.left[place, int(steps > 0)])
        doubled.append((place, max(min(2 * steps, most), -most)))
    found: list[Changes] = [tuple(doubled)] if tuple(doubled) != first.changes else []
    for other in others:
        both = dict(first.changes)
        for place, steps in other.changes:
            if place not in both:
                both[place] = steps
        found.append(tuple(sorted(both.items())))
    for one in likely_sets(farther, keep=_LIKELY):
        here = dict(one)
        if all(here.get(place, 0) * steps >= steps * steps for place, steps in turned.items()):
            found.append(one)
    unlike = [one for one in dict.fromkeys(found) if one != first.changes and len(one) <= _MOST]
    return unlike[:6]


def halved(changes: Changes) -> list[Changes]:
    """Return sets of about half the steps: all of them halved, or the last of two changes left out."""
    half = tuple((place, int(steps / 2)) for place, steps in changes if int(steps / 2))
    found: list[Changes] = [half] if half else []
    if len(changes) > 1:
        found += [tuple(other for other in changes if other != one) for one in changes]
    return list(dict.fromkeys(found))


def _cost(question: Question, one: ChangeSet) -> float:
    steps = float(sum(abs(n) for _, n in one.changes))
    return float(question.cost(one.values, len(one.changes), np.array(steps)))
