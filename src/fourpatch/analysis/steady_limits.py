"""What a car can do in steady motion: corner speed, deceleration, traction, top speed."""

from collections.abc import Callable

import numpy as np
from numpy.typing import NDArray
from scipy.optimize import brentq

from fourpatch.analysis.axle_use import axle_use
from fourpatch.car.car import Car
from fourpatch.car.engine_curve import driven_radius, limiter_speed, wheel_torque
from fourpatch.car.pack import pack
from fourpatch.errors import EventError, SolveError
from fourpatch.events.motion import RigMotion, steady_inputs
from fourpatch.events.run import rig_instant, settle
from fourpatch.physics.integrate import History
from fourpatch.physics.layout import I, O

Array = NDArray[np.float64]

_SLOWEST = 3.0

_HELD = 10.0
"""Speed that any car is expected to hold. [m/s]"""

FASTEST = 105.0
"""Top of every search for a speed. [m/s]"""


class SteadyCar:
    """A car ready to be asked about steady motion on a flat road."""

    def __init__(self, car: Car) -> None:
        self.car = car
        self.vector = pack(car)[None, :]

    def settled(self, inputs: Array) -> History:
        """Return the car at rest in a steady motion.

        Raises
        ------
        SolveError
            If it finds no steady place, for example because it would tip over.
        """
        return rig_instant(
            self.vector,
            settle(self.vector, inputs, name=f"steady motion at {inputs[I.speed] * 3.6:.0f} km/h"),
            inputs,
        )

    def use(
        self, *, speed: float, lateral_acceleration: float = 0.0, longitudinal_acceleration: float = 0.0
    ) -> tuple[float, float]:
        """Return what front and rear axle use of their grip. [1], [1]"""
        inputs = steady_inputs(
            self.car,
            speed=speed,
            lateral_acceleration=lateral_acceleration,
            longitudinal_acceleration=longitudinal_acceleration,
        )
        motion = RigMotion(name="steady motion", step=1e-3, inputs=inputs[None, :], store_every=1)
        front, rear = axle_use(self.vector, self.settled(inputs), motion).use[0, 0]
        return float(front), float(rear)

    def drag(self, speed: float) -> float:
        """Drag in steady straight running. [N]"""
        history = self.settled(steady_inputs(self.car, speed=speed))
        return float(history.outputs[0, 0, O.drag])


def first_reach(target: float, use: Callable[[float], float], *, start: float, end: float) -> float:
    """Return where the use of the worse axle first reaches ``target`` on the way up, or ``end``.

    Notes
    -----
    Up by eighths until the limit is passed, so that a car that would grip again beyond a place it
    cannot pass is not credited with it; then bisection to a part in two thousand. A motion in which
    the car has no steady place, tipped over or off its stops, is past the limit.
    """

    def within(value: float) -> bool:
        try:
            return use(value) <= target
        except SolveError:
            return False

    if not within(start):
        return start
    low, high = start, min(1.125 * start, end)
    while within(high):
        if high >= end:
            return end
        low, high = high, min(1.125 * high, end)
    while high - low > 5e-4 * high:
        middle = 0.5 * (low + high)
        low, high = (middle, high) if within(middle) else (low, middle)
    return low


def corner_speed(car: Car, *, radius: float, use: float = 1.0, fastest: float | None = None) -> float:
    """Return the steady speed at which the worse axle uses ``use`` of its grip in a corner. [m/s]

    Parameters
    ----------
    radius : [m]
    fastest : where to stop looking; top speed by default. With enough downforce there is no limit. [m/s]
    """
    steady = SteadyCar(car)
    return first_reach(
        use,
        lambda v: max(steady.use(speed=v, lateral_acceleration=v**2 / radius)),
        start=_SLOWEST,
        end=top_speed(car) if fastest is None else fastest,
    )


def braking_limit(car: Car, *, speed: float, use: float = 1.0) -> float:
    """Return the deceleration at which the worse axle uses ``use`` of its grip. [m/s^2]"""
    steady = SteadyCar(car)
    return first_reach(
        use,
        lambda a: max(steady.use(speed=speed, longitudinal_acceleration=-a)),
        start=1.0,
        end=60.0,
    )


def traction_limit(car: Car, *, speed: float, use: float = 1.0) -> float:
    """Return the acceleration at which an axle uses ``use`` of its grip or the engine gives out. [m/s^2]"""
    steady = SteadyCar(car)
    mass = car.chassis.mass + car.fuel.mass
    pull = float(wheel_torque(car, np.array([speed]))[0]) / driven_radius(car)
    engine = max((pull - steady.drag(speed)) / mass, 0.05)
    return first_reach(
        use,
        lambda a: max(steady.use(speed=speed, longitudinal_acceleration=a)),
        start=min(0.1, engine),
        end=engine,
    )


def top_speed(car: Car) -> float:
    """Return the speed at which the best gear's pull equals drag, on a flat road without wind [m/s].

    Raises
    ------
    EventError
        If the engine cannot hold 36 km/h.
    SolveError
        If the car finds no place to rest at a speed on the way.

    Notes
    -----
    Drag at the ride heights the car settles at. Where the engine's limiter comes first, its speed in top
    gear is returned; no speed above `FASTEST` is. Rolling resistance R is left out; it would lower the speed
    by R / (3 x drag) of it, for R of 1.5 % of the weight of a car of 1300 kg and 200 kW by 2 to 3 %.
    """
    steady = SteadyCar(car)
    fastest = min(limiter_speed(car) * (1.0 - 1e-9), FASTEST)

    def surplus(speed: float) -> float:
        pull = float(wheel_torque(car, np.array([speed]))[0]) / driven_radius(car)
        return pull - steady.drag(speed)

    # From below, so that the car is not asked to stand at speeds it never reaches.
    slow = fast = min(_HELD, fastest)
    if surplus(slow) <= 0.0:
        raise EventError(
            f"driveline: the engine cannot hold {slow * 3.6:.0f} km/h against drag; check torque curve, "
            "gears and drag area."
        )
    while surplus(fast) > 0.0:
        if fast >= fastest:
            return fastest
        slow, fast = fast, min(fast + 5.0, fastest)
    return float(brentq(surplus, slow, fast, xtol=1e-3))
