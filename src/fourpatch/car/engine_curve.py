"""Torque at the wheels over speed: the best gear's pull, and what the closed throttle holds back.

A gear change takes no time here: the driver is always in the gear that pulls hardest.
"""

import numpy as np
from numpy.typing import NDArray

from fourpatch.car.car import Car

Array = NDArray[np.float64]


def driven_radius(car: Car) -> float:
    """Effective radius of the driven wheels, weighted by their share of the drive. [m]"""
    share = car.driveline.front_drive_share
    return share * car.front.tyre.radius + (1.0 - share) * car.rear.tyre.radius


def limiter_speed(car: Car) -> float:
    """Road speed at which the engine turns at its highest speed in top gear. [m/s]"""
    line = car.driveline
    return line.engine_speed[-1] * driven_radius(car) / (line.gear_ratios[-1] * line.final_drive)


def _by_gear(car: Car, speed: Array) -> tuple[Array, Array, Array]:
    """Overall ratios (gears, 1), engine speed and pull at the wheels in each gear (gears, n)."""
    line = car.driveline
    ratios = np.array(line.gear_ratios)[:, None] * line.final_drive
    engine = np.abs(speed)[None, :] / driven_radius(car) * ratios
    pull = np.interp(engine, line.engine_speed, line.engine_torque) * ratios * line.efficiency
    return ratios, engine, np.where(engine > line.engine_speed[-1], -1.0, pull)


def wheel_torque(car: Car, speed: Array) -> Array:
    """Largest drive torque of all wheels together at road speeds. [N m]

    Notes
    -----
    Below the lowest speed of the torque curve the clutch slips at its torque; past the highest in top
    gear the engine's limiter leaves nothing.
    """
    _, _, pull = _by_gear(car, speed)
    return np.asarray(np.maximum(np.max(pull, axis=0), 0.0))


def overrun_wheel_torque(car: Car, speed: Array) -> Array:
    """Engine braking of all wheels together, throttle closed, as a positive number. [N m]

    Notes
    -----
    In the gear of `wheel_torque`; torque grows linearly with engine speed.
    """
    ratios, engine, pull = _by_gear(car, speed)
    gear = np.argmax(pull, axis=0)
    top = car.driveline.engine_speed[-1]
    turning = np.minimum(np.take_along_axis(engine, gear[None, :], axis=0)[0], top)
    return np.asarray(car.driveline.overrun_torque * turning / top * ratios[gear, 0])


def engine_table(car: Car, *, fastest: float, spacing: float) -> Array:
    """Return the kernel's table against wheel speed: torque with throttle open and closed, (n, 2). [N m]

    Parameters
    ----------
    fastest, spacing : highest wheel speed and distance between rows. [rad/s]
    """
    speed = np.arange(0.0, fastest + spacing, spacing) * driven_radius(car)
    return np.column_stack([wheel_torque(car, speed), -overrun_wheel_torque(car, speed)])
