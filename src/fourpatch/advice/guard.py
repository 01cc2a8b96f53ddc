"""What a cure must not break: the other phases, the grip of both axles, bumps and kerbs."""

from collections.abc import Mapping, Sequence
from dataclasses import dataclass, replace
from typing import Literal

import numpy as np
from numpy.typing import NDArray

from fourpatch.advice.target import COMPLAINED, Target
from fourpatch.analysis.event_measures import CORNER_PHASES
from fourpatch.events.corner import Corner
from fourpatch.events.step_steer import StepSteer
from fourpatch.events.track_corner import CornerOnLap
from fourpatch.events.trial import Trial

Array = NDArray[np.float64]

Harm = Literal["away from zero", "below zero", "rise", "fall"]

BALANCE = 0.5
"""Points by which the balance of another phase may move away from neutral, or half of the wanted cure; the
same phase of other corners by `ELSEWHERE` of it, for hardly an adjuster tells corners apart."""

ELSEWHERE = 1.5
"""Wanted cures by which the complained phase of other corners may move: as far as the cure itself may go."""

FAR = 0.1
"""Share of a balance far from neutral by which it may move, if that is more: hardly anyone tells by it."""

BRAKING = 0.25
"""Points by which the rear may come to use more of its grip than the front in braking."""

GRIP = 0.005
"""Share of its grip by which both axles together may come to use more of it, on average."""

_CORNERS = 3.0
"""Corners whose side effects count in full; of more each counts less, so that they weigh no more together."""

_BUMPS: tuple[tuple[str, Harm, float, str], ...] = (
    ("grip_lost.front", "rise", 0.002, "front grip lost"),
    ("grip_lost.rear", "rise", 0.002, "rear grip lost"),
    ("time_off_ground.front", "rise", 0.005, "front wheels off the ground"),
    ("time_off_ground.rear", "rise", 0.005, "rear wheels off the ground"),
    ("stop_contact.front", "rise", 0.02, "front bump stops in contact"),
    ("stop_contact.rear", "rise", 0.02, "rear bump stops in contact"),
    ("front_height_least", "fall", 0.002, "lowest front ride height"),
    ("rear_height_least", "fall", 0.002, "lowest rear ride height"),
    ("body_throw", "rise", 0.002, "rise of the body"),
)


@dataclass(frozen=True, slots=True, kw_only=True)
class Guard:
    """One number that a cure must leave well alone."""

    label: str
    """As shown."""
    event: str
    terms: tuple[tuple[str, float], ...]
    """Dotted names and weights; their weighted sum is the number."""
    harm: Harm
    """Which way is worse."""
    tolerance: float
    unit: str
    """SI, or points."""
    weight: float = 1.0
    """What it counts in the sum of side effects; beyond its tolerance it is broken whatever it weighs."""

    def value(self, names: Sequence[str], values: Array) -> Array:
        """Return the number, for values of shape (..., measures)."""
        total = np.zeros(values.shape[:-1])
        for name, weight in self.terms:
            total = total + weight * values[..., names.index(name)]
        return np.asarray(total)

    def worsening(self, before: Array | float, after: Array) -> Array:
        """Return how much worse a change made the number, in its unit; below zero is better.

        Notes
        -----
        A balance that crosses neutral is worse by all that it now has of the other kind: the driver meets a
        fault that was not there.
        """
        match self.harm:
            case "away from zero":
                crossed = np.asarray(after) * np.asarray(before) < 0.0
                return np.where(crossed, np.abs(after), np.abs(after) - np.abs(before))
            case "below zero":
                return np.asarray(np.maximum(-after, 0.0) - np.maximum(-np.asarray(before), 0.0))
            case "rise":
                return np.asarray(after - before)
            case "fall":
                return np.asarray(before - after)


def guards(
    events: Mapping[str, Trial],
    targets: Sequence[Target],
    wanted: Sequence[float],
    present: Mapping[str, float],
) -> list[Guard]:
    """Return what a cure must not break.

    Parameters
    ----------
    events : that were run.
    targets, wanted : the complaints, and by how much each is to be moved.
    present : the measures of the car as it stands, by name.

    Notes
    -----
    Every corner that was run is watched, on a track all of it. The phases that are complained of are left
    out: there the complaint itself is the number. A driver whose fronts lock is believed where the model has
    the rear first, or nearly: what the model has less of it than he says is no harm (`_believed`).
    Tolerances are choices of this project; nobody has published such limits.
    """
    complained = {phase for target in targets for phase in target.phases()}
    points = [w for target, w in zip(targets, wanted, strict=True) if target.unit == "points"]
    half = max([BALANCE, *(0.5 * w for w in points)])
    whole = max([BALANCE, *(ELSEWHERE * w for w in points)])
    aimed = {name for target in targets for name, _ in target.terms}
    found: list[Guard] = []
    corners = sum(isinstance(test, Corner | CornerOnLap) for test in events.values())
    for event, test in events.items():
        if isinstance(test, Corner | CornerOnLap):
            for phase in CORNER_PHASES:
                if f"{event}.{phase}.balance" not in present:
                    continue
                elsewhere = any(one == phase for _, one in complained)
                allowed = max(whole if elsewhere else half, FAR * abs(present[f"{event}.{phase}.balance"]))
                of_phase = _phase_guards(event, phase, allowed, complained=(event, phase) in complained)
                found += [replace(one, weight=min(_CORNERS / corners, 1.0)) for one in of_phase]
        elif not isinstance(test, StepSteer):
            found += [
                Guard(
                    label=f"{label}, {event}",
                    event=event,
                    terms=((f"{event}.{name}", 1.0),),
                    harm=harm,
                    tolerance=tolerance,
                    unit="m" if name.endswith(("least", "throw")) else "1",
                )
                for name, harm, tolerance, label in _BUMPS
                if f"{event}.{name}" not in aimed
            ]
    if any(target.complaint.behaviour == "locks fronts" for target in targets):
        return [_believed(one, corners, present) if one.harm == "below zero" else one for one in found]
    return found


def _believed(guard: Guard, corners: int, present: Mapping[str, float]) -> Guard:
    """Return the guard against a rear that locks first, for a driver who says that the fronts do.

    Notes
    -----
    By his word the front is first by `COMPLAINED` at least. What the model has less than that it has wrong,
    and it is not held against a change, without a step where the model's rear becomes the first. It is one
    thing in all corners, the one that he wants moved, so it counts once.
    """
    missing = COMPLAINED - max(present[guard.terms[0][0]], 0.0)
    return replace(guard, tolerance=max(guard.tolerance, missing), weight=min(guard.weight, 1.0 / corners))


def _phase_guards(event: str, phase: str, balance: float, *, complained: bool) -> list[Guard]:
    stem = f"{event}.{phase}"
    one = ((f"{stem}.balance", 1.0),)
    found = [
        Guard(
            label=f"grip used by both axles, {phase}, {event}",
            event=event,
            terms=((f"{stem}.use.front", 0.5), (f"{stem}.use.rear", 0.5)),
            harm="rise",
            tolerance=GRIP,
            unit="1",
        )
    ]
    if not complained:
        found.append(
            Guard(
                label=f"balance, {phase}, {event}",
                event=event,
                terms=one,
                harm="away from zero",
                tolerance=balance,
                unit="points",
            )
        )
    if phase == "braking":
        found.append(
            Guard(
                label=f"rear first to lock, {event}",
                event=event,
                terms=one,
                harm="below zero",
                tolerance=BRAKING,
                unit="points",
            )
        )
    return found
