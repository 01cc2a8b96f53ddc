"""Fixed-step Runge-Kutta runs of the full car: one car, or several set-ups in the lanes of a vector.

Both drivers are the same loops over one workspace (`layout`); only the constant stride differs, so
a batch does exactly the arithmetic of a single run.
"""

from typing import NamedTuple, TypeAlias

import numpy as np
from numpy.typing import NDArray

from fourpatch.physics._compile import driver, inline, kernel, place
from fourpatch.physics.full_car import drive_rates, rig_rates
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
from fourpatch.physics.tyre import Workspace

FloatArray: TypeAlias = NDArray[np.float64]
IntArray: TypeAlias = NDArray[np.int64]

LANES = 8
"""Set-ups that run side by side: two AVX2 or one AVX-512 vector of float64."""


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
    for n in range(clock.steps + 1):
        begin_step(S, stride, N_RIG)
        for stage in range(4):
            weight, half = stage_weights(stage)
            spread_inputs(S, stride, lanes, inputs[min(2 * n + half, inputs.shape[0] - 1)])
            for lane in range(lanes):
                rig_rates(S, lane, stride)
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
        rig_run(S, stride, lanes, cars, first, inputs, clock, history)


@kernel
def run_rig_singly(
    parameters: Workspace, state: Workspace, inputs: Workspace, clock: Clock, history: History
) -> None:
    """Run cars on the rig one after another; arguments as in `run_rig_lanes`.

    The quicker way for fewer than about four cars.
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
    inputs : (2 * steps + 1, N_INPUT), at every half step, the same for all cars.
    clock : Clock
    history : History
        Filled.
    """
    S = np.zeros(N_WORKSPACE * LANES)
    # The number of lanes must look unknown to the compiler, or it unrolls the loops over them.
    rig_blocks(S, LANES, S.shape[0] // N_WORKSPACE, parameters, state, inputs, clock, history)


@inline
def table_value(table: Workspace, position: float) -> float:
    """Value of an evenly spaced table at a fractional index, held at its ends."""
    last = table.shape[0] - 1
    spot = min(max(position, 0.0), last - 1e-9)
    k = int(spot)
    return table[k] + (spot - k) * (table[k + 1] - table[k])


@inline
def road_under(
    S: Workspace, lane: int, stride: int, corner: int, height: Workspace, slope: Workspace, spacing: float
) -> None:
    """Set the road height and its rate of change under one wheel.

    Notes
    -----
    ``height`` and ``slope`` are sampled along the road; between samples a cubic Hermite keeps both
    continuous. Positions beyond the ends see the end heights.
    """
    c = CORNER_BASE + corner * N_CORNER
    last = height.shape[0] - 1
    distance = S[place(STATE_BASE + X.distance, lane, stride)] + S[place(c + C.planar_x, lane, stride)]
    spot = min(max(distance / spacing, 0.0), last - 1e-9)
    k = int(spot)
    t = spot - k
    rise = height[k + 1] - height[k]
    start, end = slope[k] * spacing, slope[k + 1] * spacing
    a, b = 3.0 * rise - 2.0 * start - end, start + end - 2.0 * rise
    S[place(INPUT_BASE + I.road + corner, lane, stride)] = height[k] + t * (start + t * (a + t * b))
    speed = S[place(STATE_BASE + X.forward_velocity, lane, stride)]
    inside = 1.0 if (distance > 0.0) & (distance < last * spacing) else 0.0
    rate = (start + t * (2.0 * a + 3.0 * t * b)) / spacing * speed * inside
    S[place(INPUT_BASE + I.road_speed + corner, lane, stride)] = rate


class Surroundings(NamedTuple):
    """What a driven car meets: its controls in time, the road along its way, its engine."""

    controls: FloatArray  # (2 * steps + 1, 3) at half steps: steer at the road wheels [rad], throttle, brake
    engine: FloatArray  # (n, 2) torque at the wheels, throttle open and closed, against wheel speed [N m]
    engine_spacing: float  # [rad/s]
    road: FloatArray  # (n, 2) height of the left and right track [m]
    slope: FloatArray  # (n, 2) [1]
    spacing: float  # [m]


@inline
def drive_inputs(S: Workspace, lane: int, stride: int, control: Workspace, around: Surroundings) -> None:
    """Set what a driven car sees at this instant: controls, engine torque, road."""
    front = 0.5 * (
        S[place(STATE_BASE + X.spin, lane, stride)] + S[place(STATE_BASE + X.spin + 1, lane, stride)]
    )
    rear = 0.5 * (
        S[place(STATE_BASE + X.spin + 2, lane, stride)] + S[place(STATE_BASE + X.spin + 3, lane, stride)]
    )
    share = S[place(P.drive_front_share, lane, stride)]
    spot = (share * front + (1.0 - share) * rear) / around.engine_spacing
    torque_open = table_value(around.engine[:, 0], spot)
    torque_closed = table_value(around.engine[:, 1], spot)
    S[place(INPUT_BASE + I.steer, lane, stride)] = control[0]
    S[place(INPUT_BASE + I.throttle, lane, stride)] = control[1]
    S[place(INPUT_BASE + I.brake, lane, stride)] = control[2]
    S[place(INPUT_BASE + I.engine_torque, lane, stride)] = (
        control[1] * torque_open + (1.0 - control[1]) * torque_closed
    )
    for corner in range(4):
        side = corner % 2
        road_under(S, lane, stride, corner, around.road[:, side], around.slope[:, side], around.spacing)


@driver
def drive_run(
    S: Workspace,
    stride: int,
    lanes: int,
    cars: int,
    first: int,
    around: Surroundings,
    clock: Clock,
    history: History,
) -> None:
    """Run the block of cars loaded in ``S`` under given controls."""
    for n in range(clock.steps + 1):
        begin_step(S, stride, N_DRIVE)
        for stage in range(4):
            weight, half = stage_weights(stage)
            control = around.controls[min(2 * n + half, around.controls.shape[0] - 1)]
            for lane in range(lanes):
                drive_inputs(S, lane, stride, control, around)
            for lane in range(lanes):
                drive_rates(S, lane, stride)
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
    around: Surroundings,
    clock: Clock,
    history: History,
) -> None:
    """Drive all cars, block after block."""
    for first in range(0, parameters.shape[0], lanes):
        cars = load_block(S, stride, lanes, parameters, state, first, N_DRIVE)
        drive_run(S, stride, lanes, cars, first, around, clock, history)


@kernel
def run_drive_singly(
    parameters: Workspace, state: Workspace, around: Surroundings, clock: Clock, history: History
) -> None:
    """Drive cars one after another; arguments as in `run_drive_lanes`."""
    S = np.zeros(N_WORKSPACE)
    drive_blocks(S, 1, S.shape[0] // N_WORKSPACE, parameters, state, around, clock, history)


@kernel
def run_drive_lanes(
    parameters: Workspace, state: Workspace, around: Surroundings, clock: Clock, history: History
) -> None:
    """Drive cars under the same controls, LANES side by side.

    Parameters
    ----------
    parameters : (cars, N_PARAMETER)
    state : (cars, N_DRIVE), at the start.
    around : Surroundings
    clock : Clock
    history : History
        Filled.
    """
    S = np.zeros(N_WORKSPACE * LANES)
    drive_blocks(S, LANES, S.shape[0] // N_WORKSPACE, parameters, state, around, clock, history)
