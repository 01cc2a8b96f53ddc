"""What each axle needs, can do and uses, and which runs out first."""

from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from fourpatch.events.run import share_out
from fourpatch.physics.grip import axle_use as fill_axle_use
from fourpatch.physics.layout import O, P

Array = NDArray[np.float64]

_MOST = 2.0  # use of a tyre beyond which it only counts as that


@dataclass(frozen=True, slots=True, kw_only=True)
class AxleUse:
    """Per car, stored instant and axle (front, rear): arrays of shape (cars, samples, 2)."""

    use: Array
    """Force over the most the axle could give in that direction; above 1 it cannot. [1]"""
    lateral_capacity: Array
    """[N]"""
    longitudinal_capacity: Array
    """[N]"""
    lateral_force: Array
    """Of both tyres across their wheels, left positive. [N]"""
    longitudinal_force: Array
    """Of both tyres along their wheels, forward positive. [N]"""

    @property
    def balance(self) -> Array:
        """100 (U_front - U_rear), (cars, samples): positive when the front runs out first. [points]"""
        return np.asarray(100.0 * (self.use[..., 0] - self.use[..., 1]))

    @property
    def longitudinal_use(self) -> Array:
        """Size of the force along the wheels over the most the axle can give along them. [1]"""
        return np.asarray(np.abs(self.longitudinal_force) / self.longitudinal_capacity)


def axle_use(parameters: Array, outputs: Array) -> AxleUse:
    """Return what each axle uses of its grip, on the rig or in a drive.

    Parameters
    ----------
    parameters : (cars, N_PARAMETER)
    outputs : (cars, samples, N_OUTPUT)

    Notes
    -----
    In a drive the tyres give what they have, so that U is at most 1 but for what the ellipse is off. The
    rig's forces are those that the motion asks for.
    """
    cars, samples = outputs.shape[:2]
    use, lateral, longitudinal, across, along = (np.empty((cars, samples, 2)) for _ in range(5))

    def work(part: slice) -> None:
        fill_axle_use(
            parameters[part],
            outputs[part],
            use[part],
            lateral[part],
            longitudinal[part],
            across[part],
            along[part],
        )

    share_out(cars, work)
    return AxleUse(
        use=use,
        lateral_capacity=lateral,
        longitudinal_capacity=longitudinal,
        lateral_force=across,
        longitudinal_force=along,
    )


def tyre_use(parameters: Array, outputs: Array) -> Array:
    """Return what each tyre uses of its grip on the rig, (cars, samples, 4). [1]

    Parameters
    ----------
    parameters : (cars, N_PARAMETER)
    outputs : (cars, samples, N_OUTPUT)

    Notes
    -----
    The same as `axle_use` for an axle that has this tyre alone. Above 1 the tyre slides, locks or spins, and
    its neighbour has to do its work; the axle may still hold. A lifted wheel has nothing to deliver: whatever
    is beyond 2 counts as 2.
    """
    held = parameters.copy()
    held[:, [P.front_lock_power, P.rear_lock_power]] = 1.0  # a differential is the axle's matter
    use = np.empty((*outputs.shape[:2], 4))
    for own, other in ((0, 1), (1, 0)):
        alone = outputs.copy()
        for slot in (O.tyre_load, O.lateral_force, O.longitudinal_force):
            alone[:, :, [slot + other, slot + 2 + other]] = 0.0
        use[:, :, own::2] = np.minimum(axle_use(held, alone).use, _MOST)
    return use
