"""Laps of a driver who never brakes and steers twice alike: how repeatable a car with its set-up is."""

from collections.abc import Callable
from dataclasses import dataclass
from itertools import pairwise
from typing import Literal

import numpy as np
from numpy.typing import NDArray
from scipy.ndimage import gaussian_filter1d
from scipy.signal import find_peaks

from fourpatch.analysis.driven_lap import CornerTime, LapRows, corner_times, in_hand
from fourpatch.analysis.driver_plan import DriverPlan
from fourpatch.events.drive import made_ready
from fourpatch.events.drive_inputs import DriveRoad, Engines
from fourpatch.events.drive_stability import drive_reserve
from fourpatch.events.driver_style import DriverScatter
from fourpatch.events.lap import LapRun, PacePlan, drive_lap
from fourpatch.physics.layout import X
from fourpatch.track.corners import Corner
from fourpatch.track.layout import TrackLayout

Array = NDArray[np.float64]

_AT_ONCE = 32  # laps whose histories are held together
_INTERVAL = 0.05  # [s]
_HAND = 15.0  # distance over which a hand's unsteadiness hangs together [m]
_BLEND = 10.0  # over which one corner's draws give way to the next one's [m]
_DEEP = 2.0  # by which speed must rise between two corners that are judged apart [m/s]


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class ScatteredLaps:
    """Laps of one driver at one pace."""

    lap_time: Array
    """(laps,) not a number if not finished. [s]"""
    good: NDArray[np.bool_]
    """(laps,) whether the car stayed on the road and in hand."""
    corner_time: Array
    """(laps, corners) [s]"""
    largest_sideslip: Array
    """(laps,) [rad]"""
    least_reserve: Array
    """(laps,) largest real part of an eigenvalue where the rear axle slips most in each corner: the least
    stability reserve; positive would diverge if the driver held still. [1/s]"""

    @property
    def time_spread(self) -> float:
        """Standard deviation of the lap time of good laps. [s]"""
        return float(self.lap_time[self.good].std(ddof=1)) if self.good.sum() > 1 else float("nan")


def scattered_plan(
    plan: DriverPlan, pace: float, scatter: DriverScatter, *, laps: int, seed: int
) -> PacePlan:
    """Return plans of one driver for laps that differ.

    Notes
    -----
    For each corner of each lap a normal draw moves the place where he brakes and another scales the speed he
    judges right; his hands are a normal process along the way, correlated over 15 m. The seed fixes all.
    """
    random = np.random.default_rng(seed)
    line, planned = plan.line, plan.at_pace(np.full(laps, pace))
    owner = _corner_of(plan.ceiling, line.spacing, closed=line.closed)
    corners = int(owner.max()) + 1
    blend = _BLEND / line.spacing
    mode: Literal["wrap", "nearest"] = "wrap" if line.closed else "nearest"
    earlier = scatter.brake_point * random.standard_normal((laps, corners))[:, owner]
    faster = 1.0 + scatter.corner_speed * random.standard_normal((laps, corners))[:, owner]
    earlier, faster = (gaussian_filter1d(one, blend, axis=1, mode=mode) for one in (earlier, faster))
    place = line.distance + earlier
    place = place % line.length if line.closed else np.clip(place, 0.0, line.length)
    shifted = np.interp(place.ravel(), line.distance, planned.ceiling[0]).reshape(place.shape)
    hand = gaussian_filter1d(random.standard_normal(place.shape), _HAND / line.spacing, axis=1, mode=mode)
    hand *= scatter.steering / plan.car.steering.ratio / hand.std()
    return PacePlan(
        speed=planned.speed, ceiling=faster * shifted, traction=planned.traction, unsteadiness=hand
    )


def _corner_of(ceiling: Array, spacing: float, *, closed: bool) -> NDArray[np.intp]:
    """Number of the corner that each place's speed is planned for, (n,): parted where the plan is fastest."""
    smooth = gaussian_filter1d(ceiling, 10.0 / spacing, mode="wrap" if closed else "nearest")
    slowest, _ = find_peaks(-smooth, prominence=_DEEP)
    if slowest.size < 2:
        return np.zeros(ceiling.size, dtype=np.intp)
    ends = [a + int(np.argmax(smooth[a:b])) for a, b in pairwise(slowest.tolist())]
    owner = np.searchsorted(np.array(ends), np.arange(ceiling.size), side="right")
    if closed:  # what lies after the fastest place beyond the last corner belongs to the first
        around = np.concatenate([np.arange(slowest[-1], ceiling.size), np.arange(slowest[0])])
        fastest = around[int(np.argmax(smooth[around]))]
        if fastest >= slowest[-1]:
            owner[fastest:] = 0
        else:
            owner[:fastest] = slowest.size - 1
    return owner


def scattered_laps(
    plan: DriverPlan,
    pace: float,
    scatter: DriverScatter,
    road: DriveRoad,
    layout: TrackLayout,
    corners: tuple[Corner, ...],
    *,
    laps: int,
    seed: int,
    car_width: float,
    progress: Callable[[int], None] = lambda done: None,
) -> ScatteredLaps:
    """Drive laps with a driver's scatter.

    Parameters
    ----------
    pace : on the quasi-steady speeds.
    progress : told how many laps are done; it may raise to stop.
    """
    plans = scattered_plan(plan, pace, scatter, laps=laps, seed=seed)
    parts: list[ScatteredLaps] = []
    for first in range(0, laps, _AT_ONCE):
        part = slice(first, min(first + _AT_ONCE, laps))
        rows = PacePlan(
            speed=plans.speed[part],
            ceiling=plans.ceiling[part],
            traction=plans.traction[part],
            unsteadiness=plans.unsteadiness[part],
        )
        run = drive_lap(
            made_ready([plan.car] * (part.stop - part.start)),
            plan.line,
            rows,
            habits=plan.habits,
            handling=plan.handling,
            road=road,
            interval=_INTERVAL,
        )
        parts.append(_measured(run, layout, corners, car_width))
        progress(part.stop)
    return ScatteredLaps(
        lap_time=np.concatenate([one.lap_time for one in parts]),
        good=np.concatenate([one.good for one in parts]),
        corner_time=np.concatenate([one.corner_time for one in parts]),
        largest_sideslip=np.concatenate([one.largest_sideslip for one in parts]),
        least_reserve=np.concatenate([one.least_reserve for one in parts]),
    )


def _measured(
    run: LapRun, layout: TrackLayout, corners: tuple[Corner, ...], car_width: float
) -> ScatteredLaps:
    cars = run.finished.size
    good = np.array([in_hand(run, car, layout, car_width=car_width) for car in range(cars)])
    rows = [LapRows(run, car) for car in range(cars)]
    times: list[list[CornerTime]] = [list(corner_times(one, corners)) for one in rows]
    return ScatteredLaps(
        lap_time=run.lap_time,
        good=good,
        corner_time=np.array([[one.time for one in lap] for lap in times]).reshape(cars, len(corners)),
        largest_sideslip=np.array([one.sideslip.max(initial=0.0) for one in rows]),
        least_reserve=np.array([_least_reserve(one, times[car]) for car, one in enumerate(rows)]),
    )


def _least_reserve(rows: LapRows, corners: list[CornerTime]) -> float:
    """Largest real part over the corners, each where its rear axle slips most."""
    slip = np.abs(rows.states[:, [X.slip_angle + 2, X.slip_angle + 3]]).max(axis=1)
    instants = [
        int(inside[np.argmax(slip[inside])])
        for one in corners
        if (inside := np.flatnonzero(rows.between(one.begin, one.end))).size
    ]
    if not instants:
        return float("nan")
    driven, car = rows.run.driven, rows.car
    engines = Engines(torque=driven.engines.torque[car : car + 1], spacing=driven.engines.spacing)
    reserve = drive_reserve(
        driven.parameters[car : car + 1], engines, rows.states[instants], rows.hands[instants]
    )
    return float(reserve.max())
