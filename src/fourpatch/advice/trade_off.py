"""What one gives for another: pace, bumps, calmness, scatter, tyre work, by steps of adjusters."""

from collections.abc import Callable, Sequence
from dataclasses import dataclass, replace
from itertools import product
from math import prod
from operator import methodcaller

import numpy as np
from numpy.typing import NDArray

from fourpatch.advice.grip_cost import BATCH, PHASES, GripCost, Judge
from fourpatch.advice.occasion import Occasion, generic_occasion, track_occasion
from fourpatch.advice.pareto import pareto_front
from fourpatch.analysis.lap_duty import lap_duty
from fourpatch.analysis.lap_profile import lap_profile
from fourpatch.analysis.limits_map import LimitsMap, limits_map
from fourpatch.car.adjusters import Adjuster
from fourpatch.car.adjusters import adjuster as adjuster_of
from fourpatch.car.car import Car
from fourpatch.car.pack import CORNER_NAMES
from fourpatch.car.setup import Setup, apply_setup
from fourpatch.errors import AdviceError, EventError, SolveError, Stopped
from fourpatch.long_work import Cancelled, Progress, go_on, never, unwatched
from fourpatch.track.track import Track

Array = NDArray[np.float64]

OBJECTIVES = ("pace", "bumps", "calmness", "scatter", "tyre work")
"""What is traded; of calmness more is better, of all others less."""

MOST_SETUPS, MOST_LAPS = 512, 96
"""Set-ups that are computed, without a track and with one: a lap takes ten times as long."""

AS_QUICK = {"points": 0.05, "s": 0.01}
"""Pace that counts as the same, by its unit. A choice of this project."""

AS_CALM = 0.1
"""Points of calmness that count as the same."""

NO_WORSE = {"bumps": 0.05, "scatter": 0.02, "tyre work": 1.0}
"""What counts as the same of the others: points, points, kJ/km. A choice of this project."""

_CALM_PHASES = tuple(PHASES.index(name) for name in ("entry", "mid"))
_PLACES = {"pace": 2, "bumps": 2, "calmness": 2, "scatter": 2, "tyre work": 0}

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
    scatter: float
    """What one standard deviation of a driver's unevenness changes of the use of grip (`use_scatter`), mean
    of all corners, of the axle that feels it more. [points]"""
    tyre_work: float
    """Work of sliding of the most worked tyre over the distance of a lap (`lap_duty`), without a track of the
    corners. [J/m or kJ/km]"""
    total_work: float
    """Of all four tyres. [J/m]"""
    most_worked: str
    """Which tyre that is, of `CORNER_NAMES`."""

    def of(self, objective: str) -> float:
        """Return one of `OBJECTIVES`."""
        value = getattr(self, objective.replace(" ", "_"))
        assert isinstance(value, float)
        return value

    def objectives(self, counted: Sequence[str] = OBJECTIVES) -> tuple[float, ...]:
        """Return those that count, less being better in each, to a hundredth of a point or s, or to 1 kJ/km.

        Notes
        -----
        What lies closer together is alike to any driver, and would crowd the front.
        """
        return tuple(
            (-1.0 if name == "calmness" else 1.0) * round(self.of(name), _PLACES[name]) for name in counted
        )


@dataclass(frozen=True, slots=True, kw_only=True)
class TradeOff:
    """What was found."""

    adjusters: tuple[Adjuster, ...]
    occasion: Occasion
    pace_unit: str
    """s or points."""
    objectives: tuple[str, ...]
    """Those of `OBJECTIVES` that count for the front and the picks."""
    present: TradePoint
    points: tuple[TradePoint, ...]
    """All that were computed and can run, the present one first."""
    front: tuple[TradePoint, ...]
    """Those that no other beats in everything, quickest first."""
    calmer: TradePoint | None
    """As quick as the present set-up, no worse in the others that count, and calmest; None if none is calmer
    or calmness does not count."""
    quicker: TradePoint | None
    """As calm as the present set-up, no worse in the others that count, and quickest; None if none is quicker
    or pace does not count."""
    left_out: tuple[Positions, ...]
    """Set-ups that were computed and cannot run."""
    possible: int
    """Set-ups there are."""
    exhaustive: bool
    """Whether all of them were computed."""
    finished: bool
    """Whether nothing is left to compute; not yet, in what is shown meanwhile."""
    stopped: bool
    """Whether the user stopped it."""
    seed: int


def usual_adjusters(car: Car) -> list[str]:
    """Return what is traded unless others are chosen: the anti-roll bars, else the springs."""
    for system in ("anti-roll bars", "springs"):
        if names := [one.name for one in car.adjusters if one.system == system]:
            return names[:2]
    return [one.name for one in car.adjusters[:2]]


def trade_off(
    car: Car,
    setup: Setup,
    names: Sequence[str],
    *,
    track: Track | None = None,
    seed: int = 1,
    objectives: Sequence[str] = OBJECTIVES,
    known: TradeOff | None = None,
    progress: Progress = unwatched,
    cancelled: Cancelled = never,
    show: Callable[[TradeOff], object] = lambda found: None,
) -> TradeOff:
    """Compute what chosen adjusters give for each other.

    Parameters
    ----------
    names : of the adjusters; all others stay as in ``setup``.
    track : its lap time is then the pace.
    seed : of the sample, where there are too many set-ups to compute all.
    objectives : those of `OBJECTIVES` that count; all are computed.
    known : what was found when the same question was asked before and stopped; it is not computed again.
    progress, cancelled : as `long_work`; stopped, it returns what it knows.
    show : told what is known after each batch, `TradeOff.finished` not yet set.

    Raises
    ------
    Stopped
        If it is cancelled before the present set-up is computed.
    AdviceError, CarError
        If an adjuster or an objective is unknown, named twice, or none is named.

    Notes
    -----
    All steps of all chosen adjusters, if they are at most `MOST_SETUPS` (`MOST_LAPS` with a track). Beyond,
    half as many drawn without repetition, then the neighbours by one step of what is on the front so far,
    until as many are computed or no neighbour is new; where they are too many, those of the ends of the
    front come first: of what is best in each objective in turn, then second best, and so on. A set-up whose
    floor would meet the road (`grip_cost.FLOOR_MARGIN`) is left out unless the present one's does. Taken up
    again among neighbours, the search may go on to others than it would have without the stop, for it sees
    the front as it is by then.
    """
    chosen, counted = chosen_adjusters(car, names), chosen_objectives(objectives)
    standing = apply_setup(car, setup)
    occasion = generic_occasion(standing) if track is None else track_occasion(standing, track)
    most = MOST_SETUPS if track is None else MOST_LAPS
    judge = Judge(car=car, reference=standing, occasion=occasion, balance=0.0, wear=True)
    table = _Table(car, setup, chosen, judge, counted)
    possible = prod(len(one.positions()) for one in chosen)
    go_on(cancelled, "no set-up was computed yet")

    def found(*, stopped: bool, finished: bool) -> TradeOff:
        return _found(table, possible=possible, stopped=stopped, finished=finished, seed=seed)

    def told(done: int) -> None:
        of = min(possible, most)
        progress(min(done / of, 1.0), f"{done} of {of} set-ups")
        if table.known[table.present] is not None:
            show(found(stopped=False, finished=False))

    table.add([table.present], told)
    if known is not None:
        table.recall(known)
    stopped = False
    try:
        if possible <= most:
            table.add(list(product(*(one.positions() for one in chosen))), told, cancelled)
        else:
            table.add(drawn(chosen, most // 2, seed), told, cancelled)
            while len(table.known) < most and (near := table.neighbours()[: most - len(table.known)]):
                table.add(near, told, cancelled)
    except Stopped:
        stopped = True
    return found(stopped=stopped, finished=not stopped)


def placed(setup: Setup, adjusters: Sequence[Adjuster], positions: Positions) -> Setup:
    """Return a set-up with some adjusters moved to positions."""
    values = {one.name: at for one, at in zip(adjusters, positions, strict=True)}
    return setup.model_copy(update={"values": {**setup.values, **values}})


def also(car: Car, setup: Setup, found: TradeOff, positions: Positions) -> TradePoint | None:
    """Return what one more set-up of a question already answered gives; None if it cannot run."""
    known = {one.positions: one for one in found.points}
    if positions in known:
        return known[positions]
    standing = apply_setup(car, setup)
    judge = Judge(car=car, reference=standing, occasion=found.occasion, balance=0.0, wear=True)
    table = _Table(car, setup, found.adjusters, judge, found.objectives)
    table.add([table.present, positions], lambda done: None)
    return table.known[positions]


def recounted(found: TradeOff, objectives: Sequence[str]) -> TradeOff:
    """Return the same set-ups with other objectives that count; nothing is computed again.

    Raises
    ------
    AdviceError
        If an objective is unknown, named twice, or none is named.
    """
    counted = chosen_objectives(objectives)
    calmer, quicker = _picks(found.points, found.present, found.pace_unit, counted)
    front = tuple(_front(found.points, counted))
    return replace(found, objectives=counted, front=front, calmer=calmer, quicker=quicker)


def chosen_objectives(names: Sequence[str]) -> tuple[str, ...]:
    """Return what is to count, in the order of `OBJECTIVES`.

    Raises
    ------
    AdviceError
        If an objective is unknown, named twice, or none is named.
    """
    known = ", ".join(OBJECTIVES)
    if not names:
        raise AdviceError(f"No objective is named. Name one or more of {known}.")
    for name in names:
        if name not in OBJECTIVES:
            raise AdviceError(f'objective "{name}": there is none of that name. Name one or more of {known}.')
        if list(names).count(name) > 1:
            raise AdviceError(f'objective "{name}" is named twice. Name each once.')
    return tuple(name for name in OBJECTIVES if name in names)


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

    def __init__(
        self, car: Car, setup: Setup, chosen: tuple[Adjuster, ...], judge: Judge, counted: tuple[str, ...]
    ) -> None:
        self.car, self.setup, self.chosen, self.judge, self.counted = car, setup, chosen, judge, counted
        self.known: dict[Positions, TradePoint | None] = {}
        self.present: Positions = tuple(one.nearest(setup.position(one)) for one in chosen)
        self._floor_meets = False
        self._limits: LimitsMap | None = None
        """Of the present set-up, which is the first to be computed: the others' are sought from there."""

    def add(
        self, positions: Sequence[Positions], told: Callable[[int], None], cancelled: Cancelled = never
    ) -> None:
        """Compute set-ups that are not known yet, in batches; what is known stays if that is stopped."""
        new = [one for one in dict.fromkeys(positions) if one not in self.known]
        size = BATCH if self.judge.occasion.study is None else BATCH // 8
        for k in range(0, len(new), size):
            go_on(cancelled, "the present set-up alone is known")
            batch = new[k : k + size]
            setups = [placed(self.setup, self.chosen, one) for one in batch]
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

    def _point(self, positions: Positions, setup: Setup, cost: GripCost) -> TradePoint | None:
        corners, bumps, kerbs, floor = (float(value) for value in cost.parts[0])
        if not np.isfinite(corners) or (floor > 0.0 and not self._floor_meets):
            return None
        pace = self._lap_time(setup) if self.judge.occasion.study is not None else corners
        if pace is None:
            return None
        held = cost.balance[0][:, list(_CALM_PHASES)].min(axis=1)
        weights = np.array(list(self.judge.occasion.weights.values()))
        work = self._tyre_work(setup, weights @ cost.tyre_work[0])
        return TradePoint(
            positions=positions,
            pace=pace,
            bumps=bumps + kerbs,
            calmness=float(held @ weights),
            scatter=float(100.0 * (weights @ cost.use_scatter[0]).max()),
            tyre_work=float(work.max()),
            total_work=float(work.sum()),
            most_worked=CORNER_NAMES[int(work.argmax())],
        )

    def _tyre_work(self, setup: Setup, corners: Array) -> Array:
        """Work of each tyre, (4,): on the lap of the present set-up if there is a track. [J/m]"""
        study = self.judge.occasion.study
        return corners if study is None else lap_duty(apply_setup(self.car, setup), study.profile).sliding

    def _lap_time(self, setup: Setup) -> float | None:
        study = self.judge.occasion.study
        assert study is not None
        try:
            limits = limits_map(apply_setup(self.car, setup), near=self._limits)
            if self._limits is None:
                self._limits = limits
            return lap_profile(limits, study.line).lap_time
        except (SolveError, EventError):
            return None

    def points(self) -> list[TradePoint]:
        """Return those that can run, the present one first."""
        found = [point for point in self.known.values() if point is not None]
        return sorted(found, key=lambda point: point.positions != self.present)

    def neighbours(self) -> list[Positions]:
        """Return what lies a step from the front and is not known."""
        found: dict[Positions, None] = {}
        for point in _ends_first(_front(self.points(), self.counted), self.counted):
            for place, one in enumerate(self.chosen):
                for way in (-one.step, one.step):
                    at = one.nearest(point.positions[place] + way)
                    moved = (*point.positions[:place], at, *point.positions[place + 1 :])
                    if moved not in self.known:
                        found[moved] = None
        return list(found)


def drawn(chosen: Sequence[Adjuster], count: int, seed: int) -> list[Positions]:
    """Return set-ups drawn without repetition from all there are."""
    grids = [one.positions() for one in chosen]
    sizes = [len(grid) for grid in grids]
    rng = np.random.default_rng(seed)
    found: dict[Positions, None] = {}
    while len(found) < count:
        places = rng.integers(0, sizes)
        found[tuple(grid[int(k)] for grid, k in zip(grids, places, strict=True))] = None
    return list(found)


def _front(points: Sequence[TradePoint], counted: Sequence[str]) -> list[TradePoint]:
    """Return those that no other beats in everything that counts, best in the first of it first."""
    mask = pareto_front(np.array([point.objectives(counted) for point in points]).reshape(-1, len(counted)))
    return sorted((p for p, on in zip(points, mask, strict=True) if on), key=lambda p: p.objectives(counted))


def _ends_first(front: Sequence[TradePoint], counted: Sequence[str]) -> list[TradePoint]:
    """Return a front in turns: the best in each objective, then the second best in each, and so on."""
    ranked = [sorted(front, key=methodcaller("objectives", [name])) for name in counted]
    return list({one.positions: one for turn in zip(*ranked, strict=True) for one in turn}.values())


def _found(table: _Table, *, possible: int, stopped: bool, finished: bool, seed: int) -> TradeOff:
    present, occasion = table.known[table.present], table.judge.occasion
    if present is None:
        raise SolveError(
            "trade-off: the present set-up itself cannot be run, so there is nothing to compare with. Check "
            "it with fourpatch check setup."
        )
    points = table.points()
    unit = "points" if occasion.study is None else "s"
    calmer, quicker = _picks(points, present, unit, table.counted)
    return TradeOff(
        adjusters=table.chosen,
        occasion=occasion,
        pace_unit=unit,
        objectives=table.counted,
        present=present,
        points=tuple(points),
        front=tuple(_front(points, table.counted)),
        calmer=calmer,
        quicker=quicker,
        left_out=tuple(one for one, point in table.known.items() if point is None),
        possible=possible,
        exhaustive=len(table.known) == possible,
        finished=finished,
        stopped=stopped,
        seed=seed,
    )


def _picks(
    points: Sequence[TradePoint], present: TradePoint, unit: str, counted: Sequence[str]
) -> tuple[TradePoint | None, TradePoint | None]:
    """Return what is calmer, and what is quicker, than the present set-up and worse in nothing."""
    as_quick = AS_QUICK[unit]
    held = [
        point
        for point in points
        if all(point.of(name) <= present.of(name) + NO_WORSE[name] for name in NO_WORSE if name in counted)
    ]
    quick = [one for one in held if "pace" not in counted or one.pace <= present.pace + as_quick]
    calm = [one for one in held if "calmness" not in counted or one.calmness >= present.calmness - AS_CALM]
    calmer = max(quick, key=lambda one: one.calmness)
    quicker = min(calm, key=lambda one: one.pace)
    return (
        calmer if "calmness" in counted and calmer.calmness > present.calmness + AS_CALM else None,
        quicker if "pace" in counted and quicker.pace < present.pace - as_quick else None,
    )
