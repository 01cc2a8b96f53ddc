"""Cars through events: settled at the start, run on all cores, failures named."""

import os
from collections.abc import Callable, Sequence
from concurrent.futures import ThreadPoolExecutor
from itertools import pairwise

import numpy as np
from numpy.typing import NDArray

from fourpatch.errors import SolveError
from fourpatch.events.motion import RigMotion
from fourpatch.events.tumbling import refuse_tumbled
from fourpatch.physics.integrate import (
    LANES,
    Clock,
    History,
    run_rig_lanes,
    run_rig_singly,
)
from fourpatch.physics.layout import (
    CORNER_BASE,
    KNOTS,
    N_CORNER,
    N_OUTPUT,
    N_POSITION,
    N_RIG,
    C,
    I,
    O,
)
from fourpatch.physics.settle import settle_on_rig

Array = NDArray[np.float64]

LONGEST_STEP = 1e-3
"""Step of the integrator unless a stiff part needs a shorter one. [s]"""

FOUR_STAGES = 2.5
"""Largest rate x step: of 2.78, the classical Runge-Kutta method's reach on the negative real axis."""

TWO_STAGES = 1.8
"""The same of the midpoint rule, whose reach is 2."""

_LEFT_ALONE = 10.0  # [s]
_ANYWHERE = 10.0  # of a height [m] or angle [rad], beyond which a car has fallen over

FEW = 3
"""Cars below which lanes do not pay."""

_INSTANT = Clock(1e-6, 0, 1)  # of a run that goes no step

_CORNERS = ("FL", "FR", "RL", "RR")
_WILD = 10.0  # times the largest force at the start, from which on a run counts as lost


def stable_step(parameters: Array, *, reach: float = FOUR_STAGES) -> float:
    """Return a step that all cars' wheels can be integrated with: 1 ms, or a whole fraction of it. [s]

    Parameters
    ----------
    parameters : (cars, N_PARAMETER)
    reach : of the method, largest rate x step. [1]

    Notes
    -----
    The fastest motion is a wheel between its tyre and its steepest damper slope: the larger root of
    m s^2 - c s + k = 0 bounds every eigenvalue of the corner, |s| <= c/2m + sqrt((c/2m)^2 + k/m).

    Source: derived here.
    """
    corners = parameters[:, CORNER_BASE : CORNER_BASE + 4 * N_CORNER].reshape(-1, N_CORNER)
    steepest = corners[:, [C.bump_slope, C.rebound_slope]].max(axis=1)
    for slope, knots in ((C.bump_slope, C.bump_knots), (C.rebound_slope, C.rebound_knots)):
        slopes = corners[:, slope, None] + np.cumsum(corners[:, knots + KNOTS : knots + 2 * KNOTS], axis=1)
        steepest = np.maximum(steepest, slopes.max(axis=1))
    damping = steepest * corners[:, C.damper_ratio] ** 2 + corners[:, C.tyre_damping]
    stiffness = corners[:, C.tyre_rate] + corners[:, C.spring_rate] * corners[:, C.spring_ratio] ** 2
    half = damping / (2.0 * corners[:, C.unsprung_mass])
    fastest = float(np.max(half + np.sqrt(half**2 + stiffness / corners[:, C.unsprung_mass])))
    parts = int(np.ceil(fastest * LONGEST_STEP / reach))
    return LONGEST_STEP / max(parts, 1)


def lanes_pay(cars: int, clock: Clock) -> bool:
    """Say whether cars side by side are quicker.

    At one instant they are too, by a third; but lanes are a second kernel, and who asks for no more than
    instants and one run need not wait half a minute until it is compiled.
    """
    return cars >= FEW and clock.steps > 0


def rig_block(parameters: Array, state: Array, inputs: Array, clock: Clock, history: History) -> None:
    """Run cars on the rig in the way that suits their number; `history` is filled."""
    kernel = run_rig_lanes if lanes_pay(parameters.shape[0], clock) else run_rig_singly
    kernel(parameters, state, inputs[None], clock, history)


def rig_instants(parameters: Array, states: Array, inputs: Array) -> History:
    """Evaluate rates and outputs of cars at one instant on the rig, each in its own motion.

    Parameters
    ----------
    parameters : (cars, N_PARAMETER)
    states : (cars, N_RIG)
    inputs : (cars, N_INPUT)
    """
    history = empty_history(parameters.shape[0], 1)
    # On this core alone: a second one takes longer to start than a few hundred instants to compute.
    run_rig_singly(parameters, states, inputs[:, None], _INSTANT, history)
    return history


def part_of(history: History, part: slice) -> History:
    """Return the history of some of the cars; what is written to it is written to the whole."""
    return History(
        states=history.states[part],
        rates=history.rates[part],
        outputs=history.outputs[part],
        failed=history.failed[part],
    )


def empty_history(cars: int, samples: int, states: int = N_RIG) -> History:
    """Return a history to be filled."""
    return History(
        states=np.empty((cars, samples, states)),
        rates=np.empty((cars, samples, states)),
        outputs=np.empty((cars, samples, N_OUTPUT)),
        failed=np.full(cars, -1, dtype=np.int64),
    )


def rig_instant(parameters: Array, states: Array, inputs: Array) -> History:
    """Evaluate rates and outputs of cars at one instant on the rig, all in one motion.

    Parameters
    ----------
    parameters, states : as `rig_instants`.
    inputs : (N_INPUT,)
    """
    return rig_instants(parameters, states, np.repeat(inputs[None, :], parameters.shape[0], axis=0))


_TO_SHARE = 32  # motions to settle in for which another core is worth its while

NEAR, EXACT = 1e-7, 1e-10
"""Movement at which a car counts as settled: for limits, some hundredth newtons of a tyre; for a start."""

EASED = (0.7, 0.9, 0.97, 1.0)
"""Shares of a motion near the limit, by which a car is walked to it."""

_ASKED = [I.longitudinal_acceleration, I.lateral_acceleration, I.yaw_acceleration, I.path_curvature]


def eased(inputs: Array, share: float) -> Array:
    """Return motions, (..., N_INPUT), that ask for a share of the accelerations at the same speed."""
    changed = inputs.copy()
    changed[..., _ASKED] *= share
    return changed


def settled_rows(
    parameters: Array, inputs: Array, start: Array, *, close: float = NEAR
) -> tuple[Array, NDArray[np.bool_]]:
    """Return where cars rest, each in its own steady motion, (n, 7), and which of them do.

    Parameters
    ----------
    parameters : (n, N_PARAMETER)
    inputs : (n, N_INPUT), held.
    start : (n, 7), positions to begin from, best those of a neighbouring motion.
    close : movement between two looks at the tyres at which a car counts as settled. [m], [rad]

    Notes
    -----
    As `settle_on_rig`; what it does not place is walked there from seven tenths of its motion. A car that
    finds no place lifts a wheel, tips over, falls off its stops or asks too much of its tyres.
    """
    positions, found = np.ascontiguousarray(start, dtype=np.float64).copy(), np.zeros(start.shape[0])
    inputs = np.ascontiguousarray(inputs)
    share_out(
        found.size,
        lambda part: settle_on_rig(parameters[part], inputs[part], close, positions[part], found[part]),
        block=_TO_SHARE,
    )
    left = np.flatnonzero(found == 0.0)
    if left.size:
        at, there = np.zeros((left.size, N_POSITION)), np.zeros(left.size)
        for share in EASED:
            settle_on_rig(parameters[left], eased(inputs[left], share), close, at, there)
            at[there == 0.0] = 0.0
        positions[left], found[left] = at, there
    return positions, found > 0.0


def settle(parameters: Array, inputs: Array, *, name: str) -> Array:
    """Return the states, (cars, N_RIG), in which cars rest in steady motion on the rig.

    Parameters
    ----------
    parameters : (cars, N_PARAMETER)
    inputs : (N_INPUT,), held.
    name : of the event, for an error.

    Raises
    ------
    SolveError
        If a car finds no place to rest.

    Notes
    -----
    As `settled_rows`. A car that it cannot place, because stops, lifted wheels or the edges of the aero map
    bend the functions too sharply, is left to come to rest by itself for ten seconds and placed from there.
    """
    rows = np.repeat(inputs[None, :], parameters.shape[0], axis=0)
    positions, settled = settled_rows(
        parameters, rows, np.zeros((parameters.shape[0], N_POSITION)), close=EXACT
    )
    left = np.flatnonzero(~settled)
    if left.size:
        rested = _left_alone(parameters[left], inputs)
        positions[left], settled[left] = settled_rows(parameters[left], rows[left], rested, close=EXACT)
    if not settled.all():
        car = int(np.flatnonzero(~settled)[0])
        raise SolveError(
            f"{name}: set-up {car + 1} of {parameters.shape[0]} finds no steady place at the start: "
            "springs, stops "
            "and downforce do not balance, a wheel lifts, or the car keeps bouncing. Lower the speed or the "
            "acceleration, or check ride heights, bump stops and the aero map."
        )
    return np.hstack([positions, np.zeros_like(positions)])


def _left_alone(parameters: Array, inputs: Array) -> Array:
    """Positions, (cars, 7), in which cars are after ten seconds of a held motion, begun at rest."""
    step = stable_step(parameters)
    steps = round(_LEFT_ALONE / step)
    history = empty_history(parameters.shape[0], 2)
    held = np.repeat(inputs[None, :], 2 * steps + 1, axis=0)
    states = np.zeros((parameters.shape[0], N_RIG))
    rig_block(parameters, states, held, Clock(step, steps, steps), history)
    places = history.states[:, -1, :N_POSITION]
    return np.asarray(np.where(np.abs(places) < _ANYWHERE, places, 0.0))


def run_rig(
    parameters: Array,
    motion: RigMotion,
    *,
    threads: int | None = None,
    into: History | None = None,
    upright: bool = True,
) -> History:
    """Put cars through one motion, each starting settled.

    Parameters
    ----------
    parameters : (cars, N_PARAMETER)
    threads : cores to use; all by default.
    into : a history of at least as many cars and of as many instants, written over and returned in part; a
    new
        one if left out. Of many short runs half the time would go into new memory.
    upright : refuse a body that leans or rises beyond all meaning, as `refuse_tumbled`.

    Returns
    -------
    History
        Instants are ``motion.step * motion.store_every`` apart.

    Raises
    ------
    SolveError
        If a car's state stops being finite, or its body leaves what the model is for; the text names event,
        set-up and time.
    """
    cars = parameters.shape[0]
    states = settle(parameters, motion.inputs[0], name=motion.name)
    history = empty_history(cars, stored_instants(motion)) if into is None else part_of(into, slice(cars))
    history.failed[:] = -1
    clock = Clock(motion.step, motion.steps, motion.store_every)

    def work(part: slice) -> None:
        block = part_of(history, part)
        rig_block(parameters[part], states[part], motion.inputs, clock, block)

    share_out(cars, work, block=LANES, threads=threads)
    if upright:
        refuse_tumbled(history, motion)
    refuse_failed(
        history, name=motion.name, interval=motion.step * motion.store_every, every=motion.store_every
    )
    return history


def stored_instants(motion: RigMotion) -> int:
    """Return how many instants a run of a motion stores."""
    return motion.steps // motion.store_every + 1


def share_out(
    cars: int, work: Callable[[slice], None], *, block: int = 1, threads: int | None = None
) -> None:
    """Do ``work`` on slices of the cars, one per core; the kernels inside let go of the interpreter.

    Parameters
    ----------
    block : cars that must stay together.
    threads : cores to use; all by default.
    """
    blocks = -(-cars // block)
    workers = 1 if blocks == 1 else threads or os.cpu_count() or 1
    edges = [min(block * ((blocks * k) // workers), cars) for k in range(workers + 1)]
    parts = [slice(a, b) for a, b in pairwise(edges) if a < b]
    if len(parts) == 1:
        work(parts[0])
        return
    with ThreadPoolExecutor(len(parts)) as pool:
        list(pool.map(work, parts))


def refuse_failed(history: History, *, name: str, interval: float, every: int) -> None:
    """Raise for the first car whose state stopped being finite.

    Parameters
    ----------
    name : of the event.
    interval, every : between stored instants, in time [s] and in steps.

    Raises
    ------
    SolveError
        The text names event, set-up, time and corner.
    """
    broken = np.flatnonzero(history.failed >= 0)
    if broken.size:
        car = int(broken[0])
        row = int(history.failed[car]) // every
        raise SolveError(failure_text(history.outputs[car], row, name, car, interval))


def failure_text(outputs: Array, row: int, name: str, car: int, interval: float) -> str:
    """Say when and at which corner a run stopped being finite, and what to do.

    Parameters
    ----------
    outputs : (samples, N_OUTPUT) of the car that failed.
    row : first sample that is not finite.
    """
    slots = (O.elastic_force, O.damper_force, O.tyre_load)
    forces = np.sum([np.abs(outputs[: max(row, 1), slot : slot + 4]) for slot in slots], axis=0)
    wild = ~(forces <= _WILD * np.max(forces[0])).all(axis=1)
    first = forces[int(np.argmax(wild)) if wild.any() else -1]
    corner = _CORNERS[int(np.argmax(np.nan_to_num(first, nan=np.inf)))]
    return (
        f"{name}: set-up {car + 1} left the range of numbers at {row * interval:.3f} s, first at corner "
        f"{corner}. "
        "A damper or stop there is far stiffer than its wheel can follow; check its damper table, bump "
        "stop and "
        "unsprung mass."
    )


def stacked(vectors: Sequence[Array]) -> Array:
    """Put parameter vectors in rows."""
    return np.ascontiguousarray(np.stack(vectors))
