"""One car in many steady motions at once: settled in each, and what the rig reports there."""

from collections.abc import Sequence

import numpy as np
from numpy.typing import NDArray

from fourpatch.events.equilibrium import Residuals, newton
from fourpatch.events.run import EASED, NO_SEARCH, ROUGHLY, SEARCH, eased, is_straight, rig_instants
from fourpatch.physics.integrate import History
from fourpatch.physics.layout import N_OUTPUT, N_POSITION, N_RIG, P

Array = NDArray[np.float64]

_TRIES = (5, 10, 40)
"""Newton steps for all, for those left, and for those left then, who begin at rest; three are usual."""

_WALK = 10
"""Newton steps at each stage of a walk."""

_CLOSE = 1e-7
"""Newton step at which a car counts as settled: 0.03 N of a stiff tyre, and that to the square."""


def under_gravity(vector: Array, gravity: Array) -> Array:
    """Return a car under other normal accelerations, (n, N_PARAMETER), its springs as set.

    Parameters
    ----------
    gravity : (n,). [m/s^2]
    """
    changed = np.repeat(vector[None, :], gravity.size, axis=0)
    changed[:, P.gravity_roll_moment] *= gravity / vector[P.gravity]
    changed[:, P.gravity] = gravity
    return changed


def all_under_gravity(vectors: Array, gravity: float) -> Array:
    """Return cars under one other normal acceleration, (cars, N_PARAMETER), their springs as set.

    Parameters
    ----------
    vectors : (cars, N_PARAMETER)
    gravity : [m/s^2]
    """
    changed = vectors.copy()
    changed[:, P.gravity_roll_moment] *= gravity / vectors[:, P.gravity]
    changed[:, P.gravity] = gravity
    return changed


def settle_rows(
    parameters: Array, inputs: Array, start: Array, *, tries: Sequence[int] = _TRIES
) -> tuple[Array, NDArray[np.bool_]]:
    """Return where cars rest, each in its own steady motion, (n, 7), and which of them do.

    Parameters
    ----------
    parameters : (n, N_PARAMETER)
    inputs : (n, N_INPUT), held.
    start : (n, 7), positions to begin from, best those of a neighbouring motion.
    tries : Newton steps for all, then for those left; the last of several are walked there from seven tenths
        of their motion.

    Notes
    -----
    As `run.settle`, but a car that finds no place is only reported: it lifts a wheel, tips over or falls
    off its stops, which to a search for limits is an answer. Those that begin at rest are first placed
    without slips.
    """
    positions, settled = start.copy(), np.zeros(start.shape[0], dtype=bool)
    for place, most in enumerate(tries):
        rows = np.flatnonzero(~settled)
        if rows.size == 0:
            break
        if place == len(tries) - 1 > 0:
            positions[rows] = 0.0
            for share in EASED[:-1]:
                residuals = _accelerations(parameters[rows], eased(inputs[rows], share))
                positions[rows], _ = newton(residuals, positions[rows], tries=_WALK, close=_CLOSE)
        bent = rows[~positions[rows].any(axis=1) & ~is_straight(inputs[rows])]
        if bent.size:
            rough = _accelerations(parameters[bent], inputs[bent], NO_SEARCH)
            positions[bent], _ = newton(rough, positions[bent], tries=most, close=ROUGHLY)
        positions[rows], settled[rows] = newton(
            _accelerations(parameters[rows], inputs[rows]), positions[rows], tries=most, close=_CLOSE
        )
    return positions, settled


def steady_outputs(parameters: Array, inputs: Array, positions: Array) -> History:
    """Evaluate the rig at each car's own motion and place: a history of one car and n instants.

    Parameters
    ----------
    parameters : (n, N_PARAMETER)
    inputs : (n, N_INPUT)
    positions : (n, 7)
    """
    found = _instants(parameters[:, None, :], inputs, positions[:, None, :])
    return History(
        states=np.ascontiguousarray(np.swapaxes(found.states, 0, 1)),
        rates=np.ascontiguousarray(np.swapaxes(found.rates, 0, 1)),
        outputs=np.ascontiguousarray(np.swapaxes(found.outputs, 0, 1)),
        failed=found.failed[:1],
    )


def _accelerations(parameters: Array, inputs: Array, rounds: int = SEARCH) -> Residuals:
    """Accelerations of cars at rest, as `newton` asks for them."""
    repeated = np.repeat(parameters[:, None, :], N_POSITION + 1, axis=1)

    def residuals(positions: Array) -> Array:
        rates = _instants(repeated, inputs, positions, rounds).rates
        return rates[:, :, N_POSITION:]

    return residuals


def _instants(parameters: Array, inputs: Array, positions: Array, rounds: int = SEARCH) -> History:
    """Rates and outputs at rest, arrays (n, points, ...).

    Parameters
    ----------
    parameters : (n, points, N_PARAMETER)
    inputs : (n, N_INPUT)
    positions : (n, points, 7)
    rounds : as `rig_instants`.
    """
    rows, points = positions.shape[:2]
    states = np.zeros((rows * points, N_RIG))
    states[:, :N_POSITION] = positions.reshape(-1, N_POSITION)
    history = rig_instants(
        parameters.reshape(-1, parameters.shape[-1]), states, np.repeat(inputs, points, axis=0), rounds
    )
    return History(
        states=history.states.reshape(rows, points, N_RIG),
        rates=history.rates.reshape(rows, points, N_RIG),
        outputs=history.outputs.reshape(rows, points, N_OUTPUT),
        failed=history.failed,
    )
