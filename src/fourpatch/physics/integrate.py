"""Fixed-step Runge-Kutta runs of the full car: one car, or several set-ups in the lanes of a vector.

Both drivers are the same loops over one workspace (`layout`); only the constant stride differs, so
a batch does exactly the arithmetic of a single run.
"""

from typing import NamedTuple, TypeAlias

import numpy as np
from numba.core.codegen import get_host_cpu_features
from numpy.typing import NDArray

from fourpatch.physics._compile import driver, inline, kernel, place
from fourpatch.physics.full_car import (
    drive_balance,
    drive_motion,
    load_wheels,
    rolling_tyre,
)
from fourpatch.physics.layout import (
    CORNER_BASE,
    INPUT_BASE,
    N_CORNER,
    N_DRIVE,
    N_INPUT,
    N_OUTPUT,
    N_PARAMETER,
    N_RIG,
    N_WORKSPACE,
    OUTPUT_BASE,
    RATE_BASE,
    START_BASE,
    STATE_BASE,
    SUM_BASE,
    C,
    I,
    P,
    X,
)
from fourpatch.physics.rig import begin_slips, look, rig_balance, rig_motion
from fourpatch.physics.tyre import Workspace

FloatArray: TypeAlias = NDArray[np.float64]
IntArray: TypeAlias = NDArray[np.int64]

LANES = 8 if "+avx512f" in str(get_host_cpu_features()) else 4  # type: ignore[no-untyped-call]
"""Set-ups that run side by side: one vector of float64. Two vectors fall out of the fastest cache."""

LOOK = 4e-3
"""Longest time from one look at the rig's tyres to the next. [s]"""


@inline
def load_car(
    S: Workspace, lane: int, stride: int, parameters: Workspace, state: Workspace, states: int
) -> None:
    """Copy one car's parameters and initial state into its lane."""
    for k in range(N_PARAMETER):
        S[place(k, lane, stride)] = parameters[k]
    for k in range(states):
        S[place(STATE_BASE + k, lane, stride)] = state[k]


@inline
def store(
    S: Workspace,
    lane: int,
    stride: int,
    states: int,
    state_row: Workspace,
    rate_row: Workspace,
    output_row: Workspace,
) -> bool:
    """Copy a lane's state, rates and outputs to the history; return whether the state is finite."""
    total = 0.0
    for k in range(states):
        value = S[place(STATE_BASE + k, lane, stride)]
        state_row[k] = value
        rate_row[k] = S[place(RATE_BASE + k, lane, stride)]
        total += value
    for k in range(N_OUTPUT):
        output_row[k] = S[place(OUTPUT_BASE + k, lane, stride)]
    return np.isfinite(total)


@inline
def begin_step(S: Workspace, stride: int, states: int) -> None:
    """Remember the state at the start of a step and clear the weighted sum of rates."""
    for k in range(states * stride):
        S[place(START_BASE, k, stride)] = S[place(STATE_BASE, k, stride)]
        S[place(SUM_BASE, k, stride)] = 0.0


@inline
def end_stage(S: Workspace, stride: int, states: int, weight: float, advance: float) -> None:
    """Add the stage's rates to the weighted sum and move the state on for the next stage."""
    for k in range(states * stride):
        rate = S[place(RATE_BASE, k, stride)]
        S[place(SUM_BASE, k, stride)] += weight * rate
        S[place(STATE_BASE, k, stride)] = S[place(START_BASE, k, stride)] + advance * rate


@inline
def end_step(S: Workspace, stride: int, states: int, step: float) -> None:
    """Set the state to its value at the end of the step."""
    for k in range(states * stride):
        S[place(STATE_BASE, k, stride)] = (
            S[place(START_BASE, k, stride)] + step / 6.0 * S[place(SUM_BASE, k, stride)]
        )


@inline
def stage_weights(stage: int) -> tuple[float, int]:
    """Weight of a stage of the classical Runge-Kutta method and its offset in half steps."""
    weight = 1.0 if (stage == 0) | (stage == 3) else 2.0
    return weight, (stage + 1) // 2


@inline
def stage_advance(stage: int, step: float) -> float:
    """How far from the start of the step the next stage lies."""
    return 0.5 * step if stage < 2 else step


@driver
def spread_inputs(S: Workspace, stride: int, lanes: int, row: Workspace) -> None:
    """Give every lane the same inputs."""
    for k in range(N_INPUT):
        for lane in range(lanes):
            S[place(INPUT_BASE + k, lane, stride)] = row[k]


class Clock(NamedTuple):
    """When a run ends and what it stores."""

    step: float  # [s]
    steps: int
    every: int  # store every so many steps


class History(NamedTuple):
    """Filled by a run: rows are cars, then stored instants."""

    states: FloatArray  # (cars, steps // every + 1, N_RIG or N_DRIVE)
    rates: FloatArray  # the same, time derivatives of the states
    outputs: FloatArray  # (cars, steps // every + 1, N_OUTPUT)
    failed: IntArray  # (cars,), -1, or the first stored step whose state is not finite


@driver
def store_lanes(
    S: Workspace, stride: int, cars: int, states: int, first: int, n: int, clock: Clock, history: History
) -> None:
    """Store the block of cars that begins with car ``first`` at step ``n``, if it is one to be stored."""
    if n % clock.every == 0:
        row = n // clock.every
        for lane in range(cars):
            car = first + lane
            finite = store(
                S,
                lane,
                stride,
                states,
                history.states[car, row],
                history.rates[car, row],
                history.outputs[car, row],
            )
            if (not finite) & (history.failed[car] < 0):
                history.failed[car] = n


@driver
def load_block(
    S: Workspace, stride: int, lanes: int, parameters: Workspace, state: Workspace, first: int, states: int
) -> int:
    """Load the block of cars that begins with car ``first``, its last car repeated.

    Return how many it has.
    """
    cars = min(lanes, parameters.shape[0] - first)
    for lane in range(lanes):
        car = first + min(lane, cars - 1)
        load_car(S, lane, stride, parameters[car], state[car], states)
    return cars


@inline
def steps_between_looks(clock: Clock) -> int:
    """Steps from one look at the rig's tyres to the next.

    They take `LOOK`, or so little less that every stored instant has a look of its own: what a run finds does
    not hang on how much of it is kept.
    """
    apart = max(1, min(clock.every, int(LOOK / clock.step + 0.5)))
    while clock.every % apart != 0:
        apart -= 1
    return apart


@driver
def rig_run(
    S: Workspace,
    stride: int,
    lanes: int,
    cars: int,
    first: int,
    inputs: Workspace,
    clock: Clock,
    history: History,
) -> None:
    """Run the block of cars loaded in ``S`` through the prescribed motion."""
    apart = steps_between_looks(clock)
    for lane in range(lanes):
        begin_slips(S, lane, stride)
    for n in range(clock.steps + 1):
        begin_step(S, stride, N_RIG)
        for stage in range(4):
            weight, half = stage_weights(stage)
            spread_inputs(S, stride, lanes, inputs[min(2 * n + half, inputs.shape[0] - 1)])
            for lane in range(lanes):
                rig_motion(S, lane, stride)
            if (stage == 0) & (n % apart == 0):
                look(S, stride, lanes, n == 0)
            for lane in range(lanes):
                rig_balance(S, lane, stride)
            if stage == 0:
                store_lanes(S, stride, cars, N_RIG, first, n, clock, history)
            end_stage(S, stride, N_RIG, weight, stage_advance(stage, clock.step))
        end_step(S, stride, N_RIG, clock.step)


@driver
def rig_blocks(
    S: Workspace,
    stride: int,
    lanes: int,
    parameters: Workspace,
    state: Workspace,
    inputs: Workspace,
    clock: Clock,
    history: History,
) -> None:
    """Run all cars, block after block."""
    for first in range(0, parameters.shape[0], lanes):
        cars = load_block(S, stride, lanes, parameters, state, first, N_RIG)
        rows = inputs[min(first, inputs.shape[0] - 1)]
        rig_run(S, stride, lanes, cars, first, rows, clock, history)


@kernel
def run_rig_singly(
    parameters: Workspace, state: Workspace, inputs: Workspace, clock: Clock, history: History
) -> None:
    """Run cars on the rig one by one; arguments as in `run_rig_lanes`, but inputs may be each car's own.

    The quicker way for fewer than about four cars, and for instants of many motions.

    Parameters
    ----------
    inputs : (1 or cars, 2 * steps + 1, N_INPUT)
    """
    S = np.zeros(N_WORKSPACE)
    rig_blocks(S, 1, S.shape[0] // N_WORKSPACE, parameters, state, inputs, clock, history)


@kernel
def run_rig_lanes(
    parameters: Workspace, state: Workspace, inputs: Workspace, clock: Clock, history: History
) -> None:
    """Run cars on the rig, LANES side by side.

    Parameters
    ----------
    parameters : (cars, N_PARAMETER)
    state : (cars, N_RIG), at the start.
    inputs : (1, 2 * steps + 1, N_INPUT), at every half step, the same for all cars.
    clock : Clock
    history : History
        Filled.
    """
    S = np.zeros(N_WORKSPACE * LANES)
    # The number of lanes must look unknown to the compiler, or it unrolls the loops over them.
    rig_blocks(S, LANES, S.shape[0] // N_WORKSPACE, parameters, state, inputs, clock, history)


class RoadTable(NamedTuple):
    """The road along a way: for each stretch and each wheel its height as a cubic, constant first.

    Its first and last stretch go on for ever, unless it is a lap.
    """

    stretches: FloatArray  # (n, 4, 4) [m], [1], [1/m], [1/m^2] of the distance into the stretch
    spacing: float  # [m]
    origin: float  # where the first stretch begins [m]
    lap: float  # after which it begins again; longer than any way if it does not [m]


class EngineTable(NamedTuple):
    """Torque of each car at the wheels over evenly spaced wheel speeds."""

    torque: FloatArray  # (cars, n, 2), throttle open and closed [N m]
    spacing: float  # [rad/s]


class Controls(NamedTuple):
    """What drivers do in time, whatever their cars do.

    ``series`` rows are steer at the road wheels from the start [rad], throttle, brake, and the share of the
    throttle that held the speed at the start. Each driver knows his own car: he adds the steer at which
    it started, turns by his own factor, and has his own holding throttle.
    """

    series: FloatArray  # (2 * steps + 1, 4), at half steps
    drivers: FloatArray  # (cars, 3): steer at the start [rad], factor on steer, holding throttle


@inline
def place_in_table(position: float, rows: int) -> tuple[np.uintp, float]:
    """Row of an evenly spaced table and the way past it, in rows; held at both ends.

    The row is held as a whole number: a little below the last row is the last row itself in single precision.
    """
    inside = min(max(position, 0.0), float(rows))
    row = min(np.uintp(inside), np.uintp(rows - 1))
    return row, inside - np.int64(row)


@inline
def engine_torques(
    S: Workspace, lane: int, stride: int, table: Workspace, spacing: float
) -> tuple[float, float]:
    """Torque of the engine at the driven wheels' mean speed, throttle open and closed. [N m]"""
    share = S[place(P.drive_front_share, lane, stride)]
    spin = STATE_BASE + X.spin
    front = S[place(spin, lane, stride)] + S[place(spin + 1, lane, stride)]
    rear = S[place(spin + 2, lane, stride)] + S[place(spin + 3, lane, stride)]
    position = (rear + share * (front - rear)) * 0.5 / spacing
    k, part = place_in_table(position, table.shape[0] - 1)
    torque_open = table[k, 0] + part * (table[k + 1, 0] - table[k, 0])
    torque_closed = table[k, 1] + part * (table[k + 1, 1] - table[k, 1])
    return torque_open, torque_closed


@inline
def engine_input(
    S: Workspace, lane: int, stride: int, throttle: float, table: Workspace, spacing: float
) -> None:
    """Set the torque of the engine."""
    torque_open, torque_closed = engine_torques(S, lane, stride, table, spacing)
    S[place(INPUT_BASE + I.engine_torque, lane, stride)] = torque_closed + throttle * (
        torque_open - torque_closed
    )


@inline
def road_input(S: Workspace, lane: int, stride: int, left: int, road: RoadTable) -> None:
    """Set the road's height and slope under an axle's two wheels; ``left`` is its left corner, 0 or 2."""
    axle = CORNER_BASE + left * N_CORNER
    distance = S[place(STATE_BASE + X.distance, lane, stride)] + S[place(axle + C.planar_x, lane, stride)]
    along = distance - road.origin
    along -= np.int64(along / road.lap) * road.lap
    stretches = road.stretches
    k, part = place_in_table(along / road.spacing, stretches.shape[0])
    s = part * road.spacing
    for corner in range(left, left + 2):
        a, b, c, d = (
            stretches[k, corner, 0],
            stretches[k, corner, 1],
            stretches[k, corner, 2],
            stretches[k, corner, 3],
        )
        S[place(INPUT_BASE + I.road + corner, lane, stride)] = a + s * (b + s * (c + s * d))
        S[place(INPUT_BASE + I.road_speed + corner, lane, stride)] = b + s * (2.0 * c + s * 3.0 * d)


@inline
def drive_inputs(
    S: Workspace,
    lane: int,
    stride: int,
    car: int,
    control: Workspace,
    drivers: Workspace,
    engines: EngineTable,
) -> None:
    """Set what a driver and his engine do at this instant."""
    start, factor, holding = drivers[car, 0], drivers[car, 1], drivers[car, 2]
    throttle = control[1] + control[3] * holding
    S[place(INPUT_BASE + I.steer, lane, stride)] = start + factor * control[0]
    S[place(INPUT_BASE + I.throttle, lane, stride)] = throttle
    S[place(INPUT_BASE + I.brake, lane, stride)] = control[2]
    engine_input(S, lane, stride, throttle, engines.torque[car], engines.spacing)


@driver
def road_inputs(S: Workspace, stride: int, lanes: int, road: RoadTable) -> None:
    """Set the road under every wheel; a level road has one height for ever, set at the start of the run."""
    for lane in range(lanes):
        road_input(S, lane, stride, 0, road)
        road_input(S, lane, stride, 2, road)


@driver
def drive_rates(S: Workspace, stride: int, lanes: int) -> None:
    """Set all rates of the block of cars loaded in ``S``, the road under them being set too."""
    for lane in range(lanes):
        drive_motion(S, lane, stride)
    for wheel in range(4 * lanes):
        rolling_tyre(S, wheel, stride)
    for lane in range(lanes):
        drive_balance(S, lane, stride)


@driver
def drive_stage(S: Workspace, stride: int, lanes: int, road: RoadTable) -> None:
    """Set all rates of the block of cars loaded in ``S``, what drivers and engines do being set."""
    if road.stretches.shape[0] > 1:
        road_inputs(S, stride, lanes, road)
    drive_rates(S, stride, lanes)


@driver
def drive_run(
    S: Workspace,
    stride: int,
    lanes: int,
    cars: int,
    first: int,
    controls: Controls,
    engines: EngineTable,
    road: RoadTable,
    clock: Clock,
    history: History,
) -> None:
    """Run the block of cars loaded in ``S`` under given controls."""
    for lane in range(lanes):
        load_wheels(S, lane, stride)
    road_inputs(S, stride, lanes, road)
    for n in range(clock.steps + 1):
        begin_step(S, stride, N_DRIVE)
        for stage in range(4):
            weight, half = stage_weights(stage)
            control = controls.series[min(2 * n + half, controls.series.shape[0] - 1)]
            for lane in range(lanes):
                car = first + min(lane, cars - 1)
                drive_inputs(S, lane, stride, car, control, controls.drivers, engines)
            drive_stage(S, stride, lanes, road)
            if stage == 0:
                store_lanes(S, stride, cars, N_DRIVE, first, n, clock, history)
            end_stage(S, stride, N_DRIVE, weight, stage_advance(stage, clock.step))
        end_step(S, stride, N_DRIVE, clock.step)


@driver
def drive_blocks(
    S: Workspace,
    stride: int,
    lanes: int,
    parameters: Workspace,
    state: Workspace,
    controls: Controls,
    engines: EngineTable,
    road: RoadTable,
    clock: Clock,
    history: History,
) -> None:
    """Drive all cars, block after block."""
    for first in range(0, parameters.shape[0], lanes):
        cars = load_block(S, stride, lanes, parameters, state, first, N_DRIVE)
        drive_run(S, stride, lanes, cars, first, controls, engines, road, clock, history)


@kernel
def run_drive_singly(
    parameters: Workspace,
    state: Workspace,
    controls: Controls,
    engines: EngineTable,
    road: RoadTable,
    clock: Clock,
    history: History,
) -> None:
    """Drive cars one after another; arguments as in `run_drive_lanes`."""
    S = np.zeros(N_WORKSPACE)
    lanes = S.shape[0] // N_WORKSPACE
    drive_blocks(S, 1, lanes, parameters, state, controls, engines, road, clock, history)


@kernel
def run_drive_lanes(
    parameters: Workspace,
    state: Workspace,
    controls: Controls,
    engines: EngineTable,
    road: RoadTable,
    clock: Clock,
    history: History,
) -> None:
    """Drive cars under the same controls, LANES side by side.

    Parameters
    ----------
    parameters : (cars, N_PARAMETER)
    state : (cars, N_DRIVE), at the start.
    controls : Controls
    engines : EngineTable
    road : RoadTable
    clock : Clock
    history : History
        Filled.
    """
    S = np.zeros(N_WORKSPACE * LANES)
    lanes = S.shape[0] // N_WORKSPACE
    drive_blocks(S, LANES, lanes, parameters, state, controls, engines, road, clock, history)
