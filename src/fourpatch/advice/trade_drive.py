"""A trade-off put to the drive: the present set-up and the picks in the hands of one uneven driver."""

from dataclasses import dataclass

from fourpatch.advice.trade_off import TradeOff, TradePoint
from fourpatch.analysis.lap_scatter import ScatterStudy, study_scatter
from fourpatch.car.car import Car
from fourpatch.car.setup import Setup, apply_setup
from fourpatch.errors import SolveError
from fourpatch.long_work import Cancelled, Progress, never, stretch, unwatched
from fourpatch.track.track import Track

LAPS = 16
"""Driven with each set-up: two cores full."""


@dataclass(frozen=True, slots=True, kw_only=True)
class DrivenPick:
    """One set-up's laps."""

    name: str
    """present, calmer or quicker."""
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


@dataclass(frozen=True, slots=True, kw_only=True)
class DrivenTrade:
    """All that were driven."""

    pace: float
    """Of all, a factor on each one's quasi-steady speeds."""
    seed: int
    picks: tuple[DrivenPick, ...]
    """The present one first."""

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
    seed: int = 1,
    progress: Progress = unwatched,
    cancelled: Cancelled = never,
) -> DrivenTrade:
    """Drive the present set-up and the picks with the same driver, pace, draws and road.

    Parameters
    ----------
    laps : with each.
    seed : of the driver's draws and of the road; lap n of each set-up has the same draws.
    progress, cancelled : as `long_work`.

    Raises
    ------
    TrackError, EventError, SolveError
        As `study_scatter`, of the present set-up.
    Stopped
        If it is cancelled before a set-up has two good laps.
    """
    named = {"present": found.present, "calmer": found.calmer, "quicker": found.quicker}
    points = {name: point for name, point in named.items() if point is not None}
    picks: list[DrivenPick] = []
    pace = None
    for place, (name, point) in enumerate(points.items()):
        values = {one.name: at for one, at in zip(found.adjusters, point.positions, strict=True)}
        changed = setup.model_copy(update={"values": {**setup.values, **values}})
        told = stretch(progress, place / len(points), (place + 1) / len(points), of=name)
        try:
            study = study_scatter(
                apply_setup(car, changed),
                track,
                laps=laps,
                pace=pace,
                seed=seed,
                progress=told,
                cancelled=cancelled,
            )
        except SolveError:
            if pace is None:
                raise
            picks.append(_lost(name, point, laps))
            continue
        pace = study.summary.pace
        picks.append(_driven(name, point, study))
    assert pace is not None
    return DrivenTrade(pace=pace, seed=seed, picks=tuple(picks))


def _lost(name: str, point: TradePoint, laps: int) -> DrivenPick:
    return DrivenPick(
        name=name,
        point=point,
        laps=laps,
        good_laps=0,
        lap_time=None,
        lap_time_spread=None,
        use_spread=None,
        tyre_work=None,
    )


def _driven(name: str, point: TradePoint, study: ScatterStudy) -> DrivenPick:
    summary, laps = study.summary, study.laps
    work = laps.tyre_work[laps.good].mean(axis=0)
    return DrivenPick(
        name=name,
        point=point,
        laps=summary.laps,
        good_laps=summary.good_laps,
        lap_time=summary.lap_time,
        lap_time_spread=summary.lap_time_spread,
        use_spread=100.0 * float(laps.use_spread.max()),
        tyre_work=float(work.max()) / study.length,
    )
