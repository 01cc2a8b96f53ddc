"""Cars through events: settled at the start, run on all cores, failures named."""

import os
from collections.abc import Callable, Sequence
from concurrent.futures import ThreadPoolExecutor
from itertools import pairwise

import numpy as np
from numpy.typing import NDArray

from fourpatch.errors import SolveError
from fourpatch.events.motion import RigMotion
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
    O,
)

Array = NDArray[np.float64]

LONGEST_STEP = 1e-3
"""Step of the integrator unless a stiff part needs a shorter one. [s]"""

_STABLE = 2.5  # of 2.78, the classical Runge-Kutta method's reach on the negative real axis
_FARTHEST = 0.05  # longest step toward rest [m, rad]
_SETTLED = 1e-10  # step at which a car counts as settled [m, rad]
_DIFFERENCE = 1e-7  # for the Jacobian [m, rad]
_TRIES = 40
_LEFT_ALONE = 10.0  # [s]

_FEW = 4  # cars below which lanes do not pay
_CORNERS = ("FL", "FR", "RL", "RR")


def stable_step(parameters: Array) -> float:
    """Return a step that all cars' wheels can be integrated with: 1 ms, or a whole fraction of it. [s]

    Parameters
    ----------
    parameters : (cars, N_PARAMETER)

    Notes
    -----
    The fastest motion is a wheel between its tyre and its steepest damper slope: the larger root of
    m s^2 - c s + k = 0 bounds every eigenvalue of the corner, |s| <= c/2m + sqrt((c/2m)^2 + k/m).

    Source: derived here.
    """
    fastest = 0.0
    for corner in range(4):
        block = parameters[:, CORNER_BASE + corner * N_CORNER : CORNER_BASE + (corner + 1) * N_CORNER]
        slopes = np.stack(
            [
                block[:, slope, None] + np.cumsum(block[:, knots + KNOTS : knots + 2 * KNOTS], axis=1)
                for slope, knots in ((C.bump_slope, C.bump_knots), (C.rebound_slope, C.rebound_knots))
            ]
        )
        steepest = np.maximum(slopes.max(axis=(0, 2)), block[:, [C.bump_slope, C.rebound_slope]].max(axis=1))
        damping = steepest * block[:, C.damper_ratio] ** 2 + block[:, C.tyre_damping]
        stiffness = block[:, C.tyre_rate] + block[:, C.spring_rate] * block[:, C.spring_ratio] ** 2
        half = damping / (2.0 * block[:, C.unsprung_mass])
        fastest = max(fastest, float(np.max(half + np.sqrt(half**2 + stiffness / block[:, C.unsprung_mass]))))
    parts = int(np.ceil(fastest * LONGEST_STEP / _STABLE))
    return LONGEST_STEP / max(parts, 1)


def _run_block(parameters: Array, state: Array, inputs: Array, clock: Clock, history: History) -> None:
    kernel = run_rig_singly if parameters.shape[0] < _FEW else run_rig_lanes
    kernel(parameters, state, inputs, clock, history)


def part_of(history: History, part: slice) -> History:
    """Return the history of some of the cars; what is written to it is written to the whole."""
    return History(
        states=history.states[part],
        rates=history.rates[part],
        outputs=history.outputs[part],
        failed=history.failed[part],
    )


def _empty_history(cars: int, samples: int) -> History:
    return History(
        states=np.empty((cars, samples, N_RIG)),
        rates=np.empty((cars, samples, N_RIG)),
        outputs=np.empty((cars, samples, N_OUTPUT)),
        failed=np.full(cars, -1, dtype=np.int64),
    )


def rig_instant(parameters: Array, states: Array, inputs: Array) -> History:
    """Evaluate rates and outputs of cars at one instant on the rig.

    Parameters
    ----------
    parameters : (cars, N_PARAMETER)
    states : (cars, N_RIG)
    inputs : (N_INPUT,)
    """
    history = _empty_history(parameters.shape[0], 1)
    _run_block(parameters, states, inputs[None, :], Clock(1e-6, 0, 1), history)
    return history


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
    Newton's method on the seven accelerations as functions of the seven heights and angles, all cars
    at once. A car that it cannot place, because stops, lifted wheels or the edges of the aero map bend
    the functions too sharply, is left to come to rest by itself for ten seconds and placed from there.
    """
    positions, settled = _newton(parameters, np.zeros((parameters.shape[0], N_POSITION)), inputs)
    left = np.flatnonzero(~settled)
    if left.size:
        rested = _left_alone(parameters[left], inputs)
        positions[left], settled[left] = _newton(parameters[left], rested, inputs)
    if not settled.all():
        car = int(np.flatnonzero(~settled)[0])
        raise SolveError(
            f"{name}: set-up {car + 1} of {parameters.shape[0]} finds no steady place at the start: "
            "springs, stops "
            "and downforce do not balance, a wheel lifts, or the car keeps bouncing. Lower the speed or the "
            "acceleration, or check ride heights, bump stops and the aero map."
        )
    return np.hstack([positions, np.zeros_like(positions)])


def _newton(parameters: Array, start: Array, inputs: Array) -> tuple[Array, NDArray[np.bool_]]:
    """Positions at rest, (cars, 7), and which cars were placed.

    No step moves anything by more than 50 mm (50 mrad); one that leaves a car further from rest is
    taken back and a quarter of it tried.
    """
    best = start.copy()
    residual, jacobian = _accelerations(parameters, best, inputs)
    reach = np.full(best.shape[0], _FARTHEST)
    size = np.full(best.shape[0], np.inf)
    for _ in range(_TRIES):
        change = -_solved(jacobian, residual)
        size = np.abs(change).max(axis=1)
        if size.max() < _SETTLED:
            return best + change, size < _SETTLED
        trial = best + change * np.minimum(1.0, reach / np.maximum(size, 1e-300))[:, None]
        found, slopes = _accelerations(parameters, trial, inputs)
        better = np.linalg.norm(found, axis=1) < np.linalg.norm(residual, axis=1)
        best[better], residual[better], jacobian[better] = trial[better], found[better], slopes[better]
        reach = np.where(better, np.minimum(2.0 * reach, _FARTHEST), 0.25 * np.minimum(reach, size))
    return best, size < _SETTLED


def _left_alone(parameters: Array, inputs: Array) -> Array:
    """Positions, (cars, 7), in which cars are after ten seconds of a held motion, begun at rest."""
    step = stable_step(parameters)
    steps = round(_LEFT_ALONE / step)
    history = _empty_history(parameters.shape[0], 2)
    held = np.repeat(inputs[None, :], 2 * steps + 1, axis=0)
    states = np.zeros((parameters.shape[0], N_RIG))
    _run_block(parameters, states, held, Clock(step, steps, steps), history)
    return np.nan_to_num(history.states[:, -1, :N_POSITION])


def _accelerations(parameters: Array, positions: Array, inputs: Array) -> tuple[Array, Array]:
    """Accelerations of cars at rest in given positions, (cars, 7), and their Jacobian, (cars, 7, 7)."""
    cars = positions.shape[0]
    offsets = np.vstack([np.zeros(N_POSITION), _DIFFERENCE * np.eye(N_POSITION)])
    states = np.zeros((cars, N_POSITION + 1, N_RIG))
    states[:, :, :N_POSITION] = positions[:, None, :] + offsets
    spread = np.repeat(parameters, N_POSITION + 1, axis=0)
    rates = rig_instant(spread, states.reshape(-1, N_RIG), inputs).rates[:, 0, N_POSITION:]
    rates = rates.reshape(cars, N_POSITION + 1, N_POSITION)
    return rates[:, 0].copy(), np.swapaxes((rates[:, 1:] - rates[:, :1]) / _DIFFERENCE, 1, 2)


def _solved(jacobian: Array, residual: Array) -> Array:
    """Solve all cars' equations; where they have no single solution (no wheel on the road), move nothing."""
    free = np.abs(np.linalg.det(jacobian)) > 0.0
    solvable = np.where(free[:, None, None], jacobian, np.eye(N_POSITION))
    solution = np.linalg.solve(solvable, residual[..., None])[..., 0]
    return np.where(free[:, None], solution, 1.0)


def run_rig(parameters: Array, motion: RigMotion, *, threads: int | None = None) -> History:
    """Put cars through one motion, each starting settled.

    Parameters
    ----------
    parameters : (cars, N_PARAMETER)
    threads : cores to use; all by default.

    Returns
    -------
    History
        Instants are ``motion.step * motion.store_every`` apart.

    Raises
    ------
    SolveError
        If a car's state stops being finite; the text names event, set-up, time and corner.
    """
    cars = parameters.shape[0]
    states = settle(parameters, motion.inputs[0], name=motion.name)
    history = _empty_history(cars, motion.steps // motion.store_every + 1)
    clock = Clock(motion.step, motion.steps, motion.store_every)

    def work(part: slice) -> None:
        block = part_of(history, part)
        _run_block(parameters[part], states[part], motion.inputs, clock, block)

    share_out(cars, work, block=LANES, threads=threads)
    _refuse_failed(history, motion)
    return history


def share_out(
    cars: int, work: Callable[[slice], None], *, block: int = 1, threads: int | None = None
) -> None:
    """Do ``work`` on slices of the cars, one per core; the kernels inside let go of the interpreter.

    Parameters
    ----------
    block : cars that must stay together.
    threads : cores to use; all by default.
    """
    blocks, workers = -(-cars // block), threads or os.cpu_count() or 1
    edges = [min(block * ((blocks * k) // workers), cars) for k in range(workers + 1)]
    parts = [slice(a, b) for a, b in pairwise(edges) if a < b]
    if len(parts) == 1:
        work(parts[0])
        return
    with ThreadPoolExecutor(len(parts)) as pool:
        list(pool.map(work, parts))


def _refuse_failed(history: History, motion: RigMotion) -> None:
    broken = np.flatnonzero(history.failed >= 0)
    if broken.size == 0:
        return
    car = int(broken[0])
    row = int(history.failed[car]) // motion.store_every
    raise SolveError(
        failure_text(history.outputs[car], row, motion.name, car, motion.step * motion.store_every)
    )


def failure_text(outputs: Array, row: int, name: str, car: int, interval: float) -> str:
    """Say when and at which corner a run stopped being finite, and what to do.

    Parameters
    ----------
    outputs : (samples, N_OUTPUT) of the car that failed.
    row : first sample that is not finite.
    """
    before = outputs[max(row - 1, 0)]
    forces = sum(np.abs(before[slot : slot + 4]) for slot in (O.elastic_force, O.damper_force, O.tyre_load))
    corner = _CORNERS[int(np.nanargmax(np.where(np.isfinite(forces), forces, np.inf)))]
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
