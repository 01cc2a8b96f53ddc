"""What cures a complaint: adjusters ranked by computed effect, and the smallest sets of changes, run."""

from collections.abc import Sequence
from dataclasses import dataclass, replace
from itertools import combinations
from typing import Literal

import numpy as np
from numpy.typing import NDArray

from fourpatch.advice.change_set import (
    WORTH,
    ChangeSet,
    changed_setup,
    steps_left,
)
from fourpatch.advice.complaint import Complaint, refuse_contradictions, refuse_opposed
from fourpatch.advice.course import Course, standard_course, track_course
from fourpatch.advice.drive_check import DriveAsked, drive_asked
from fourpatch.advice.good_before import GoodBefore, good_before
from fourpatch.advice.guard import Guard, guards
from fourpatch.advice.next_changes import NextChanges
from fourpatch.advice.plain_lever import PassedOver, never_against, plain_first
from fourpatch.advice.sensitivity import DIRECTIONS, EffectTable, sensitivity
from fourpatch.advice.set_search import AdvisedSets, Asked, advised_sets
from fourpatch.advice.sets import CURED, FELT_ENOUGH, Question
from fourpatch.advice.target import Target, target_of
from fourpatch.car.car import Car
from fourpatch.car.setup import Setup, apply_setup
from fourpatch.errors import AdviceError, Stopped
from fourpatch.events.trial import Trial
from fourpatch.long_work import Cancelled, Progress, never, stretch, unwatched
from fourpatch.track.track import Track

Array = NDArray[np.float64]

_COURSE, _TABLE, _DRIVEN = 0.15, 0.6, 0.65  # shares of the whole at which its parts end


SizedBy = Literal["asked", "said", "good", "felt"]
"""Where the wanted change is from: a number, a word of degree, the set-up that was good, what is felt."""


@dataclass(frozen=True, slots=True, kw_only=True)
class Lever:
    """One adjuster, turned the way that helps."""

    adjuster: int
    """Its place among the car's adjusters."""
    direction: int
    """1 for steps up, -1 for steps down."""
    per_step: tuple[float, ...]
    """How far one step moves each complaint's number the right way, in its unit."""
    share: float
    """Mean over the complaints of that over the wanted change."""
    left: int
    """Steps to the stop."""
    against: bool
    """Whether it does nothing or the opposite in the drive: then it is not part of a set."""
    side_cost: float
    """Sum of what one step makes worse elsewhere, each over its tolerance, per wanted change had."""


@dataclass(frozen=True, slots=True, kw_only=True)
class AtStop:
    """An adjuster that would help further if it were not at its stop."""

    adjuster: int
    direction: int
    back: float
    """What its last step back would lose, as a share of the wanted change."""


@dataclass(frozen=True, slots=True, kw_only=True)
class Cure:
    """The answer to one or several complaints."""

    course: Course
    """Where the complaints happen."""
    table: EffectTable
    setup: Setup
    targets: tuple[Target, ...]
    wanted: tuple[float, ...]
    """By how much each number is to be moved."""
    guards: tuple[Guard, ...]
    levers: tuple[Lever, ...]
    """Adjusters that help, by effect per step, largest first."""
    at_stop: tuple[AtStop, ...]
    sets: tuple[ChangeSet, ...]
    """Best first; empty if nothing helps."""
    sized_by: tuple[SizedBy, ...]
    """Of each complaint; what is felt makes the answer a first change."""
    next: NextChanges | None = None
    """What to turn after the first set was tried."""
    passed_over: tuple[PassedOver, ...] = ()
    """Plain levers of the complaints that are not the first advice."""
    trade_offs: tuple[tuple[int, ChangeSet], ...] = ()
    """Where no set answers all complaints: for each one that something helps, its place and what helps it
    most alone, with what that does to the others."""
    good: GoodBefore | None = None
    """The set-up that was good, if one was told."""
    driven: tuple[DriveAsked, ...] = ()
    """For each complaint where the drive is asked; empty of a first ranking."""
    first: bool = False
    """Whether it is a first ranking: one corner or stretch for each complaint, nothing watched, no sets."""
    stopped: bool = False
    """Whether it was cancelled: then there is the ranking, and sets are missing."""

    @property
    def names(self) -> list[str]:
        """Dotted names of the measures."""
        return self.table.names

    def present(self, target: Target) -> float:
        """Return a complaint's number as the car stands."""
        return float(target.value(self.names, self.table.present))

    def shows(self, target: Target) -> bool | None:
        """Say whether the model shows a complaint; None where there is no line to tell by."""
        return target.shows(self.names, self.table.present)

    def moved(self, target: Target, adjuster: int) -> Array:
        """Return how far one step down and one step up move a complaint's number the right way, (2,)."""
        after = self.table.present + self.table.effects[adjuster]
        return target.moved(self.present(target), target.value(self.names, after))


def cure(
    car: Car,
    setup: Setup,
    complaints: Sequence[Complaint],
    *,
    track: Track | None = None,
    course: Course | None = None,
    wanted: Sequence[float] | None = None,
    good: Setup | None = None,
    progress: Progress = unwatched,
    cancelled: Cancelled = never,
) -> Cure:
    """Return what to change against complaints, ranked, combined and confirmed.

    Parameters
    ----------
    setup : as the car stands.
    track : on which it is driven; standard corners, a road and a kerb if left out. All its corners are then
        watched.
    course : of the car as it stands, on that track if there is one, if it is known already.
    wanted : by how much each complaint's number is to be moved, in its unit; by default as the complaint
        says, else what a driver feels (`target_of`): then the answer is a first change.
    good : a set-up with which the car did not do it. Where the rig sees the difference, changes lead back
        towards it and no farther, and as much is wanted as was lost.
    progress, cancelled : as `long_work`; stopped once adjusters are ranked, it returns the ranking.

    Raises
    ------
    Stopped
        If it is cancelled before.
    AdviceError
        If complaints contradict each other, the model has no number for one, the track has not the corner
        that one names, the good set-up is the one complained of, or the car has no adjuster.

    Notes
    -----
    The one-step effects of every adjuster come from one batch of runs. Sets are found by adding them up
    (`likely_sets`), then run in the same events; where the run falls short of the sum or goes beyond it,
    steps are corrected and the set is run again. What the drive contradicts is not suggested
    (`contradicted`). `first_ranking` says most of it sooner.
    """
    standing = _asked(car, setup, complaints)
    progress(0.0, "the course")
    course = course or (track_course(standing, track) if track else standard_course(standing))
    targets = _targets(complaints, standing, course)
    events: dict[str, Trial] = course.events
    for target in targets:
        events |= target.events
    told = stretch(progress, _COURSE, _TABLE, of="one step of each adjuster")
    table = sensitivity(car, setup, events=events, progress=told, cancelled=cancelled)
    names = table.names
    before = None if good is None else good_before(car, setup, good, table, targets)
    amounts = _amounts(table, targets, wanted, before)
    guarded = tuple(
        guards(table.events, targets, amounts, dict(zip(names, map(float, table.present), strict=True)))
    )
    back = before if before is not None and before.helps else None
    sized_by = _sized_by(targets, wanted, back)
    question = Question(
        table=table,
        targets=targets,
        wanted=amounts,
        enough=FELT_ENOUGH if set(sized_by) == {"felt"} else CURED,
        guards=guarded,
        left=back.steps_back(len(table.adjusters)) if back else steps_left(table.adjusters, setup),
        good=back.values if back else None,
    )
    levers, at_stop = _ranked(question)
    progress(_TABLE, "the drive")
    driven = drive_asked(standing, targets, course, names=names, present=table.present)
    asked = Asked(car=car, setup=setup, standing=standing, course=course, driven=driven)
    answer = AdvisedSets(passed_over=plain_first(question, [], {}, never_against)[1])
    stopped = cancelled()
    if not stopped and levers:
        levers = _marked(asked, question, levers)
        for lever in levers:
            if lever.against:
                question.left[lever.adjuster, int(lever.direction > 0)] = 0
        try:
            told = stretch(progress, _DRIVEN, 1.0, of="sets of changes")
            answer = advised_sets(asked, question, back, told, cancelled)
        except Stopped:
            stopped = True
    return Cure(
        course=course,
        table=table,
        setup=setup,
        targets=targets,
        wanted=amounts,
        guards=guarded,
        levers=tuple(levers),
        at_stop=tuple(at_stop),
        sets=tuple(answer.sets),
        next=answer.next,
        trade_offs=tuple(answer.trade_offs),
        passed_over=tuple(answer.passed_over),
        good=before,
        sized_by=sized_by,
        driven=driven,
        stopped=stopped,
    )


def first_ranking(
    car: Car,
    setup: Setup,
    complaints: Sequence[Complaint],
    *,
    track: Track | None = None,
    course: Course | None = None,
) -> Cure:
    """Return a first, coarse ranking against complaints, within a second: what to show while `cure` works.

    Parameters
    ----------
    setup, track, course : as `cure`. On a track the course takes as long again: keep it, and give it to both.

    Returns
    -------
    Cure
        With `first` set: adjusters ranked by their effect in one corner or stretch for each complaint, of
        many the middle one; without guards, sets, or the drive.

    Raises
    ------
    AdviceError
        As `cure`.
    """
    standing = _asked(car, setup, complaints)
    if course is None:
        course = track_course(standing, track) if track else standard_course(standing, _needed(complaints))
    targets = tuple(_coarse(one, course) for one in _targets(complaints, standing, course))
    known = course.events
    for target in targets:
        known |= target.events
    behind = {name.split(".")[0] for target in targets for name, _ in (*target.terms, *target.shown_by)}
    table = sensitivity(car, setup, events={name: known[name] for name in known if name in behind})
    question = Question(
        table=table,
        targets=targets,
        wanted=_amounts(table, targets, None, None),
        guards=(),
        left=steps_left(table.adjusters, setup),
    )
    levers, at_stop = _ranked(question)
    return Cure(
        course=course,
        table=table,
        setup=setup,
        targets=targets,
        wanted=tuple(question.wanted),
        guards=(),
        levers=tuple(levers),
        at_stop=tuple(at_stop),
        sets=(),
        sized_by=_sized_by(targets, None, None),
        first=True,
    )


def _asked(car: Car, setup: Setup, complaints: Sequence[Complaint]) -> Car:
    """Return the car as it stands.

    Raises
    ------
    AdviceError
        If complaints contradict each other or the car has no adjuster.
    """
    refuse_contradictions(complaints)
    if not car.adjusters:
        raise AdviceError(f"{car.name} has no adjusters; add what can be changed on it to its file.")
    return apply_setup(car, setup)


def _needed(complaints: Sequence[Complaint]) -> set[str]:
    """Return the standard corners that a first ranking looks at: those named, else the medium one."""
    return {one.place if one.place.endswith("corner") else "medium corner" for one in complaints}


def _coarse(target: Target, course: Course) -> Target:
    """Return a target by the middle one of its corners."""
    corners = {corner for corner, _ in target.phases()}
    typical = course.typical([name for name in course.corners if name in corners])
    return target.within(typical[len(typical) // 2 : len(typical) // 2 + 1]) if typical else target


def _targets(complaints: Sequence[Complaint], standing: Car, course: Course) -> tuple[Target, ...]:
    targets = tuple(target_of(one, standing, course) for one in complaints)
    _refuse_same_numbers(targets)
    return targets


def _amounts(
    table: EffectTable, targets: Sequence[Target], wanted: Sequence[float] | None, good: GoodBefore | None
) -> tuple[float, ...]:
    if wanted is not None:
        return tuple(wanted)
    if good is not None and good.helps:
        return good.gains
    return tuple(target.wanted(float(target.value(table.names, table.present))) for target in targets)


def _sized_by(
    targets: Sequence[Target], wanted: Sequence[float] | None, back: GoodBefore | None
) -> tuple[SizedBy, ...]:
    if wanted is not None or back is not None:
        by: SizedBy = "asked" if wanted is not None else "good"
        return (by,) * len(targets)
    return tuple("said" if target.complaint.size else "felt" for target in targets)


def _refuse_same_numbers(targets: Sequence[Target]) -> None:
    """Refuse complaints that only their track shows to be opposed in one place.

    Raises
    ------
    AdviceError
        Naming both.
    """
    for one, other in combinations(targets, 2):
        if {name for name, _ in one.terms} & {name for name, _ in other.terms}:
            refuse_opposed(one.complaint, other.complaint)


def _ranked(question: Question) -> tuple[list[Lever], list[AtStop]]:
    """Return the adjusters that help, and those that are at their stop and would."""
    after = question.table.present + question.table.effects
    had = question.progress(after)  # (adjusters, 2, targets)
    worse = question.worsening(after)
    levers, at_stop = [], []
    for place in range(len(question.table.adjusters)):
        shares = had[place].mean(axis=-1)
        best = int(np.nanargmax(shares))
        if shares[best] < WORTH:
            other = 1 - best
            if np.isnan(shares[other]) and shares[best] < -WORTH:
                at_stop.append(AtStop(adjuster=place, direction=DIRECTIONS[other], back=-float(shares[best])))
            continue
        side = float(np.maximum(worse[place, best], 0.0).sum()) / float(shares[best])
        levers.append(
            Lever(
                adjuster=place,
                direction=DIRECTIONS[best],
                per_step=tuple(float(h * w) for h, w in zip(had[place, best], question.wanted, strict=True)),
                share=float(shares[best]),
                left=int(question.left[place, best]),
                against=False,
                side_cost=side,
            )
        )
    levers.sort(key=lambda lever: -lever.share)
    return levers, at_stop


def _marked(asked: Asked, question: Question, levers: Sequence[Lever]) -> list[Lever]:
    """Return the levers, those marked that the drive contradicts."""
    adjusters = question.table.adjusters
    changes = [((lever.adjuster, lever.direction),) for lever in levers]
    setups = [changed_setup(asked.setup, adjusters, one, asked.setup.name) for one in changes]
    helps = np.array([lever.per_step for lever in levers]) >= WORTH * np.array(question.wanted)
    wrong = asked.against(question, setups, helps, alone=True)
    return [replace(lever, against=against) for lever, against in zip(levers, wrong, strict=True)]
