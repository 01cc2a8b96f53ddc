"""The highest pace at which a car with its set-up stays on the road and in hand."""

from collections.abc import Callable
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from fourpatch.analysis.driven_lap import in_hand
from fourpatch.analysis.driver_plan import DriverPlan
from fourpatch.errors import SolveError
from fourpatch.events.drive import made_ready
from fourpatch.events.drive_inputs import DriveRoad
from fourpatch.events.lap import LapRun, drive_lap
from fourpatch.track.layout import TrackLayout

Array = NDArray[np.float64]

SLOWEST, FASTEST = 0.70, 1.06
"""Pace factors between which is searched: shares of the quasi-steady speeds."""

_ROUNDS = (13, 8)  # paces tried at once, coarse and then between the last good and the first bad


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class PaceSearch:
    """Paces that were driven, in rising order, and the highest one that was good."""

    pace: Array
    """(n,)"""
    lap_time: Array
    """(n,) not a number if the lap was not finished. [s]"""
    good: NDArray[np.bool_]
    """(n,) whether the car stayed on the road and in hand."""
    best: float
    """The highest good pace below which every one tried was good."""


def drive_at_paces(plan: DriverPlan, paces: Array, road: DriveRoad, *, interval: float = 0.02) -> LapRun:
    """Drive a lap at each pace, side by side."""
    return drive_lap(
        made_ready([plan.car] * paces.size),
        plan.line,
        plan.at_pace(paces),
        habits=plan.habits,
        handling=plan.handling,
        road=road,
        interval=interval,
    )


def search_pace(
    plan: DriverPlan,
    road: DriveRoad,
    layout: TrackLayout,
    *,
    car_width: float,
    progress: Callable[[str], None] = lambda text: None,
) -> PaceSearch:
    """Find the highest pace.

    Parameters
    ----------
    road : along the plan's line, from `lay_lap_road`.
    layout : of the track.
    car_width : over the tyres. [m]
    progress : told what is being driven.

    Raises
    ------
    SolveError
        If the car does not even stay on the road at the slowest pace.

    Notes
    -----
    Paces are tried by even steps over the whole range, then between the last good one and the first bad
    one, to a two-thousandth or so. A pace above a bad one is not credited, even if it were good by luck.
    """
    driven: dict[float, tuple[float, bool]] = {}
    low, high = SLOWEST, FASTEST
    for count in _ROUNDS:
        paces = np.array([p for p in np.linspace(low, high, count) if round(p, 6) not in driven])
        progress(f"pace {100.0 * low:.1f} to {100.0 * high:.1f} %")
        run = drive_at_paces(plan, paces, road)
        for car, pace in enumerate(paces):
            good = in_hand(run, car, layout, car_width=car_width)
            driven[round(float(pace), 6)] = (float(run.lap_time[car]), good)
        tried = np.array(sorted(driven))
        good = np.array([driven[pace][1] for pace in tried])
        if not good[0]:
            raise SolveError(
                f"lap: at {100.0 * SLOWEST:.0f} % of the quasi-steady speeds the car leaves the road or is lost "
                "already. Give the line more room from the edges, or look at what the car does there: run lap "
                "--pace."
            )
        first_bad = int(np.argmin(good)) if not good.all() else good.size
        if first_bad == good.size:
            break
        low, high = float(tried[first_bad - 1]), float(tried[first_bad])
    tried = np.array(sorted(driven))
    good = np.array([driven[pace][1] for pace in tried])
    first_bad = int(np.argmin(good)) if not good.all() else good.size
    return PaceSearch(
        pace=tried,
        lap_time=np.array([driven[pace][0] for pace in tried]),
        good=good,
        best=float(tried[first_bad - 1]),
    )
