"""A driver who practises: piece by piece of the track he finds by trying how fast he can be there."""

from dataclasses import dataclass, replace

import numpy as np
from numpy.typing import NDArray

from fourpatch.analysis.driven_lap import LapRows, laps_in_hand, stayed_in_hand
from fourpatch.analysis.driver_plan import DriverPlan
from fourpatch.analysis.plan_pieces import PlanPieces, plan_pieces
from fourpatch.errors import SolveError
from fourpatch.events.drive_inputs import DriveRoad
from fourpatch.long_work import Cancelled, Progress, never, unwatched
from fourpatch.physics.layout import X
from fourpatch.track.layout import TrackLayout

Array = NDArray[np.float64]

MOST_ROUNDS = 12
LAPS = 16
"""Side by side in a round."""

_FIRST_STEP, _LONGEST_STEP = 0.04, 0.4  # of the speed of a piece
_LEAST_FACTOR, _MOST_FACTOR = 0.3, 2.0  # on what he knew: beyond, nothing hangs on it any more
_SHARES = (1.0, 0.7, 0.4)  # of what the round before found for all pieces, driven together
_STEPS = (-0.7, 0.25, 0.5, 1.0, 1.6)  # of a piece's step, of which each round tries four
_APART = 3  # only every third piece is tried in one lap: what one does is over two pieces on
_GROW, _KEEP, _SHRINK = 1.4, 0.85, 0.6  # of a piece's step: all was borne, some, nothing was quicker
_AS_USUAL = (0.04, 0.4)  # speed [1] and place across [m] a lap may differ by where a piece is judged
_IDLE, _LITTLE = 3, 5e-4  # rounds that together gain less than this share of the lap end the practice
PACE_STEP = 0.0025
"""By which he eases off at the end, of his speeds. [1]"""
_EASED = 1.0 - PACE_STEP * np.arange(24)  # of what he found: he keeps to the fastest with two more below it
_EASED_FAR = _EASED[-1] - 0.01 * np.arange(24)  # the same where not even the slowest of these is borne
_WAYS = 3  # of what he found that he eases off from


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class Practice:
    """What a driver learned."""

    plan: DriverPlan
    """His, with `learned` what he found."""
    pieces: PlanPieces
    factors: Array
    """(pieces,) on what he knew at first. [1]"""
    lap_times: Array
    """(rounds + 1,) his best at the start and after each round. [s]"""
    lap_time: float
    """By the plan, on the road practised on. [s]"""
    stopped: bool
    """Whether the user stopped it: he may not be at his best."""

    @property
    def laps(self) -> int:
        """How many he drove."""
        return LAPS * (self.lap_times.size - 1) + _WAYS * _EASED.size


def practise(
    plan: DriverPlan,
    road: DriveRoad,
    layout: TrackLayout,
    *,
    start: float,
    car_width: float,
    rounds: int = MOST_ROUNDS,
    seed: int = 1,
    progress: Progress = unwatched,
    cancelled: Cancelled = never,
) -> Practice:
    """Let a driver find how fast each piece of a line can be driven.

    Parameters
    ----------
    plan : what he knows at first.
    start : a pace that he bears all round; a factor on what he plans. [1]
    car_width : over the tyres. [m]
    rounds : at the most, `LAPS` laps each.
    seed : of what he tries where.
    progress, cancelled : as `long_work`; stopped, he keeps to what he knows.

    Raises
    ------
    SolveError
        If no pace near the first is borne with two more below it.

    Notes
    -----
    A piece lies between a fastest and a slowest place of the plan: one to brake in, one to drive out of. Each
    round drives his best lap again, parts of all that the round before found good, and laps in which every
    third piece is tried slower or faster. A piece is judged by the time until the end of the piece after
    it, so that an exit spoiled by an entry counts against the entry; only laps that come to it as usual
    count. The quickest whole lap on the road and in hand becomes his best. At the end he eases off by
    quarters of a per cent until this and the next two are in hand: what is borne by luck is not kept.

    A search by trying of this kind is common practice, no published source.
    """
    rng = np.random.default_rng(seed)
    pieces = plan_pieces(plan)
    count = pieces.count
    best = np.full(count, start)
    moves, step = best.copy(), np.full(count, _FIRST_STEP)
    bests, times = [best], list[float]()
    stopped = False
    for number in range(rounds):
        if cancelled():
            stopped = True
            break
        said = f"practice: {times[-1]:.2f} s" if times else "practice"
        progress(number / rounds, said)
        factors, tried = _to_try(best, moves, step, rng)
        round_ = _Round(plan, road, layout, pieces, factors, car_width)
        times = times or [round_.time(0)]
        moves = best.copy()
        for piece in range(count):
            moves[piece], step[piece] = round_.judged(piece, np.flatnonzero(tried[:, piece]), step[piece])
        quickest = round_.quickest()
        best, moves = factors[quickest], factors[quickest] * moves / best
        bests.append(best)
        times.append(min(times[-1], round_.time(quickest)))
        if len(times) > _IDLE and times[-1] > (1.0 - _LITTLE) * times[-1 - _IDLE]:
            break
    # The best of all may be too near the edge to ease off from; that of half-way and the first pace may not.
    kept = np.array([best, bests[len(bests) // 2], bests[0]])
    best, lap_time = _eased_off(plan, road, layout, pieces, kept, car_width)
    return Practice(
        plan=replace(plan, learned=plan.learned * pieces.spread(best[None])[0]),
        pieces=pieces,
        factors=best,
        lap_times=np.array(times),
        lap_time=lap_time,
        stopped=stopped,
    )


def _to_try(
    best: Array, moves: Array, step: Array, rng: np.random.Generator
) -> tuple[Array, NDArray[np.bool_]]:
    """Return the factors of a round's laps, (laps, pieces), and which pieces each of them tries."""
    whole, count = 1 + len(_SHARES), best.size
    factors = np.tile(best, (LAPS, 1))
    for row, share in enumerate(_SHARES, 1):
        factors[row] = best + share * (moves - best)
    tried = np.zeros(factors.shape, dtype=bool)
    colour = np.arange(count) % _APART
    if count > _APART and colour[-1] == colour[0]:
        colour[-1] = 1
    for piece in range(count):
        laps = whole + np.flatnonzero(np.arange(LAPS - whole) % _APART == colour[piece])
        factors[laps, piece] *= 1.0 + step[piece] * rng.permutation(_STEPS)[: laps.size]
        tried[laps, piece] = True
    return np.clip(factors, _LEAST_FACTOR, _MOST_FACTOR), tried


class _Round:
    """Laps driven side by side, the first of them his best."""

    def __init__(
        self,
        plan: DriverPlan,
        road: DriveRoad,
        layout: TrackLayout,
        pieces: PlanPieces,
        factors: Array,
        car_width: float,
    ) -> None:
        self._factors, self._pieces = factors, pieces
        self._run = plan.drive(plan.by_factors(plan.learned * pieces.spread(factors)), road)
        self._rows = [LapRows(self._run, lap) for lap in range(LAPS)]
        self._good = laps_in_hand(self._run, layout, car_width=car_width)
        self._held = [stayed_in_hand(rows, layout, car_width=car_width) for rows in self._rows]

    def time(self, lap: int) -> float:
        """Lap time. [s]"""
        return float(self._run.lap_time[lap])

    def quickest(self) -> int:
        """Return the quickest lap that was good; his best if none was."""
        return int(np.argmin(np.where(self._good, self._run.lap_time, np.inf))) if self._good.any() else 0

    def judged(self, piece: int, laps: NDArray[np.intp], step: float) -> tuple[float, float]:
        """Return a piece's factor that was quickest with all below it borne, and the step to try next."""
        usual, now = self._rows[0], self._factors[0, piece]
        begin, end = self._pieces.window(piece)
        found = [(now, usual.taken(begin, end), True)]
        found += [
            (
                float(self._factors[lap, piece]),
                self._rows[lap].taken(begin, end),
                self._borne(lap, begin, end),
            )
            for lap in laps
            if _comes_as_usual(self._rows[lap], usual, begin)
        ]
        if len(found) == 1 or not np.isfinite(found[0][1]):
            return now, _SHRINK * step
        bad = min((tried for tried, _, borne in found if tried > now and not borne), default=np.inf)
        _, factor = min((time, tried) for tried, time, borne in found if borne and tried < bad)
        if factor == now:
            return now, _SHRINK * step
        longer = _GROW if factor == max(one[0] for one in found) else _KEEP
        return factor, min(longer * step, _LONGEST_STEP)

    def _borne(self, lap: int, begin: float, end: float) -> bool:
        """Say whether a lap came from one place to another on the road and in hand."""
        rows = self._rows[lap]
        return bool(np.isfinite(rows.taken(begin, end)) and self._held[lap][rows.between(begin, end)].all())


def _comes_as_usual(rows: LapRows, usual: LapRows, place: float) -> bool:
    """Say whether a lap comes to a place about as fast and where the usual one does."""
    if rows.distance.size == 0 or rows.distance[-1] <= place:
        return False
    speed, across = (
        [np.interp(place, one.distance, one.states[:, slot]) for one in (rows, usual)]
        for slot in (X.forward_velocity, X.offset)
    )
    faster, aside = _AS_USUAL
    return bool(abs(speed[0] - speed[1]) <= faster * speed[1] and abs(across[0] - across[1]) <= aside)


def _eased_off(
    plan: DriverPlan, road: DriveRoad, layout: TrackLayout, pieces: PlanPieces, kept: Array, car_width: float
) -> tuple[Array, float]:
    """Return the quickest of factors, (ways, pieces), after easing off from each, and its lap time. [s]"""
    for shares in (_EASED, _EASED_FAR):
        factors = (shares[:, None] * kept[:, None, :]).reshape(-1, kept.shape[1])
        run = plan.drive(plan.by_factors(plan.learned * pieces.spread(factors)), road)
        rows = laps_in_hand(run, layout, car_width=car_width).reshape(len(kept), -1)
        sure = rows[:, :-2] & rows[:, 1:-1] & rows[:, 2:]
        first = [(way, int(row.argmax())) for way, row in enumerate(sure) if row.any()]
        laps = [way * shares.size + at for way, at in first]
        if laps:
            quickest = min(laps, key=lambda lap: run.lap_time[lap])
            return factors[quickest], float(run.lap_time[quickest])
    raise SolveError(
        f"lap: even {100.0 * (1.0 - _EASED_FAR[-1]):.0f} % slower than at the pace it bore the car leaves "
        "the road or is lost. Leave the line more room from the edges."
    )
