"""Work of sliding in the contact patches: what a motion costs the tyres."""

from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from fourpatch.analysis.phase_balance import phase_window
from fourpatch.events.motion import RigMotion
from fourpatch.events.run import share_out
from fourpatch.physics.grip import axle_slopes
from fourpatch.physics.integrate import History
from fourpatch.physics.layout import CORNER_BASE, N_CORNER, C, I, O, X

Array = NDArray[np.float64]

_APART = 0.04
"""Time between the instants of a corner at which slips are sought: 1 % of its work. [s]"""


def sliding_power(*, rolling: Array, slip: Array, tangent: Array, along: Array, across: Array) -> Array:
    """Return the power that tyres turn into heat by sliding on the road, of their shape. [W]

    Parameters
    ----------
    rolling : speed of each contact patch along its wheel. [m/s]
    slip, tangent : longitudinal slip, tangent of the slip angle. [1]
    along, across : force on the tyre along and across its wheel, left positive. [N]

    Notes
    -----
    The patch slides over the road by slip x speed backwards and by tangent x speed sideways, and the force on
    it points the other way: P = |u| (slip F_x - tan(alpha) F_y). It is what the engine and the car's own
    motion lose to the tyres: the sum over the wheels of torque times spin and of minus force times velocity
    of the hub. Rolling resistance is not in it, nor who heats up, tread or road.

    Source: derived here, from the work of a force on what moves.
    """
    return np.asarray(np.abs(rolling) * (slip * along - tangent * across))


def tyres_at_work(outputs: Array) -> tuple[Array, Array, Array, Array]:
    """Return slip [1], tangent of the slip angle [1], force along and across the wheel [N] of all tyres.

    Parameters
    ----------
    outputs : (..., N_OUTPUT) of rig or drive.

    Returns
    -------
    tuple
        Each (..., 4).
    """
    slip, tangent, steer, ahead, aside = (
        outputs[..., slot : slot + 4]
        for slot in (O.slip, O.slip_angle, O.steer, O.longitudinal_force, O.lateral_force)
    )
    cosine, sine = np.cos(steer), np.sin(steer)
    return slip, tangent, ahead * cosine + aside * sine, aside * cosine - ahead * sine


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class CornerSlips:
    """What tyres do in a corner of the rig, from the first touch of the brake to the end of the exit."""

    places: NDArray[np.intp]
    """(n,) of the stored instants."""
    time: Array
    """(n,). [s]"""
    speed: Array
    """(n,) of the car. [m/s]"""
    slope: Array
    """(cars, n, 2) change of an axle's lateral force with the tangent of its slip angle. [N]"""
    power: Array
    """(cars, n, 4) of sliding. [W]"""

    @property
    def work(self) -> Array:
        """Work of sliding over the distance driven, (cars, 4). [J/m]"""
        driven = np.trapezoid(self.speed, self.time)
        return np.asarray(np.trapezoid(self.power, self.time, axis=1) / driven)


def corner_slips(parameters: Array, history: History, motion: RigMotion) -> CornerSlips:
    """Return what the tyres' slips cost in a corner of the rig, looked at every 40 ms.

    Parameters
    ----------
    parameters : (cars, N_PARAMETER)
    """
    samples = history.outputs.shape[1]
    windows = {one.name: phase_window(motion, one, samples) for one in motion.phases}
    first, last = windows["braking"].start, windows["exit"].stop - 1
    interval = motion.step * motion.store_every
    count = max(round((last - first) * interval / _APART), 1) + 1
    places = np.unique(np.rint(np.linspace(first, last, count)).astype(np.intp))
    inputs = motion.inputs[:: 2 * motion.store_every][places]
    outputs, speed = history.outputs[:, places], np.ascontiguousarray(inputs[:, I.speed])
    slope = np.empty((*outputs.shape[:2], 2))

    def work(part: slice) -> None:
        axle_slopes(parameters[part], outputs[part], slope[part])

    share_out(parameters.shape[0], work)
    return CornerSlips(
        places=places,
        time=np.asarray(interval * places, dtype=np.float64),
        speed=speed,
        slope=slope,
        power=rig_sliding(parameters, outputs, curvature=inputs[:, I.path_curvature], speed=speed),
    )


def rig_sliding(parameters: Array, outputs: Array, *, curvature: Array, speed: Array) -> Array:
    """Return the power of sliding of the four tyres at instants of the rig, (cars, n, 4). [W]

    Parameters
    ----------
    parameters : (cars, N_PARAMETER)
    outputs : (cars, n, N_OUTPUT)
    curvature, speed : of the path, (n,). [1/m], [m/s]

    Notes
    -----
    A wheel rolls with the speed of its place beside the path; that it points elsewhere by a few degrees takes
    some per mille.
    """
    aside = parameters[:, None, [CORNER_BASE + k * N_CORNER + C.planar_y for k in range(4)]]
    slip, tangent, along, across = tyres_at_work(outputs)
    rolling = speed[:, None] * (1.0 - curvature[:, None] * aside)
    return sliding_power(rolling=rolling, slip=slip, tangent=tangent, along=along, across=across)


def drive_sliding(parameters: Array, states: Array, outputs: Array) -> Array:
    """Return the power of sliding of the four tyres at instants of a drive, (n, 4). [W]

    Parameters
    ----------
    parameters : (N_PARAMETER,)
    states : (n, N_DRIVE)
    outputs : (n, N_OUTPUT)

    Notes
    -----
    With the slips as the tyres have them, lag included; the speed of a patch along its wheel is that of its
    place on the moving body.
    """
    corners = CORNER_BASE + N_CORNER * np.arange(4)
    steer = outputs[:, O.steer : O.steer + 4]
    forward, lateral, yaw = (
        states[:, slot, None] for slot in (X.forward_velocity, X.lateral_velocity, X.yaw_rate)
    )
    along_body = forward - yaw * parameters[corners + C.planar_y]
    across_body = lateral + yaw * parameters[corners + C.planar_x]
    rolling = along_body * np.cos(steer) + across_body * np.sin(steer)
    slip, tangent, along, across = tyres_at_work(outputs)
    return sliding_power(rolling=rolling, slip=slip, tangent=tangent, along=along, across=across)
