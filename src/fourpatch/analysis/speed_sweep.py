"""The car settled at each speed: ride heights, downforce, balance, drag, loads, travel left and handling."""

from typing import Annotated

import numpy as np
from numpy.typing import NDArray

from fourpatch.analysis.quantity import (
    ANGLE_GRADIENT,
    FORCE,
    FREQUENCY,
    LENGTH,
    RATIO,
    SHARE,
    SPEED,
    Axles,
    Corners,
    Findings,
)
from fourpatch.analysis.single_track import YawMotion, yaw_motion
from fourpatch.analysis.statics import handling_at
from fourpatch.analysis.steady_limits import top_speed
from fourpatch.analysis.wheel_rates import corner_values
from fourpatch.car.car import Car
from fourpatch.car.pack import pack
from fourpatch.errors import EventError
from fourpatch.events.motion import steady_inputs
from fourpatch.events.run import rig_instant, settle
from fourpatch.physics.layout import C, O, P

Vector = NDArray[np.float64]


class AtSpeed(Findings):
    """The car settled at one speed, straight ahead on a flat road, its engine balancing drag."""

    speed: Annotated[float, SPEED]
    """Along the road."""
    ride_height: Annotated[Axles, LENGTH]
    """Underside over the road at the axle."""
    downforce: Annotated[Axles, FORCE]
    """At the axle; lift is negative."""
    aero_balance: Annotated[float | None, SHARE]
    """Front part of the downforce; none where the two add up to nothing."""
    drag: Annotated[float, FORCE]
    """Rearwards."""
    tyre_load: Annotated[Corners, FORCE]
    """On the road."""
    to_bump_stop: Annotated[Axles, LENGTH]
    """Wheel travel left until the bump stop is touched, mean of left and right; below zero it is pressed."""
    to_droop_stop: Annotated[Axles, LENGTH]
    """Wheel travel left until the droop stop is touched."""
    understeer_gradient: Annotated[float, ANGLE_GRADIENT]
    """For small lateral acceleration, tyres at the loads of this speed; negative is oversteer."""
    yaw_frequency: Annotated[float | None, FREQUENCY]
    """Undamped, of the linear single-track model; none at rest and beyond the critical speed."""
    yaw_damping_ratio: Annotated[float | None, RATIO]
    """Of the same; tyres that lag and roll, left out, lower it at speed."""


def speed_sweep(car: Car, *, fastest: float | None = None, speeds: int = 25) -> tuple[AtSpeed, ...]:
    """Settle a car at even steps of speed, from rest.

    Parameters
    ----------
    fastest : last speed; by default the top speed. [m/s]
    speeds : how many, rest included; two or more.

    Raises
    ------
    EventError
        If there are too few speeds, or the last is not above zero.
    SolveError
        If the car finds no place to rest at a speed: its downforce outgrows springs and stops.
    """
    if speeds < 2 or (fastest is not None and not fastest > 0.0):
        asked = "top speed" if fastest is None else f"{fastest:g} m/s"
        raise EventError(
            f"speed sweep: {speeds} speeds up to {asked} are asked for; it needs two speeds or more and a "
            "last "
            "one above 0 m/s. Change what is asked for."
        )
    vector = pack(car)
    last = top_speed(car) if fastest is None else fastest
    return tuple(_at_speed(car, vector, float(speed)) for speed in np.linspace(0.0, last, speeds))


def _at_speed(car: Car, vector: Vector, speed: float) -> AtSpeed:
    outputs = _settled_outputs(car, vector, speed)
    front, rear = float(outputs[O.front_downforce]), float(outputs[O.rear_downforce])
    travel = outputs[O.travel : O.travel + 4]
    up, down = corner_values(vector, C.stop_gap) - travel, corner_values(vector, C.droop_gap) + travel
    handling = handling_at(
        vector, outputs[O.tyre_load : O.tyre_load + 4], outputs[O.inclination : O.inclination + 4]
    )
    yaw = yaw_motion_at(vector, handling.cornering_stiffness, speed)
    balanced = abs(front + rear) > 1e-6 * (abs(front) + abs(rear)) > 0.0
    return AtSpeed(
        speed=speed,
        ride_height=Axles(float(outputs[O.front_ride_height]), float(outputs[O.rear_ride_height])),
        downforce=Axles(front, rear),
        aero_balance=front / (front + rear) if balanced else None,
        drag=float(outputs[O.drag]),
        tyre_load=Corners(*outputs[O.tyre_load : O.tyre_load + 4].tolist()),
        to_bump_stop=Axles(float(up[:2].mean()), float(up[2:].mean())),
        to_droop_stop=Axles(float(down[:2].mean()), float(down[2:].mean())),
        understeer_gradient=handling.understeer_gradient,
        yaw_frequency=yaw.natural_frequency,
        yaw_damping_ratio=yaw.damping_ratio,
    )


def yaw_motion_at(vector: Vector, stiffness: Axles, speed: float) -> YawMotion:
    """Return how a packed car yaws by itself at a speed; nothing at rest.

    Parameters
    ----------
    stiffness : cornering stiffness of both tyres of each axle. [N/rad]
    speed : [m/s]
    """
    if speed == 0.0:
        return YawMotion(None, None)
    return yaw_motion(
        mass=float(vector[P.total_mass]),
        yaw_inertia=float(vector[P.yaw_inertia]),
        cg_to_front=float(vector[P.cg_to_front]),
        cg_to_rear=float(vector[P.cg_to_rear]),
        stiffness=stiffness,
        speed=speed,
    )


def _settled_outputs(car: Car, vector: Vector, speed: float) -> Vector:
    inputs = steady_inputs(car, speed=speed)
    state = settle(vector[None], inputs, name=f"speed sweep at {speed * 3.6:.0f} km/h")
    return np.asarray(rig_instant(vector[None], state, inputs).outputs[0, 0])
