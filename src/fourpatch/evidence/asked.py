"""How sure a cure is among plausible cars, and what would have to be true where a car shows nothing."""

from collections.abc import Iterator
from dataclasses import replace

import numpy as np
from numpy.typing import NDArray

from fourpatch.advice.cure import Cure, cure
from fourpatch.advice.draws import IfTrue, Needed, Sureness, asked_target, first_set_holds, sureness
from fourpatch.advice.plausible import APART, moved
from fourpatch.car.car import Car
from fourpatch.car.setup import Setup, apply_setup
from fourpatch.errors import AdviceError, CarError, SolveError
from fourpatch.evidence.believed import believed
from fourpatch.evidence.kept import cars_to_ask, demo_tracks, tracks_named
from fourpatch.evidence.observed import complained_of
from fourpatch.evidence.unknowns import LIMIT, NEUTRAL, NEUTRAL_SPREAD, Unknowns
from fourpatch.long_work import Cancelled, Progress, never, stretch, unwatched

Array = NDArray[np.float64]

_SHOWING = 16  # cars that show the complaint and are asked
_FIRST, _MORE = 128, 64  # plausible cars among which they are looked for
_NAMED = 3  # unknowns that are named
_LEAST = 0.15  # standard deviations below which an unknown is as good as written


def asked_among_plausible(
    car: Car,
    setup: Setup,
    answer: Cure,
    *,
    draws: int,
    seed: int = 1,
    progress: Progress = unwatched,
    cancelled: Cancelled = never,
) -> Sureness | None:
    """Return what plausible cars say of a cure; None where the car's file states no spread.

    Parameters
    ----------
    progress, cancelled : as `long_work`; stopped, it returns what the cars that were asked say.

    Raises
    ------
    AdviceError
        If an item of the car's evidence cannot be read.
    Stopped
        If it is cancelled before the first of them.

    Notes
    -----
    Where the file says what was observed of the car, cars are drawn that show that. Where the car as written
    does not show a complaint of balance, cars are drawn as well that do (`if_true`).
    """
    before = cars_to_ask(car, draws, seed=seed, progress=stretch(progress, 0.0, 0.3), cancelled=cancelled)
    told = stretch(progress, 0.0 if before is None else 0.3, 0.8)
    sure = sureness(
        car, setup, answer, draws=draws, seed=seed, drawn_before=before, progress=told, cancelled=cancelled
    )
    if sure is None or sure.stopped or not answer.sets:
        return sure
    progress(0.8, "cars that show it")
    return replace(sure, if_true=if_true(car, setup, answer, seed=seed, cancelled=cancelled))


def if_true(
    car: Car, setup: Setup, answer: Cure, *, seed: int = 1, cancelled: Cancelled = never
) -> IfTrue | None:
    """Return what would have to be true for complaints that the car as written does not show, and what then.

    Returns
    -------
    IfTrue
        None where it shows all of them, where they are not of balance, or if no such car can be drawn.

    Notes
    -----
    The complaint counts as evidence: balance beyond what a driver calls nothing, from this driver's neutral
    (`heard`). The likeliest such car has every unknown where the straight law of the weighed cars expects it.
    It is asked the same complaints in the same corners, set up the same.
    """
    standing = apply_setup(car, setup)
    heard = [
        complained_of(asked_target(answer, target), answer.course, standing, setup)
        for target in answer.targets
        if answer.shows(target) is False
    ]
    said = [one for one in heard if one is not None]
    if not said:
        return None
    try:
        found = believed(
            car,
            tracks=demo_tracks(tracks_named(car.evidence)),
            beside=said,
            seed=seed,
            first=_FIRST,
            more=_MORE,
            enough=_SHOWING,
            cancelled=cancelled,
        )
        unknowns = found.unknowns
        every = [one.heard for one in found.observed]
        scores = found.weighed.law.given(every, wider=found.weighed.wider).mean()
        likely = unknowns.base(scores)
        if likely is None:
            return None
        complaints = [target.complaint for target in answer.targets]
        own = cure(likely, setup, complaints, course=answer.course, wanted=answer.wanted, cancelled=cancelled)
    except (AdviceError, CarError, SolveError):
        return None
    holds, asked = first_set_holds(car, setup, answer, found.plausible(_SHOWING), cancelled)
    return IfTrue(
        needed=tuple(_needed(unknowns, scores)),
        farthest=float(np.abs(scores).max()),
        asked=asked,
        holds=holds,
        own=own.sets[0].changes if own.sets else None,
    )


def _needed(unknowns: Unknowns, scores: Array) -> Iterator[Needed]:
    """Yield the unknowns that are off most, most first."""
    names = unknowns.names
    for k in np.argsort(-np.abs(scores), kind="stable")[:_NAMED]:
        name, score = names[k], float(scores[k])
        if abs(score) < _LEAST:
            return
        if name == NEUTRAL:
            yield Needed(name=name, moved=score, change=NEUTRAL_SPREAD * score)
        elif name in unknowns.groups:
            yield _of_parameter(unknowns, name, score)
        elif name != LIMIT:
            place = unknowns.adjusters[k - len(unknowns.groups)]
            yield Needed(name=name, moved=score, change=unknowns.factors(scores)[place] - 1.0)


def _of_parameter(unknowns: Unknowns, name: str, score: float) -> Needed:
    """Return how far a parameter is off, or that of the front against that of the rear."""
    moves = unknowns.groups[name]
    changed = [
        (one.parameter.value, moved(one.parameter, one.size, one.weight * score))
        for one in ((moves[0], moves[-1]) if name.endswith(APART) else moves[:1])
    ]
    first = moves[0].parameter
    if first.unit.low >= 0.0 and all(before > 0.0 for before, _ in changed):
        ratios = [after / before for before, after in changed]
        return Needed(name=name, moved=score, change=ratios[0] / (ratios[1:] or [1.0])[0] - 1.0)
    beyond = [after - before for before, after in changed]
    return Needed(name=name, moved=score, change=beyond[0] - sum(beyond[1:]), unit=first.unit)
