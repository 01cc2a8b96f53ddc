"""Sets of changes: one, two or three adjusters, whole steps, found by adding up one-step effects."""

from collections.abc import Sequence
from dataclasses import dataclass, replace

import numpy as np
from numpy.typing import NDArray

from fourpatch.advice.guard import Guard
from fourpatch.advice.sensitivity import EffectTable
from fourpatch.advice.target import Target

Array = NDArray[np.float64]

MOST_CHANGES = 3
CURED = 0.9
"""Share of the wanted change from which on a complaint counts as cured: whole steps seldom hit it."""

FELT_ENOUGH = 0.7
"""The same where the wanted change is what a driver is sure to feel: the rest is worth no adjuster more."""

_BEAM = 60  # sets of each size kept, to which another change is added
_MOST_STEPS = 12  # steps of one adjuster beyond which one-step effects are not trusted
_SHORT = 20.0  # cost of a whole wanted change not had
_BEYOND = 4.0  # cost of a number made worse by twice its tolerance; of thrice, four times as much
_FAR = 4.0  # cost of a whole wanted change too much, from a quarter too much on
_AMPLE = 1.25
_PER_CHANGE = 0.5  # cost of touching one more adjuster: it must spare half a tolerance elsewhere
_PER_STEP = 0.02
_PER_FAR_STEP = 0.1  # cost of each step beyond the fourth: eight clicks are no small change
_NEAR = 4

Changes = tuple[tuple[int, int], ...]
"""Place of an adjuster and its steps, upward if positive; in the order of the adjusters."""


@dataclass(frozen=True, slots=True, kw_only=True)
class Question:
    """Everything a set of changes is judged by."""

    table: EffectTable
    targets: Sequence[Target]
    wanted: Sequence[float]
    guards: Sequence[Guard]
    left: NDArray[np.int64]
    """(adjusters, 2) steps to the stops, down and up; 0 for adjusters that are not to be touched."""
    enough: float = CURED
    """Share of each wanted change from which on no more is asked for."""
    good: Array | None = None
    """(measures,) with a set-up that was good: what is no worse than with it is no harm."""

    @property
    def names(self) -> list[str]:
        """Dotted names of the measures."""
        return self.table.names

    def lean(self) -> "Question":
        """Return the same with the measures alone that it is judged by."""
        terms = [*(one.terms for one in self.targets), *(one.terms for one in self.guards)]
        judged = {name for some in terms for name, _ in some}
        kept = [k for k, name in enumerate(self.names) if name in judged]
        table = replace(
            self.table,
            measures=tuple(self.table.measures[k] for k in kept),
            present=self.table.present[kept],
            effects=self.table.effects[:, :, kept],
        )
        return replace(self, table=table, good=None if self.good is None else self.good[kept])

    def progress(self, values: Array) -> Array:
        """Return the share of each wanted change that is had, (..., targets), for values (..., measures)."""
        names = self.names
        parts = []
        for target, wanted in zip(self.targets, self.wanted, strict=True):
            before = target.value(names, self.table.present)
            parts.append(target.moved(before, target.value(names, values)) / wanted)
        return np.stack(parts, axis=-1)

    def worsening(self, values: Array) -> Array:
        """Return how much worse each guarded number became, over its tolerance, (..., guards)."""
        parts = [self._worse(guard, values) / guard.tolerance for guard in self.guards]
        return np.stack(parts, axis=-1) if parts else np.empty((*values.shape[:-1], 0))

    def _worse(self, guard: Guard, values: Array) -> Array:
        """Return how much worse a guarded number is than now, and than with the good set-up."""
        names, after = self.names, guard.value(self.names, values)
        worse = guard.worsening(guard.value(names, self.table.present), after)
        if self.good is None:
            return worse
        return np.minimum(worse, guard.worsening(guard.value(names, self.good), after))

    def cost(self, values: Array, changes: int | Array, steps: Array) -> Array:
        """Return what is wrong with sets of changes: not cured, broken, side effects, many changes."""
        had, worse = self.progress(values), self.worsening(values)
        short = np.maximum(self.enough - had, 0.0).sum(axis=-1)
        beyond = (np.maximum(worse - 1.0, 0.0) ** 2).sum(axis=-1)
        side = np.maximum(worse, 0.0).clip(max=1.0) @ np.array([guard.weight for guard in self.guards])
        return np.asarray(
            _SHORT * short
            + too_much(had)
            + _BEYOND * beyond
            + side
            + _PER_CHANGE * changes
            + _PER_STEP * steps
            + _PER_FAR_STEP * np.maximum(steps - _NEAR, 0.0)
        )

    def predicted(self, changes: Changes) -> Array:
        """Return the measures after a set of changes, (measures,), one-step effects added up."""
        values = self.table.present.copy()
        for adjuster, steps in changes:
            values = values + abs(steps) * self.table.effects[adjuster, int(steps > 0)]
        return values


def too_much(had: Array) -> Array:
    """Return the cost of bringing more than is wanted, for shares (..., targets)."""
    return np.asarray(_FAR * np.maximum(had - _AMPLE, 0.0).sum(axis=-1))


def likely_sets(question: Question, *, keep: int) -> list[Changes]:
    """Return the most promising sets of one, two and three changes, ``keep`` of each size, best first.

    Notes
    -----
    A beam search: from the best sets of one size every further step of every other adjuster is tried, so
    that an adjuster which does nothing for the complaint may still undo a side effect. Effects are added
    up in proportion to steps; what is left out, that they bend and act on each other, is found when the
    set is run.
    """
    question = question.lean()
    beam: list[tuple[float, Changes, Array]] = [(0.0, (), question.table.present)]
    found: list[Changes] = []
    for size in range(1, MOST_CHANGES + 1):
        beam = _grown(question, beam, size)
        found += [changes for _, changes, _ in beam[:keep]]
    return found


def _grown(
    question: Question, beam: list[tuple[float, Changes, Array]], size: int
) -> list[tuple[float, Changes, Array]]:
    moves = _moves(question)
    rows, owners = [], []
    for _, changes, values in beam:
        taken = {adjuster for adjuster, _ in changes}
        steps_so_far = sum(abs(steps) for _, steps in changes)
        for adjuster, steps in moves:
            if adjuster in taken:
                continue
            rows.append(values + abs(steps) * question.table.effects[adjuster, int(steps > 0)])
            owners.append((tuple(sorted((*changes, (adjuster, steps)))), steps_so_far + abs(steps)))
    if not rows:
        return []
    table = np.stack(rows)
    costs = question.cost(table, size, np.array([steps for _, steps in owners], dtype=np.float64))
    best: dict[Changes, tuple[float, Changes, Array]] = {}
    for k in np.argsort(costs, kind="stable"):
        changes = owners[k][0]
        if changes not in best:
            best[changes] = (float(costs[k]), changes, table[k])
        if len(best) == _BEAM:
            break
    return list(best.values())


def _moves(question: Question) -> list[tuple[int, int]]:
    """Every adjuster by every number of steps within reach, thinned beyond four."""
    moves = []
    for adjuster, (down, up) in enumerate(question.left):
        for sign, left in ((-1, int(down)), (1, int(up))):
            moves += [(adjuster, sign * n) for n in (1, 2, 3, 4, 6, 8, 10, _MOST_STEPS) if n <= left]
    return moves
