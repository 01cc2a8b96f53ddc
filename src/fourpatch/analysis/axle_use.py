"""What each axle needs, can do and uses, and which runs out first."""

from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from fourpatch.events.motion import RigMotion
from fourpatch.events.run import share_out
from fourpatch.physics.grip import axle_use as fill_axle_use
from fourpatch.physics.integrate import History
from fourpatch.physics.layout import I, O

Array = NDArray[np.float64]

_MOST = 2.0  # use of a tyre beyond which it only counts as that


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
    inputs = motion.inputs[:: 2 * motion.store_every][: history.outputs.shape[1]]
    return axle_use_at(
        parameters, history.outputs, curvature=inputs[:, I.path_curvature], speed=inputs[:, I.speed]
    )


def axle_use_at(parameters: Array, outputs: Array, *, curvature: Array, speed: Array) -> AxleUse:
    """Return what each axle uses of its grip at instants of one motion of the rig.

    Parameters
    ----------
    parameters : (cars, N_PARAMETER)
    outputs : (cars, samples, N_OUTPUT)
    curvature, speed : of the path, (samples,). [1/m], [m/s]
    """
    cars, samples = outputs.shape[:2]
    use, lateral, longitudinal, demand = (np.empty((cars, samples, 2)) for _ in range(4))
    curvature, speed = np.ascontiguousarray(curvature), np.ascontiguousarray(speed)

    def work(part: slice) -> None:
        fill_axle_use(
            parameters[part],
            outputs[part],
            curvature,
            speed,
            use[part],
            lateral[part],
            longitudinal[part],
            demand[part],
        )

    share_out(cars, work)
    return AxleUse(
        use=use, lateral_capacity=lateral, longitudinal_capacity=longitudinal, lateral_demand=demand
    )


def driven_use(parameters: Array, outputs: Array) -> Array:
    """Return the share of what each axle can give that its tyres give in a drive, (samples, 2). [1]

    Parameters
    ----------
    parameters : (N_PARAMETER,)
    outputs : (samples, N_OUTPUT) of the drive.

    Notes
    -----
    Capacities at the driven loads and inclinations: lateral as `axle_use_at`, longitudinal both tyres'
    friction, whatever the differential can send them: with that of an open one, which its weaker tyre limits,
    an axle whose inner wheel spins up would give more than it can. What is given is in the tyres' forces,
    along and across each wheel, what a differential turns the car by included: the rig's demand, which adds
    that moment to the forces of the motion, would count it twice here.

    Source: derived here.
    """
    steer = outputs[:, O.steer : O.steer + 4]
    lengthwise = outputs[:, O.longitudinal_force : O.longitudinal_force + 4]
    sideways = outputs[:, O.lateral_force : O.lateral_force + 4]
    along = lengthwise * np.cos(steer) + sideways * np.sin(steer)
    across = sideways * np.cos(steer) - lengthwise * np.sin(steer)
    braked = outputs[None].copy()  # then both tyres' friction counts
    braked[..., O.longitudinal_force : O.longitudinal_force + 4] = -np.abs(lengthwise)
    straight = np.zeros(outputs.shape[0])  # no path, so no moment of a differential
    most = axle_use_at(parameters[None], braked, curvature=straight, speed=straight)
    axles = [row.reshape(-1, 2, 2).sum(axis=2) for row in (across, along)]
    across_use, along_use = axles[0] / most.lateral_capacity[0], axles[1] / most.longitudinal_capacity[0]
    return np.asarray(np.hypot(across_use, along_use))


def tyre_use(parameters: Array, history: History, motion: RigMotion) -> Array:
    """Return what each tyre uses of its grip at every stored instant of a rig run, (cars, samples, 4). [1]

    Parameters
    ----------
    parameters : (cars, N_PARAMETER)

    Notes
    -----
    The same as `axle_use` for an axle that has this tyre alone: its force as the rig shares it out (sideways
    by load, along equally) over the most it can deliver at its load and inclination. Above 1 the tyre slides,
    locks or spins, and its neighbour has to do its work; the axle may still hold. A lifted wheel has nothing
    to deliver: whatever is beyond 2 counts as 2.
    """
    samples = history.outputs.shape[1]
    use = np.empty((*history.outputs.shape[:2], 4))
    speed = motion.inputs[:: 2 * motion.store_every][:samples, I.speed]
    for own, other in ((0, 1), (1, 0)):
        alone = history.outputs.copy()
        for slot in (O.tyre_load, O.lateral_force, O.longitudinal_force):
            alone[:, :, [slot + other, slot + 2 + other]] = 0.0
        # As if braked: what a differential can send to a tyre is the axle's matter.
        along = [O.longitudinal_force + own, O.longitudinal_force + 2 + own]
        alone[:, :, along] = -np.abs(alone[:, :, along])
        found = axle_use_at(parameters, alone, curvature=np.zeros(samples), speed=speed)
        use[:, :, own::2] = np.minimum(found.use, _MOST)
    return use
