"""A change made to a car: the parameter vector the kernels run."""

from collections.abc import Callable

import numpy as np
from numpy.typing import NDArray

from fourpatch.advice.rules.rule import Change, Shift
from fourpatch.analysis.damper_map import AXLES, damped, present_ratio
from fourpatch.car.car import Car
from fourpatch.car.pack import pack
from fourpatch.car.paths import parameter, replace_parameters
from fourpatch.errors import CarError

Array = NDArray[np.float64]


def changed_car(car: Car, change: Change) -> Car | None:
    """Return a car with the parameters of a change, dampers apart; None where a range does not allow it."""
    try:
        return replace_parameters(car, {shift.path: _value(car, shift) for shift in change.shifts})
    except CarError:
        return None


def changed_vector(car: Car, change: Change, packed: Callable[[Car], Array] = pack) -> Array | None:
    """Return a changed car's parameters, (N_PARAMETER,); None where a parameter's range does not allow it."""
    shifted = changed_car(car, change)
    return None if shifted is None else changed_dampers(packed(shifted), change)


def changed_dampers(vector: Array, change: Change) -> Array:
    """Return a car's parameters, (N_PARAMETER,), with the dampers of a change.

    Notes
    -----
    A ratio R keeps the sum of the slopes at rest: bump becomes (bump + rebound) / (1 + R). Knees stay at
    their speeds, and slopes beyond them keep their share of the slope at rest.
    """
    for damping in change.dampers:
        vector = damped(
            vector, axle=damping.axle, bump=damping.bump, rebound=damping.rebound, part=damping.part
        )
    if change.ratio is not None:
        for axle in AXLES:
            present = present_ratio(vector, axle=axle)
            bump = (1.0 + present) / (1.0 + change.ratio)
            vector = damped(vector, axle=axle, bump=bump, rebound=bump * change.ratio / present)
    return vector


def _value(car: Car, shift: Shift) -> float:
    own = parameter(car, shift.path).value
    return own * shift.amount if shift.how == "times" else own + shift.amount
