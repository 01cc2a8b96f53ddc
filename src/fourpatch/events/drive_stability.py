"""Whether a driven car left alone at an instant would settle or swing round."""

from typing import Any, cast

import numpy as np
from numpy.typing import NDArray

from fourpatch.events.drive_inputs import LEVEL_ROAD, DriveRoad, Engines
from fourpatch.events.drive_start import drive_instant, without_letting_go
from fourpatch.physics.layout import N_DRIVE, X

Array = NDArray[np.float64]

_WIGGLE = 1e-5  # of each state
_PLACE_AND_SPEED = (X.distance, X.offset, X.heading, X.forward_velocity)
_MOVED = [k for k in range(N_DRIVE) if k not in _PLACE_AND_SPEED]
_OFFSETS = _WIGGLE * np.vstack([np.eye(N_DRIVE)[_MOVED], -np.eye(N_DRIVE)[_MOVED]])


_TURNING = [_MOVED.index(X.lateral_velocity), _MOVED.index(X.yaw_rate)]


def drive_reserve(
    parameters: Array,
    engines: Engines,
    states: Array,
    controls: Array,
    *,
    road: DriveRoad = LEVEL_ROAD,
) -> Array:
    """Return the larger real part of the two motions in which one car turns, at instants, (instants,). [1/s]

    Parameters
    ----------
    parameters : (1, N_PARAMETER)
    engines : of that car.
    states : (instants, N_DRIVE)
    controls : (instants, 3) steer of the road wheels [rad], throttle, brake; held.
    road : the car is on: without it wheels on a kerb or in a dip would be loaded wrongly.

    Notes
    -----
    Forward speed is held too; negative is stable, a positive one doubles a disturbance in ln 2 / reserve.
    Central differences of 1e-5. Tyres that slide are taken to lag as the others do
    (`drive_start.without_letting_go`). Of all the car's motions the two are meant that sideways speed and yaw
    rate take part in most, as `analysis.stability_reserve` means its only two: a body that bounces, or a
    wheel that spins up in the air, does not turn the car. How far a state takes part in a motion is the
    product of its components in the right and the left eigenvector.

    Source: participation factors of Perez-Arriaga, Verghese and Schweppe, IEEE Transactions on Power
    Apparatus and Systems, 1982 (from memory).
    """
    rows = _OFFSETS.shape[0]
    cars = np.repeat(parameters, rows, axis=0)
    spread = Engines(torque=np.repeat(engines.torque, rows, axis=0), spacing=engines.spacing)
    drivers = np.tile([0.0, 1.0, 0.0], (rows, 1))
    found = np.empty(states.shape[0])
    for instant, (state, held) in enumerate(zip(states, controls, strict=True)):
        row = np.append(held, 0.0)[None]
        rates = drive_instant(cars, state + _OFFSETS, spread, drivers, row, road).rates[:, 0]
        rates = without_letting_go(cars, state + _OFFSETS, rates)
        system = (rates[: rows // 2, _MOVED] - rates[rows // 2 :, _MOVED]).T / (2.0 * _WIGGLE)
        found[instant] = _slower_turning(system)
    return found


def _slower_turning(system: Array) -> float:
    """Larger real part of the two motions that sideways speed and yaw rate take part in most."""
    from scipy.linalg import eig

    values, left, right = cast(Any, eig)(system, left=True, right=True)
    part = np.abs(left * right)
    turning = part[_TURNING].sum(axis=0) / part.sum(axis=0)
    two = np.argsort(turning, kind="stable")[-2:]
    return float(values[two].real.max())
