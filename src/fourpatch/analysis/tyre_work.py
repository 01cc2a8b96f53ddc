"""Work of sliding in the contact patches: what a motion costs the tyres."""

from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from fourpatch.analysis.axle_use import AxleUse, axle_use_at
from fourpatch.analysis.lap_profile import LapProfile
from fourpatch.analysis.phase_balance import phase_window
from fourpatch.car.car import Car
from fourpatch.car.pack import pack
from fourpatch.events.motion import RigMotion, steady_rows
from fourpatch.events.run import share_out
from fourpatch.events.steady_states import settle_rows, steady_outputs
from fourpatch.physics.integrate import History
from fourpatch.physics.layout import CORNER_BASE, N_CORNER, N_POSITION, C, I, O, X
from fourpatch.physics.sliding import tyre_slips

Array = NDArray[np.float64]

_APART = 0.04
"""Time between the instants of a corner at which slips are sought: 1 % of its work. [s]"""

DRIVEN = 0.9
"""Of a quasi-steady lap's speeds, at which tyre work is told: about what the drive's driver bears. [1]"""

_ON_LAP = 96


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


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class CornerSlips:
    """What tyres do in a corner of the rig, from the first touch of the brake to the end of the exit."""

    places: NDArray[np.intp]
    """(n,) of the stored instants."""
    time: Array
    """(n,). [s]"""
    speed: Array
    """(n,) of the car. [m/s]"""
    tyres: Array
    """(cars, n, 4, 4) slip, tangent of the slip angle, force along and across by tyre. [1], [1], [N], [N]"""
    slope: Array
    """(cars, n, 2) change of an axle's lateral force with the tangent of its slip angle. [N]"""
    share: Array
    """(cars, n, 2) of what is asked that the axle delivers. [1]"""
    power: Array
    """(cars, n, 4) of sliding. [W]"""

    @property
    def work(self) -> Array:
        """Work of sliding over the distance driven, (cars, 4). [J/m]"""
        driven = np.trapezoid(self.speed, self.time)
        return np.asarray(np.trapezoid(self.power, self.time, axis=1) / driven)


def corner_slips(parameters: Array, history: History, motion: RigMotion, use: AxleUse) -> CornerSlips:
    """Return at which slips the tyres deliver what a corner of the rig asks of them.

    Parameters
    ----------
    parameters : (cars, N_PARAMETER)
    use : of the same run.

    Notes
    -----
    As `tyre_slips`, every 40 ms.
    """
    samples = history.outputs.shape[1]
    windows = {one.name: phase_window(motion, one, samples) for one in motion.phases}
    first, last = windows["braking"].start, windows["exit"].stop - 1
    interval = motion.step * motion.store_every
    count = max(round((last - first) * interval / _APART), 1) + 1
    places = np.unique(np.rint(np.linspace(first, last, count)).astype(np.intp))
    inputs = motion.inputs[:: 2 * motion.store_every][places]
    speed = np.ascontiguousarray(inputs[:, I.speed])
    curvature = np.ascontiguousarray(inputs[:, I.path_curvature])
    outputs, lateral = history.outputs[:, places], use.lateral_demand[:, places]
    tyres, slope, share, power = _slips_at(parameters, outputs, lateral, curvature=curvature, speed=speed)
    return CornerSlips(
        places=places,
        time=np.asarray(interval * places, dtype=np.float64),
        speed=speed,
        tyres=tyres,
        slope=slope,
        share=share,
        power=power,
    )


def _slips_at(
    parameters: Array, outputs: Array, lateral: Array, *, curvature: Array, speed: Array
) -> tuple[Array, Array, Array, Array]:
    """What `tyre_slips` fills, (cars, n, ...), and the power of sliding, (cars, n, 4). [W]"""
    cars, samples = outputs.shape[:2]
    tyres = np.empty((cars, samples, 4, 4))
    slope, share = np.empty((cars, samples, 2)), np.empty((cars, samples, 2))

    def work(part: slice) -> None:
        tyre_slips(
            parameters[part],
            outputs[part],
            curvature,
            speed,
            lateral[part],
            tyres[part],
            slope[part],
            share[part],
        )

    share_out(cars, work)
    aside = parameters[:, None, [CORNER_BASE + k * N_CORNER + C.planar_y for k in range(4)]]
    slip, tangent, along, across = np.moveaxis(tyres, -1, 0)
    power = sliding_power(
        rolling=speed[:, None] * (1.0 - curvature[:, None] * aside),
        slip=slip,
        tangent=tangent,
        along=along,
        across=across,
    )
    return tyres, slope, share, power


def lap_work(car: Car, profile: LapProfile, *, share: float = DRIVEN) -> Array:
    """Return the work of sliding of a car that is driven as a quasi-steady lap, (4,). [J/m]

    Parameters
    ----------
    profile : of any car: a faster one, too, is driven no faster.
    share : of its speeds that is driven; accelerations are the square. [1]

    Notes
    -----
    At `_ON_LAP` instants evenly over the lap's time the car is settled in the motion there, and its tyres
    slip as `tyre_slips` says. Instants where it finds no steady place are left out.

    Left out: bumps, kerbs, banking and crests, the time in which loads change.
    """
    ends = np.linspace(0.0, profile.lap_time, _ON_LAP + 1)
    middle = 0.5 * (ends[1:] + ends[:-1])
    speed, lateral, along = (
        np.interp(middle, profile.time, row)
        for row in (profile.speed, profile.tyre_lateral, profile.tyre_longitudinal)
    )
    rows = steady_rows(
        car,
        speed=share * speed,
        lateral_acceleration=share**2 * lateral,
        longitudinal_acceleration=share**2 * along,
    )
    vector = pack(car)[None]
    vectors = np.repeat(vector, _ON_LAP, axis=0)
    positions, settled = settle_rows(vectors, rows, np.zeros((_ON_LAP, N_POSITION)))
    outputs = steady_outputs(vectors, rows, positions).outputs[:, settled]
    curvature = np.ascontiguousarray(rows[settled, I.path_curvature])
    driven = np.ascontiguousarray(rows[settled, I.speed])
    use = axle_use_at(vector, outputs, curvature=curvature, speed=driven)
    power = _slips_at(vector, outputs, use.lateral_demand, curvature=curvature, speed=driven)[-1]
    return np.asarray(power[0].mean(axis=0) / driven.mean())


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
    cosine, sine = np.cos(steer), np.sin(steer)
    lengthwise = outputs[:, O.longitudinal_force : O.longitudinal_force + 4]
    sideways = outputs[:, O.lateral_force : O.lateral_force + 4]
    forward, lateral, yaw = (
        states[:, slot, None] for slot in (X.forward_velocity, X.lateral_velocity, X.yaw_rate)
    )
    along_body = forward - yaw * parameters[corners + C.planar_y]
    across_body = lateral + yaw * parameters[corners + C.planar_x]
    return sliding_power(
        rolling=along_body * cosine + across_body * sine,
        slip=states[:, X.slip : X.slip + 4],
        tangent=states[:, X.slip_angle : X.slip_angle + 4],
        along=lengthwise * cosine + sideways * sine,
        across=sideways * cosine - lengthwise * sine,
    )
