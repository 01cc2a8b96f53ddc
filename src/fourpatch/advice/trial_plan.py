"""What to do next on track with a change: how many laps, in which order, what to watch, when to stop."""

from dataclasses import dataclass
from math import ceil
from typing import Annotated

import numpy as np
from numpy.typing import NDArray

from fourpatch.advice.grip_cost import PHASES, GripCost, Judge
from fourpatch.advice.laps_needed import laps_needed
from fourpatch.advice.occasion import Occasion, generic_occasion, track_occasion
from fourpatch.analysis.lap_profile import lap_profile
from fourpatch.analysis.limits_map import limits_map
from fourpatch.analysis.quantity import POINTS, Findings
from fourpatch.car.adjusters import Adjuster
from fourpatch.car.car import Car
from fourpatch.car.setup import Setup, apply_setup
from fourpatch.errors import AdviceError
from fourpatch.events.corner import Corner
from fourpatch.long_work import Cancelled, Progress, never, unwatched
from fourpatch.track.track import Track

Array = NDArray[np.float64]

MANY_LAPS = 15
"""With each set-up: more than a session has. A choice of this project."""

WORTH_WATCHING = 0.1
"""Points of balance below which a phase is not named."""

_WATCHED = 4
_QUASI_STEADY = 1e-3  # lap time below which a quasi-steady lap is taken to be blind to the change [s]


class Watched(Findings):
    """A phase of a corner to watch."""

    corner: str
    """Which corner."""
    phase: str
    """Which phase of it."""
    balance: Annotated[float, POINTS]
    """Change of the balance."""
    use: Annotated[float, POINTS]
    """Change of the mean use of both axles; below 0 there is more grip in hand."""


@dataclass(frozen=True, slots=True, kw_only=True)
class SessionPlan:
    """What to do next on track."""

    changes: tuple[tuple[Adjuster, float, float], ...]
    """Adjuster, from, to."""
    occasion: Occasion
    steady_effect: float | None
    """Change of the quasi-steady lap time; None without a track. [s]"""
    rig_effect: float
    """Change of time from what the rig says of grip in corners and on bumps. [s]"""
    effect: float
    """What the plan counts on. [s]"""
    computed_by: str
    """quasi-steady or rig."""
    timed: str
    """What is timed: a lap, or the corners once each."""
    scatter: float
    """Standard deviation of that time from lap to lap. [s]"""
    laps: int | None
    """With each set-up; None if no number of laps would do."""
    steps_for_many: int | None
    """Times the change that would show within `MANY_LAPS`, if it would not; None otherwise."""
    watched: tuple[Watched, ...]
    """Largest first."""
    rear_first: tuple[str, ...]
    """Corners in which the rear uses more than the front on the brakes after the change."""

    @property
    def before(self) -> int:
        """Laps with the present set-up before the change."""
        return 0 if self.laps is None else ceil(self.laps / 2)

    @property
    def back(self) -> int:
        """Laps with the present set-up after it, at least one: they show what the day did."""
        return 0 if self.laps is None else max(self.laps - self.before, 1)


def session_plan(
    car: Car,
    setup: Setup,
    changed: Setup,
    *,
    scatter: float,
    track: Track | None = None,
    progress: Progress = unwatched,
    cancelled: Cancelled = never,
) -> SessionPlan:
    """Return how to try a change on track.

    Parameters
    ----------
    setup, changed : the present set-up, and the one to try.
    scatter : standard deviation of the timed stretch, driver and day together. [s]
    track : without one, the standard corners once each are timed.

    Raises
    ------
    AdviceError
        If nothing is changed.
    Stopped
        If it is cancelled.

    Notes
    -----
    Speed goes with the square root of grip, so a stretch of time T gets shorter by T/2 times the relative
    change of use; that part is the rig's, and knows dampers. With a track the quasi-steady lap is computed
    for both, and counts where it sees the change at all (springs, bars, wings, not dampers).

    Source: derived here; the number of laps: `laps_needed`. A-B-A: common practice, no published source; a
    drift that is straight over the three runs cancels in B less the mean of both A if these are alike long.
    """
    moved = tuple(
        (one, setup.position(one), changed.position(one))
        for one in car.adjusters
        if setup.position(one) != changed.position(one)
    )
    if not moved:
        raise AdviceError(
            "the change leaves everything where it is, so there is nothing to test. Name another."
        )
    standing = apply_setup(car, setup)
    progress(0.0, "occasion")
    occasion = generic_occasion(standing) if track is None else track_occasion(standing, track)
    judge = Judge(car=car, reference=standing, occasion=occasion, balance=0.0)
    progress(0.5, "both set-ups")
    cost = judge.cost([setup, changed], cancelled=cancelled)
    rig = rig_effect(occasion, cost)
    steady = None if track is None else _steady_effect(car, setup, changed, occasion)
    counts = steady is not None and abs(steady) > _QUASI_STEADY
    effect = steady if counts and steady is not None else rig
    laps = laps_needed(effect=effect, scatter=scatter)
    many = laps is None or laps > MANY_LAPS
    return SessionPlan(
        changes=moved,
        occasion=occasion,
        steady_effect=steady,
        rig_effect=rig,
        effect=effect,
        computed_by="quasi-steady" if counts else "rig",
        timed="the standard corners, once each" if track is None else "a lap",
        scatter=scatter,
        laps=laps,
        steps_for_many=_times_for(effect, scatter) if many else None,
        watched=_watched(occasion, cost),
        rear_first=_rear_first(occasion, cost),
    )


def rig_effect(occasion: Occasion, cost: GripCost) -> float:
    """Return the change of time that the second of two set-ups makes, by grip alone. [s]"""
    time = cornering_time(occasion)
    corners = 0.5 * float(cost.parts[1, 0] / cost.parts[0, 0] - 1.0)
    bumps = 0.5 * float(cost.parts[1, 1:3].sum() - cost.parts[0, 1:3].sum()) / 100.0
    return time * (corners + bumps)


def cornering_time(occasion: Occasion) -> float:
    """Return the time spent in corners: of the lap, or of the standard corners once each. [s]"""
    if occasion.study is not None:
        return sum(one.time for one in occasion.study.summary.corners)
    return sum(_duration(corner) for corner in occasion.corners.values())


def _duration(corner: Corner) -> float:
    return corner.build_up + corner.braking + corner.entry + corner.mid + corner.exit


def _steady_effect(car: Car, setup: Setup, changed: Setup, occasion: Occasion) -> float:
    """Return the change of the quasi-steady lap time along the same line. [s]"""
    assert occasion.study is not None
    line = occasion.study.line
    before, after = (
        lap_profile(limits_map(apply_setup(car, one)), line).lap_time for one in (setup, changed)
    )
    return after - before


def _times_for(effect: float, scatter: float) -> int | None:
    """Return how many times the effect shows within `MANY_LAPS`, None if ten times it does not."""
    for times in range(2, 11):
        laps = laps_needed(effect=times * effect, scatter=scatter)
        if laps is not None and laps <= MANY_LAPS:
            return times
    return None


def _rear_first(occasion: Occasion, cost: GripCost) -> tuple[str, ...]:
    """Return the corners where the change leaves the rear first on the brakes, and more so than before."""
    before, after = cost.balance[0, :, 0], cost.balance[1, :, 0]
    return tuple(
        name
        for name, was, now in zip(occasion.corners, before, after, strict=True)
        if now < min(float(was), 0.0)
    )


def _watched(occasion: Occasion, cost: GripCost) -> tuple[Watched, ...]:
    """Return the phases whose balance changes most."""
    change = cost.balance[1] - cost.balance[0]
    use = 100.0 * (cost.use[1] - cost.use[0]).mean(axis=-1)
    found = [
        Watched(corner=name, phase=phase, balance=float(change[k, p]), use=float(use[k, p]))
        for k, name in enumerate(occasion.corners)
        for p, phase in enumerate(PHASES)
        if abs(change[k, p]) >= WORTH_WATCHING
    ]
    return tuple(sorted(found, key=lambda one: -abs(one.balance))[:_WATCHED])
