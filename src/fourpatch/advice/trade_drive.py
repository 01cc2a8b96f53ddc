"""A trade-off put to the drive: the present set-up and the picks in the hands of one uneven driver."""

from dataclasses import dataclass, replace

from fourpatch.advice.trade_field import DrivenField, Held, drive_field
from fourpatch.advice.trade_off import TradeOff, TradePoint, also, placed
from fourpatch.analysis.driver_scatter import ScatteredLaps, scattered_laps
from fourpatch.analysis.lap_drive import DRIVER_MARGIN, ReadyToDrive, ready_to_drive
from fourpatch.car.car import Car
from fourpatch.car.setup import Setup, apply_setup
from fourpatch.events.driver_style import DriverScatter
from fourpatch.long_work import Cancelled, Progress, never, stretch, unwatched
from fourpatch.track.corners import Corner, find_corners
from fourpatch.track.racing_line import FLAT_KERB
from fourpatch.track.track import Track

LAPS = 16
"""Driven with each set-up: two cores full."""

KEPT_BACK = 0.02
"""Of the highest pace all round, that a driver keeps back to compare set-ups.  Chosen here. [1]"""

_READY, _FIELD = 0.4, 0.8  # of the work: the present set-up's plan and highest pace, then the field

QUICKEST = "driven quickest"


@dataclass(frozen=True, slots=True, kw_only=True)
class DrivenPick:
    """One set-up's laps."""

    name: str
    """present, calmer, quicker or `QUICKEST`."""
    point: TradePoint
    """What the search says of it."""
    laps: int
    good_laps: int
    """Of them on the road and in hand from start to end; fewer than two leave the numbers below empty."""
    lap_time: float | None
    """Mean of the good laps. [s]"""
    lap_time_spread: float | None
    """Their standard deviation. [s]"""
    use_spread: float | None
    """How far laps differ in use of grip in a corner, of the axle that differs more. [points]"""
    tyre_work: float | None
    """Of the most worked tyre over the whole lap, mean of the good laps. [J/m]"""
    held: Held
    """The quickest pace that this driver holds with it."""


@dataclass(frozen=True, slots=True, kw_only=True)
class DrivenTrade:
    """All that were driven."""

    pace: float
    """A factor on the quasi-steady speeds of the present set-up, by whose plan all are driven."""
    seed: int
    picks: tuple[DrivenPick, ...]
    """The present one first."""
    field: DrivenField
    """All that were screened by driving."""

    @property
    def quickest(self) -> DrivenPick | None:
        """What the field's screening found quickest; None if the search says that it cannot run."""
        found = (one for one in self.picks if one.point.positions == self.field.quickest)
        return next(found, None)

    @property
    def gained(self) -> float | None:
        """By how much the lap held with it is quicker than with the present set-up. [s]

        None if it is the present set-up, or either holds no pace by the draws that confirm.
        """
        present, quickest = self.picks[0], self.quickest
        if (
            quickest is None
            or quickest is present
            or present.held.lap_time is None
            or quickest.held.lap_time is None
        ):
            return None
        return present.held.lap_time - quickest.held.lap_time

    def agrees(self, objective: str, pick: DrivenPick) -> bool | None:
        """Say whether a pick moves from the present set-up as the search says; None if either has no laps.

        Parameters
        ----------
        objective : scatter or tyre work.
        """
        driven = {"scatter": "use_spread", "tyre work": "tyre_work"}[objective]
        present, now = getattr(self.picks[0], driven), getattr(pick, driven)
        if present is None or now is None:
            return None
        said = pick.point.of(objective) - self.picks[0].point.of(objective)
        return bool((now - present) * said >= 0.0)


def drive_picks(
    car: Car,
    setup: Setup,
    found: TradeOff,
    track: Track,
    *,
    laps: int = LAPS,
    field: int | None = None,
    seed: int = 1,
    progress: Progress = unwatched,
    cancelled: Cancelled = never,
) -> DrivenTrade:
    """Drive the present set-up, the picks and a field by the same plan, with the same driver, draws and road.

    Parameters
    ----------
    laps : with each that is shown.
    field : set-ups of which the quickest is sought (`drive_field`); what the device allows if left out.
    seed : of the driver's draws and of the road; lap n of each set-up has the same draws.
    progress, cancelled : as `long_work`.

    Raises
    ------
    TrackError, EventError, SolveError
        As `study_scatter`.
    Stopped
        If it is cancelled.

    Notes
    -----
    The plan is the present set-up's, as everywhere a change is compared: a set-up that could go faster is
    driven no faster, or its tyres would work more for being better.
    """
    named = {"present": found.present, "calmer": found.calmer, "quicker": found.quicker}
    points = {name: point for name, point in named.items() if point is not None}
    shown = list(dict.fromkeys(point.positions for point in points.values()))
    standing = apply_setup(car, setup)
    course = same_course(
        standing, track, seed=seed, progress=stretch(progress, 0.0, _READY), cancelled=cancelled
    )
    driven_field = drive_field(
        car,
        setup,
        found,
        course.ready,
        course.corners,
        pace=course.pace,
        shown=shown,
        seed=seed,
        field=field,
        progress=stretch(progress, _READY, _FIELD),
        cancelled=cancelled,
    )
    best = also(car, setup, found, driven_field.quickest)
    if best is not None and best.positions not in shown:
        points[QUICKEST] = best
    picks: list[DrivenPick] = []
    for place, (name, point) in enumerate(points.items()):
        changed = apply_setup(car, placed(setup, found.adjusters, point.positions))
        driven = course.drive(changed, laps=laps, cancelled=cancelled)
        held = driven_field.held[point.positions]
        picks.append(_driven(name, point, driven, held, length=course.ready.plan.line.length))
        progress(_FIELD + (1.0 - _FIELD) * (place + 1) / len(points), f"{name} driven")
    return DrivenTrade(pace=course.pace, seed=seed, picks=tuple(picks), field=driven_field)


@dataclass(frozen=True, slots=True, kw_only=True)
class SameCourse:
    """A road, a line, a driver and his plan for one car, on which others are driven."""

    ready: ReadyToDrive
    corners: tuple[Corner, ...]
    pace: float
    """A factor on the quasi-steady speeds of the car that it was made for."""
    seed: int

    def drive(self, car: Car, *, laps: int, cancelled: Cancelled = never) -> ScatteredLaps:
        """Drive a car as the first one is driven: the same speeds, places and draws."""
        return scattered_laps(
            replace(self.ready.plan, car=car),
            self.pace,
            DriverScatter(),
            self.ready.road,
            self.ready.layout,
            self.corners,
            laps=laps,
            seed=self.seed,
            car_width=self.ready.car_width,
            cancelled=cancelled,
        )


def same_course(
    car: Car,
    track: Track,
    *,
    pace: float | None = None,
    seed: int,
    progress: Progress = unwatched,
    cancelled: Cancelled = never,
) -> SameCourse:
    """Lay out what cars are driven on, by the plan of one of them.

    Parameters
    ----------
    pace : if left out, `KEPT_BACK` below the highest that its driver bears without scatter.
    """
    ready = ready_to_drive(
        car,
        track,
        style=None,
        pace=pace,
        margin=DRIVER_MARGIN,
        kerb_share=0.0,
        flat_kerb=FLAT_KERB,
        seed=seed,
        progress=progress,
        cancelled=cancelled,
    )
    highest = ready.search.best if ready.search else 1.0
    return SameCourse(
        ready=ready,
        corners=tuple(find_corners(ready.layout)),
        pace=pace if pace is not None else highest * (1.0 - KEPT_BACK),
        seed=seed,
    )


def _driven(name: str, point: TradePoint, laps: ScatteredLaps, held: Held, *, length: float) -> DrivenPick:
    good = int(laps.good.sum())
    enough = good > 1
    work = laps.tyre_work[laps.good].mean(axis=0) if enough else None
    return DrivenPick(
        name=name,
        point=point,
        laps=laps.good.size,
        good_laps=good,
        lap_time=float(laps.lap_time[laps.good].mean()) if enough else None,
        lap_time_spread=laps.time_spread if enough else None,
        use_spread=100.0 * float(laps.use_spread.max()) if enough else None,
        tyre_work=None if work is None else float(work.max()) / length,
        held=held,
    )
