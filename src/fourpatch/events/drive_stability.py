"""Whether a driven car left alone at an instant would settle or swing round."""

import numpy as np
from numpy.typing import NDArray

from fourpatch.events.drive_inputs import Engines
from fourpatch.events.drive_start import drive_instant, without_letting_go
from fourpatch.physics.layout import N_DRIVE, X

Array = NDArray[np.float64]

_WIGGLE = 1e-5  # of each state
_PLACE_AND_SPEED = (X.distance, X.offset, X.heading, X.forward_velocity)
_MOVED = [k for k in range(N_DRIVE) if k not in _PLACE_AND_SPEED]
_OFFSETS = _WIGGLE * np.vstack([np.eye(N_DRIVE)[_MOVED], -np.eye(N_DRIVE)[_MOVED]])


def drive_reserve(parameters: Array, engines: Engines, states: Array, controls: Array) -> Array:
    """Return the largest real part of one car's eigenvalues at instants, (instants,). [1/s]

    Parameters
    ----------
    parameters : (1, N_PARAMETER)
    engines : of that car.
    states : (instants, N_DRIVE)
    controls : (instants, 3) steer of the road wheels [rad], throttle, brake; held.

    Notes
    -----
    Forward speed is held too; negative is stable, a positive one doubles a disturbance in ln 2 / reserve.
    Central differences of 1e-5. Tyres that slide are taken to lag as the others do
    (`drive_start.without_letting_go`).
    """
    rows = _OFFSETS.shape[0]
    cars = np.repeat(parameters, rows, axis=0)
    spread = Engines(torque=np.repeat(engines.torque, rows, axis=0), spacing=engines.spacing)
    drivers = np.tile([0.0, 1.0, 0.0], (rows, 1))
    systems = np.empty((states.shape[0], len(_MOVED), len(_MOVED)))
    for instant, (state, held) in enumerate(zip(states, controls, strict=True)):
        row = np.append(held, 0.0)[None]
        rates = drive_instant(cars, state + _OFFSETS, spread, drivers, row).rates[:, 0]
        rates = without_letting_go(cars, state + _OFFSETS, rates)
        systems[instant] = (rates[: rows // 2, _MOVED] - rates[rows // 2 :, _MOVED]).T / (2.0 * _WIGGLE)
    return np.asarray(np.linalg.eigvals(systems).real.max(axis=1))
