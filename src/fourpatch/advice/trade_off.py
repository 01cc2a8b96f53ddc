"""What one gives for another: pace, grip on bumps and calmness over the real steps of chosen adjusters."""

from collections.abc import Callable, Sequence
from dataclasses import dataclass
from itertools import product
from math import prod

import numpy as np
from numpy.typing import NDArray

from fourpatch.advice.grip_cost import BATCH, PHASES, GripCost, Judge
from fourpatch.advice.occasion import Occasion, generic_occasion, track_occasion
from fourpatch.advice.pareto import pareto_front
from fourpatch.analysis.lap_profile import lap_profile
from fourpatch.analysis.limits_map import limits_map
from fourpatch.car.adjusters import Adjuster
from fourpatch.car.adjusters import adjuster as adjuster_of
from fourpatch.car.car import Car
from fourpatch.car.setup import Setup, apply_setup
from fourpatch.errors import AdviceError, EventError, SolveError, Stopped
from fourpatch.long_work import Cancelled, Progress, go_on, never, unwatched
from fourpatch.track.track import Track

Array = NDArray[np.float64]

OBJECTIVES = ("pace", "bumps", "calmness")
"""What is traded; of the first two less is better, of the third more."""

MOST_SETUPS, MOST_LAPS = 512, 96
"""Set-ups that are computed, without a track and with one: a lap takes ten times as long."""

AS_QUICK = {"points": 0.05, "s": 0.01}
"""Pace that counts as the same, by its unit. A choice of this project."""

AS_CALM, AS_GRIPPY = 0.1, 0.05
"""Points of calmness and of grip on bumps that count as the same."""

_CALM_PHASES = tuple(PHASES.index(name) for name in ("entry", "mid"))

Positions = tuple[float, ...]


@dataclass(frozen=True, slots=True, kw_only=True)
class TradePoint:
    """One set-up on the table."""

    positions: Positions
    """Of the chosen adjusters, in their order."""
    pace: float
    """Lap time [s] with a track, else mean use of the worse axle in the corners [points]; less is better."""
    bumps: float
    """Grip lost on the surface and, by its share of the time, over the kerb. [points]"""
    calmness: float
    """What the rear has in hand where the car turns: the lesser balance of entry and mid, mean of all corners
    by the time each stands for. [points]"""

    def objectives(self) -> tuple[float, float, float]:
        """Return the three, less being better in each, to a hundredth of a point or of a second.

        Notes
        -----
        What lies closer together is alike to any driver, and would crowd the front.
        """
        return round(self.pace, 2), round(self.bumps, 2), -round(self.calmness, 2)


@dataclass(frozen=True, slots=True, kw_only=True)
class TradeOff:
    """What was found."""

    adjusters: tuple[Adjuster, ...]
    occasion: Occasion
    pace_unit: str
    """s or points."""
    present: TradePoint
    points: tuple[TradePoint, ...]
    """All that were computed and can run, the present one first."""
    front: tuple[TradePoint, ...]
    """Those that no other beats in everything, quickest first."""
    calmer: TradePoint | None
    """As quick as the present set-up, no worse on bumps, and calmest; None if none is calmer."""
    quicker: TradePoint | None
    """As calm as the present set-up, no worse on bumps, and quickest; None if none is quicker."""
    left_out: tuple[Positions, ...]
    """Set-ups that were computed and cannot run."""
    possible: int
    """Set-ups there are."""
    exhaustive: bool
    """Whether all of them were computed."""
    stopped: bool
    """Whether the user stopped it."""
    seed: int


def trade_off(
    car: Car,
    setup: Setup,
    names: Sequence[str],
    *,
    track: Track | None = None,
    seed: int = 1,
    known: TradeOff | None = None,
    progress: Progress = unwatched,
    cancelled: Cancelled = never,
) -> TradeOff:
    """Compute what chosen adjusters give for each other.

    Parameters
    ----------
    names : of the adjusters; all others stay as in ``setup``.
    track : its lap time is then the pace.
    seed : of the sample, where there are too many set-ups to compute all.
    known : what was found when the same question was asked before and stopped; it is not computed again.
    progress, cancelled : as `long_work`; stopped, it returns what it knows.

    Raises
    ------
    Stopped
        If it is cancelled before the present set-up is computed.
    AdviceError, CarError
        If an adjuster is unknown, named twice, or none is named.

    Notes
    -----
    All steps of all chosen adjusters, if they are at most `MOST_SETUPS` (`MOST_LAPS` with a track). Beyond,
    half as many drawn without repetition, then the neighbours by one step of what is on the front so far,
    until as many are computed or no neighbour is new. A set-up whose floor would meet the road
    (`grip_cost.FLOOR_MARGIN`) is left out unless the present one's does. Taken up again among neighbours, the
    search may go on to others than it would have without the stop, for it sees the front as it is by then.
    """
    chosen = chosen_adjusters(car, names)
    standing = apply_setup(car, setup)
    occasion = generic_occasion(standing) if track is None else track_occasion(standing, track)
    most = MOST_SETUPS if track is None else MOST_LAPS
    table = _Table(car, setup, chosen, Judge(car=car, reference=standing, occasion=occasion, balance=0.0))
    possible = prod(len(one.positions()) for one in chosen)
    go_on(cancelled, "no set-up was computed yet")
    told = _counted(progress, min(possible, most))
    table.add([table.present], told)
    if known is not None:
        table.recall(known)
    stopped = False
    try:
        if possible <= most:
            table.add(list(product(*(one.positions() for one in chosen))), told, cancelled)
        else:
            table.add(_drawn(chosen, most // 2, seed), told, cancelled)
            while len(table.known) < most and (near := table.neighbours()[: most - len(table.known)]):
                table.add(near, told, cancelled)
    except Stopped:
        stopped = True
    return _found(table, occasion, possible=possible, stopped=stopped, seed=seed)


def _counted(progress: Progress, of: int) -> Callable[[int], None]:
    return lambda done: progress(min(done / of, 1.0), f"{done} of {of} set-ups")


def chosen_adjusters(car: Car, names: Sequence[str]) -> tuple[Adjuster, ...]:
    """Return what is to be turned.

    Raises
    ------
    AdviceError, CarError
        If an adjuster is unknown, named twice, or none is named.
    """
    if not names:
        raise AdviceError("--adjusters names none. Name two or three of them, with commas between.")
    for name in names:
        if list(names).count(name) > 1:
            raise AdviceError(f'"{name}" is named twice. Name each adjuster once.')
    return tuple(adjuster_of(car, name) for name in names)


class _Table:
    """Set-ups computed so far."""

    def __init__(self, car: Car, setup: Setup, chosen: tuple[Adjuster, ...], judge: Judge) -> None:
        self.car, self.setup, self.chosen, self.judge = car, setup, chosen, judge
        self.known: dict[Positions, TradePoint | None] = {}
        self.present: Positions = tuple(one.nearest(setup.position(one)) for one in chosen)
        self._floor_meets = False

    def add(
        self, positions: Sequence[Positions], told: Callable[[int], None], cancelled: Cancelled = never
    ) -> None:
        """Compute set-ups that are not known yet, in batches; what is known stays if that is stopped."""
        new = [one for one in dict.fromkeys(positions) if one not in self.known]
        size = BATCH if self.judge.occasion.study is None else BATCH // 8
        for k in range(0, len(new), size):
            go_on(cancelled, "the present set-up alone is known")
            batch = new[k : k + size]
            setups = [self._setup(one) for one in batch]
            cost = self.judge.cost(setups)
            if self.present in batch:
                self._floor_meets = bool(cost.parts[batch.index(self.present), 3] > 0.0)
            for row, (one, trial) in enumerate(zip(batch, setups, strict=True)):
                self.known[one] = self._point(one, trial, cost.row(row))
            told(len(self.known))

    def recall(self, found: TradeOff) -> None:
        """Take over what was computed before, but for the present set-up."""
        before: dict[Positions, TradePoint | None] = {point.positions: point for point in found.points}
        self.known = before | dict.fromkeys(found.left_out) | self.known

    def _setup(self, positions: Positions) -> Setup:
        values = {one.name: at for one, at in zip(self.chosen, positions, strict=True)}
        return self.setup.model_copy(update={"values": {**self.setup.values, **values}})

    def _point(self, positions: Positions, setup: Setup, cost: GripCost) -> TradePoint | None:
        corners, bumps, kerbs, floor = (float(value) for value in cost.parts[0])
        if not np.isfinite(corners) or (floor > 0.0 and not self._floor_meets):
            return None
        pace = self._lap_time(setup) if self.judge.occasion.study is not None else corners
        if pace is None:
            return None
        held = cost.balance[0][:, list(_CALM_PHASES)].min(axis=1)
        calmness = float(held @ np.array(list(self.judge.occasion.weights.values())))
        return TradePoint(positions=positions, pace=pace, bumps=bumps + kerbs, calmness=calmness)

    def _lap_time(self, setup: Setup) -> float | None:
        study = self.judge.occasion.study
        assert study is not None
        try:
            limits = limits_map(apply_setup(self.car, setup))
            return lap_profile(limits, study.line).lap_time
        except (SolveError, EventError):
            return None

    def points(self) -> list[TradePoint]:
        """Return those that can run, the present one first."""
        found = [point for point in self.known.values() if point is not None]
        return sorted(found, key=lambda point: point.positions != self.present)

    def front(self) -> list[TradePoint]:
        """Return those that no other beats in everything, quickest first."""
        found = self.points()
        mask = pareto_front(np.array([point.objectives() for point in found]).reshape(-1, len(OBJECTIVES)))
        return sorted((p for p, on in zip(found, mask, strict=True) if on), key=lambda p: p.objectives())

    def neighbours(self) -> list[Positions]:
        """Return what lies a step from the front and is not known."""
        found: dict[Positions, None] = {}
        for point in self.front():
            for place, one in enumerate(self.chosen):
                for way in (-one.step, one.step):
                    at = one.nearest(point.positions[place] + way)
                    moved = (*point.positions[:place], at, *point.positions[place + 1 :])
                    if moved not in self.known:
                        found[moved] = None
        return list(found)


def _drawn(chosen: Sequence[Adjuster], count: int, seed: int) -> list[Positions]:
    """Return set-ups drawn without repetition from all there are."""
    grids = [one.positions() for one in chosen]
    sizes = [len(grid) for grid in grids]
    rng = np.random.default_rng(seed)
    found: dict[Positions, None] = {}
    while len(found) < count:
        places = rng.integers(0, sizes)
        found[tuple(grid[int(k)] for grid, k in zip(grids, places, strict=True))] = None
    return list(found)


def _found(table: _Table, occasion: Occasion, *, possible: int, stopped: bool, seed: int) -> TradeOff:
    present = table.known[table.present]
    if present is None:
        raise SolveError(
            "trade-off: the present set-up itself cannot be run, so there is nothing to compare with. Check "
            "it with fourpatch check setup."
        )
    points = table.points()
    unit = "points" if occasion.study is None else "s"
    return TradeOff(
        adjusters=table.chosen,
        occasion=occasion,
        pace_unit=unit,
        present=present,
        points=tuple(points),
        front=tuple(table.front()),
        calmer=_calmer(points, present, AS_QUICK[unit]),
        quicker=_quicker(points, present, AS_QUICK[unit]),
        left_out=tuple(one for one, point in table.known.items() if point is None),
        possible=possible,
        exhaustive=len(table.known) == possible,
        stopped=stopped,
        seed=seed,
    )


def _calmer(points: Sequence[TradePoint], present: TradePoint, as_quick: float) -> TradePoint | None:
    held = [
        point
        for point in points
        if point.pace <= present.pace + as_quick and point.bumps <= present.bumps + AS_GRIPPY
    ]
    best = max(held, key=lambda point: point.calmness)
    return best if best.calmness > present.calmness + AS_CALM else None


def _quicker(points: Sequence[TradePoint], present: TradePoint, as_quick: float) -> TradePoint | None:
    held = [
        point
        for point in points
        if point.calmness >= present.calmness - AS_CALM and point.bumps <= present.bumps + AS_GRIPPY
    ]
    best = min(held, key=lambda point: point.pace)
    return best if best.pace < present.pace - as_quick else None
