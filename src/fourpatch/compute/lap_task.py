"""Laps to be driven and summed up, whoever drives them: the tables of all cars, each only once."""

from dataclasses import dataclass, replace
from typing import NamedTuple

import numpy as np
from numpy.typing import NDArray

from fourpatch.physics.driver import Plan
from fourpatch.physics.integrate import Clock, EngineTable, History, IntArray, RoadTable
from fourpatch.physics.lap import LapRecord
from fourpatch.physics.lap_tally import Marks, Tally
from fourpatch.physics.layout import N_DRIVE, N_GATE, N_LAP, N_OUTPUT

Array = NDArray[np.float64]


class LapSums(NamedTuple):
    """What came of laps, in the order of the task's cars."""

    gates: Array  # (cars, m, N_GATE), NaN from the first gate that a car has not passed
    lap: Array  # (cars, N_LAP)
    ended: IntArray  # (cars,) step at which a car was at the plan's finish, -1 if it never was


@dataclass(frozen=True, kw_only=True, eq=False)
class LapTask:
    """Cars with their drivers on one line; tables that several cars share stand there once."""

    parameters: Array
    """(cars, N_PARAMETER)"""
    states: Array
    """(cars, N_DRIVE) at the start."""
    hands: Array
    """(cars, 3) steer of the road wheels [rad], throttle, brake at the start."""
    plan: Plan
    """Its habits and grip a row per car; pace and understeer a row per number in `rows`."""
    engines: EngineTable
    """Likewise."""
    rows: IntArray
    """(3, cars) row of each car in pace, understeer and torque."""
    road: RoadTable
    clock: Clock
    marks: Marks

    @property
    def cars(self) -> int:
        """How many."""
        return int(self.parameters.shape[0])

    def part(self, cars: slice) -> "LapTask":
        """Return the task of some of the cars."""
        return self._of(cars)

    def chosen(self, cars: NDArray[np.intp]) -> "LapTask":
        """Return the task of cars by their numbers."""
        return self._of(cars)

    def _of(self, cars: slice | NDArray[np.intp]) -> "LapTask":
        plan = self.plan._replace(habits=self.plan.habits[cars], grip=self.plan.grip[cars])
        return replace(
            self,
            parameters=self.parameters[cars],
            states=self.states[cars],
            hands=self.hands[cars],
            plan=plan,
            rows=self.rows[:, cars],
        )

    def kernel_arguments(self) -> tuple[Array, Array, Plan, EngineTable, RoadTable, Clock, LapRecord]:
        """Return what `run_lap_lanes` asks for, its record to be filled."""
        pace, understeer, torque = self.rows
        cars, none = self.cars, np.empty((self.cars, 0, N_DRIVE))
        record = LapRecord(
            history=History(none, none, np.empty((cars, 0, N_OUTPUT)), np.full(cars, -1)),
            hands=np.ascontiguousarray(self.hands[:, None]),
            marks=self.marks,
            tally=Tally(np.full((cars, self.marks.gates.size, N_GATE), np.nan), np.zeros((cars, N_LAP))),
            ended=np.full(cars, -1),
        )
        plan = self.plan._replace(pace=self.plan.pace[pace], understeer=self.plan.understeer[understeer])
        engines = self.engines._replace(torque=self.engines.torque[torque])
        return self.parameters, self.states, plan, engines, self.road, self.clock, record
