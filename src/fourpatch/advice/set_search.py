"""Sets of changes looked for, run, put to the drive, and what follows the first of them."""

from collections.abc import Sequence
from dataclasses import dataclass, replace

import numpy as np
from numpy.typing import NDArray

from fourpatch.advice.change_set import WORTH, ChangeSet, corrected_steps, different, order, run_sets
from fourpatch.advice.course import MARGINS, Course
from fourpatch.advice.drive_check import DriveAsked, contradicted
from fourpatch.advice.good_before import GoodBefore
from fourpatch.advice.next_changes import NextChanges, next_changes
from fourpatch.advice.plain_lever import PassedOver, plain_first, plain_sets
from fourpatch.advice.sets import Changes, Question, likely_sets
from fourpatch.analysis.lap_profile import lap_profile
from fourpatch.analysis.lap_summary import LapStudy
from fourpatch.analysis.limits_map import limits_map
from fourpatch.car.car import Car
from fourpatch.car.setup import Setup, apply_setup
from fourpatch.errors import EventError, SolveError
from fourpatch.long_work import Cancelled, Progress, go_on

_TRIED = 5  # sets of each size that are run
_ASKED = 25  # of the sets that were run, the best that the drive may be asked about
_TOGETHER = 7  # of them at a time: eight cars with the one as it stands fill the lanes
_SHOWN = 3  # sets in the answer
_BOTH = 0.5  # share of each wanted change from which on a set answers several complaints
_SPARED = 4  # of the sets that were run, the best of which it is tried whether they need every change
_ROUNDS = 2  # times that steps are corrected by what the runs gave


@dataclass(frozen=True, slots=True, kw_only=True)
class Asked:
    """What is asked about, by the rig and by the drive."""

    car: Car
    """As written."""
    setup: Setup
    standing: Car
    course: Course
    driven: tuple[DriveAsked, ...]

    def against(
        self,
        question: Question,
        setups: Sequence[Setup],
        helps: NDArray[np.bool_],
        *,
        alone: bool = False,
    ) -> list[bool]:
        """Say of each set-up whether the drive contradicts it; ``helps`` is (setups, targets)."""
        cars = [apply_setup(self.car, setup) for setup in setups]
        return contradicted(
            self.standing,
            cars,
            question.targets,
            self.course,
            self.driven,
            credited=helps,
            alone=alone,
            must_show=np.array([self._only_differential(setup) for setup in setups]),
        )

    def _only_differential(self, setup: Setup) -> bool:
        """Say whether a set-up differs by the differential alone."""
        moved = [one.system for one in self.car.adjusters if setup.position(one) != self.setup.position(one)]
        return set(moved) == {"differential"}

    def contradicts(self, question: Question, one: ChangeSet) -> bool:
        """Say whether the drive contradicts a set."""
        helps = np.array([one.progress]) >= WORTH
        return self.against(question, [one.setup], helps)[0]

    def with_laps(self, sets: Sequence[ChangeSet]) -> list[ChangeSet]:
        """Return sets with what each does to the lap, where there is one.

        Notes
        -----
        Limits of the changed cars are searched from those of the car as it stands, six times closer and in
        half of the time; so those of the car as it stands are searched again, or 2 ms would be of the search.
        """
        if self.course.lap is None or not sets:
            return list(sets)
        study = self.course.lap.study
        before = self._lap(self.standing, study)
        after = [self._lap(apply_setup(self.car, one.setup), study) for one in sets]
        return [
            one if before is None or lap is None else replace(one, lap=lap - before)
            for one, lap in zip(sets, after, strict=True)
        ]

    @staticmethod
    def _lap(car: Car, study: LapStudy) -> float | None:
        """Return the lap time of a car along the line; None if there is no such lap. [s]"""
        try:
            return lap_profile(limits_map(car, use=MARGINS, near=study.limits), study.line).lap_time
        except (EventError, SolveError):
            return None


@dataclass(frozen=True, slots=True, kw_only=True)
class AdvisedSets:
    """What is advised."""

    sets: Sequence[ChangeSet] = ()
    next: NextChanges | None = None
    trade_offs: Sequence[tuple[int, ChangeSet]] = ()
    passed_over: Sequence[PassedOver] = ()


def advised_sets(
    asked: Asked,
    question: Question,
    back: GoodBefore | None,
    progress: Progress,
    cancelled: Cancelled,
) -> AdvisedSets:
    """Return the best sets of changes, each run in every event, and what follows the first."""
    tried: dict[Changes, ChangeSet] = {}
    candidates = [*likely_sets(question, keep=_TRIED), *plain_sets(question)]
    if back is not None:
        candidates.append(back.changes)
    for number in range(_ROUNDS + 1):
        new = [changes for changes in dict.fromkeys(candidates) if changes not in tried]
        if not new:
            break
        go_on(cancelled, "sets of changes were not all run yet")
        progress(number / (_ROUNDS + 2), f"round {number + 1}")
        tried |= run_sets(asked.car, asked.setup, question, new)
        candidates = [
            better
            for one in sorted(tried.values(), key=order)[: 2 * _TRIED]
            for better in corrected_steps(question, one)
        ]
        best = sorted(filter(_answers, tried.values()), key=order)[:_SPARED]
        candidates += [fewer for one in best for fewer in _fewer(one.changes)]
    progress((_ROUNDS + 1) / (_ROUNDS + 2), "driven")
    shown = _borne_out(asked, question, sorted(filter(_answers, tried.values()), key=order)[:_ASKED], back)
    shown, passed_over = plain_first(question, shown, tried, lambda one: asked.contradicts(question, one))
    following = None
    if shown:
        go_on(cancelled, "what follows the first change was not run yet")
        following = next_changes(asked.car, asked.setup, question, shown[0], shown[1:], back)
    return AdvisedSets(
        sets=asked.with_laps(shown),
        next=following,
        trade_offs=_trade_offs(asked, question, shown),
        passed_over=passed_over,
    )


def _trade_offs(asked: Asked, question: Question, shown: Sequence[ChangeSet]) -> list[tuple[int, ChangeSet]]:
    """Return what helps each of several complaints alone, where no set answers all of them."""
    if len(question.targets) < 2 or any(min(one.progress) >= _BOTH for one in shown):
        return []
    found = []
    for place, target in enumerate(question.targets):
        alone = replace(question, targets=[target], wanted=[question.wanted[place]])
        run = run_sets(asked.car, asked.setup, alone, likely_sets(alone, keep=2))
        best = min(filter(_answers, run.values()), key=order, default=None)
        if best is not None:
            both = run_sets(asked.car, asked.setup, question, [best.changes])[best.changes]
            found.append((place, both))
    return found


def _fewer(changes: Changes) -> list[Changes]:
    """Return a set with each of its changes left out."""
    if len(changes) < 2:
        return []
    return [tuple(other for other in changes if other != one) for one in changes]


def _answers(one: ChangeSet) -> bool:
    return one.answers


def _borne_out(
    asked: Asked, question: Question, likely: Sequence[ChangeSet], back: GoodBefore | None
) -> list[ChangeSet]:
    """Return the best sets that differ and that the drive does not contradict.

    Notes
    -----
    A few at a time, best first: mostly the first few are enough, and each takes four corners. All the way
    back to a good set-up is not put to it: that it was good is the driver's word, whatever the drive says.
    """
    shown: list[ChangeSet] = []
    left = list(likely)
    while left and len(shown) < _SHOWN:
        some, left = left[:_TOGETHER], left[_TOGETHER:]
        helps = np.array([one.progress for one in some]) >= WORTH
        wrong = asked.against(question, [one.setup for one in some], helps)
        kept = (
            one
            for one, against in zip(some, wrong, strict=True)
            if not against or (back is not None and one.changes == back.changes)
        )
        shown = different([*shown, *kept])
        left = different([*shown, *left])[len(shown) :]
    return shown[:_SHOWN]
