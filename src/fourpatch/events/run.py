"""Cars through events: settled at the start, run on all cores, failures named."""

import os
from collections.abc import Sequence
from concurrent.futures import ThreadPoolExecutor

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
    at once, with a difference Jacobian; a step is cut to 50 mm so that stops and lifted wheels are met
    gently.
    """
    cars = parameters.shape[0]
    positions = np.zeros((cars, N_POSITION))
    spread = np.repeat(parameters, N_POSITION + 1, axis=0)
    offsets = np.vstack([np.zeros(N_POSITION), 1e-7 * np.eye(N_POSITION)])
    for _ in range(60):
        states = np.zeros((cars, N_POSITION + 1, N_RIG))
        states[:, :, :N_POSITION] = positions[:, None, :] + offsets
        rates = rig_instant(spread, states.reshape(-1, N_RIG), inputs).rates[:, 0, N_POSITION:]
        rates = rates.reshape(cars, N_POSITION + 1, N_POSITION)
        residual = rates[:, 0]
        jacobian = np.swapaxes((rates[:, 1:] - residual[:, None, :]) / 1e-7, 1, 2)
        change = -_solve(jacobian, residual, name)
        positions += change * np.minimum(1.0, 0.05 / np.maximum(np.abs(change).max(axis=1), 1e-300))[:, None]
        if np.abs(change).max() < 1e-10:
            return np.hstack([positions, np.zeros((cars, N_POSITION))])
    car = int(np.argmax(np.abs(change).max(axis=1)))
    raise SolveError(
        f"{name}: set-up {car + 1} of {cars} finds no steady place at the start. Its springs, stops or downforce do "
        "not balance there; lower the speed or check ride heights, bump stops and the aero map."
    )


def _solve(jacobian: Array, residual: Array, name: str) -> Array:
    try:
        return np.asarray(np.linalg.solve(jacobian, residual[..., None])[..., 0])
    except np.linalg.LinAlgError:
        raise SolveError(
            f"{name}: a car has no steady place at the start: all wheels of an axle are off the road or a spring "
            "rate is lost. Lower the speed or the acceleration, or check springs and stops."
        ) from None


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
        block = History(*(array[part] for array in history))
        _run_block(parameters[part], states[part], motion.inputs, clock, block)

    parts = _parts(cars, threads or os.cpu_count() or 1)
    if len(parts) == 1:
        work(parts[0])
    else:
        with ThreadPoolExecutor(len(parts)) as pool:
            list(pool.map(work, parts))
    _refuse_failed(history, motion)
    return history


def _parts(cars: int, threads: int) -> list[slice]:
    """Share cars among threads in whole blocks of lanes."""
    blocks = int(np.ceil(cars / LANES))
    edges = [LANES * ((blocks * k) // threads) for k in range(threads + 1)]
    return [slice(a, min(b, cars)) for a, b in zip(edges, edges[1:], strict=False) if a < b]


def _refuse_failed(history: History, motion: RigMotion) -> None:
    broken = np.flatnonzero(history.failed >= 0)
    if broken.size == 0:
        return
    car = int(broken[0])
    row = int(history.failed[car]) // motion.store_every
    raise SolveError(failure_text(history.outputs[car], row, motion.name, car, motion.step * motion.store_every))


def failure_text(outputs: Array, row: int, name: str, car: int, interval: float) -> str:
    """Say when and at which corner a run stopped being finite, and what to do.

    Parameters
    ----------
    outputs : (samples, N_OUTPUT) of the car that failed.
    row : first sample that is not finite.
    """
    before = outputs[max(row - 1, 0)]
    forces = sum(
        np.abs(before[slot : slot + 4]) for slot in (O.elastic_force, O.damper_force, O.tyre_load)
    )
    corner = _CORNERS[int(np.nanargmax(np.where(np.isfinite(forces), forces, np.inf)))]
    return (
        f"{name}: set-up {car + 1} left the range of numbers at {row * interval:.3f} s, first at corner {corner}. "
        "A damper or stop there is far stiffer than its wheel can follow; check its damper table, bump stop and "
        "unsprung mass."
    )


def stacked(vectors: Sequence[Array]) -> Array:
    """Put parameter vectors in rows."""
    return np.ascontiguousarray(np.stack(vectors))

