"""The one question that is asked back: where in the corner, if the first change would differ by it."""

from dataclasses import dataclass, replace

import numpy as np

from fourpatch.advice.complaint import Complaint, PhaseName
from fourpatch.advice.cure import Cure, Lever
from fourpatch.advice.sensitivity import DIRECTIONS
from fourpatch.advice.target import Target

PHASES: tuple[PhaseName, ...] = ("entry", "mid", "exit")


@dataclass(frozen=True, slots=True, kw_only=True)
class AskedBack:
    """A complaint that names no phase, and what would be turned first in each."""

    complaint: Complaint
    first: tuple[tuple[Complaint, Lever], ...]
    """The complaint with each phase, and the adjuster that does most for it there."""


def asked_back(found: Cure) -> AskedBack | None:
    """Return what to ask, or None where the answer would be the same."""
    for target in found.targets:
        complaint = target.complaint
        if complaint.behaviour not in ("understeer", "oversteer") or complaint.phase:
            continue
        first = []
        for phase in PHASES:
            part = target.in_phase(phase)
            lever = None if part is None else _strongest(found, part)
            if lever is not None:
                first.append((replace(complaint, phase=phase), lever))
        if len({(lever.adjuster, lever.direction) for _, lever in first}) > 1:
            return AskedBack(complaint=complaint, first=tuple(first))
    return None


def _strongest(found: Cure, target: Target) -> Lever | None:
    """Return the adjuster of which one step does most for a number; of those that a set may turn."""
    usable = {(one.adjuster, one.direction): one for one in found.levers if one.left and not one.against}
    moved = {
        (place, direction): float(found.moved(target, place)[DIRECTIONS.index(direction)])
        for place, direction in usable
    }
    best = max(moved, key=lambda one: np.nan_to_num(moved[one]), default=None)
    return usable[best] if best is not None and moved[best] > target.hardly else None
