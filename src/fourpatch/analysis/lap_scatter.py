"""How repeatable a car with its set-up is in one driver's hands: laps that differ as his do, in numbers."""

from dataclasses import dataclass
from typing import Annotated

import numpy as np
from numpy.typing import NDArray

from fourpatch.analysis.driver_scatter import ScatteredLaps, scattered_laps
from fourpatch.analysis.lap_drive import DRIVER_MARGIN, ReadyToDrive, ready_to_drive
from fourpatch.analysis.quantity import ANGLE, DECAY, RATIO, SHARE, TIME, Findings
from fourpatch.car.car import Car
from fourpatch.errors import SolveError, Stopped
from fourpatch.events.driver_style import DriverScatter, DriverStyle
from fourpatch.long_work import Cancelled, Progress, never, stretch, unwatched
from fourpatch.track.corners import find_corners
from fourpatch.track.racing_line import FLAT_KERB
from fourpatch.track.track import Track

Array = NDArray[np.float64]

KEPT_BACK = 0.02
"""Of the highest pace, that a driver who is never twice alike keeps back.  Chosen here. [1]"""

_PLAN, _SEARCH = 20, 90  # laps that take as long as the plan and as the search of the pace, measured


class CornerScatter(Findings):
    """How far apart a corner's times are."""

    corner: str
    """Its number, counted from the start line."""
    time: Annotated[float, TIME]
    """Mean of the good laps."""
    spread: Annotated[float, TIME]
    """Standard deviation of the good laps."""
    least_reserve: Annotated[float, DECAY]
    """Mean over the good laps of the least stability reserve in it."""
    least_reserve_spread: Annotated[float, DECAY]
    """Standard deviation of it."""


class LapScatter(Findings):
    """Laps of one driver, each braked, judged and steered a little differently."""

    pace: Annotated[float, SHARE]
    """Driven, a factor on the quasi-steady speeds."""
    highest_pace: Annotated[float | None, SHARE]
    """That the driver bears without scatter; none if a pace was asked for."""
    asked: Annotated[int, RATIO]
    """Laps that were asked for; more than were driven if it was stopped."""
    laps: Annotated[int, RATIO]
    """Driven."""
    good_laps: Annotated[int, RATIO]
    """Of them on the road and in hand from start to end."""
    lap_time: Annotated[float, TIME]
    """Mean of the good laps."""
    lap_time_spread: Annotated[float, TIME]
    """Standard deviation of the good laps."""
    fastest: Annotated[float, TIME]
    """Of the good laps."""
    slowest: Annotated[float, TIME]
    """Of the good laps."""
    largest_sideslip: Annotated[float, ANGLE]
    """Mean over the good laps of the largest in each."""
    largest_sideslip_spread: Annotated[float, ANGLE]
    """Standard deviation of it."""
    least_reserve: Annotated[float, DECAY]
    """Mean over the good laps of the least stability reserve: real part of the slower motion in which
    the car turns, where the rear axle slips most in a corner, controls held; positive would swing round if
    the driver held still."""
    least_reserve_spread: Annotated[float, DECAY]
    """Standard deviation of it."""
    corners: tuple[CornerScatter, ...]
    """In driving direction."""


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class ScatterStudy:
    """A driver's laps with all that their summary and their picture are made from."""

    track: Track
    scatter: DriverScatter
    laps: ScatteredLaps
    summary: LapScatter

    @property
    def stopped(self) -> bool:
        """Say whether the user stopped it before all laps, or the highest pace, were known."""
        return self.summary.laps < self.summary.asked


def study_scatter(
    car: Car,
    track: Track,
    *,
    laps: int,
    scatter: DriverScatter | None = None,
    style: DriverStyle | None = None,
    pace: float | None = None,
    margin: float = DRIVER_MARGIN,
    seed: int = 1,
    progress: Progress = unwatched,
    cancelled: Cancelled = never,
) -> ScatterStudy:
    """Drive a car round a track many times.

    Parameters
    ----------
    laps : to drive.
    pace : a factor on the quasi-steady speeds; if left out, `KEPT_BACK` below the highest that the driver
        bears without scatter. [1]
    seed : of the road's random surfaces and of the driver's draws.
    progress, cancelled : as `long_work`; stopped, it sums up the laps that were driven.

    Raises
    ------
    TrackError, EventError, SolveError
        As `study_drive`; also if fewer than two laps are good.
    Stopped
        If it is cancelled before two good laps are driven.
    """
    before = _PLAN if pace is not None else _PLAN + _SEARCH
    ready_at = before / (before + laps)
    ready = ready_to_drive(
        car,
        track,
        style=style,
        pace=pace,
        margin=margin,
        kerb_share=0.0,
        flat_kerb=FLAT_KERB,
        seed=seed,
        progress=stretch(progress, 0.0, ready_at),
        cancelled=cancelled,
    )
    highest = ready.search.best if ready.search else None
    driven = pace if pace is not None else (highest or 1.0) * (1.0 - KEPT_BACK)
    corners = tuple(find_corners(ready.layout))
    scatter = scatter or DriverScatter()
    found = scattered_laps(
        ready.plan,
        driven,
        scatter,
        ready.road,
        ready.layout,
        corners,
        laps=laps,
        seed=seed,
        car_width=ready.car_width,
        progress=stretch(progress, ready_at, 1.0),
        cancelled=cancelled,
    )
    summary = lap_scatter(found, ready, pace=driven, asked=laps)
    return ScatterStudy(track=track, scatter=scatter, laps=found, summary=summary)


def lap_scatter(found: ScatteredLaps, ready: ReadyToDrive, *, pace: float, asked: int) -> LapScatter:
    """Return scattered laps in numbers.

    Raises
    ------
    SolveError, Stopped
        If fewer than two laps are good.
    """
    good = found.good
    if good.sum() < 2:
        if found.stopped:
            raise Stopped(
                f"Stopped after {good.size} of {asked} laps, {int(good.sum())} of them on the road and in "
                "hand: a spread needs two."
            )
        raise SolveError(
            f"laps: at {100.0 * pace:.1f} % of the quasi-steady speeds {int(good.sum())} of {good.size} laps "
            "stayed on the road and in hand, and a spread needs two. Ask for a lower pace or less scatter."
        )

    def mean(row: Array) -> float:
        return float(row[good].mean())

    def spread(row: Array) -> float:
        return float(row[good].std(ddof=1))

    return LapScatter(
        pace=pace,
        highest_pace=ready.search.best if ready.search else None,
        asked=asked,
        laps=good.size,
        good_laps=int(good.sum()),
        lap_time=mean(found.lap_time),
        lap_time_spread=spread(found.lap_time),
        fastest=float(found.lap_time[good].min()),
        slowest=float(found.lap_time[good].max()),
        largest_sideslip=mean(found.largest_sideslip),
        largest_sideslip_spread=spread(found.largest_sideslip),
        least_reserve=mean(found.least_reserve),
        least_reserve_spread=spread(found.least_reserve),
        corners=tuple(
            CornerScatter(
                corner=str(k + 1),
                time=mean(time),
                spread=spread(time),
                least_reserve=mean(reserve),
                least_reserve_spread=spread(reserve),
            )
            for k, (time, reserve) in enumerate(zip(found.corner_time.T, found.corner_reserve.T, strict=True))
        ),
    )
