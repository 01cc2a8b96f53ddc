"""One car in many steady motions at once: settled in each, and what the rig reports there."""

import numpy as np
from numpy.typing import NDArray

from fourpatch.events.run import rig_instants
from fourpatch.physics.integrate import History
from fourpatch.physics.layout import N_OUTPUT, N_POSITION, N_RIG, P

Array = NDArray[np.float64]


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


def without_slips(vectors: Array) -> Array:
    """Return cars, (cars, N_PARAMETER), that point along their path whatever their tyres need for it.

    For limits: at its limit a tyre has no slip of its own, so what slip angles cost hangs there on how it was
    sought. Left out with it: the drag of slip angles, what drift moves of the load, turned wheels, and the
    turning moment of a differential.
    """
    changed = vectors.copy()
    changed[:, P.finds_slips] = 0.0
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


def _instants(parameters: Array, inputs: Array, positions: Array) -> History:
    """Rates and outputs at rest, arrays (n, points, ...).

    Parameters
    ----------
    parameters : (n, points, N_PARAMETER)
    inputs : (n, N_INPUT)
    positions : (n, points, 7)
    """
    rows, points = positions.shape[:2]
    states = np.zeros((rows * points, N_RIG))
    states[:, :N_POSITION] = positions.reshape(-1, N_POSITION)
    history = rig_instants(
        parameters.reshape(-1, parameters.shape[-1]), states, np.repeat(inputs, points, axis=0)
    )
    return History(
        states=history.states.reshape(rows, points, N_RIG),
        rates=history.rates.reshape(rows, points, N_RIG),
        outputs=history.outputs.reshape(rows, points, N_OUTPUT),
        failed=history.failed,
    )
