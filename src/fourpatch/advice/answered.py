"""How each complaint is answered by the first advice; where it is not, why not."""

from collections.abc import Sequence
from dataclasses import dataclass
from typing import Literal

import numpy as np

from fourpatch.advice.cure import Cure
from fourpatch.advice.sets import CURED

Verdict = Literal["done", "in part", "left alone", "nothing does", "drive", "opposed", "costs"]
"""Of a complaint: as far as wanted, less, or not at all: because no adjuster does anything for it, the drive
contradicts those that would, they make another complaint worse, or they cost more than they give."""

_PART = 0.15  # share of the wanted change from which on a complaint is answered in part


@dataclass(frozen=True, slots=True, kw_only=True)
class Answered:
    """What the first set does for one complaint."""

    place: int
    """Of the complaint in the answer."""
    share: float
    """Of what is wanted that the first set brings; 0 without one."""
    verdict: Verdict
    levers: tuple[tuple[int, int], ...] = ()
    """Adjusters and directions that would help and are not used, strongest first."""
    opposed: int | None = None
    """Place of the complaint that they make worse."""


def answered(found: Cure) -> list[Answered]:
    """Return how each complaint is answered, in their order."""
    return [_answer(found, place) for place in range(len(found.targets))]


def _answer(found: Cure, place: int) -> Answered:
    share = found.sets[0].progress[place] if found.sets else 0.0
    if share >= (found.sets[0].enough if found.sets else CURED):
        return Answered(place=place, share=share, verdict="done")
    helping = _helping(found, place)
    verdict, levers, opposed = _why_not(found, place, helping)
    if share >= _PART:
        verdict = "in part"
    return Answered(place=place, share=share, verdict=verdict, levers=levers, opposed=opposed)


def _helping(found: Cure, place: int) -> list[tuple[int, int]]:
    """Return adjusters and directions of which a step measurably helps one complaint, strongest first."""
    target = found.targets[place]
    size: dict[tuple[int, int], float] = {}
    for adjuster in range(len(found.table.adjusters)):
        for column, by in enumerate(np.nan_to_num(found.moved(target, adjuster))):
            if by > target.hardly:
                size[adjuster, 1 if column else -1] = float(by)
    return sorted(size, key=lambda one: -size[one])


def _why_not(
    found: Cure, place: int, helping: Sequence[tuple[int, int]]
) -> tuple[Verdict, tuple[tuple[int, int], ...], int | None]:
    if not helping:
        return "nothing does", (), None
    against = {(one.adjuster, one.direction) for one in found.levers if one.against}
    if set(helping) <= against:
        return "drive", tuple(helping), None
    left = [one for one in helping if one not in against]
    for other in range(len(found.targets)):
        if other == place:
            continue
        worse = [one for one in left if _worsens(found, other, one)]
        if 2 * len(worse) >= len(left):
            return "opposed", tuple(worse), other
    return "costs", tuple(left), None


def _worsens(found: Cure, place: int, lever: tuple[int, int]) -> bool:
    """Say whether a step makes another complaint measurably worse."""
    target = found.targets[place]
    adjuster, direction = lever
    return bool(found.moved(target, adjuster)[int(direction > 0)] < -0.5 * target.hardly)
