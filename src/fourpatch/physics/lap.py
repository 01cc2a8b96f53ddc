"""Runs of the full car under a driver who follows a line: the loops of `integrate` with him inside."""

from typing import NamedTuple

import numpy as np

from fourpatch.physics._compile import driver, inline, kernel, place
from fourpatch.physics.driver import Plan, act, lay_way
from fourpatch.physics.full_car import given, load_wheels, state
from fourpatch.physics.integrate import (
    LANES,
    Clock,
    EngineTable,
    FloatArray,
    History,
    IntArray,
    RoadTable,
    begin_step,
    drive_stage,
    end_stage,
    end_step,
    engine_input,
    load_block,
    road_inputs,
    store_lanes,
)
from fourpatch.physics.lap_tally import Marks, Tally, begin_tally, carry_rounding, note, tell
from fourpatch.physics.layout import (
    INPUT_BASE,
    N_DRIVE,
    N_WORKSPACE,
    OUTPUT_BASE,
    START_BASE,
    SUM_BASE,
    I,
    O,
    X,
)
from fourpatch.physics.tyre import Workspace

_ALL = 6.0  # weight of the midpoint's rates: `end_step` takes sixths


class LapRecord(NamedTuple):
    """Filled by a run as far as its arrays have rows: a history, sums, or both."""

    history: History
    hands: FloatArray
    """(cars, instants, 3) steer of the road wheels [rad], throttle, brake; the first row is given."""
    marks: Marks
    tally: Tally
    ended: IntArray
    """(cars,), all -1: step at which a car reached the plan's finish, or left so."""


@driver
def note_hands(
    S: Workspace, stride: int, cars: int, first: int, n: int, clock: Clock, hands: Workspace
) -> None:
    """Store what the drivers of the block do at step ``n``, if it is one to be stored."""
    if n % clock.every == 0:
        for lane in range(cars):
            row = hands[first + lane, n // clock.every]
            row[0] = given(S, I.steer, lane, stride)
            row[1] = given(S, I.throttle, lane, stride)
            row[2] = given(S, I.brake, lane, stride)


@inline
def start_hands(S: Workspace, lane: int, stride: int, row: Workspace) -> None:
    """Put a driver's hands and feet where they are at the start."""
    S[place(INPUT_BASE + I.steer, lane, stride)] = row[0]
    S[place(INPUT_BASE + I.throttle, lane, stride)] = row[1]
    S[place(INPUT_BASE + I.brake, lane, stride)] = row[2]
    # He looks at it before the car's first rates: it must not be that of the car before in this lane.
    S[place(OUTPUT_BASE + O.drag, lane, stride)] = 0.0


@driver
def drivers_act(
    S: Workspace,
    stride: int,
    lanes: int,
    cars: int,
    first: int,
    n: int,
    plan: Plan,
    engines: EngineTable,
    clock: Clock,
    ended: IntArray,
) -> int:
    """Let every driver of the block act; return how many are still on their way."""
    driving = 0
    for lane in range(lanes):
        car = first + min(lane, cars - 1)
        lay_way(S, lane, stride, plan)
        act(S, lane, stride, car, clock.step, plan, engines)
        if (ended[car] < 0) & (state(S, X.distance, lane, stride) >= plan.finish):
            ended[car] = n
        if ended[car] < 0:
            driving += 1
    return driving


@driver
def engines_pull(S: Workspace, stride: int, lanes: int, cars: int, first: int, engines: EngineTable) -> None:
    """Set the torque of every engine of the block."""
    for lane in range(lanes):
        car = first + min(lane, cars - 1)
        throttle = given(S, I.throttle, lane, stride)
        engine_input(S, lane, stride, throttle, engines.torque[car], engines.spacing)


@driver
def record_lanes(
    S: Workspace, stride: int, cars: int, first: int, n: int, plan: Plan, clock: Clock, record: LapRecord
) -> None:
    """Note the instant of step ``n``, if it is one to be stored, in whatever is to be filled."""
    if n % clock.every == 0:
        if record.history.states.shape[1] > 0:
            store_lanes(S, stride, cars, N_DRIVE, first, n, clock, record.history)
            note_hands(S, stride, cars, first, n, clock, record.hands)
        if record.marks.gates.shape[0] > 0:
            time, interval = n * clock.step, clock.every * clock.step
            for lane in range(cars):
                note(S, lane, stride, time, interval, plan, record.marks, record.tally.gates[first + lane])


@driver
def end_lap_step(S: Workspace, stride: int, lanes: int, step: float) -> None:
    """Set the state to its value at the end of the step, the distance with what its rounding leaves."""
    end_step(S, stride, N_DRIVE, step)
    for lane in range(lanes):
        start = S[place(START_BASE + X.distance, lane, stride)]
        carry_rounding(S, lane, stride, start, step / 6.0 * S[place(SUM_BASE + X.distance, lane, stride)])


@driver
def lap_run(
    S: Workspace,
    stride: int,
    lanes: int,
    cars: int,
    first: int,
    plan: Plan,
    engines: EngineTable,
    road: RoadTable,
    clock: Clock,
    record: LapRecord,
) -> None:
    """Drive the block of cars loaded in ``S`` along the line until all are at its end.

    Notes
    -----
    Steps of the explicit midpoint rule. Hands and feet stand still over a step, an error of first order in
    the step that four stages would not mend; two cost half as much, and follow the fastest wheel as long as
    rate x step stays below 2.
    """
    for lane in range(lanes):
        load_wheels(S, lane, stride)
        begin_tally(S, lane, stride)
    road_inputs(S, stride, lanes, road)
    n = 0
    driving = cars
    while (n <= clock.steps) & (driving > 0):
        driving = drivers_act(S, stride, lanes, cars, first, n, plan, engines, clock, record.ended)
        begin_step(S, stride, N_DRIVE)
        for stage in range(2):
            engines_pull(S, stride, lanes, cars, first, engines)
            drive_stage(S, stride, lanes, road)
            if stage == 0:
                record_lanes(S, stride, cars, first, n, plan, clock, record)
            end_stage(S, stride, N_DRIVE, _ALL * stage, 0.5 * clock.step)
        end_lap_step(S, stride, lanes, clock.step)
        n += 1
    if record.marks.gates.shape[0] > 0:
        for lane in range(cars):
            tell(S, lane, stride, record.tally.lap[first + lane])


@driver
def lap_blocks(
    S: Workspace,
    stride: int,
    lanes: int,
    parameters: Workspace,
    state: Workspace,
    plan: Plan,
    engines: EngineTable,
    road: RoadTable,
    clock: Clock,
    record: LapRecord,
) -> None:
    """Drive all cars, block after block."""
    for first in range(0, parameters.shape[0], lanes):
        cars = load_block(S, stride, lanes, parameters, state, first, N_DRIVE)
        for lane in range(lanes):
            start_hands(S, lane, stride, record.hands[first + min(lane, cars - 1), 0])
        lap_run(S, stride, lanes, cars, first, plan, engines, road, clock, record)


@kernel
def run_lap_singly(
    parameters: Workspace,
    state: Workspace,
    plan: Plan,
    engines: EngineTable,
    road: RoadTable,
    clock: Clock,
    record: LapRecord,
) -> None:
    """Drive cars along a line one after another; arguments as in `run_lap_lanes`."""
    S = np.zeros(N_WORKSPACE)
    lanes = S.shape[0] // N_WORKSPACE
    lap_blocks(S, 1, lanes, parameters, state, plan, engines, road, clock, record)


@kernel
def run_lap_lanes(
    parameters: Workspace,
    state: Workspace,
    plan: Plan,
    engines: EngineTable,
    road: RoadTable,
    clock: Clock,
    record: LapRecord,
) -> None:
    """Drive cars along a line, LANES side by side.

    Parameters
    ----------
    parameters : (cars, N_PARAMETER)
    state : (cars, N_DRIVE), at the start.
    plan : Plan
    engines : EngineTable
    road : RoadTable
    clock : Clock
        Its steps are the most that are driven.
    record : LapRecord
        Filled; the history as far as the slowest of a block drives.
    """
    S = np.zeros(N_WORKSPACE * LANES)
    lanes = S.shape[0] // N_WORKSPACE
    lap_blocks(S, LANES, lanes, parameters, state, plan, engines, road, clock, record)
