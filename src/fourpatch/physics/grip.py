"""How much of its grip an axle uses, and how much of it a bumpy road takes away.

Kernels over stored samples of the rig: what the tyres could do at each instant's loads, against what
the motion asks of them.
"""

from math import sqrt

from fourpatch.physics._compile import inline, kernel
from fourpatch.physics.layout import CORNER_BASE, N_CORNER, TYRE_BASE, C, O, P
from fourpatch.physics.tyre import (
    N_TYRE,
    Workspace,
    axle_lateral_capacity,
    cornering_stiffness,
    longitudinal_stiffness,
    peak_friction,
)


@inline
def differential_side_force(
    parameters: Workspace, lock: int, axle: int, row: Workspace, curvature: float, speed: float
) -> float:
    """Force a differential moves from an axle's outer to its inner tyre at the ground. [N]

    Parameters
    ----------
    lock : slot of the differential's preload.
    axle : 0 front, 1 rear.
    row : outputs at the instant, (N_OUTPUT,).
    curvature, speed : of the path. [1/m], [m/s]

    Notes
    -----
    Rolling freely the wheels turn at different speeds; the differential takes half its locking torque
    from the faster, outer wheel, but no more than brings both to one speed: their slips are then
    +- t |curvature| / 2, and more lock changes nothing. An inner wheel that spins under power is met by the
    traction limit in `axle_use`, not here.

    Source: derived here.
    """
    left = CORNER_BASE + 2 * axle * N_CORNER
    track = parameters[left + C.planar_y] - parameters[left + N_CORNER + C.planar_y]
    radius = parameters[left + C.tyre_radius]
    drive = row[O.front_drive_force + axle] * radius
    share = parameters[lock + 1] if drive > 0.0 else parameters[lock + 2]
    turning = track * abs(curvature) * speed / radius
    torque = parameters[lock] + share * abs(drive) + parameters[lock + 3] * turning
    tyre = TYRE_BASE + axle * N_TYRE
    stiffness = longitudinal_stiffness(
        parameters, tyre, 0, 1, row[O.tyre_load + 2 * axle]
    ) + longitudinal_stiffness(parameters, tyre, 0, 1, row[O.tyre_load + 2 * axle + 1])
    locked = 0.25 * stiffness * track * abs(curvature)
    moved = 0.5 * torque / radius
    return min(moved, locked)


@inline
def axle_longitudinal_capacity(
    parameters: Workspace, lock: int, axle: int, row: Workspace, force: float
) -> float:
    """Return the largest longitudinal force of an axle in the direction of ``force``. [N]

    Notes
    -----
    Braking: both tyres' peak friction. Driving: the inner tyre limits what an open differential can
    send to either side; one that locks a share s of its torque T with preload T0 lets the outer tyre
    have T0 + s T more: F = (2 F_weaker + T0 / R) / (1 - s), never above both tyres' friction.
    """
    tyre = TYRE_BASE + axle * N_TYRE
    left, right = O.tyre_load + 2 * axle, O.tyre_load + 2 * axle + 1
    lean_left, lean_right = row[O.inclination + 2 * axle], row[O.inclination + 2 * axle + 1]
    grip_left = row[left] * peak_friction(parameters, tyre, 0, 1, row[left], lean_left)[0]
    grip_right = row[right] * peak_friction(parameters, tyre, 0, 1, row[right], -lean_right)[0]
    both = grip_left + grip_right
    radius = parameters[CORNER_BASE + 2 * axle * N_CORNER + C.tyre_radius]
    share = min(parameters[lock + 1], 0.999)
    driven = (2.0 * min(grip_left, grip_right) + parameters[lock] / radius) / (1.0 - share)
    return min(both, driven) if force > 0.0 else both


@kernel
def axle_use(
    parameters: Workspace,
    outputs: Workspace,
    curvature: Workspace,
    speed: Workspace,
    use: Workspace,
    lateral: Workspace,
    longitudinal: Workspace,
    demand: Workspace,
) -> None:
    """Fill what each axle needs, can do, and uses of it, at every stored instant.

    Parameters
    ----------
    parameters : (cars, N_PARAMETER)
    outputs : (cars, samples, N_OUTPUT) of the rig.
    curvature, speed : (samples,) of the path. [1/m], [m/s]
    use : (cars, samples, 2), filled: force needed over the most the axle can deliver in that direction.
    lateral, longitudinal : (cars, samples, 2), filled: most lateral and longitudinal force. [N]
    demand : (cars, samples, 2), filled: lateral force needed, differentials included. [N]

    Notes
    -----
    U = sqrt((F_y / F_y,max)^2 + (F_x / F_x,max)^2): along a friction ellipse this is the force needed
    over the most available in its own direction. F_y,max is that of both tyres at one slip angle, with
    toe, camber and the loads of the instant. Differentials turn the car by M = -2 F_moved t / 2 per
    axle, which the axles' lateral forces must balance. An axle that carries under a hundredth of its
    static load counts as carrying that, so that U stays a number.
    """
    for car in range(parameters.shape[0]):
        p = parameters[car]
        wheelbase = p[P.cg_to_front] + p[P.cg_to_rear]
        for n in range(outputs.shape[1]):
            row = outputs[car, n]
            turn = 1.0 if curvature[n] > 0.0 else -1.0
            moment = 0.0
            for axle in range(2):
                lock = P.front_lock_preload + 4 * axle
                left = CORNER_BASE + 2 * axle * N_CORNER
                track = p[left + C.planar_y] - p[left + N_CORNER + C.planar_y]
                moved = differential_side_force(p, lock, axle, row, curvature[n], speed[n])
                moment -= turn * moved * track
            for axle in range(2):
                needed = row[O.lateral_force + 2 * axle] + row[O.lateral_force + 2 * axle + 1]
                needed -= (1.0 - 2.0 * axle) * moment / wheelbase
                direction = 1.0 if needed > 0.0 else -1.0
                along = row[O.longitudinal_force + 2 * axle] + row[O.longitudinal_force + 2 * axle + 1]
                tyre = TYRE_BASE + axle * N_TYRE
                steer_left, steer_right = row[O.steer + 2 * axle], row[O.steer + 2 * axle + 1]
                middle = 0.5 * (steer_left + steer_right)
                least = 0.0
                for corner in range(2 * axle, 2 * axle + 2):
                    c = CORNER_BASE + corner * N_CORNER
                    least += 0.01 * p[c + C.tyre_rate] * p[c + C.tyre_static_deflection]
                most = axle_lateral_capacity(
                    p,
                    tyre,
                    tyre,
                    0,
                    1,
                    row[O.tyre_load + 2 * axle],
                    row[O.tyre_load + 2 * axle + 1],
                    row[O.inclination + 2 * axle],
                    row[O.inclination + 2 * axle + 1],
                    steer_left - middle,
                    steer_right - middle,
                    direction,
                )
                most = max(most, least)
                lock = P.front_lock_preload + 4 * axle
                pull = max(axle_longitudinal_capacity(p, lock, axle, row, along), least)
                demand[car, n, axle] = needed
                lateral[car, n, axle] = most
                longitudinal[car, n, axle] = pull
                use[car, n, axle] = sqrt((needed / most) ** 2 + (along / pull) ** 2)


@inline
def available_lateral(parameters: Workspace, tyre: int, load: float, lean: float) -> float:
    """Peak lateral force of one tyre. [N]"""
    return load * peak_friction(parameters, tyre, 0, 1, load, lean)[1]


@kernel
def lagged_grip(
    parameters: Workspace, outputs: Workspace, speed: Workspace, interval: float, grip: Workspace
) -> None:
    """Fill the lateral force each tyre can deliver while its load varies, relaxation included. [N]

    Parameters
    ----------
    parameters : (cars, N_PARAMETER)
    outputs : (cars, samples, N_OUTPUT)
    speed : (samples,) [m/s]
    interval : between samples. [s]
    grip : (cars, samples, 4), filled.

    Notes
    -----
    A tyre held at its peak slip angle delivers f' = (v / sigma) (F_peak(F_z) - f), never more than
    F_peak(F_z): force needs rolling distance to build and none to be lost. The relaxation length
    grows with load as cornering stiffness does, sigma = sigma_static K(F_z) / K(F_z,static), at least
    a twentieth of it. Implicit Euler steps between samples.

    Source: sigma in proportion to cornering stiffness as in Pacejka, Tyre and Vehicle Dynamics, 2nd
    ed. 2006, chapter 7 (from memory); the one-sided limit is derived here from F_y <= mu F_z.
    """
    for car in range(parameters.shape[0]):
        p = parameters[car]
        for corner in range(4):
            c = CORNER_BASE + corner * N_CORNER
            tyre = TYRE_BASE + (corner // 2) * N_TYRE
            static = p[c + C.tyre_rate] * p[c + C.tyre_static_deflection]
            stiffness = cornering_stiffness(p, tyre, 0, 1, static, 0.0)
            first = outputs[car, 0, O.tyre_load + corner]
            force = available_lateral(p, tyre, first, 0.0)
            for n in range(outputs.shape[1]):
                load = outputs[car, n, O.tyre_load + corner]
                peak = available_lateral(p, tyre, load, 0.0)
                length = p[c + C.relaxation_y] * max(
                    cornering_stiffness(p, tyre, 0, 1, load, 0.0) / stiffness, 0.05
                )
                decay = 1.0 / (1.0 + speed[n] * interval / length)
                force = min(peak, peak + (force - peak) * decay)
                grip[car, n, corner] = force


@kernel
def peak_lateral(parameters: Workspace, loads: Workspace, force: Workspace) -> None:
    """Fill the peak lateral force of upright tyres under given loads; both (cars, 4). [N]"""
    for car in range(loads.shape[0]):
        for corner in range(4):
            tyre = TYRE_BASE + (corner // 2) * N_TYRE
            force[car, corner] = available_lateral(parameters[car], tyre, loads[car, corner], 0.0)
