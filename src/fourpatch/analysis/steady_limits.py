"""What a car can do in steady motion: corner speed, deceleration, traction, top speed."""

from collections.abc import Callable
from itertools import takewhile
from math import isnan

import numpy as np
from numpy.typing import NDArray

from fourpatch.analysis.axle_use import axle_use
from fourpatch.car.car import Car
from fourpatch.car.engine_curve import driven_radius, limiter_speed, wheel_torque
from fourpatch.car.pack import pack
from fourpatch.errors import EventError, SolveError
from fourpatch.events.motion import steady_inputs, steady_rows
from fourpatch.events.run import rig_instant, settle, settled_rows
from fourpatch.events.steady_states import steady_outputs
from fourpatch.physics.integrate import History
from fourpatch.physics.layout import N_POSITION, I, O

Array = NDArray[np.float64]

_SLOWEST = 3.0

_FOUND = 1e-3  # a speed to within this [m/s]
_HELD = 10.0
"""Speed that any car is expected to hold. [m/s]"""

_AT_ONCE = 7
"""Values a search asks for together: the middles of three halvings."""

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
        front, rear = axle_use(self.vector, self.settled(inputs).outputs).use[0, 0]
        return float(front), float(rear)

    def worst_uses(
        self, *, speed: Array, lateral_acceleration: Array, longitudinal_acceleration: Array
    ) -> Array:
        """Return what the worse axle uses of its grip in steady motions, as `first_reach` asks for it.

        Parameters
        ----------
        speed, lateral_acceleration, longitudinal_acceleration : (n,). [m/s], [m/s^2]
        """
        if speed.size == 1:
            try:
                return np.array(
                    [
                        max(
                            self.use(
                                speed=float(speed[0]),
                                lateral_acceleration=float(lateral_acceleration[0]),
                                longitudinal_acceleration=float(longitudinal_acceleration[0]),
                            )
                        )
                    ]
                )
            except SolveError:
                return np.array([np.inf])
        rows = steady_rows(
            self.car,
            speed=speed,
            lateral_acceleration=lateral_acceleration,
            longitudinal_acceleration=longitudinal_acceleration,
        )
        history, settled = self._settled_rows(rows)
        use = axle_use(self.vector, history.outputs).use[0]
        return np.where(settled, use.max(axis=1), np.nan)

    def drag(self, speed: float) -> float:
        """Drag in steady straight running. [N]"""
        history = self.settled(steady_inputs(self.car, speed=speed))
        return float(history.outputs[0, 0, O.drag])

    def drags(self, speed: Array) -> Array:
        """Drag at several speeds, (n,); not a number where the car is not quickly settled. [N]"""
        still = np.zeros(speed.size)
        rows = steady_rows(self.car, speed=speed, lateral_acceleration=still, longitudinal_acceleration=still)
        history, settled = self._settled_rows(rows)
        return np.where(settled, history.outputs[0, :, O.drag], np.nan)

    def _settled_rows(self, rows: Array) -> tuple[History, NDArray[np.bool_]]:
        """One car and n instants, and in which of them it is at rest after a few tries."""
        vectors = np.repeat(self.vector, rows.shape[0], axis=0)
        positions, settled = settled_rows(vectors, rows, np.zeros((rows.shape[0], N_POSITION)))
        return steady_outputs(vectors, rows, positions), settled


def first_reach(
    target: float, uses: Callable[[Array], Array], *, start: float, end: float, at_once: int = 1
) -> float:
    """Return where the use of the worse axle first reaches ``target`` on the way up, or ``end``.

    Parameters
    ----------
    uses : use at some values: infinite where there is no such motion. Asked for one value, it answers; asked
        for several it may leave those that are not quickly found as not a number.
    at_once : values asked for together, where a few more cost little; some of them will not be needed.

    Notes
    -----
    Up by eighths until the limit is passed, so that a car that would grip again beyond a place it
    cannot pass is not credited with it; then bisection to a part in two thousand. A motion in which
    the car has no steady place, tipped over or off its stops, is past the limit.
    """
    known: dict[float, float] = {}

    def within(value: float, ahead: list[float]) -> bool:
        if value not in known:
            known.update(zip(ahead, uses(np.array(ahead)).tolist(), strict=True))
        if isnan(known[value]):
            known[value] = float(uses(np.array([value]))[0])
        return known[value] <= target

    if not within(start, _eighths(start, end, at_once)):
        return start
    low, high = start, min(1.125 * start, end)
    while within(high, _eighths(high, end, at_once)):
        if high >= end:
            return end
        low, high = high, min(1.125 * high, end)
    while high - low > 5e-4 * high:
        middle = 0.5 * (low + high)
        low, high = (middle, high) if within(middle, _halves(low, high, at_once)) else (low, middle)
    return low


def _eighths(value: float, end: float, count: int) -> list[float]:
    """Return a value and those that follow it upward."""
    values = [value]
    while len(values) < count and values[-1] < end:
        values.append(min(1.125 * values[-1], end))
    return values


def _halves(low: float, high: float, count: int) -> list[float]:
    """Return the middle and those of the next halvings, whichever way they go."""
    spans, middles = [(low, high)], []
    for one, other in spans:
        middle = 0.5 * (one + other)
        middles.append(middle)
        if len(middles) == count:
            break
        spans += [(one, middle), (middle, other)]
    return middles


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
        lambda v: steady.worst_uses(
            speed=v, lateral_acceleration=v**2 / radius, longitudinal_acceleration=np.zeros(v.size)
        ),
        start=_SLOWEST,
        end=top_speed(car) if fastest is None else fastest,
        at_once=_AT_ONCE,
    )


def braking_limit(car: Car, *, speed: float, use: float = 1.0) -> float:
    """Return the deceleration at which the worse axle uses ``use`` of its grip. [m/s^2]"""
    return _longitudinal_reach(SteadyCar(car), use, speed=speed, way=-1.0, start=1.0, end=60.0)


def traction_limit(car: Car, *, speed: float, use: float = 1.0) -> float:
    """Return the acceleration at which an axle uses ``use`` of its grip or the engine gives out. [m/s^2]"""
    steady = SteadyCar(car)
    mass = car.chassis.mass + car.fuel.mass
    pull = float(wheel_torque(car, np.array([speed]))[0]) / driven_radius(car)
    engine = max((pull - steady.drag(speed)) / mass, 0.05)
    return _longitudinal_reach(steady, use, speed=speed, way=1.0, start=min(0.1, engine), end=engine)


def _longitudinal_reach(
    steady: SteadyCar, use: float, *, speed: float, way: float, start: float, end: float
) -> float:
    """Return the acceleration at which the worse axle uses ``use``; ``way`` is 1 in drive, -1 braking."""
    return first_reach(
        use,
        lambda a: steady.worst_uses(
            speed=np.full(a.size, speed),
            lateral_acceleration=np.zeros(a.size),
            longitudinal_acceleration=way * a,
        ),
        start=start,
        end=end,
        at_once=_AT_ONCE,
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

    def surpluses(speed: Array) -> Array:
        return wheel_torque(car, speed) / driven_radius(car) - steady.drags(speed)

    # From below, so that the car is not asked to stand at speeds it never reaches; then in finer steps.
    slow, step = min(_HELD, fastest), 5.0
    if surplus(slow) <= 0.0:
        raise EventError(
            f"driveline: the engine cannot hold {slow * 3.6:.0f} km/h against drag; check torque curve, "
            "gears and drag area."
        )
    while step > _FOUND:
        speeds = np.minimum(slow + step * np.arange(1, _AT_ONCE + 1), fastest)
        pairs = zip(speeds.tolist(), surpluses(speeds).tolist(), strict=True)
        held = list(takewhile(lambda pair: (surplus(pair[0]) if isnan(pair[1]) else pair[1]) > 0.0, pairs))
        if held:
            slow = held[-1][0]
        if slow >= fastest:
            return fastest
        if len(held) < _AT_ONCE:
            step /= _AT_ONCE
    return slow + 0.5 * step
