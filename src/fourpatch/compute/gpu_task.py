"""A task of laps as a GPU takes it: the shape of its kernel, and its tables in memory's order."""

from collections.abc import Sequence
from typing import Any

import numpy as np
from numpy.typing import NDArray

from fourpatch.compute.cuda_source import N_COLUMN, LapKernel, Shape
from fourpatch.compute.lap_task import LapSums, LapTask
from fourpatch.compute.trace import Follower, Trace, Workspace
from fourpatch.physics.lap import start_hands
from fourpatch.physics.lap_tally import begin_tally
from fourpatch.physics.layout import N_GATE, N_LAP, STATE_BASE, Q

_ROWS = 4096  # looked at together: what a processor's cache holds


class Columns:
    """All that is known of each car as numbers: parameters, habits, limit; N_COLUMN of them, never copied."""

    def __init__(self, task: LapTask) -> None:
        self._parts = (task.parameters, task.plan.habits, task.plan.grip)
        self.first = np.concatenate([part[0] for part in self._parts])
        assert self.first.size == N_COLUMN

    def alike(self) -> NDArray[np.bool_]:
        """Say which columns are the same in all cars, (N_COLUMN,)."""
        return np.concatenate([self._alike(part) for part in self._parts])

    @staticmethod
    def _alike(part: NDArray[np.float64]) -> NDArray[np.bool_]:
        blocks = range(0, part.shape[0], _ROWS)
        rows = [(part[k : k + _ROWS] == part[0]).all(axis=0) for k in blocks]
        return np.asarray(np.array(rows).all(axis=0))

    def of(self, columns: Sequence[int], fraction: Any) -> NDArray[Any]:
        """Return some columns, (columns, cars)."""
        found = np.empty((len(columns), self._parts[0].shape[0]), fraction)
        ends = np.cumsum([0, *(part.shape[1] for part in self._parts)])
        for row, column in zip(found, columns, strict=True):
            k = int(np.searchsorted(ends, column, side="right")) - 1
            row[:] = self._parts[k][:, column - ends[k]]
        return found


def shape_of(task: LapTask, *, precision: str, folded: bool) -> Shape:
    """Return what a kernel for a task must be written for.

    Parameters
    ----------
    folded : whether numbers that all cars share stand in the source, for one kernel a car and driver; else
        only those that are 0 or 1, and the kernel serves every car that has the same ones.
    """
    columns = Columns(task)
    alike, first = columns.alike(), columns.first
    plain = alike & (folded | np.isin(first, (0.0, 1.0)))
    return Shape(
        precision=precision,
        known=tuple((int(k), float(first[k])) for k in np.flatnonzero(plain)),
        shared=tuple(np.flatnonzero(alike & ~plain).tolist()),
        own=tuple(np.flatnonzero(~alike).tolist()),
        closed=bool(task.plan.closed),
        rough=task.road.stretches.shape[0] > 1,
    )


class GpuArrays:
    """Arguments of a launch: numbers in the kernel's order, then arrays by name, in its precision."""

    SHARED = ("way", "paces", "understeers", "torques", "stretches", "gate_at", "room")
    """Arrays whose size does not hang on the number of cars."""

    def __init__(self, task: LapTask, shape: Shape, kernel: LapKernel) -> None:
        fraction = np.float32 if shape.precision == "float" else np.float64
        self.kernel, self.cars = kernel, task.cars
        columns = Columns(task)
        plan, road, marks = task.plan, task.road, task.marks
        self.shared = np.zeros(max(len(shape.shared), 1), fraction)
        self.shared[: len(shape.shared)] = columns.first[list(shape.shared)]
        self.fractions = [fraction(one) for one in (task.clock.step, plan.finish, marks.begin, marks.end)]
        self.tail: list[Any] = [
            np.int32(marks.gates.size),
            np.int32(plan.way.shape[0]),
            fraction(plan.spacing),
            np.int32(plan.understeer.shape[1]),
            np.int32(task.engines.torque.shape[1]),
            fraction(task.engines.spacing),
            np.int32(road.stretches.shape[0]),
            fraction(road.spacing),
            fraction(road.origin),
            fraction(road.lap),
        ]
        self.every = np.int32(task.clock.every)
        self.arrays: dict[str, NDArray[Any]] = {
            "rows": np.ascontiguousarray(task.rows, np.int32),
            "own": columns.of(shape.own, fraction),
            "way": plan.way.astype(fraction),
            "paces": plan.pace.astype(fraction),
            "understeers": plan.understeer.astype(fraction),
            "torques": task.engines.torque.astype(fraction),
            "stretches": road.stretches.astype(fraction),
            "gate_at": marks.gates.astype(fraction),
            "room": marks.room.astype(fraction),
            "saved": self._begun(task).astype(fraction),
            "gates": np.full((task.cars, marks.gates.size, N_GATE), np.nan, fraction),
            "ended": np.full(task.cars, -1, np.int32),
        }

    def _begun(self, task: LapTask) -> NDArray[np.float64]:
        """Saved slots at the start: the same functions of the physics, on all cars' numbers at once."""
        S: Any = Workspace(Trace(), {STATE_BASE + k: state for k, state in enumerate(task.states.T)})
        follow = Follower(S.trace, single=False)
        follow(begin_tally, S, 0, 1)
        follow(start_hands, S, 0, 1, task.hands.T)
        return np.array([np.broadcast_to(S[slot], task.cars) for slot in self.kernel.saved])

    def values(self, first_step: int, end_step: int, place: dict[str, Any]) -> list[Any]:
        """Return the arguments in order, arrays as what stands for them."""
        begin = [np.int32(self.cars), np.int32(first_step), np.int32(end_step), self.every]
        return [*begin, *self.fractions, *self.tail, *(place[name] for name in self.arrays)]

    def sums(self) -> LapSums:
        """Return what came of it, once the arrays are back."""
        first = self.kernel.saved.index(Q.lap)
        lap = self.arrays["saved"][first : first + N_LAP].T
        return LapSums(
            self.arrays["gates"].astype(np.float64),
            lap.astype(np.float64),
            self.arrays["ended"].astype(np.int64),
        )
