"""The highest pace at which a car with its set-up stays on the road and in hand."""

from dataclasses import dataclass, replace

import numpy as np
from numpy.typing import NDArray

from fourpatch.analysis.driven_lap import laps_in_hand
from fourpatch.analysis.driver_plan import DriverPlan
from fourpatch.errors import SolveError
from fourpatch.events.drive_inputs import DriveRoad
from fourpatch.long_work import Cancelled, Progress, go_on, never, unwatched
from fourpatch.track.layout import TrackLayout

Array = NDArray[np.float64]

SLOWEST, USUAL, FASTEST = 0.45, 0.70, 1.06
"""Shares of the quasi-steady speeds: the slowest that is tried if the usual slowest is not borne, the usual
slowest, and the fastest."""

_SLOW = 9  # paces tried at once below the usual ones
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
    stopped: bool = False
    """Whether the user stopped it: then the highest good pace may lie nearer to the first bad one."""

    @property
    def best(self) -> float:
        """The highest good pace below which every one tried was good."""
        bad = np.flatnonzero(~self.good)
        return float(self.pace[bad[0] - 1 if bad.size else -1])

    @property
    def best_lap_time(self) -> float:
        """At the highest good pace. [s]"""
        return float(self.lap_time[self.pace.searchsorted(self.best)])

    def joined(self, other: "PaceSearch") -> "PaceSearch":
        """Return the paces of both in rising order, each once."""
        pace, first = np.unique(np.append(self.pace, other.pace), return_index=True)
        return PaceSearch(
            pace=pace,
            lap_time=np.append(self.lap_time, other.lap_time)[first],
            good=np.append(self.good, other.good)[first],
        )


def search_pace(
    plan: DriverPlan,
    road: DriveRoad,
    layout: TrackLayout,
    *,
    car_width: float,
    progress: Progress = unwatched,
    cancelled: Cancelled = never,
) -> PaceSearch:
    """Find the highest pace.

    Parameters
    ----------
    road : along the plan's line, from `lay_lap_road`.
    layout : of the track.
    car_width : over the tyres. [m]
    progress, cancelled : as `long_work`; stopped after the first round it returns what that found.

    Raises
    ------
    SolveError
        If the car does not even stay on the road at the slowest pace.
    Stopped
        If it is cancelled before any pace is known.

    Notes
    -----
    Paces are tried by even steps over the usual range, below it if its slowest is not borne, then between the
    last good one and the first bad one, to four thousandths or so. A pace above a bad one is not credited,
    even if it were good by luck.
    """
    found = PaceSearch(pace=np.array([]), lap_time=np.array([]), good=np.array([], dtype=bool))
    low, high = USUAL, FASTEST
    for number, count in enumerate(_ROUNDS):
        if number and cancelled():
            return replace(found, stopped=True)
        go_on(cancelled, "no pace was driven yet")
        progress(sum(_ROUNDS[:number]) / sum(_ROUNDS), f"pace {100.0 * low:.1f} to {100.0 * high:.1f} %")
        found = found.joined(_tried(plan, np.linspace(low, high, count), road, layout, car_width))
        if not found.good[0]:
            slow = np.linspace(SLOWEST, USUAL, _SLOW, endpoint=False)
            found = found.joined(_tried(plan, slow, road, layout, car_width))
        bad = np.flatnonzero(~found.good)
        if bad.size == 0:
            break
        if bad[0] == 0:
            raise SolveError(
                f"lap: at {100.0 * SLOWEST:.0f} % of the quasi-steady speeds the car already leaves the road "
                "or is lost. Leave the line more room from the edges, or look where it happens by driving at "
                "that pace."
            )
        low, high = float(found.pace[bad[0] - 1]), float(found.pace[bad[0]])
    return found


def _tried(
    plan: DriverPlan, paces: Array, road: DriveRoad, layout: TrackLayout, car_width: float
) -> PaceSearch:
    run = plan.drive(plan.at_pace(paces), road)
    good = laps_in_hand(run, layout, car_width=car_width)
    return PaceSearch(pace=paces, lap_time=run.lap_time, good=good)
