"""Laps of a driver who never brakes and steers twice alike: how repeatable a car with its set-up is."""

from dataclasses import dataclass
from itertools import pairwise
from typing import Literal

import numpy as np
from numpy.typing import NDArray
from scipy.ndimage import gaussian_filter1d

from fourpatch.analysis.axle_use import axle_use
from fourpatch.analysis.driven_lap import CornerTime, LapRows, corner_times, laps_in_hand, tyre_work
from fourpatch.analysis.driver_plan import DriverPlan
from fourpatch.events.drive_inputs import DriveRoad
from fourpatch.events.drive_stability import drive_reserve
from fourpatch.events.driver_style import DriverScatter
from fourpatch.events.lap import LapRun, PacePlan
from fourpatch.long_work import Cancelled, Progress, go_on, never, unwatched
from fourpatch.physics.layout import X
from fourpatch.track.corners import Corner
from fourpatch.track.layout import TrackLayout

Array = NDArray[np.float64]

_AT_ONCE = 16  # laps driven and held together: two cores full, and a second or so until it can be stopped
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
    corner_reserve: Array
    """(laps, corners) stability reserve where the rear axle slips most in each corner; positive would diverge
    if the driver held still. [1/s]"""
    corner_use: Array
    """(laps, corners, 2) mean over each corner of what the axles give of their grip (`axle_use`). [1]"""
    tyre_work: Array
    """(laps, 4) of sliding. [J]"""
    stopped: bool = False
    """Whether the user stopped it: these are the first of the laps that were asked for."""

    @property
    def least_reserve(self) -> Array:
        """Least stability reserve of each lap, over its corners, (laps,). [1/s]"""
        # A lap that came to no corner has none; maximum over nothing but NaN would warn.
        found = np.where(np.isnan(self.corner_reserve), -np.inf, self.corner_reserve)
        least = found.max(axis=1, initial=-np.inf)
        return np.where(np.isfinite(least), least, np.nan)

    @property
    def time_spread(self) -> float:
        """Standard deviation of the lap time of good laps. [s]"""
        return float(self.lap_time[self.good].std(ddof=1)) if self.good.sum() > 1 else float("nan")

    @property
    def use_spread(self) -> Array:
        """How far laps differ in the use of each axle in a corner, mean of the corners, (2,). [1]

        Notes
        -----
        Half of what lies between the 16th and the 84th of a hundred laps, one standard deviation of normal
        ones: a wheel that leaves the ground in one of them must not count for all.
        """
        low, high = np.nanpercentile(self.corner_use, (16.0, 84.0), axis=0)
        return np.asarray(0.5 * (high - low).mean(axis=0))


def scattered_plan(
    plan: DriverPlan, pace: float, scatter: DriverScatter, *, laps: int, seed: int
) -> PacePlan:
    """Return plans of one driver for laps that differ.

    Notes
    -----
    For each corner of each lap a normal draw moves the place where he brakes and another scales the speed he
    judges right; his hands are a normal process along the way, correlated over 15 m. A lap's draws hang on
    the seed and its number alone, so the first laps are the same however many are driven.
    """
    line, planned = plan.line, plan.at_pace(np.full(laps, pace))
    owner = corner_of_places(plan.ceiling, line.spacing, closed=line.closed)
    corners = int(owner.max()) + 1
    mode: Literal["wrap", "nearest"] = "wrap" if line.closed else "nearest"
    draws = [np.random.default_rng([seed, lap]) for lap in range(laps)]
    judged = np.array([one.standard_normal((2, corners)) for one in draws])[:, :, owner]
    shaken = np.array([one.standard_normal(owner.size) for one in draws])
    judged = gaussian_filter1d(judged, _BLEND / line.spacing, axis=-1, mode=mode)
    place = line.distance + scatter.brake_point * judged[:, 0]
    place = place % line.length if line.closed else np.clip(place, 0.0, line.length)
    shifted = np.interp(place.ravel(), line.distance, planned.ceiling[0]).reshape(place.shape)
    faster = 1.0 + scatter.corner_speed * judged[:, 1]
    hand = _smooth_noise(shaken, _HAND / line.spacing, mode) * scatter.steering / plan.car.steering.ratio
    return PacePlan(
        speed=planned.speed, ceiling=faster * shifted, traction=planned.traction, unsteadiness=hand
    )


def _smooth_noise(white: Array, reach: float, mode: Literal["wrap", "nearest"]) -> Array:
    """Return normal noise along the last axis, correlated over ``reach`` places, of standard deviation 1."""
    impulse = np.zeros(white.shape[-1])
    impulse[impulse.size // 2] = 1.0
    weights = gaussian_filter1d(impulse, reach, mode=mode)
    return np.asarray(gaussian_filter1d(white, reach, axis=-1, mode=mode) / np.linalg.norm(weights))


def corner_of_places(ceiling: Array, spacing: float, *, closed: bool) -> NDArray[np.intp]:
    """Number of the corner that each place's speed is planned for, (n,): parted where the plan is fastest."""
    smooth = gaussian_filter1d(ceiling, 10.0 / spacing, mode="wrap" if closed else "nearest")
    from scipy.signal import find_peaks

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
    progress: Progress = unwatched,
    cancelled: Cancelled = never,
) -> ScatteredLaps:
    """Drive laps with a driver's scatter.

    Parameters
    ----------
    pace : on the quasi-steady speeds.
    progress, cancelled : as `long_work`; stopped, it returns the laps that were driven.

    Raises
    ------
    Stopped
        If it is cancelled before the first laps are driven.
    """
    go_on(cancelled, "no lap was driven yet")
    progress(0.0, f"0 of {laps} laps")
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
        run = plan.drive(rows, road, interval=_INTERVAL)
        parts.append(_measured(run, road, layout, corners, car_width))
        progress(part.stop / laps, f"{part.stop} of {laps} laps")
        if part.stop < laps and cancelled():
            break
    return ScatteredLaps(
        stopped=part.stop < laps,
        lap_time=np.concatenate([one.lap_time for one in parts]),
        good=np.concatenate([one.good for one in parts]),
        corner_time=np.concatenate([one.corner_time for one in parts]),
        largest_sideslip=np.concatenate([one.largest_sideslip for one in parts]),
        corner_reserve=np.concatenate([one.corner_reserve for one in parts]),
        corner_use=np.concatenate([one.corner_use for one in parts]),
        tyre_work=np.concatenate([one.tyre_work for one in parts]),
    )


def _measured(
    run: LapRun, road: DriveRoad, layout: TrackLayout, corners: tuple[Corner, ...], car_width: float
) -> ScatteredLaps:
    cars = run.finished.size
    good = laps_in_hand(run, layout, car_width=car_width)
    rows = [LapRows(run, car) for car in range(cars)]
    times: list[list[CornerTime]] = [list(corner_times(one, corners)) for one in rows]
    return ScatteredLaps(
        lap_time=run.lap_time,
        good=good,
        corner_time=np.array([[one.time for one in lap] for lap in times]).reshape(cars, len(corners)),
        largest_sideslip=np.array([one.sideslip.max(initial=0.0) for one in rows]),
        corner_reserve=np.array([_reserves(one, road, times[car]) for car, one in enumerate(rows)]).reshape(
            cars, len(corners)
        ),
        corner_use=np.array([_uses(one, times[car]) for car, one in enumerate(rows)]).reshape(
            cars, len(corners), 2
        ),
        tyre_work=np.array([tyre_work(one) for one in rows]),
    )


def _uses(rows: LapRows, corners: list[CornerTime]) -> Array:
    """Mean use of both axles in each corner, (corners, 2); NaN where not reached."""
    use = axle_use(rows.parameters[None], rows.outputs[None]).use[0]
    inside = [rows.between(one.begin, one.end) for one in corners]
    return np.array([use[held].mean(axis=0) if held.any() else np.full(2, np.nan) for held in inside])


def _reserves(rows: LapRows, road: DriveRoad, corners: list[CornerTime]) -> Array:
    """Largest real part in each corner, where its rear axle slips most, (corners,); NaN where not reached."""
    slip = np.abs(rows.states[:, [X.slip_angle + 2, X.slip_angle + 3]]).max(axis=1)
    instants = {
        place: int(inside[np.argmax(slip[inside])])
        for place, one in enumerate(corners)
        if (inside := np.flatnonzero(rows.between(one.begin, one.end))).size
    }
    found = np.full(len(corners), np.nan)
    if instants:
        driven, car, at = rows.run.driven, rows.car, list(instants.values())
        engines = driven.engines.only(car)
        found[list(instants)] = drive_reserve(
            driven.parameters[car : car + 1], engines, rows.states[at], rows.hands[at], road=road
        )
    return found
