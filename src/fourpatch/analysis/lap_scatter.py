"""How repeatable a car with its set-up is in one driver's hands: laps that differ as his do, in numbers."""

from collections.abc import Callable
from typing import Annotated

import numpy as np
from numpy.typing import NDArray

from fourpatch.analysis.driver_scatter import ScatteredLaps, scattered_laps
from fourpatch.analysis.lap_drive import DRIVER_MARGIN, ReadyToDrive, ready_to_drive
from fourpatch.analysis.lap_heat import TIME
from fourpatch.analysis.quantity import ANGLE, DECAY, RATIO, SHARE, Findings
from fourpatch.car.car import Car
from fourpatch.errors import SolveError
from fourpatch.events.driver_style import DriverScatter, DriverStyle
from fourpatch.track.corners import find_corners
from fourpatch.track.racing_line import FLAT_KERB
from fourpatch.track.track import Track

Array = NDArray[np.float64]

KEPT_BACK = 0.02
"""Of the highest pace, that a driver who is never twice alike keeps back.  Chosen here. [1]"""


class CornerScatter(Findings):
    """How far apart a corner's times are."""

    corner: str
    """Its number, counted from the start line."""
    time: Annotated[float, TIME]
    """Mean of the good laps."""
    spread: Annotated[float, TIME]
    """Standard deviation of the good laps."""


class LapScatter(Findings):
    """Laps of one driver, each braked, judged and steered a little differently."""

    pace: Annotated[float, SHARE]
    """Driven, a factor on the quasi-steady speeds."""
    highest_pace: Annotated[float | None, SHARE]
    """That the driver bears without scatter; none if a pace was asked for."""
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
    """Mean over the good laps of the least stability reserve: largest real part of an eigenvalue where the
    rear axle slips most in a corner, controls held; positive would swing round if the driver held still."""
    least_reserve_spread: Annotated[float, DECAY]
    """Standard deviation of it."""
    corners: tuple[CornerScatter, ...]
    """In driving direction."""


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
    progress: Callable[[str], None] = lambda text: None,
) -> LapScatter:
    """Drive a car round a track many times.

    Parameters
    ----------
    laps : to drive.
    pace : a factor on the quasi-steady speeds; if left out, `KEPT_BACK` below the highest that the driver
        bears without scatter. [1]
    seed : of the road's random surfaces and of the driver's draws.
    progress : told what is being computed; what it raises stops it.

    Raises
    ------
    TrackError, EventError, SolveError
        As `study_drive`; also if fewer than two laps are good.
    """
    ready = ready_to_drive(
        car,
        track,
        style=style,
        pace=pace,
        margin=margin,
        kerb_share=0.0,
        flat_kerb=FLAT_KERB,
        seed=seed,
        progress=progress,
    )
    highest = ready.search.best if ready.search else None
    driven = pace if pace is not None else (highest or 1.0) * (1.0 - KEPT_BACK)
    corners = tuple(find_corners(ready.layout))
    found = scattered_laps(
        ready.plan,
        driven,
        scatter or DriverScatter(),
        ready.road,
        ready.layout,
        corners,
        laps=laps,
        seed=seed,
        car_width=ready.car_width,
        progress=lambda done: progress(f"{done} of {laps} laps"),
    )
    return lap_scatter(found, ready, pace=driven)


def lap_scatter(found: ScatteredLaps, ready: ReadyToDrive, *, pace: float) -> LapScatter:
    """Return scattered laps in numbers.

    Raises
    ------
    SolveError
        If fewer than two laps are good.
    """
    good = found.good
    if good.sum() < 2:
        raise SolveError(
            f"laps: at {100.0 * pace:.1f} % of the quasi-steady speeds {int(good.sum())} of {good.size} laps "
            "stayed on the road and in hand, and a spread needs two. Ask for a lower pace or less scatter."
        )
    times = found.corner_time[good]

    def mean(row: Array) -> float:
        return float(row[good].mean())

    def spread(row: Array) -> float:
        return float(row[good].std(ddof=1))

    return LapScatter(
        pace=pace,
        highest_pace=ready.search.best if ready.search else None,
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
            CornerScatter(corner=str(k + 1), time=float(row.mean()), spread=float(row.std(ddof=1)))
            for k, row in enumerate(times.T)
        ),
    )
