"""One corner's suspension: springs, stops, damper and what the links do.

All functions read the corner's block, which starts at slot ``c`` of the workspace (`layout`).
``travel`` is counted from the static position, bump positive.
"""

from math import sqrt

from fourpatch.physics._compile import inline, place
from fourpatch.physics.layout import KNOTS, C
from fourpatch.physics.tyre import Workspace


@inline
def at(S: Workspace, slot: int, lane: int, stride: int) -> float:
    """Return the number in ``slot`` for the car in ``lane``."""
    return S[place(slot, lane, stride)]


@inline
def curve(S: Workspace, slot: int, lane: int, stride: int, travel: float) -> float:
    """Return a quadratic of travel whose three coefficients start at ``slot``."""
    return at(S, slot, lane, stride) + travel * (
        at(S, slot + 1, lane, stride) + travel * at(S, slot + 2, lane, stride)
    )


@inline
def spring_force(S: Workspace, c: int, lane: int, stride: int, travel: float) -> float:
    """Force of the corner spring at the wheel. [N]

    Notes
    -----
    Spring travel u is the integral of the motion ratio; with the static spring force F0 the spring
    carries F = F0 + k u. Below the force at which a helper spring is closed, both springs in series
    carry it; a spring never pulls. At the wheel: F times the motion ratio at this travel.

    Source: derived here (virtual work).
    """
    r0 = at(S, c + C.spring_ratio, lane, stride)
    r1 = at(S, c + C.spring_ratio_1, lane, stride)
    r2 = at(S, c + C.spring_ratio_2, lane, stride)
    rate = at(S, c + C.spring_rate, lane, stride)
    closed = at(S, c + C.helper_block_force, lane, stride)
    spring_travel = travel * (r0 + travel * (0.5 * r1 + travel * r2 * (1.0 / 3.0)))
    main = at(S, c + C.spring_static_force, lane, stride) + rate * spring_travel
    softened = closed + (main - closed) * (at(S, c + C.helper_rate, lane, stride) / rate)
    force = max(0.0, main if main > closed else softened)
    return force * (r0 + travel * (r1 + travel * r2))


@inline
def stop_force(S: Workspace, c: int, lane: int, stride: int, travel: float) -> float:
    """Force of the bump stop (positive) and the droop stop (negative) at the wheel. [N]

    Notes
    -----
    Bump stop: k x + p x^2 with x the travel past contact; droop stop: linear. Rates at the wheel.
    """
    into_bump = max(0.0, travel - at(S, c + C.stop_gap, lane, stride))
    into_droop = max(0.0, -travel - at(S, c + C.droop_gap, lane, stride))
    bump = into_bump * (
        at(S, c + C.stop_rate, lane, stride) + into_bump * at(S, c + C.stop_progression, lane, stride)
    )
    return bump - into_droop * at(S, c + C.droop_rate, lane, stride)


@inline
def one_way_damping(S: Workspace, knots: int, lane: int, stride: int, slope: float, speed: float) -> float:
    """Damper force at a non-negative ``speed`` in one direction. [N]

    Notes
    -----
    Piecewise linear: ``slope`` at rest, then a change of slope at each knot. ``knots`` is the slot
    of the first of KNOTS speeds, followed by KNOTS slope changes; an unused knot changes nothing.
    """
    force = slope * speed
    for knot in range(KNOTS):
        past = max(0.0, speed - at(S, knots + knot, lane, stride))
        force += past * at(S, knots + KNOTS + knot, lane, stride)
    return force


@inline
def damper_force(S: Workspace, c: int, lane: int, stride: int, speed: float) -> float:
    """Damper force at the damper for a damper speed, bump positive. [N]

    Notes
    -----
    Bump and rebound curves join at zero speed. Friction F_c turns over within about 5 mm/s:
    F_c v / sqrt(v^2 + w^2), w = 5 mm/s, so that the car settles instead of sticking (a damper at
    rest therefore carries no static friction).
    """
    bump = one_way_damping(
        S, c + C.bump_knots, lane, stride, at(S, c + C.bump_slope, lane, stride), max(0.0, speed)
    )
    rebound = one_way_damping(
        S, c + C.rebound_knots, lane, stride, at(S, c + C.rebound_slope, lane, stride), max(0.0, -speed)
    )
    friction = at(S, c + C.damper_friction, lane, stride) * speed / sqrt(speed * speed + 2.5e-5)
    return bump - rebound + friction


@inline
def jacking_force(
    S: Workspace,
    c: int,
    lane: int,
    stride: int,
    travel: float,
    lateral: float,
    longitudinal: float,
    brake_torque: float,
) -> float:
    """Vertical force the links put between body (up) and wheel (down). [N]

    Parameters
    ----------
    lateral, longitudinal : tyre force at the ground, in the body's axes. [N]
    brake_torque : on this wheel, positive when it slows forward rolling. [N m]

    Notes
    -----
    Virtual work: a wheel travelling ds moves its contact patch sideways by n ds, its centre forward
    by e_d ds and turns its upright; with outboard brakes the brake torque acts on the upright. So
    J = F_y n + F_x e_d + T_b (e_d - e_b) / R, where e_b is the slope at the ground. Braking steadily
    (F_x = -T_b / R) this is F_x e_b: anti-dive. Driving through half shafts (T_b = 0) it is F_x e_d:
    anti-squat. The wheel's own spin inertia is not in it.

    Source: derived here; the same force lines in Milliken & Milliken, Race Car Vehicle Dynamics,
    SAE 1995, chapter 17 (from memory, page not checked).
    """
    drive = curve(S, c + C.drive_jack, lane, stride, travel)
    brake = curve(S, c + C.brake_jack, lane, stride, travel)
    return (
        lateral * curve(S, c + C.lateral_jack, lane, stride, travel)
        + longitudinal * drive
        + brake_torque * (drive - brake) / at(S, c + C.tyre_radius, lane, stride)
    )


@inline
def tyre_load(
    S: Workspace,
    c: int,
    lane: int,
    stride: int,
    wheel: float,
    wheel_rate: float,
    road: float,
    road_rate: float,
) -> float:
    """Vertical load of the tyre on the road, never negative. [N]

    Parameters
    ----------
    wheel, wheel_rate : height of the wheel above its static place and its speed. [m], [m/s]
    road, road_rate : height of the road under it and its rate of change. [m], [m/s]

    Notes
    -----
    Spring and damper in parallel, in compression only. The damping is faded in over the first
    millimetre of compression so that touch-down has no step, and it never pulls.
    """
    compression = at(S, c + C.tyre_static_deflection, lane, stride) + road - wheel
    touching = min(1.0, max(0.0, compression) * 1000.0)
    damping = at(S, c + C.tyre_damping, lane, stride) * (road_rate - wheel_rate)
    return max(0.0, compression * at(S, c + C.tyre_rate, lane, stride) + touching * damping)


@inline
def heave_force(
    S: Workspace, slot: int, lane: int, stride: int, mean_travel: float, mean_speed: float
) -> float:
    """Force of an axle's heave spring and damper at the mean wheel travel. [N]

    Notes
    -----
    ``slot`` is the first of rate, preload, gap, bump and rebound damping, all referred to the wheels'
    mean travel. The spring never pulls: max(0, P + k (s - gap)). Each wheel carries half.
    """
    rate = at(S, slot, lane, stride)
    preload = at(S, slot + 1, lane, stride)
    gap = at(S, slot + 2, lane, stride)
    bump, rebound = at(S, slot + 3, lane, stride), at(S, slot + 4, lane, stride)
    damping = bump * max(0.0, mean_speed) - rebound * max(0.0, -mean_speed)
    return max(0.0, preload + rate * (mean_travel - gap)) + damping
