"""Refine a set-up by computing: coordinate search over the driver's real steps, many set-ups at once."""

from collections.abc import Sequence
from dataclasses import dataclass, replace

import numpy as np
from numpy.typing import NDArray

from fourpatch.advice.grip_cost import HARDLY, GripCost, Judge
from fourpatch.car.adjusters import Adjuster
from fourpatch.car.setup import Setup, step
from fourpatch.errors import Stopped
from fourpatch.long_work import Cancelled, Progress, never, stretch, unwatched

Array = NDArray[np.float64]

REACH = (1, 3)
"""Steps by which each adjuster is tried either way in a round."""

ENOUGH = 0.005
"""Points below which a round that gains no more is the last."""

MOST_ROUNDS = 8


@dataclass(frozen=True, slots=True, kw_only=True)
class Refined:
    """Where a search ended."""

    setup: Setup
    cost: GripCost
    """Of that set-up, one row."""
    tried: int
    """Set-ups that were computed."""
    rounds: int
    converged: bool
    """Whether it ended because no move gained more, not because the rounds were used up."""


def refine(
    judge: Judge,
    start: Setup,
    movable: Sequence[Adjuster],
    *,
    progress: Progress = unwatched,
    cancelled: Cancelled = never,
) -> Refined:
    """Move adjusters by whole steps while that lowers the cost.

    Parameters
    ----------
    progress, cancelled : as `long_work`; stopped, it returns where the last whole round ended.

    Notes
    -----
    A round tries every adjuster by one and three steps either way, from the present set-up; then the best
    moves are made one after another, largest gain first, and of these sets the cheapest becomes the
    present one. So what moves do to each other is computed, not added up. What it finds is a place from
    which no single such move gains; another may be lower still.
    """
    setup, cost, tried = start, judge.cost([start]), 1
    for number in range(1, MOST_ROUNDS + 1):
        moves = [(one, n) for one in movable for n in signed(REACH) if step(setup, one, n) is not None]
        trials = [moved(setup, [move]) for move in moves]
        doing = f"round {number}, {float(cost.total[0]):.2f} points"
        told = stretch(progress, _rounds_share(number - 1), _rounds_share(number), of=doing)
        try:
            gains = np.array([])
            if trials:
                gains = float(cost.total[0]) - judge.cost(trials, progress=told, cancelled=cancelled).total
            tried += len(trials)
            chain = _best_moves(moves, gains)
            if not chain:
                return Refined(setup=setup, cost=cost, tried=tried, rounds=number, converged=True)
            sets = [moved(setup, chain[: k + 1]) for k in range(len(chain))]
            found = judge.cost(sets, cancelled=cancelled)
        except Stopped:
            return Refined(setup=setup, cost=cost, tried=tried, rounds=number - 1, converged=False)
        tried += len(sets)
        best = int(np.argmin(found.total))
        if float(cost.total[0]) - float(found.total[best]) < ENOUGH:
            return Refined(setup=setup, cost=cost, tried=tried, rounds=number, converged=True)
        setup, cost = sets[best], found.row(best)
    return Refined(setup=setup, cost=cost, tried=tried, rounds=MOST_ROUNDS, converged=False)


def _rounds_share(done: int) -> float:
    """Share of a search that so many rounds are, the next being the last as likely as not."""
    return 1.0 - 0.5**done


def back_to(
    judge: Judge, end: Refined, target: Setup, movable: Sequence[Adjuster], *, at_most: float
) -> Refined:
    """Put adjusters back where a target has them, as many as together cost no more than `HARDLY`.

    Parameters
    ----------
    at_most : total that the set-up must not go beyond either. [points]

    Notes
    -----
    Cheapest first, one after another; of these sets the longest within the limit is taken.
    """
    away = [one for one in movable if end.setup.position(one) != target.position(one)]
    if not away:
        return end
    alone = judge.cost([_as_in(target, end.setup, [one]) for one in away]).total
    order = [away[int(k)] for k in np.argsort(alone, kind="stable")]
    sets = [_as_in(target, end.setup, order[: k + 1]) for k in range(len(order))]
    found = judge.cost(sets)
    within = np.flatnonzero(found.total <= min(float(end.cost.total[0]) + HARDLY, at_most))
    tried = end.tried + 2 * len(away)
    if within.size == 0:
        return replace(end, tried=tried)
    last = int(within[-1])
    return replace(end, setup=sets[last], cost=found.row(last), tried=tried)


def _as_in(target: Setup, setup: Setup, adjusters: Sequence[Adjuster]) -> Setup:
    values = {one.name: target.position(one) for one in adjusters}
    return setup.model_copy(update={"values": {**setup.values, **values}})


def signed(steps: Sequence[int]) -> list[int]:
    """Return steps downward and upward."""
    return [sign * n for n in steps for sign in (-1, 1)]


def moved(setup: Setup, moves: Sequence[tuple[Adjuster, int]]) -> Setup:
    """Return a set-up with moves made, each of another adjuster and within its range."""
    for one, steps in moves:
        following = step(setup, one, steps)
        assert following is not None
        setup = following
    return setup


def _best_moves(moves: Sequence[tuple[Adjuster, int]], gains: Array) -> list[tuple[Adjuster, int]]:
    """Return for each adjuster its best move that gains, largest gain first."""
    chosen: dict[str, tuple[Adjuster, int]] = {}
    for k in np.argsort(-gains, kind="stable"):
        one, steps = moves[k]
        if gains[k] >= ENOUGH and one.name not in chosen:
            chosen[one.name] = (one, steps)
    return list(chosen.values())
