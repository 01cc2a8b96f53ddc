"""The full car: body heave, roll and pitch, four wheels, and, in the drive, planar motion and spins.

Both ways to drive it share every vertical equation:

- *rig*: the planar motion is prescribed; the tyre forces needed by each axle follow from it.
- *drive*: the tyre forces follow from slip; the planar motion follows from them.

Axes ISO 8855: x forward, y left, z up; roll positive with the left side up, pitch positive with the
nose down. Roll and pitch are small angles (cos 3 deg = 0.999). Heights count from the static position
of the car as set. Kernels write what they compute into the output block of the workspace.
"""

from math import sqrt

from fourpatch.physics._compile import inline, place
from fourpatch.physics.aero import aero_forces
from fourpatch.physics.driveline import brake_torque, lock_torque
from fourpatch.physics.layout import (
    CORNER_BASE,
    INPUT_BASE,
    N_CORNER,
    N_POSITION,
    OUTPUT_BASE,
    RATE_BASE,
    STATE_BASE,
    TYRE_BASE,
    TYRE_SET_BASE,
    C,
    I,
    O,
    P,
    W,
    X,
    Y,
)
from fourpatch.physics.patch_friction import patch_forces
from fourpatch.physics.suspension import (
    at,
    curve,
    damper_force,
    heave_force,
    jacking_force,
    spring_force,
    stop_force,
    tyre_load,
)
from fourpatch.physics.trig import HALF_PI, sine_cosine, sine_quarter
from fourpatch.physics.tyre import N_TYRE, Workspace

SLOWEST = 2.0
"""Speed below which slips no longer count against the speed itself. [m/s]"""

_STILL = 1e-9  # speed below which no air moves past the car [m/s]

LETTING_GO = 500.0
"""Rate at which a sliding tyre forgets more slip than it now has. [1/s]"""

SLIDING = 0.1
"""Slip beyond which the patch slides as a whole, about that of the peak force."""


@inline
def state(S: Workspace, slot: int, lane: int, stride: int) -> float:
    """Return a state of the car."""
    return S[place(STATE_BASE + slot, lane, stride)]


@inline
def given(S: Workspace, slot: int, lane: int, stride: int) -> float:
    """Return an input at this instant."""
    return S[place(INPUT_BASE + slot, lane, stride)]


@inline
def found(S: Workspace, slot: int, lane: int, stride: int) -> float:
    """Return an output computed before at this instant."""
    return S[place(OUTPUT_BASE + slot, lane, stride)]


@inline
def report(S: Workspace, slot: int, lane: int, stride: int, value: float) -> None:
    """Write an output."""
    S[place(OUTPUT_BASE + slot, lane, stride)] = value


@inline
def set_rate(S: Workspace, slot: int, lane: int, stride: int, value: float) -> None:
    """Write the time derivative of a state."""
    S[place(RATE_BASE + slot, lane, stride)] = value


@inline
def report_wheel_angles(S: Workspace, lane: int, stride: int, corner: int, steer: float) -> None:
    """Report a wheel's inclination and steer angle at its travel, the front wheels turned by ``steer``."""
    c = CORNER_BASE + corner * N_CORNER
    travel = found(S, O.travel + corner, lane, stride)
    steered = at(S, c + C.steer_share, lane, stride)
    report(
        S,
        O.steer + corner,
        lane,
        stride,
        steered * steer
        + at(S, c + C.ackermann, lane, stride) * steer * steer
        + curve(S, c + C.steer, lane, stride, travel),
    )
    report(
        S,
        O.inclination + corner,
        lane,
        stride,
        curve(S, c + C.inclination, lane, stride, travel)
        + state(S, Y.roll, lane, stride)
        - at(S, c + C.caster, lane, stride) * steered * steer,
    )


@inline
def corner_motion(S: Workspace, lane: int, stride: int, corner: int, steer: float) -> None:
    """Report a corner's travel, damper speed, wheel inclination, steer angle and tyre load."""
    c = CORNER_BASE + corner * N_CORNER
    x, y = at(S, c + C.x, lane, stride), at(S, c + C.y, lane, stride)
    roll = state(S, Y.roll, lane, stride)
    wheel = state(S, Y.wheel + corner, lane, stride)
    wheel_rate = state(S, N_POSITION + Y.wheel + corner, lane, stride)
    body = state(S, Y.heave, lane, stride) - x * state(S, Y.pitch, lane, stride) + y * roll
    body_rate = (
        state(S, N_POSITION + Y.heave, lane, stride)
        - x * state(S, N_POSITION + Y.pitch, lane, stride)
        + y * state(S, N_POSITION + Y.roll, lane, stride)
    )
    travel = wheel - body
    report(S, O.travel + corner, lane, stride, travel)
    report(
        S,
        O.damper_speed + corner,
        lane,
        stride,
        (wheel_rate - body_rate) * curve(S, c + C.damper_ratio, lane, stride, travel),
    )
    report_wheel_angles(S, lane, stride, corner, steer)
    load = tyre_load(
        S,
        c,
        lane,
        stride,
        wheel,
        wheel_rate,
        given(S, I.road + corner, lane, stride),
        given(S, I.road_speed + corner, lane, stride),
    )
    report(S, O.tyre_load + corner, lane, stride, load)


@inline
def body_aero(S: Workspace, lane: int, stride: int, speed: float) -> None:
    """Report ride heights over the road and the aerodynamic forces."""
    heave, pitch = state(S, Y.heave, lane, stride), state(S, Y.pitch, lane, stride)
    front_road = 0.5 * (given(S, I.road, lane, stride) + given(S, I.road + 1, lane, stride))
    rear_road = 0.5 * (given(S, I.road + 2, lane, stride) + given(S, I.road + 3, lane, stride))
    front_height = (
        at(S, P.front_ride_height, lane, stride)
        + heave
        - at(S, P.front_axle_x, lane, stride) * pitch
        - front_road
    )
    rear_height = (
        at(S, P.rear_ride_height, lane, stride)
        + heave
        - at(S, P.rear_axle_x, lane, stride) * pitch
        - rear_road
    )
    front, rear, drag = aero_forces(S, lane, stride, speed, front_height, rear_height)
    report(S, O.front_ride_height, lane, stride, front_height)
    report(S, O.rear_ride_height, lane, stride, rear_height)
    report(S, O.front_downforce, lane, stride, front)
    report(S, O.rear_downforce, lane, stride, rear)
    report(S, O.drag, lane, stride, drag)


@inline
def motion(S: Workspace, lane: int, stride: int, speed: float, steer: float) -> None:
    """Report everything that follows from positions and rates alone, the front wheels turned by ``steer``."""
    corner_motion(S, lane, stride, 0, steer)
    corner_motion(S, lane, stride, 1, steer)
    corner_motion(S, lane, stride, 2, steer)
    corner_motion(S, lane, stride, 3, steer)
    body_aero(S, lane, stride, speed)


@inline
def corner_forces(
    S: Workspace,
    lane: int,
    stride: int,
    corner: int,
    axle_elastic: float,
    torque: float,
    ax: float,
    ay: float,
) -> float:
    """Report what one suspension puts between body and wheel and return their sum. [N]

    Parameters
    ----------
    axle_elastic : this wheel's force from bar and heave spring. [N]
    torque : brake torque on the wheel. [N m]
    ax, ay : acceleration of the car, which the wheel's own mass takes its share of force for. [m/s^2]
    """
    c = CORNER_BASE + corner * N_CORNER
    mass = at(S, c + C.unsprung_mass, lane, stride)
    travel = found(S, O.travel + corner, lane, stride)
    elastic = spring_force(S, c, lane, stride, travel) + stop_force(S, c, lane, stride, travel) + axle_elastic
    speed = found(S, O.damper_speed + corner, lane, stride)
    damping = damper_force(S, c, lane, stride, speed) * curve(S, c + C.damper_ratio, lane, stride, travel)
    jacking = jacking_force(
        S,
        c,
        lane,
        stride,
        travel,
        found(S, O.lateral_force + corner, lane, stride) - mass * ay,
        found(S, O.longitudinal_force + corner, lane, stride) - mass * ax,
        torque,
    )
    report(S, O.elastic_force + corner, lane, stride, elastic)
    report(S, O.damper_force + corner, lane, stride, damping)
    report(S, O.jacking_force + corner, lane, stride, jacking)
    return elastic + damping + jacking


@inline
def axle_elastic(
    S: Workspace, lane: int, stride: int, left: int, bar_slot: int, heave_slot: int
) -> tuple[float, float]:
    """Force of an axle's bar on its left wheel and of its heave spring and damper on each wheel. [N]

    Parameters
    ----------
    left : index of the axle's left corner, 0 or 2.
    """
    travel_left = found(S, O.travel + left, lane, stride)
    travel_right = found(S, O.travel + left + 1, lane, stride)
    speed_left = state(S, N_POSITION + Y.wheel + left, lane, stride)
    speed_right = state(S, N_POSITION + Y.wheel + left + 1, lane, stride)
    c = CORNER_BASE + left * N_CORNER
    body_rate = (
        state(S, N_POSITION + Y.heave, lane, stride)
        - at(S, c + C.x, lane, stride) * state(S, N_POSITION + Y.pitch, lane, stride)
        + 0.5
        * (at(S, c + C.y, lane, stride) + at(S, c + N_CORNER + C.y, lane, stride))
        * state(S, N_POSITION + Y.roll, lane, stride)
    )
    bar = at(S, bar_slot, lane, stride) * (travel_left - travel_right)
    heave = heave_force(
        S,
        heave_slot,
        lane,
        stride,
        0.5 * (travel_left + travel_right),
        0.5 * (speed_left + speed_right) - body_rate,
    )
    return bar, 0.5 * heave


@inline
def wheel_rates(
    S: Workspace, lane: int, stride: int, corner: int, suspension: float, lateral_acceleration: float
) -> None:
    """Set the rates of a wheel's height and vertical speed."""
    c = CORNER_BASE + corner * N_CORNER
    mass = at(S, c + C.unsprung_mass, lane, stride)
    force = (
        found(S, O.tyre_load + corner, lane, stride)
        - suspension
        - mass * (at(S, P.gravity, lane, stride) + given(S, I.press, lane, stride))
        + at(S, c + C.unsprung_couple, lane, stride) * lateral_acceleration
    )
    set_rate(S, Y.wheel + corner, lane, stride, state(S, N_POSITION + Y.wheel + corner, lane, stride))
    set_rate(S, N_POSITION + Y.wheel + corner, lane, stride, force / mass)


@inline
def vertical_rates(
    S: Workspace,
    lane: int,
    stride: int,
    ax: float,
    ay: float,
    brake_fl: float,
    brake_fr: float,
    brake_rl: float,
    brake_rr: float,
) -> None:
    """Set the rates of body and wheels, given the tyre forces already reported.

    Parameters
    ----------
    ax, ay : what tyres and air do per mass, in the car's own axes: on a level road, its acceleration. [m/s^2]
    brake_fl, brake_fr, brake_rl, brake_rr : brake torques. [N m]

    Notes
    -----
    Sprung body about its own centre of gravity, height h_s; F_i suspension, J included; F_x, F_y tyre:
      m_s z'' = sum F_i - downforce - m_s g
      I_xx roll'' = sum y_i F_i + h_s (sum F_y - m_u a_y) + m_s g d roll
      I_yy pitch'' = -sum x_i F_i - h_s (sum F_x - m_u a_x) - (sum m_u h_u) a_x + aero
      m_u,i z_i'' = F_z - F_i - m_u,i g + couple
    The unsprung masses' sideways moment is reacted across their own axle (the usual textbook split),
    their fore-and-aft moment by the body. Left out, with size: the shift of the body's weight when
    it pitches (about 2 % of longitudinal transfer), spin-up moments of the wheels (about 2 %),
    m_u / m of the sideways acceleration that rolling adds (under 1 % of transfer).

    Source: derived here; steady case as in Gillespie, Fundamentals of Vehicle Dynamics, 1992,
    chapters 1 and 6 (from memory).
    """
    front_bar, front_heave = axle_elastic(S, lane, stride, 0, P.front_bar_rate, P.front_heave_rate)
    rear_bar, rear_heave = axle_elastic(S, lane, stride, 2, P.rear_bar_rate, P.rear_heave_rate)
    fl = corner_forces(S, lane, stride, 0, front_heave + front_bar, brake_fl, ax, ay)
    fr = corner_forces(S, lane, stride, 1, front_heave - front_bar, brake_fr, ax, ay)
    rl = corner_forces(S, lane, stride, 2, rear_heave + rear_bar, brake_rl, ax, ay)
    rr = corner_forces(S, lane, stride, 3, rear_heave - rear_bar, brake_rr, ax, ay)
    wheel_rates(S, lane, stride, 0, fl, ay)
    wheel_rates(S, lane, stride, 1, fr, ay)
    wheel_rates(S, lane, stride, 2, rl, ay)
    wheel_rates(S, lane, stride, 3, rr, ay)
    body_rates(S, lane, stride, ax, ay, fl, fr, rl, rr)


@inline
def body_rates(
    S: Workspace, lane: int, stride: int, ax: float, ay: float, fl: float, fr: float, rl: float, rr: float
) -> None:
    """Set the rates of heave, roll and pitch (equations in `vertical_rates`)."""
    mass = at(S, P.sprung_mass, lane, stride)
    unsprung = at(S, P.total_mass, lane, stride) - mass
    height = at(S, P.sprung_cg_height, lane, stride)
    front, rear = found(S, O.front_downforce, lane, stride), found(S, O.rear_downforce, lane, stride)
    drag = found(S, O.drag, lane, stride)
    heave = (fl + fr + rl + rr - front - rear) / mass
    heave -= at(S, P.gravity, lane, stride) + given(S, I.press, lane, stride)
    roll = (
        _sum_of_moments(S, lane, stride, C.y, fl, fr, rl, rr)
        + height * (_sum_of_outputs(S, O.lateral_force, lane, stride) - unsprung * ay)
        + at(S, P.gravity_roll_moment, lane, stride) * state(S, Y.roll, lane, stride)
    ) / at(S, P.roll_inertia, lane, stride)
    pitch = (
        at(S, P.front_axle_x, lane, stride) * front
        + at(S, P.rear_axle_x, lane, stride) * rear
        - (at(S, P.drag_height, lane, stride) - height) * drag
        - _sum_of_moments(S, lane, stride, C.x, fl, fr, rl, rr)
        - height * (_sum_of_outputs(S, O.longitudinal_force, lane, stride) - unsprung * ax)
        - at(S, P.unsprung_moment, lane, stride) * ax
    ) / at(S, P.pitch_inertia, lane, stride)
    report(S, O.heave_acceleration, lane, stride, heave)
    report(S, O.roll_acceleration, lane, stride, roll)
    report(S, O.pitch_acceleration, lane, stride, pitch)
    report(S, O.longitudinal_acceleration, lane, stride, ax)
    report(S, O.lateral_acceleration, lane, stride, ay)
    set_rate(S, Y.heave, lane, stride, state(S, N_POSITION + Y.heave, lane, stride))
    set_rate(S, Y.roll, lane, stride, state(S, N_POSITION + Y.roll, lane, stride))
    set_rate(S, Y.pitch, lane, stride, state(S, N_POSITION + Y.pitch, lane, stride))
    set_rate(S, N_POSITION + Y.heave, lane, stride, heave)
    set_rate(S, N_POSITION + Y.roll, lane, stride, roll)
    set_rate(S, N_POSITION + Y.pitch, lane, stride, pitch)


@inline
def _sum_of_moments(
    S: Workspace, lane: int, stride: int, arm: int, fl: float, fr: float, rl: float, rr: float
) -> float:
    c = CORNER_BASE + arm
    return (
        at(S, c, lane, stride) * fl
        + at(S, c + N_CORNER, lane, stride) * fr
        + at(S, c + 2 * N_CORNER, lane, stride) * rl
        + at(S, c + 3 * N_CORNER, lane, stride) * rr
    )


@inline
def _sum_of_outputs(S: Workspace, slot: int, lane: int, stride: int) -> float:
    return (
        found(S, slot, lane, stride)
        + found(S, slot + 1, lane, stride)
        + found(S, slot + 2, lane, stride)
        + found(S, slot + 3, lane, stride)
    )


@inline
def _travel_rate(S: Workspace, lane: int, stride: int, corner: int) -> float:
    """Rate of a wheel's travel. [m/s]"""
    c = CORNER_BASE + corner * N_CORNER
    body = (
        state(S, N_POSITION + Y.heave, lane, stride)
        - at(S, c + C.x, lane, stride) * state(S, N_POSITION + Y.pitch, lane, stride)
        + at(S, c + C.y, lane, stride) * state(S, N_POSITION + Y.roll, lane, stride)
    )
    return state(S, N_POSITION + Y.wheel + corner, lane, stride) - body


@inline
def _patch_velocity(
    S: Workspace, lane: int, stride: int, corner: int, sprung_share: float, cg_height: float
) -> None:
    """Write the velocity of a contact patch over the road, in the body's axes."""
    c = CORNER_BASE + corner * N_CORNER
    travel = found(S, O.travel + corner, lane, stride)
    scrub = sprung_share * _travel_rate(S, lane, stride, corner)
    yaw_rate = state(S, X.yaw_rate, lane, stride)
    S[place(W.forward + corner, lane, stride)] = (
        state(S, X.forward_velocity, lane, stride)
        - at(S, c + C.planar_y, lane, stride) * yaw_rate
        - cg_height * state(S, N_POSITION + Y.pitch, lane, stride)
        - curve(S, c + C.drive_jack, lane, stride, travel) * scrub
    )
    S[place(W.sideways + corner, lane, stride)] = (
        state(S, X.lateral_velocity, lane, stride)
        + at(S, c + C.planar_x, lane, stride) * yaw_rate
        + sprung_share * at(S, P.sprung_cg_height, lane, stride) * state(S, N_POSITION + Y.roll, lane, stride)
        - curve(S, c + C.lateral_jack, lane, stride, travel) * scrub
    )


@inline
def _path_motion(S: Workspace, lane: int, stride: int) -> None:
    """Set the rates of place and heading; turn the road's slope under each wheel into its vertical speed."""
    forward, sideways = state(S, X.forward_velocity, lane, stride), state(S, X.lateral_velocity, lane, stride)
    curvature = given(S, I.path_curvature, lane, stride)
    sin, cos = sine_cosine(state(S, X.heading, lane, stride))
    along_path = (forward * cos - sideways * sin) / (1.0 - curvature * state(S, X.offset, lane, stride))
    set_rate(S, X.distance, lane, stride, along_path)
    set_rate(S, X.offset, lane, stride, forward * sin + sideways * cos)
    set_rate(S, X.heading, lane, stride, state(S, X.yaw_rate, lane, stride) - curvature * along_path)
    for corner in range(4):
        S[place(INPUT_BASE + I.road_speed + corner, lane, stride)] *= along_path


@inline
def drive_motion(S: Workspace, lane: int, stride: int) -> None:
    """Report what follows from positions and rates; set the rates of place and heading.

    Notes
    -----
    The contact patches move over the road with the car's centre of gravity, its yaw, and with what pitch,
    roll and the links add. Each addition is the twin of a moment or a jacking force of `vertical_rates`:
      u_x = v_x - y r - h pitch' - (m_s / m) e travel'
      u_y = v_y + x r + (m_s / m) (h_s roll' - n travel')
    with h the height of the whole car's centre of gravity, so that what a tyre force takes from the planar
    motion it gives to the body, and none is made or lost.

    The air is still, so its speed past the car is that along the path, sideslip included. Drag is against it;
    what of it is along the car is reported, what is across (its sine of the sideslip angle, 7 % at 4 deg) is
    left out with all other side force of the air. Rolling backwards, the car is slowed by its drag as if it
    rolled forwards, and pressed down likewise.

    Source: derived here (virtual work).
    """
    _path_motion(S, lane, stride)
    forward, sideways = state(S, X.forward_velocity, lane, stride), state(S, X.lateral_velocity, lane, stride)
    airspeed = sqrt(forward * forward + sideways * sideways)
    motion(S, lane, stride, airspeed, given(S, I.steer, lane, stride))
    report(S, O.drag, lane, stride, found(S, O.drag, lane, stride) * forward / max(airspeed, _STILL))
    sprung, total = at(S, P.sprung_mass, lane, stride), at(S, P.total_mass, lane, stride)
    share = sprung / total
    height = share * at(S, P.sprung_cg_height, lane, stride) + at(S, P.unsprung_moment, lane, stride) / total
    for corner in range(4):
        _patch_velocity(S, lane, stride, corner, share, height)


@inline
def load_wheels(S: Workspace, lane: int, stride: int) -> None:
    """Lay out what the tyres of the car in ``lane`` need, wheel beside wheel."""
    for corner in range(4):
        c = CORNER_BASE + corner * N_CORNER
        S[place(W.side + corner, lane, stride)] = 1.0 - 2.0 * (corner % 2)
        S[place(W.radius + corner, lane, stride)] = at(S, c + C.tyre_radius, lane, stride)
        S[place(W.slip_build_up + corner, lane, stride)] = 1.0 / at(S, c + C.relaxation_x, lane, stride)
        S[place(W.slip_angle_build_up + corner, lane, stride)] = 1.0 / at(S, c + C.relaxation_y, lane, stride)
        for k in range(N_TYRE):
            S[place(TYRE_SET_BASE + 4 * k + corner, lane, stride)] = at(
                S, TYRE_BASE + (corner // 2) * N_TYRE + k, lane, stride
            )


@inline
def _lag(slip: float, sliding_speed: float, rolling_speed: float, build_up: float) -> float:
    """Rate of a lagged slip; equation in `rolling_tyre`. [1/s]"""
    deflected = max(abs(sliding_speed) / rolling_speed, SLIDING)
    forgotten = slip - max(-deflected, min(deflected, slip))
    return (sliding_speed - rolling_speed * slip) * build_up - LETTING_GO * forgotten


@inline
def rolling_tyre(S: Workspace, wheel: int, stride: int) -> None:
    """Report a tyre's force in the body's axes; set the rates of its lagged slips.

    Parameters
    ----------
    wheel : which of the 4 x stride wheels in the workspace: corner x stride + lane.

    Notes
    -----
    Lagged slips, u and v the patch's velocity along and across the wheel:
      slip' = (omega R - u - |u| slip) / sigma,  slip_angle' = (v - |u| slip_angle) / sigma.
    |u| counts at least `SLOWEST`: below it the tyre is a spring that lets go within sigma / SLOWEST, so a
    braked car comes to rest on its tyres, swings on them and stands, without a friction that switches sign.
    A slip past sliding is no deflection of the tyre: what exceeds the slip of the moment is forgotten at the
    rate `LETTING_GO`, or a car that stops on locked wheels would be pushed on backwards by it. Rolling
    resistance, about 1.2 % of the load, and aligning moments, up to 3 % of the tyres' yaw moment, are left
    out.

    Source: first-order relaxation as in Pacejka, Tyre and Vehicle Dynamics, 2nd ed. 2006, chapter 7
    (from memory).
    """
    steer = found(S, O.steer, wheel, stride)
    sin, cos = sine_quarter(steer), sine_quarter(HALF_PI - abs(steer))
    forward, sideways = at(S, W.forward, wheel, stride), at(S, W.sideways, wheel, stride)
    u = forward * cos + sideways * sin
    v = sideways * cos - forward * sin
    fading = max(abs(u), SLOWEST)
    slip, slip_angle = state(S, X.slip, wheel, stride), state(S, X.slip_angle, wheel, stride)
    report(S, O.slip, wheel, stride, slip)
    report(S, O.slip_angle, wheel, stride, slip_angle)
    side = at(S, W.side, wheel, stride)
    along, across = patch_forces(
        S,
        0,
        TYRE_SET_BASE * stride + wheel,
        4 * stride,
        found(S, O.tyre_load, wheel, stride),
        slip,
        slip_angle * side,
        found(S, O.inclination, wheel, stride) * side,
    )
    across *= side
    S[place(W.along, wheel, stride)] = along
    report(S, O.longitudinal_force, wheel, stride, along * cos - across * sin)
    report(S, O.lateral_force, wheel, stride, along * sin + across * cos)
    rim = state(S, X.spin, wheel, stride) * at(S, W.radius, wheel, stride)
    rate = _lag(slip, rim - u, fading, at(S, W.slip_build_up, wheel, stride))
    set_rate(S, X.slip, wheel, stride, rate)
    rate = _lag(slip_angle, v, fading, at(S, W.slip_angle_build_up, wheel, stride))
    set_rate(S, X.slip_angle, wheel, stride, rate)


@inline
def _axle_spins(
    S: Workspace, lane: int, stride: int, left: int, lock: int, drive: float, brake: float
) -> tuple[float, float]:
    """Set the rates of an axle's two wheel spins and return the brake torques. [N m]

    Parameters
    ----------
    left : index of the axle's left corner, 0 or 2.
    lock : slot of its differential's preload.
    drive : torque into the axle. [N m]
    brake : share of the full pedal's torque of the whole car on each of its wheels.
    """
    c = CORNER_BASE + left * N_CORNER
    spin_left, spin_right = state(S, X.spin + left, lane, stride), state(S, X.spin + left + 1, lane, stride)
    radius = at(S, c + C.tyre_radius, lane, stride)
    tyre_left = radius * at(S, W.along + left, lane, stride)
    tyre_right = radius * at(S, W.along + left + 1, lane, stride)
    moved = lock_torque(S, lock, lane, stride, drive, spin_left - spin_right, tyre_left - tyre_right)
    other_left, other_right = 0.5 * drive - moved - tyre_left, 0.5 * drive + moved - tyre_right
    brake_left = brake_torque(S, lane, stride, brake, spin_left, other_left)
    brake_right = brake_torque(S, lane, stride, brake, spin_right, other_right)
    inertia = at(S, c + C.spin_inertia, lane, stride)
    set_rate(S, X.spin + left, lane, stride, (other_left - brake_left) / inertia)
    set_rate(S, X.spin + left + 1, lane, stride, (other_right - brake_right) / inertia)
    return brake_left, brake_right


@inline
def _planar_rates(S: Workspace, lane: int, stride: int, ax: float, ay: float) -> None:
    """Set the rates of planar velocity and yaw from what tyres and air do per mass, ``ax`` and ``ay``.

    Gravity's part in the plane of a sloping or banked road moves the car but loads nothing: it acts on every
    part of it alike.
    """
    forward, sideways = state(S, X.forward_velocity, lane, stride), state(S, X.lateral_velocity, lane, stride)
    yaw_rate = state(S, X.yaw_rate, lane, stride)
    moment = 0.0
    for corner in range(4):
        c = CORNER_BASE + corner * N_CORNER
        moment += at(S, c + C.planar_x, lane, stride) * found(S, O.lateral_force + corner, lane, stride)
        moment -= at(S, c + C.planar_y, lane, stride) * found(S, O.longitudinal_force + corner, lane, stride)
    ax += given(S, I.slope_x, lane, stride)
    ay += given(S, I.slope_y, lane, stride)
    set_rate(S, X.forward_velocity, lane, stride, ax + yaw_rate * sideways)
    set_rate(S, X.lateral_velocity, lane, stride, ay - yaw_rate * forward)
    set_rate(S, X.yaw_rate, lane, stride, moment / at(S, P.yaw_inertia, lane, stride))


@inline
def drive_balance(S: Workspace, lane: int, stride: int) -> None:
    """Set the rates of spins, planar motion, body and wheels, the tyre forces being known.

    Notes
    -----
    The engine's torque is split between the axles in a fixed share, as by an open centre differential.
    Drag acts along the car; side wind and yaw moments of the air are left out.
    """
    engine = given(S, I.engine_torque, lane, stride)
    front = engine * at(S, P.drive_front_share, lane, stride)
    brake = 0.5 * given(S, I.brake, lane, stride)
    brake_front = brake * at(S, P.brake_front_share, lane, stride)
    brake_fl, brake_fr = _axle_spins(S, lane, stride, 0, P.front_lock_preload, front, brake_front)
    brake_rl, brake_rr = _axle_spins(
        S, lane, stride, 2, P.rear_lock_preload, engine - front, brake - brake_front
    )
    report(S, O.front_drive_force, lane, stride, front / at(S, W.radius, lane, stride))
    report(S, O.rear_drive_force, lane, stride, (engine - front) / at(S, W.radius + 2, lane, stride))
    mass = at(S, P.total_mass, lane, stride)
    drag = found(S, O.drag, lane, stride)
    ax = (_sum_of_outputs(S, O.longitudinal_force, lane, stride) - drag) / mass
    ay = _sum_of_outputs(S, O.lateral_force, lane, stride) / mass
    _planar_rates(S, lane, stride, ax, ay)
    vertical_rates(S, lane, stride, ax, ay, brake_fl, brake_fr, brake_rl, brake_rr)
