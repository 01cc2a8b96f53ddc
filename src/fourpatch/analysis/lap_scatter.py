"""How repeatable a car with its set-up is in one driver's hands: laps that differ as his do, in numbers."""

from dataclasses import dataclass
from typing import Annotated

import numpy as np
from numpy.typing import NDArray

from fourpatch.analysis.driver_scatter import ScatteredLaps, scattered_laps
from fourpatch.analysis.kept_back import kept_back
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

_PLAN, _LEARN = 20, 420  # laps that take as long as the plan and as learning, measured
_PRACTISED = 0.5  # share of learning after which he finds out what to keep back


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

    pace: Annotated[float | None, SHARE]
    """Asked for, a factor on the quasi-steady speeds; none if he practised."""
    best_practice: Annotated[float | None, TIME]
    """Lap he can drive without scatter, after practice; none if a pace was asked for."""
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
        """Say whether the user stopped it before all laps, or how fast he can be, were known."""
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
    pace : a factor on the quasi-steady speeds; if left out, the driver practises (`practise`) and finds out
        what he must keep back for his own unevenness (`kept_back`). [1]
    seed : of the road's random surfaces and of the driver's draws.
    progress, cancelled : as `long_work`; stopped, it sums up the laps that were driven.

    Raises
    ------
    TrackError, EventError, SolveError
        As `study_drive`; also if fewer than two laps are good.
    Stopped
        If it is cancelled before two good laps are driven.
    """
    before = _PLAN if pace is not None else _PLAN + _LEARN
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
        practised=True,
        progress=stretch(progress, 0.0, _PRACTISED * ready_at),
        cancelled=cancelled,
    )
    corners = tuple(find_corners(ready.layout))
    scatter = scatter or DriverScatter()
    plan = ready.plan
    if pace is None:
        plan = kept_back(
            plan,
            scatter,
            ready.road,
            ready.layout,
            car_width=ready.car_width,
            seed=seed,
            progress=stretch(progress, _PRACTISED * ready_at, ready_at),
            cancelled=cancelled,
        )
    found = scattered_laps(
        plan,
        1.0 if pace is None else pace,
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
    summary = lap_scatter(found, ready, pace=pace, asked=laps)
    return ScatterStudy(track=track, scatter=scatter, laps=found, summary=summary)


def lap_scatter(found: ScatteredLaps, ready: ReadyToDrive, *, pace: float | None, asked: int) -> LapScatter:
    """Return scattered laps in numbers.

    Parameters
    ----------
    pace : that was asked for, if one was.
    asked : laps that were asked for.

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
        where = "after practice" if pace is None else f"at {100.0 * pace:.1f} % of the quasi-steady speeds"
        raise SolveError(
            f"laps: {where} {int(good.sum())} of {good.size} laps stayed on the road and in hand, and a "
            "spread needs two. Ask for a lower pace or less scatter."
        )

    def mean(row: Array) -> float:
        return float(row[good].mean())

    def spread(row: Array) -> float:
        return float(row[good].std(ddof=1))

    return LapScatter(
        pace=pace,
        best_practice=ready.practice.lap_time if ready.practice else None,
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
