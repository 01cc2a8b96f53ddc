"""The plain lever of a complaint, and why it was passed over where it was (common practice, no source)."""

from collections.abc import Callable, Mapping, Sequence
from dataclasses import dataclass
from typing import Literal

import numpy as np

from fourpatch.advice.change_set import ChangeSet
from fourpatch.advice.guard import Guard
from fourpatch.advice.sets import Changes, Question, too_much
from fourpatch.advice.target import Target

Why = Literal["at its stop", "does nothing", "too little", "drive", "costs", "opposed"]

_PREFERRED = 1.0  # cost by which the plain lever may be dearer than the best set and still come first
_HELPS = 0.5  # share of the wanted change that it must bring to come first


@dataclass(frozen=True, slots=True, kw_only=True)
class PassedOver:
    """A plain lever that is not the first advice."""

    adjuster: int
    """Its place among the car's adjusters."""
    direction: int
    """1 where steps up would help, -1 where steps down would, 0 where neither does."""
    why: Why
    brings: float = 0.0
    """Share of the wanted change that its best number of steps brings, by a run; 0 if it was not run."""
    steps: int = 0
    worse: tuple[tuple[Guard, float], ...] = ()
    """What those steps make worse, and by how much, in its unit."""


def plain_levers(target: Target, question: Question) -> list[int]:
    """Return the places of the adjusters that a complaint's name points at."""
    asked = target.complaint
    match asked.behaviour:
        case "locks fronts" | "locks rears":
            paths: tuple[str, ...] = ("brakes.front_share",)
        case "understeer" | "oversteer" if asked.phase == "mid" and asked.place not in ("kerb", "bumpy"):
            paths = ("front.bar.rate", "rear.bar.rate")
        case "bottoms":
            paths = tuple(f"{end}.ride_height" for end in ((asked.end,) if asked.end else ("front", "rear")))
        case _:
            return []
    adjusters = question.table.adjusters
    return [k for k, one in enumerate(adjusters) if set(one.targets) & set(paths)]


def plain_sets(question: Question) -> list[Changes]:
    """Return each plain lever by itself, with the steps that bring what is wanted and its neighbours."""
    found: list[Changes] = []
    for place in _all_plain(question):
        direction, per_step = _helping(question, place)
        if not direction:
            continue
        left = int(question.left[place, int(direction > 0)])
        needed = round(1.0 / per_step)
        tried = dict.fromkeys(max(n, 1) for n in (needed - 1, needed, needed + 1))
        found += [((place, direction * n),) for n in tried if n <= left]
        if needed > left + 1 and left:
            found.append(((place, direction * left),))
    return found


def plain_first(
    question: Question,
    shown: Sequence[ChangeSet],
    tried: Mapping[Changes, ChangeSet],
    against: Callable[[ChangeSet], bool],
) -> tuple[list[ChangeSet], list[PassedOver]]:
    """Return the sets with the plain lever first if it costs no more than it gives, and who was passed over.

    Parameters
    ----------
    shown : best first.
    tried : all that was run.
    against : whether the drive contradicts a set.
    """
    plain = _all_plain(question)
    there = any(place in plain for one in shown[:1] for place, _ in one.changes)
    if there and len(shown[0].changes) == 1:
        return list(shown), []
    alone = [one for one in tried.values() if len(one.changes) == 1 and one.changes[0][0] in plain]
    best = min((one for one in alone if one.answers), key=_price, default=None)
    dearest = shown[0].cost + _PREFERRED if shown else float("inf")
    if best is not None and _price(best) <= dearest and min(best.progress) >= _HELPS and not against(best):
        rest = [one for one in shown if one.changes != best.changes]
        return [best, *rest[: max(len(shown) - 1, 0)]], []
    return list(shown), [] if there else [_passed(question, place, alone, against) for place in plain]


def never_against(_: ChangeSet) -> bool:
    """Say that the drive contradicts nothing: where no set was run that it could be asked about."""
    return False


def _price(one: ChangeSet) -> float:
    """Return what a plain lever costs; that a single step is coarse is not held against it.

    Notes
    -----
    Of a step that brings more than is wanted neither that counts, nor what the part beyond it costs.
    """
    if abs(one.changes[0][1]) > 1:
        return one.cost
    had = np.array(one.progress)
    return (one.cost - float(too_much(had))) / max(float(had.max()), 1.0)


def _passed(
    question: Question, place: int, alone: Sequence[ChangeSet], against: Callable[[ChangeSet], bool]
) -> PassedOver:
    """Say why a plain lever is not the first advice."""
    own = [one for one in alone if one.changes[0][0] == place]
    direction, _ = _helping(question, place, stopped=True)
    if not own:
        why: Why = "does nothing"
        if direction:
            why = "at its stop" if not question.left[place, int(direction > 0)] else "too little"
        return PassedOver(adjuster=place, direction=direction, why=why)
    best = min(own, key=lambda one: one.cost)
    if not best.answers:
        why = "opposed" if max(best.progress) > 0.0 else "does nothing"
    else:
        why = "drive" if against(best) else "costs" if best.worse else "too little"
    return PassedOver(
        adjuster=place,
        direction=1 if best.changes[0][1] > 0 else -1,
        why=why,
        brings=min(best.progress),
        steps=abs(best.changes[0][1]),
        worse=best.worse,
    )


def _all_plain(question: Question) -> list[int]:
    every = [place for target in question.targets for place in plain_levers(target, question)]
    return list(dict.fromkeys(every))


def _helping(question: Question, place: int, *, stopped: bool = False) -> tuple[int, float]:
    """Return which way an adjuster helps, 0 if neither does, and the share of a step."""
    after = question.table.present + question.table.effects[place]
    shares = question.progress(after).mean(axis=-1)
    for direction in (1, -1):
        share = float(shares[int(direction > 0)])
        opposite = float(shares[int(direction < 0)])
        if share > 0.02 or (stopped and share != share and opposite < -0.02):  # not a number: at the stop
            return direction, share
    return 0, 0.0
