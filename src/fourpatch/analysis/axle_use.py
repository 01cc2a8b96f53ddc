"""What each axle needs, can do and uses, and which runs out first."""

from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from fourpatch.events.motion import RigMotion
from fourpatch.events.run import share_out
from fourpatch.physics.grip import axle_use as fill_axle_use
from fourpatch.physics.integrate import History
from fourpatch.physics.layout import I

Array = NDArray[np.float64]


@dataclass(frozen=True, slots=True, kw_only=True)
class AxleUse:
    """Per car, stored instant and axle (front, rear): arrays of shape (cars, samples, 2)."""

    use: Array
    """Force needed over the most the axle can deliver in that direction; above 1 it cannot. [1]"""
    lateral_capacity: Array
    """[N]"""
    longitudinal_capacity: Array
    """[N]"""
    lateral_demand: Array
    """Differential yaw moments included. [N]"""

    @property
    def balance(self) -> Array:
        """100 (U_front - U_rear), (cars, samples): positive when the front runs out first. [points]"""
        return np.asarray(100.0 * (self.use[..., 0] - self.use[..., 1]))


def axle_use(parameters: Array, history: History, motion: RigMotion) -> AxleUse:
    """Return what each axle uses of its grip at every stored instant of a rig run.

    Parameters
    ----------
    parameters : (cars, N_PARAMETER)
    """
    samples = history.outputs.shape[1]
    inputs = motion.inputs[:: 2 * motion.store_every][:samples]
    use, lateral, longitudinal, demand = (np.empty((parameters.shape[0], samples, 2)) for _ in range(4))
    curvature = np.ascontiguousarray(inputs[:, I.path_curvature])
    speed = np.ascontiguousarray(inputs[:, I.speed])

    def work(part: slice) -> None:
        fill_axle_use(
            parameters[part],
            history.outputs[part],
            curvature,
            speed,
            use[part],
            lateral[part],
            longitudinal[part],
            demand[part],
        )

    share_out(parameters.shape[0], work)
    return AxleUse(
        use=use, lateral_capacity=lateral, longitudinal_capacity=longitudinal, lateral_demand=demand
    )
