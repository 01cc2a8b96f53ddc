"""What pace one uneven driver holds in each of many cars, found by driving laps that are only summed up."""

from collections.abc import Callable, Sequence
from dataclasses import dataclass, replace

import numpy as np
from numpy.typing import NDArray

from fourpatch.analysis.driven_lap import OUT_OF_HAND
from fourpatch.analysis.driver_plan import DriverPlan
from fourpatch.analysis.driver_scatter import scattered_plan
from fourpatch.car.car import Car
from fourpatch.compute.lap_task import LapSums, LapTask
from fourpatch.errors import SolveError
from fourpatch.events.drive import made_ready
from fourpatch.events.drive_inputs import DriveRoad
from fourpatch.events.driver_style import DriverScatter
from fourpatch.events.lap import PacePlan
from fourpatch.events.lap_sums import SummedLaps, lap_gates, lay_summed_laps, room_beside, summed
from fourpatch.long_work import Cancelled, Progress, go_on, never, unwatched
from fourpatch.track.corners import Corner
from fourpatch.track.layout import TrackLayout

Array = NDArray[np.float64]

LAPS = 16
"""Driven at each pace, which differ by the driver's draws."""
NEEDED = 15
"""Of them in hand for a pace to count as held.  Chosen here."""
PACE_STEP = 0.004
"""Between neighbouring paces, on that of the middle. [1]"""

_ROUNDS = 5  # of halving: 31 paces, 6 % to either side of the middle

DriveLaps = Callable[[LapTask], LapSums]
"""What drives a task's laps."""


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class HeldPaces:
    """What each car is driven at; not a number where not even the lowest pace is held."""

    pace: Array
    """(cars,) the highest that is held, on the plan's quasi-steady speeds. [1]"""
    lap_time: Array
    """(cars,) mean of the laps in hand at it. [s]"""
    time_spread: Array
    """(cars,) their standard deviation. [s]"""
    laps: int
    """Driven in all."""
    not_finite: tuple[int, ...]
    """Cars of which no lap was of finite numbers: faults of theirs, not of the others, nor slow cars."""
    no_start: tuple[int, ...]
    """Cars that roll steadily at no speed near the plan's, so that none was driven."""


class HeldCourse:
    """A driver with his plan, his draws and a road, laid once for any number of cars.

    Notes
    -----
    All cars are driven by one plan, that of the car it was made for, scaled: a driver who goes by what he
    knows. A car whose own plan would be shaped otherwise is held back by it; that is the caution of any test
    before a driver has learned the car.
    """

    def __init__(
        self,
        plan: DriverPlan,
        scatter: DriverScatter,
        road: DriveRoad,
        layout: TrackLayout,
        corners: Sequence[Corner],
        *,
        middle: float,
        seed: int,
        car_width: float,
    ) -> None:
        self.plan, self.road, self.middle = plan, road, middle
        self._gates = lap_gates(plan.line, corners)
        self._room = room_beside(plan.line, layout, car_width=car_width)
        self._most = 2**_ROUNDS
        self.paces = middle * (1.0 + PACE_STEP * (np.arange(self._most) - self._most // 2))
        rows = [scattered_plan(plan, pace, scatter, laps=LAPS, seed=seed) for pace in self.paces[1:].tolist()]
        names = ("speed", "ceiling", "traction", "unsteadiness")
        self._pace = PacePlan(
            **{name: np.concatenate([getattr(one, name) for one in rows]) for name in names}
        )

    def held(
        self,
        cars: Sequence[Car],
        drive: DriveLaps,
        *,
        progress: Progress = unwatched,
        cancelled: Cancelled = never,
    ) -> HeldPaces:
        """Find the highest pace that each car's driver holds, halving the range from round to round.

        Parameters
        ----------
        drive : drives all laps of a round.
        progress, cancelled : as `long_work`.

        Raises
        ------
        Stopped
            If it is cancelled between two rounds.

        Notes
        -----
        A pace is held if `NEEDED` of `LAPS` laps stay on the road and in hand; above one that is not, none is
        looked for. All cars have the same draws.
        """
        task, no_start = self._laid(cars)
        count = len(cars)
        low, high = np.zeros(count, dtype=np.intp), np.full(count, self._most)
        lap_time, spread = np.full((2, count), np.nan)
        finite = np.zeros(count, dtype=bool)
        driven = np.setdiff1d(np.arange(count), no_start)
        for number in range(_ROUNDS if driven.size else 0):
            go_on(cancelled, "no car's pace was found yet")
            progress(number / _ROUNDS, f"paces of {count} set-ups, round {number + 1} of {_ROUNDS}")
            middle = (low + high)[driven] // 2
            sums = drive(_laps_of(task, middle))
            finite[driven] |= np.isfinite(sums.lap).all(axis=1).reshape(-1, LAPS).any(axis=1)
            found = summed(sums, self._gates)
            times = np.where(_in_hand(found), found.lap_time, np.nan).reshape(-1, LAPS)
            good = np.isfinite(times)
            borne = good.sum(axis=1) >= NEEDED
            better = driven[borne]
            low[better], high[driven[~borne]] = middle[borne], middle[~borne]
            lap_time[better] = np.nanmean(times[borne], axis=1)
            spread[better] = np.nanstd(times[borne], axis=1, ddof=1)
        return HeldPaces(
            pace=np.where(low > 0, self.paces[low], np.nan),
            lap_time=lap_time,
            time_spread=spread,
            laps=_ROUNDS * LAPS * driven.size,
            not_finite=tuple(driven[~finite[driven]].tolist()),
            no_start=no_start,
        )

    def _laid(self, cars: Sequence[Car]) -> tuple[LapTask, tuple[int, ...]]:
        """Return the task of all cars that can start, one lap each, and who cannot."""
        numbers, out = list(range(len(cars))), list[int]()
        while True:
            try:
                return self._task([cars[k] for k in numbers]), tuple(out)
            except SolveError:
                alone = [k for k in numbers if not self._starts(cars[k])]
                if not alone or len(alone) == len(numbers):
                    raise
                out += alone
                numbers = [k for k in numbers if k not in alone]

    def _starts(self, car: Car) -> bool:
        try:
            self._task([car])
        except SolveError:
            return False
        return True

    def _task(self, cars: Sequence[Car]) -> LapTask:
        start = (self._most // 2 - 1) * LAPS
        return lay_summed_laps(
            made_ready(cars),
            self.plan.line,
            self._pace,
            habits=self.plan.habits,
            handling=self.plan.handling,
            road=self.road,
            gates=self._gates,
            room=self._room,
            rows=np.full(len(cars), start),
        )


def _laps_of(task: LapTask, paces: NDArray[np.intp]) -> LapTask:
    """Return the laps of a round: `LAPS` with each car, one after the other, at its pace."""
    laps = task.chosen(np.repeat(np.arange(task.cars), LAPS))
    rows = laps.rows.copy()
    rows[0] = (np.repeat(paces - 1, LAPS) * LAPS) + np.tile(np.arange(LAPS), task.cars)
    return replace(laps, rows=rows)


def _in_hand(found: SummedLaps) -> NDArray[np.bool_]:
    """Say which laps were finished on the road and never far sideways, as `driven_lap.in_hand` has it."""
    kept = (found.least_room >= 0.0) & (found.largest_sideslip <= OUT_OF_HAND)
    return np.asarray(found.finished & np.isfinite(found.lap_time) & kept)
