"""What to turn after the first change was tried: as much again, or half of it back."""

from collections.abc import Sequence
from dataclasses import dataclass, replace

import numpy as np

from fourpatch.advice.change_set import ChangeSet, run_sets
from fourpatch.advice.good_before import GoodBefore
from fourpatch.advice.sets import Changes, Question, likely_sets
from fourpatch.car.car import Car
from fourpatch.car.setup import Setup

_AGAIN, _FAR = 2.0, 4.0
"""Times the first change that it and the next come to, if the car does it less, and if hardly less.

Who feels what is left as more than a fifth and less than two thirds lacks 1.25 to 3 times the first change,
who feels it as more lacks 3 times or more: these are near the middle of both, so that what is then missing
or too much is least."""

_MORE = 1.3  # times the first change's effect that both must come to
_MOST = 4  # adjusters in both together
_LIKELY = 12  # sets of each size that are looked at
_RUN = 6  # sets that are run for each
_LITTLE_LESS = 0.75  # of the steps, where effects bend upwards
_OTHERS = 0.15  # share of the first change by which a set of other adjusters must come nearer to half of it
_LESS = 0.8  # share of it above which it is not less


@dataclass(frozen=True, slots=True, kw_only=True)
class NextChanges:
    """What follows a first change; all from the set-up as it stands, so that each is a whole set-up."""

    more: ChangeSet | None
    """If the car still does it, but less: the first change and about as much again. None if none."""
    far: ChangeSet | None
    """If it is hardly better: about four times the first change. None if nothing goes farther than `more`."""
    less: ChangeSet | None
    """If it was too much: about half, with other adjusters if the first change is coarse. None if none."""


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
    What goes on begins with the first change: who has tried it need not turn it back. Where the way leads
    back to a good set-up, more is all of that way.
    """
    share = max(sum(first.progress) / len(first.progress), 1.0)  # a coarse step brings more than was wanted
    again, four = _times(question, _AGAIN * share), _times(question, _FAR * share)
    onward = [good.changes] if good is not None else _onward(again, first, others, _AGAIN)
    farther = [] if good is not None else _onward(four, first, others, _FAR)
    back = [*halved(first.changes), *_finer(question, first)]
    run = run_sets(car, setup, question, list(dict.fromkeys([*onward, *farther, *back])))
    reached = sum(first.progress)
    ahead = [run[one] for one in onward if one in run and one != first.changes]
    if good is None:
        ahead = [one for one in ahead if one.answers and sum(one.progress) >= _MORE * reached]
    more = min(ahead, key=lambda one: _cost(again, one), default=None)
    beyond = _MORE * (sum(more.progress) if more else reached)
    far = [run[one] for one in farther if one in run]
    far = [one for one in far if one.answers and sum(one.progress) >= beyond]
    return NextChanges(
        more=more,
        far=min(far, key=lambda one: _cost(four, one), default=None),
        less=_half(first, [run[one] for one in back if one in run]),
    )


def _half(first: ChangeSet, tried: Sequence[ChangeSet]) -> ChangeSet | None:
    """Return what comes nearest to half of a first change; its own adjusters, unless others come nearer."""
    reached = sum(first.progress)
    own = {place for place, _ in first.changes}

    def off(one: ChangeSet) -> float:
        other = any(place not in own for place, _ in one.changes)
        return abs(sum(one.progress) / reached - 0.5) + (_OTHERS if other else 0.0)

    less = [one for one in tried if one.answers and not one.broken and 0.0 < sum(one.progress) < reached]
    best = min(less, key=off, default=None)
    return best if best is not None and sum(best.progress) <= _LESS * reached else None


def _finer(question: Question, first: ChangeSet) -> list[Changes]:
    """Return sets that are likely to bring half of a coarse first change."""
    share = sum(first.progress) / len(first.progress)
    return likely_sets(_times(question, 0.5 * share), keep=2)


def _times(question: Question, times: float) -> Question:
    return replace(question, wanted=[times * one for one in question.wanted])


def _onward(farther: Question, first: ChangeSet, others: Sequence[ChangeSet], times: float) -> list[Changes]:
    """Return sets that begin with the first change and go on."""
    turned = dict(first.changes)
    raised = _raised(farther, first, times)
    found = [raised, _raised(farther, first, _LITTLE_LESS * times)]
    for other in others:
        both = dict(raised if times > _AGAIN else first.changes)
        for place, steps in other.changes:
            if place not in both:
                both[place] = steps
        found.append(tuple(sorted(both.items())))
    for one in likely_sets(farther, keep=_LIKELY):
        here = dict(one)
        if all(here.get(place, 0) * steps >= steps * steps for place, steps in turned.items()):
            found.append(one)
    unlike = [one for one in dict.fromkeys(found) if one != first.changes and len(one) <= _MOST]
    return unlike[:_RUN]


def _raised(question: Question, first: ChangeSet, times: float) -> Changes:
    """Return a set with so many times its steps, or as many as there are to the stops."""
    found = []
    for place, steps in first.changes:
        most = int(question.left[place, int(steps > 0)])
        found.append((place, max(min(round(times * steps), most), -most)))
    return tuple(found)


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
