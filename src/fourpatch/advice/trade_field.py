"""A trade-off decided by driving: which of many set-ups lets one uneven driver hold the quickest lap."""

from collections.abc import Sequence
from dataclasses import dataclass
from itertools import product

import numpy as np
from scipy.stats import spearmanr

from fourpatch.advice.trade_off import Positions, TradeOff, drawn, placed
from fourpatch.analysis.held_pace import HeldCourse, HeldPaces
from fourpatch.analysis.lap_drive import ReadyToDrive
from fourpatch.car.car import Car
from fourpatch.car.setup import Setup, apply_setup
from fourpatch.compute.gpu import Gpu, GpuFault
from fourpatch.compute.lap_task import LapSums, LapTask
from fourpatch.errors import CarError
from fourpatch.events.driver_style import DriverScatter
from fourpatch.events.lap_sums import lane_sums
from fourpatch.events.many_laps import drive_many, said_where, usable_gpu
from fourpatch.long_work import Cancelled, Progress, go_on, never, stretch, unwatched
from fourpatch.track.corners import Corner

FIELD = {"GPU": 5000, "processor": 12}
"""Set-ups that are driven, by what drives them: ten seconds or so of a large card, and of two cores."""

_SCREENED = 0.7  # of the work: the rest confirms
_ENOUGH = 5  # set-ups whose order is told


@dataclass(frozen=True, slots=True, kw_only=True)
class Held:
    """The quickest pace held with a set-up, in double precision and by draws it was not chosen by."""

    pace: float | None
    """On the quasi-steady speeds of the present set-up; None if not even the slowest tried is held. [1]"""
    lap_time: float | None
    """Mean of its laps in hand. [s]"""


@dataclass(frozen=True, slots=True, kw_only=True)
class DrivenField:
    """Set-ups that were screened by driving."""

    setups: int
    """How many, the present one included."""
    laps: int
    where: str
    """Who drove them, a sentence."""
    quickest: Positions
    """Of all: held with the quickest lap in the screening; the present set-up itself if none is quicker."""
    held: dict[Positions, Held]
    """Of it and of the set-ups that are shown."""
    order: float | None
    """Rank correlation of the laps held with the search's pace, over the set-ups that both know; None of
    fewer than five. [1]"""
    not_finite: tuple[Positions, ...]
    """Set-ups of which no lap was of finite numbers."""
    not_driven: int
    """Set-ups that cannot be made, roll steadily at no speed near the plan's, or hold no pace that was
    tried."""


def drive_field(
    car: Car,
    setup: Setup,
    found: TradeOff,
    ready: ReadyToDrive,
    corners: tuple[Corner, ...],
    *,
    pace: float,
    shown: Sequence[Positions],
    seed: int,
    field: int | None = None,
    progress: Progress = unwatched,
    cancelled: Cancelled = never,
) -> DrivenField:
    """Drive many set-ups, and those that are shown once more in double precision.

    Parameters
    ----------
    ready : with the present set-up's plan.
    pace : about which paces are tried, on that plan. [1]
    shown : set-ups to be confirmed beside the quickest.
    field : how many to drive at most; as many as the device at hand does in ten seconds if left out.
    progress, cancelled : as `long_work`.

    Raises
    ------
    SolveError
        If the present set-up cannot be driven.
    Stopped
        If it is cancelled.

    Notes
    -----
    On a GPU all set-ups there are, up to `FIELD`, else a seeded sample of them; on the processor the present
    one, the shown ones and the search's front. Each is driven with a driver's scatter at paces that close in
    on the highest he holds (`HeldCourse`). The best of many by a few draws is partly lucky, so the present
    set-up and those shown are driven again by other draws, in double precision on the processor. Of a GPU
    that is given up on the way nothing is kept: the processor's smaller field is driven instead.
    """

    def course(draws: int) -> HeldCourse:
        return HeldCourse(
            ready.plan,
            DriverScatter(),
            ready.road,
            ready.layout,
            corners,
            middle=pace,
            seed=draws,
            car_width=ready.car_width,
        )

    first = list(dict.fromkeys([found.present.positions, *shown]))
    screen = _Screen(car, setup, found, course(seed))
    told = stretch(progress, 0.0, _SCREENED)
    on_gpu = isinstance(usable_gpu(), Gpu)
    try:
        most = field or FIELD["GPU" if on_gpu else "processor"]
        held = screen.drive(_field(found, first, most, all_there_are=on_gpu), not on_gpu, told, cancelled)
    except GpuFault:
        few = _field(found, first, field or FIELD["processor"], all_there_are=False)
        held = screen.drive(few, True, stretch(progress, _SCREENED, _SCREENED), cancelled)
    times = np.where(np.isfinite(held.lap_time), held.lap_time, np.inf)
    quickest = screen.positions[int(np.argmin(times))] if np.isfinite(times).any() else first[0]
    sure = list(dict.fromkeys([*first, quickest]))
    again = course(seed + 1).held(
        [screen.made(one) for one in sure],
        _in_double,
        progress=stretch(progress, _SCREENED, 1.0),
        cancelled=cancelled,
    )
    return DrivenField(
        setups=len(screen.positions),
        laps=held.laps,
        where=said_where(held.laps, screen.device, screen.why),
        quickest=quickest,
        held={one: _held(again, row) for row, one in enumerate(sure)},
        order=_order(found, screen.positions, held),
        not_finite=tuple(screen.positions[k] for k in held.not_finite),
        not_driven=screen.refused + int(np.isnan(held.pace).sum()) - len(held.not_finite),
    )


class _Screen:
    """Set-ups of one car driven in single precision, and who drove them."""

    def __init__(self, car: Car, setup: Setup, found: TradeOff, course: HeldCourse) -> None:
        self._car, self._setup, self._found, self._course = car, setup, found, course
        self.positions: list[Positions] = []
        self.refused, self.device, self.why = 0, "", ""

    def made(self, positions: Positions) -> Car:
        """Return the car with the chosen adjusters at positions."""
        return apply_setup(self._car, placed(self._setup, self._found.adjusters, positions))

    def drive(
        self, field: Sequence[Positions], stands_in: bool, progress: Progress, cancelled: Cancelled
    ) -> HeldPaces:
        """Drive all of a field that can be made."""
        cars = dict[Positions, Car]()
        for one in field:
            go_on(cancelled, "no set-up was driven yet")
            try:
                cars[one] = self.made(one)
            except CarError:
                continue
        self.positions, self.refused = list(cars), len(field) - len(cars)

        def on_device(task: LapTask) -> LapSums:
            laps = drive_many(task, stands_in=stands_in, cancelled=cancelled)
            self.device, self.why = laps.device, laps.why
            return laps.sums

        return self._course.held(list(cars.values()), on_device, progress=progress, cancelled=cancelled)


def _in_double(task: LapTask) -> LapSums:
    return lane_sums(task, single=False)


def _field(found: TradeOff, first: Sequence[Positions], most: int, *, all_there_are: bool) -> list[Positions]:
    """Return what is to be driven, ``first`` first."""
    if not all_there_are:
        front = [one.positions for one in found.front]
        rest = front[:: max(1, -(-len(front) // max(most - len(first), 1)))]
    elif found.possible <= most:
        rest = list(product(*(one.positions() for one in found.adjusters)))
    else:
        rest = [*(one.positions for one in found.points), *drawn(found.adjusters, most, found.seed)]
    return list(dict.fromkeys([*first, *rest]))[: max(most, len(first))]


def _held(paces: HeldPaces, row: int) -> Held:
    pace, lap_time = float(paces.pace[row]), float(paces.lap_time[row])
    return Held(pace=None, lap_time=None) if np.isnan(pace) else Held(pace=pace, lap_time=lap_time)


def _order(found: TradeOff, positions: Sequence[Positions], held: HeldPaces) -> float | None:
    said = {one.positions: one.pace for one in found.points}
    pairs = [
        (said[one], time)
        for one, time in zip(positions, held.lap_time.tolist(), strict=True)
        if one in said and np.isfinite(time)
    ]
    if len(pairs) < _ENOUGH or any(np.ptp(row) == 0.0 for row in zip(*pairs, strict=True)):
        return None
    said_pace, driven = np.array(pairs).T
    return float(spearmanr(said_pace, driven).statistic)
