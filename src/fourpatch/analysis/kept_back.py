"""What a driver who is never twice alike keeps back, where on the track he would be caught out."""

from collections.abc import Iterator
from dataclasses import replace

import numpy as np
from numpy.typing import NDArray

from fourpatch.analysis.driven_lap import LapRows, stayed_in_hand
from fourpatch.analysis.driver_plan import DriverPlan
from fourpatch.analysis.driver_scatter import scattered_plan
from fourpatch.analysis.plan_pieces import plan_pieces
from fourpatch.events.drive_inputs import DriveRoad
from fourpatch.events.driver_style import DriverScatter
from fourpatch.events.lap import LapRun
from fourpatch.long_work import Cancelled, Progress, never, unwatched
from fourpatch.track.layout import TrackLayout

Array = NDArray[np.float64]

_ROUNDS, _LAPS = 12, 32
_BORNE = 1  # laps of a round that may go wrong: 3 %
_LEAST, _MOST = 0.01, 0.06  # of the speed of a piece, that one round takes back
_AT_FIRST = 0.01  # everywhere: what was learned without scatter is the edge
_AFTER = 10.0  # within so much of the beginning of a piece the piece before it has its part in a fault [m]


def kept_back(
    plan: DriverPlan,
    scatter: DriverScatter,
    road: DriveRoad,
    layout: TrackLayout,
    *,
    car_width: float,
    seed: int,
    progress: Progress = unwatched,
    cancelled: Cancelled = never,
) -> DriverPlan:
    """Return the plan of a driver who has found out where his own unevenness is too much for his speed.

    Parameters
    ----------
    plan : after practice.
    scatter : his.
    car_width : over the tyres. [m]
    seed : of his draws here.
    progress, cancelled : as `long_work`; stopped, he keeps back what he knows to by then.

    Notes
    -----
    Rounds of 32 laps with draws that no later lap has. Where laps first leave the road or are lost, he takes
    speed back in that piece and the one before it, the more the more laps it was, until one lap of a round
    at the most goes wrong. Chosen here; no published source.
    """
    pieces = plan_pieces(plan)
    kept = np.full(pieces.count, 1.0 - _AT_FIRST)
    for number in range(_ROUNDS):
        now = replace(plan, learned=plan.learned * pieces.spread(kept[None])[0])
        if cancelled():
            return now
        progress(number / _ROUNDS, "finding out what to keep back")
        laps = scattered_plan(now, 1.0, scatter, laps=_LAPS, seed=_own_seed(seed, number))
        run = now.drive(laps, road)
        faults = np.array(list(_faults(run, layout, car_width)))
        if faults.size <= _BORNE:
            return now
        for piece in range(pieces.count):
            begin, end = pieces.bounds(piece)
            here = pieces.lie_between(faults, begin, end + _AFTER).sum() / _LAPS
            if here > 0.0:
                kept[[piece, piece - 1]] *= 1.0 - np.clip(_MOST * here, _LEAST, _MOST)
    return now


def _own_seed(seed: int, number: int) -> int:
    return 1_000_003 * (seed + 1) + number


def _faults(run: LapRun, layout: TrackLayout, car_width: float) -> Iterator[float]:
    """Yield how far along each lap that went wrong it did first. [m]"""
    for lap in range(run.finished.size):
        rows = LapRows(run, lap)
        wrong = np.flatnonzero(~stayed_in_hand(rows, layout, car_width=car_width))
        if wrong.size:
            yield float(rows.distance[wrong[0]])
        elif not run.finished[lap]:
            yield float(rows.distance[-1]) if rows.distance.size else 0.0
