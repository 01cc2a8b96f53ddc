"""What cures a complaint: adjusters ranked by computed effect, and the smallest sets of changes, run."""

from collections.abc import Sequence
from dataclasses import dataclass, replace
from itertools import combinations

import numpy as np
from numpy.typing import NDArray

from fourpatch.advice.complaint import Complaint, refuse_contradictions, refuse_opposed
from fourpatch.advice.course import MARGINS, Course, standard_course, track_course
from fourpatch.advice.drive_check import DriveAsked, contradicted, drive_asked
from fourpatch.advice.guard import Guard, guards
from fourpatch.advice.sensitivity import DIRECTIONS, EffectTable, measured, sensitivity
from fourpatch.advice.sets import CURED, Changes, Question, likely_sets
from fourpatch.advice.target import Target, target_of
from fourpatch.analysis.lap_profile import lap_profile
from fourpatch.analysis.lap_summary import LapStudy
from fourpatch.analysis.limits_map import limits_map
from fourpatch.car.adjusters import Adjuster
from fourpatch.car.car import Car
from fourpatch.car.pack import pack
from fourpatch.car.setup import Setup, apply_setup
from fourpatch.errors import AdviceError, CarError, EventError, SolveError, Stopped
from fourpatch.events.trial import Trial
from fourpatch.long_work import Cancelled, Progress, go_on, never, stretch, unwatched
from fourpatch.track.track import Track

Array = NDArray[np.float64]

ONE_HANDED = ("chassis.cross_weight_share", "chassis.cg_lateral_offset")
"""Parameters that help one hand of corner and hurt the other; the standard corners are left-handed."""

_TRIED = 5  # sets of each size that are run
_ASKED = 25  # of the sets that were run, the best that the drive may be asked about
_TOGETHER = 7  # of them at a time: eight cars with the one as it stands fill the lanes
_SHOWN = 3  # sets in the answer
_ROUNDS = 2  # times that steps are corrected by what the runs gave
_AMPLE = 1.15  # share of the wanted change beyond which fewer steps are tried
_COURSE, _TABLE, _DRIVEN = 0.15, 0.6, 0.65  # shares of the whole at which its parts end
_WORTH = 0.02  # share of the wanted change below which a step does nothing for the complaint


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
    lap: float | None = None
    """Change of the lap time on the track, quasi-steady with `course.MARGINS`; None without a track, or if
    there is no such lap. [s]"""

    @property
    def cured(self) -> bool:
        """Whether every complaint moved as far as wanted, to a tenth."""
        return min(self.progress) >= CURED

    @property
    def broken(self) -> tuple[tuple[Guard, float], ...]:
        """What became worse by more than its tolerance."""
        return tuple((guard, worse) for guard, worse in self.worse if worse > guard.tolerance)


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
    wanted : by how much each complaint's number is to be moved, in its unit; by default half of its
        distance from neutral, or as the complaint says (`target_of`).
    progress, cancelled : as `long_work`; stopped once adjusters are ranked, it returns the ranking.

    Raises
    ------
    Stopped
        If it is cancelled before.
    AdviceError
        If complaints contradict each other, the model has no number for one, the track has not the corner
        that one names, or the car has no adjuster.

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
    amounts = _amounts(table, targets, wanted)
    guarded = tuple(
        guards(table.events, targets, amounts, dict(zip(names, map(float, table.present), strict=True)))
    )
    question = Question(
        table=table, targets=targets, wanted=amounts, guards=guarded, left=_steps_left(table.adjusters, setup)
    )
    levers, at_stop = _ranked(question)
    progress(_TABLE, "the drive")
    driven = drive_asked(standing, targets, course, names=names, present=table.present)
    asked = _Asked(car=car, setup=setup, standing=standing, course=course, driven=driven)
    sets: list[ChangeSet] = []
    stopped = cancelled()
    if not stopped and levers:
        levers = asked.marked(question, levers)
        for lever in levers:
            if lever.against:
                question.left[lever.adjuster, int(lever.direction > 0)] = 0
        try:
            told = stretch(progress, _DRIVEN, 1.0, of="sets of changes")
            sets = _confirmed_sets(asked, question, told, cancelled)
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
        sets=tuple(sets),
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
        wanted=_amounts(table, targets, None),
        guards=(),
        left=_steps_left(table.adjusters, setup),
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
    table: EffectTable, targets: Sequence[Target], wanted: Sequence[float] | None
) -> tuple[float, ...]:
    if wanted is not None:
        return tuple(wanted)
    return tuple(target.wanted(float(target.value(table.names, table.present))) for target in targets)


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


def _steps_left(adjusters: Sequence[Adjuster], setup: Setup) -> NDArray[np.int64]:
    left = np.zeros((len(adjusters), 2), dtype=np.int64)
    for place, one in enumerate(adjusters):
        if not left_alone(one):
            at = setup.position(one)
            left[place] = (
                int((at - one.lowest) / one.step + 1e-6),
                int((one.highest - at) / one.step + 1e-6),
            )
    return left


def _ranked(question: Question) -> tuple[list[Lever], list[AtStop]]:
    """Return the adjusters that help, and those that are at their stop and would."""
    after = question.table.present + question.table.effects
    had = question.progress(after)  # (adjusters, 2, targets)
    worse = question.worsening(after)
    levers, at_stop = [], []
    for place in range(len(question.table.adjusters)):
        shares = had[place].mean(axis=-1)
        best = int(np.nanargmax(shares))
        if shares[best] < _WORTH:
            other = 1 - best
            if np.isnan(shares[other]) and shares[best] < -_WORTH:
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


@dataclass(frozen=True, slots=True, kw_only=True)
class _Asked:
    """What is asked about, by the rig and by the drive."""

    car: Car
    """As written."""
    setup: Setup
    standing: Car
    course: Course
    driven: tuple[DriveAsked, ...]

    def marked(self, question: Question, levers: Sequence[Lever]) -> list[Lever]:
        """Return the levers, those marked that the drive contradicts."""
        adjusters = question.table.adjusters
        changes = [((lever.adjuster, lever.direction),) for lever in levers]
        setups = [changed_setup(self.setup, adjusters, one, self.setup.name) for one in changes]
        helps = np.array([lever.per_step for lever in levers]) >= _WORTH * np.array(question.wanted)
        wrong = self.against(question, setups, helps)
        return [replace(lever, against=against) for lever, against in zip(levers, wrong, strict=True)]

    def against(self, question: Question, setups: Sequence[Setup], helps: NDArray[np.bool_]) -> list[bool]:
        """Say of each set-up whether the drive contradicts it; ``helps`` is (setups, targets)."""
        cars = [apply_setup(self.car, setup) for setup in setups]
        return contradicted(self.standing, cars, question.targets, self.course, self.driven, credited=helps)

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


def _confirmed_sets(
    asked: _Asked, question: Question, progress: Progress, cancelled: Cancelled
) -> list[ChangeSet]:
    """Return the best sets of changes, each run in every event."""
    tried: dict[Changes, ChangeSet] = {}
    candidates = likely_sets(question, keep=_TRIED)
    for number in range(_ROUNDS + 1):
        new = [changes for changes in dict.fromkeys(candidates) if changes not in tried]
        if not new:
            break
        go_on(cancelled, "sets of changes were not all run yet")
        progress(number / (_ROUNDS + 2), f"round {number + 1}")
        tried |= _run_sets(asked.car, asked.setup, question, new)
        candidates = [
            better
            for one in sorted(tried.values(), key=_order)[: 2 * _TRIED]
            for better in _corrected(question, one)
        ]
    progress((_ROUNDS + 1) / (_ROUNDS + 2), "driven")
    return asked.with_laps(_borne_out(asked, question, sorted(tried.values(), key=_order)[:_ASKED]))


def _borne_out(asked: _Asked, question: Question, likely: Sequence[ChangeSet]) -> list[ChangeSet]:
    """Return the best sets that differ and that the drive does not contradict.

    Notes
    -----
    A few at a time, best first: mostly the first few are enough, and each takes four corners.
    """
    shown: list[ChangeSet] = []
    left = list(likely)
    while left and len(shown) < _SHOWN:
        some, left = left[:_TOGETHER], left[_TOGETHER:]
        helps = np.array([one.progress for one in some]) >= _WORTH
        wrong = asked.against(question, [one.setup for one in some], helps)
        shown = _different([*shown, *(one for one, against in zip(some, wrong, strict=True) if not against)])
        left = _different([*shown, *left])[len(shown) :]
    return shown[:_SHOWN]


def _order(one: ChangeSet) -> tuple[bool, bool, int, float]:
    """Cured without breaking anything first, of those the smallest; then unbroken, by what is wrong."""
    good = one.cured and not one.broken
    useless = bool(one.broken) or min(one.progress) < _WORTH
    return (not good, useless, len(one.changes) if good else 0, one.cost)


def _different(ordered: Sequence[ChangeSet]) -> list[ChangeSet]:
    """Return those that are not the same adjusters again, nor a better set with something added."""
    shown: list[ChangeSet] = []
    for one in ordered:
        turned = {(place, steps > 0) for place, steps in one.changes}
        if not any(turned >= {(place, steps > 0) for place, steps in other.changes} for other in shown):
            shown.append(one)
    return shown


def _run_sets(
    car: Car, setup: Setup, question: Question, sets: Sequence[Changes]
) -> dict[Changes, ChangeSet]:
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
        if over[k] > _WORTH
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
    )


def _corrected(question: Question, one: ChangeSet) -> list[Changes]:
    """Return a set with steps added or taken, where its run fell short of what is wanted or went beyond."""
    least = min(one.progress)
    if CURED <= least <= _AMPLE or least <= 0.0:
        return []
    corrected = []
    for place, steps in one.changes:
        direction = int(steps > 0)
        after = question.table.present + question.table.effects[place, direction]
        per_step = float(question.progress(after).mean())
        if per_step <= _WORTH:
            continue
        lacking = (1.0 - least) / per_step
        more = max(1, round(lacking)) if lacking > 0.0 else min(-1, round(lacking))
        size = min(max(abs(steps) + more, 0), int(question.left[place, direction]))
        if size:
            rest = [change for change in one.changes if change[0] != place]
            corrected.append(tuple(sorted((*rest, (place, size if direction else -size)))))
    return corrected
