"""What a car can do in steady motion: the speed of a corner, the deceleration, the traction, the top speed."""

from collections.abc import Callable

import numpy as np
from numpy.typing import NDArray
from scipy.optimize import brentq

from fourpatch.analysis.axle_use import axle_use
from fourpatch.car.car import Car
from fourpatch.car.engine_curve import driven_radius, wheel_torque
from fourpatch.car.pack import pack
from fourpatch.errors import EventError
from fourpatch.events.motion import RigMotion, steady_inputs
from fourpatch.events.run import rig_instant, settle
from fourpatch.physics.layout import O

Array = NDArray[np.float64]

_SLOWEST = 3.0
FASTEST = 105.0
"""Top of every search for a speed. [m/s]"""


def steady_use(
    car: Car, *, speed: float, lateral_acceleration: float = 0.0, longitudinal_acceleration: float = 0.0
) -> tuple[float, float]:
    """Return what front and rear axle use of their grip in steady motion on a flat road. [1], [1]

    Raises
    ------
    SolveError
        If the car finds no steady place, for example because it would tip over.
    """
    vector = pack(car)[None, :]
    inputs = steady_inputs(
        car,
        speed=speed,
        lateral_acceleration=lateral_acceleration,
        longitudinal_acceleration=longitudinal_acceleration,
    )
    history = rig_instant(vector, settle(vector, inputs, name="steady motion"), inputs)
    motion = RigMotion(name="steady motion", step=1e-3, inputs=inputs[None, :], store_every=1)
    front, rear = axle_use(vector, history, motion).use[0, 0]
    return float(front), float(rear)


def _where_use_reaches(target: float, use: Callable[[float], float], low: float, high: float) -> float:
    """Return where the use of the worse axle first meets ``target`` between two values, or ``high``."""
    if use(high) <= target:
        return high
    return float(brentq(lambda x: use(x) - target, low, high, xtol=1e-3 * (high - low)))


def corner_speed(car: Car, *, radius: float, use: float = 1.0, fastest: float | None = None) -> float:
    """Return the steady speed at which the worse axle uses ``use`` of its grip in a corner. [m/s]

    Parameters
    ----------
    radius : [m]
    fastest : where to stop looking; top speed by default. With enough downforce there is no limit. [m/s]

    Notes
    -----
    The search goes up in speed by tenths until the limit is passed, so that a car that grips again at
    a speed it cannot reach through the limit is not credited with it.
    """
    end = top_speed(car) if fastest is None else fastest
    previous = _SLOWEST
    while previous < end:
        speed = min(1.1 * previous, end)
        if max(steady_use(car, speed=speed, lateral_acceleration=speed**2 / radius)) > use:
            return _where_use_reaches(
                use,
                lambda v: max(steady_use(car, speed=v, lateral_acceleration=v**2 / radius)),
                0.9 * previous,
                speed,
            )
        previous = speed
    return end


def braking_limit(car: Car, *, speed: float, use: float = 1.0) -> float:
    """Return the deceleration at which the worse axle uses ``use`` of its grip. [m/s^2]"""
    return _where_use_reaches(
        use, lambda a: max(steady_use(car, speed=speed, longitudinal_acceleration=-a)), 0.1, 40.0
    )


def drag_force(car: Car, speed: float) -> float:
    """Drag of the car in steady straight running. [N]"""
    vector = pack(car)[None, :]
    inputs = steady_inputs(car, speed=speed)
    history = rig_instant(vector, settle(vector, inputs, name="steady running"), inputs)
    return float(history.outputs[0, 0, O.drag])


def traction_limit(car: Car, *, speed: float, use: float = 1.0) -> float:
    """Return the acceleration at which the driven axle uses ``use`` of its grip or the engine gives out. [m/s^2]"""
    mass = car.chassis.mass + car.fuel.mass
    pull = float(wheel_torque(car, np.array([speed]))[0]) / driven_radius(car)
    engine = max((pull - drag_force(car, speed)) / mass, 0.05)
    return _where_use_reaches(
        use, lambda a: max(steady_use(car, speed=speed, longitudinal_acceleration=a)), 0.01, engine
    )


def top_speed(car: Car) -> float:
    """Return the speed at which drag takes all the engine gives, at most 105 m/s. [m/s]"""
    speeds = np.linspace(10.0, FASTEST, 40)
    spare = wheel_torque(car, speeds) / driven_radius(car) - np.array([drag_force(car, v) for v in speeds])
    beyond = np.flatnonzero(spare <= 0.0)
    if beyond.size == 0:
        return FASTEST
    if beyond[0] == 0:
        raise EventError(
            "driveline: the engine cannot hold 36 km/h against drag; check torque curve, gears and drag area."
        )
    first = int(beyond[0])
    before, after = spare[first - 1], spare[first]
    return float(speeds[first - 1] + (speeds[first] - speeds[first - 1]) * before / (before - after))
