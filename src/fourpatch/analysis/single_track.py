"""The linear single-track model: how understeered a car is where its tyres are still linear."""

from math import pi, sqrt
from typing import Annotated, NamedTuple

from fourpatch.analysis.quantity import ANGLE_GRADIENT, CORNERING_STIFFNESS, SHARE, SPEED, Axles, Findings


class SingleTrack(Findings):
    """Steady handling with both tyres of an axle taken as one."""

    cornering_stiffness: Annotated[Axles, CORNERING_STIFFNESS]
    """Lateral force per slip angle, both tyres of the axle."""
    understeer_gradient: Annotated[float, ANGLE_GRADIENT]
    """Change of road-wheel angle per lateral acceleration on a fixed radius; negative is oversteer."""
    static_margin: Annotated[float, SHARE]
    """How far behind the centre of gravity a side force turns the car neither way, over wheelbase."""
    characteristic_speed: Annotated[float | None, SPEED]
    """Speed at which an understeering car turns half as sharply per steer as a neutral one."""
    critical_speed: Annotated[float | None, SPEED]
    """Speed at which an oversteering car becomes unstable."""


def single_track(
    *, mass: float, cg_to_front: float, cg_to_rear: float, cornering_stiffness: Axles
) -> SingleTrack:
    """Return the steady values of the linear single-track model.

    Parameters
    ----------
    mass : of the whole car. [kg]
    cg_to_front, cg_to_rear : a and b. [m]
    cornering_stiffness : of both tyres of each axle. [N/rad]

    Notes
    -----
    K = m (b C_r - a C_f) / (L C_f C_r); delta = L / R + K a_y; static margin
    (b C_r - a C_f) / (L (C_f + C_r)). Characteristic speed sqrt(L / K), critical speed sqrt(-L / K).
    Left out: load transfer, roll, camber, toe, aerodynamics and the compliance of steering and links, which
    together can be as large as K itself.

    Source: ISO 8855 terms; formulas from Gillespie, Fundamentals of Vehicle Dynamics, 1992, chapter 6 (from
    memory), values checked against published examples in the tests.
    """
    length = cg_to_front + cg_to_rear
    front, rear = cornering_stiffness
    lever = cg_to_rear * rear - cg_to_front * front
    gradient = mass * lever / (length * front * rear)
    return SingleTrack(
        cornering_stiffness=cornering_stiffness,
        understeer_gradient=gradient,
        static_margin=lever / (length * (front + rear)),
        characteristic_speed=sqrt(length / gradient) if gradient > 0.0 else None,
        critical_speed=sqrt(-length / gradient) if gradient < 0.0 else None,
    )


class YawMotion(NamedTuple):
    """How the single-track model yaws by itself at one speed; both none beyond its critical speed."""

    natural_frequency: float | None
    """Undamped. [Hz]"""
    damping_ratio: float | None
    """Above 1 it does not swing. [1]"""


def yaw_motion(
    *, mass: float, yaw_inertia: float, cg_to_front: float, cg_to_rear: float, stiffness: Axles, speed: float
) -> YawMotion:
    """Return natural frequency and damping of yaw and sideslip in the linear single-track model.

    Parameters
    ----------
    mass, yaw_inertia : of the whole car. [kg], [kg m^2]
    cg_to_front, cg_to_rear : a and b. [m]
    stiffness : cornering stiffness of both tyres of each axle. [N/rad]
    speed : above 0. [m/s]

    Notes
    -----
    From the trace and determinant of the equations of sideways motion and yaw,
      2 zeta omega = (C_f + C_r) / (m V) + (a^2 C_f + b^2 C_r) / (I V),
      omega^2 = C_f C_r L^2 / (m I V^2) + (b C_r - a C_f) / I.
    Left out: tyres that lag, roll, and steering that gives way; at speed they lower the damping.

    Source: terms of ISO 8855; formulas derived here, checked in the tests against eigenvalues of two
    published sets.
    """
    front, rear = stiffness
    a, b = cg_to_front, cg_to_rear
    turning = (b * rear - a * front) / yaw_inertia
    square = front * rear * (a + b) ** 2 / (mass * yaw_inertia * speed**2) + turning
    if square <= 0.0:
        return YawMotion(None, None)
    damping = ((front + rear) / mass + (a * a * front + b * b * rear) / yaw_inertia) / speed
    return YawMotion(sqrt(square) / (2.0 * pi), damping / (2.0 * sqrt(square)))
