"""The rig: a prescribed planar motion, how the car stands to its path in it, and what each tyre does.

The motion says what all tyres together must give. Which slips they need for it, and so how the car drifts,
how far its front wheels are turned, what tyre drag costs and how two tyres of an axle share, follows from the
tyres: Newton's method on the slips, in the drive's own equations at rest. The slips are looked at anew every
few milliseconds and held in between, for they change with the motion, not with the bumps.
"""

from math import copysign, sqrt
from typing import NamedTuple

from fourpatch.physics._compile import driver, inline, place
from fourpatch.physics.full_car import found as output
from fourpatch.physics.full_car import (
    given,
    load_wheels,
    motion,
    report,
    report_wheel_angles,
    vertical_rates,
)
from fourpatch.physics.layout import (
    CORNER_BASE,
    N_CORNER,
    TYRE_SET_BASE,
    C,
    H,
    I,
    O,
    P,
    V,
    W,
)
from fourpatch.physics.patch_friction import patch_forces
from fourpatch.physics.suspension import at
from fourpatch.physics.trig import HALF_PI, sine_quarter
from fourpatch.physics.tyre import T, Workspace

_DIFFERENCE = 1e-5  # of a slip, for the slopes
_FARTHEST = 0.04  # longest step of a slip ...
_SHORTER = 0.75  # ... and what is left of it after each further round ...
_PATIENCE = 16  # ... once a search has gone on for as many: near a peak it may go to and fro
_LIFTED = 1e-3  # share of its axle's load below which a tyre takes no part
_FLAT = 0.3  # slope of a force over its slip, per load, below which a tyre gives no more: 2 % of the first
_FLAT_AT_ALL = 10.0  # the same without load [N]
_PAST_PEAK = 1.2  # of the slip of the peak at nominal load: from where on a tyre is asked beyond its forces
_BEYOND_ALONG = 1.0  # slope of a force over its slip, per load, that is added there
_BEYOND_ASIDE = 3.0  # a tyre may well spin; an axle that slides aside has no more to give
_LEAST_SQUARE = 1e-12  # of a slip, to divide by
_WIDEST = 0.6  # slip and tangent that are not exceeded
_ROUNDS = 40  # of a search; ten are usual
_FOUND = 1e-11  # last step of a slip


@inline
def begin_slips(S: Workspace, lane: int, stride: int) -> None:
    """Lay out what the rig's tyres need and put their slips where a search may begin."""
    load_wheels(S, lane, stride)
    for k in range(len(H)):
        S[place(H[0] + k, lane, stride)] = 0.0
    S[place(H.cosine_sideslip, lane, stride)] = 1.0
    for k in range(4 * len(V)):
        S[place(V[0] + k, lane, stride)] = 0.0


@inline
def is_straight(S: Workspace, lane: int, stride: int) -> bool:
    """Say whether the motion asks nothing of the tyres but to hold speed."""
    asked = abs(given(S, I.longitudinal_acceleration, lane, stride))
    asked += abs(given(S, I.lateral_acceleration, lane, stride))
    asked += abs(given(S, I.yaw_acceleration, lane, stride))
    asked += abs(given(S, I.path_curvature, lane, stride))
    return asked == 0.0


@inline
def _turn_rate(S: Workspace, lane: int, stride: int) -> float:
    """Yaw rate over forward speed. [1/m]"""
    return given(S, I.path_curvature, lane, stride) / at(S, H.cosine_sideslip, lane, stride)


@inline
def _report_drag(S: Workspace, lane: int, stride: int) -> None:
    """Report what drag, against the path, is along the car; its part across is left out, as in the drive."""
    report(S, O.drag, lane, stride, at(S, H.drag, lane, stride) * at(S, H.cosine_sideslip, lane, stride))


@inline
def take_attitude(S: Workspace, lane: int, stride: int) -> None:
    """Turn front wheels and car as they are held, and write how each tyre meets the road then.

    Notes
    -----
    Over the ground the contact patch of a wheel at (x, y) moves at u (1 - y k) along the car and at
    u (d + (x - x_rear) k) across it, with u the forward speed, k yaw rate over u, d the drift of the rear
    axle; the wheel is steered by s against the car.
    """
    bend = _turn_rate(S, lane, stride)
    drift = at(S, H.drift, lane, stride)
    tangent = drift + at(S, P.cg_to_rear, lane, stride) * bend
    cosine = 1.0 / sqrt(1.0 + tangent * tangent)
    S[place(H.cosine_sideslip, lane, stride)] = cosine
    S[place(H.sine_sideslip, lane, stride)] = tangent * cosine
    _report_drag(S, lane, stride)
    wheelbase = at(S, P.cg_to_front, lane, stride) + at(S, P.cg_to_rear, lane, stride)
    steer = at(S, H.steer, lane, stride)
    for corner in range(4):
        report_wheel_angles(S, lane, stride, corner, steer)
        steered = output(S, O.steer + corner, lane, stride)
        sine, cosine = sine_quarter(steered), sine_quarter(HALF_PI - abs(steered))
        ahead = wheelbase * (1.0 - corner // 2)
        along = 1.0 - at(S, CORNER_BASE + corner * N_CORNER + C.planar_y, lane, stride) * bend
        aside = drift + ahead * bend
        rolling = along * cosine + aside * sine
        S[place(V.rolling + corner, lane, stride)] = rolling
        S[place(V.tangent + corner, lane, stride)] = (aside * cosine - along * sine) / rolling
        S[place(V.sine_steer + corner, lane, stride)] = sine
        S[place(V.cosine_steer + corner, lane, stride)] = cosine
        S[place(V.lean + corner, lane, stride)] = output(S, O.inclination + corner, lane, stride)


@inline
def _share_by_load(S: Workspace, lane: int, stride: int, left: int) -> float:
    """Left tyre's part of its axle's load; half where there is none."""
    load_left = output(S, O.tyre_load + left, lane, stride)
    load_right = output(S, O.tyre_load + left + 1, lane, stride)
    return (load_left + 1e-6) / (load_left + load_right + 2e-6)


@inline
def _along_extra_moment(S: Workspace, lane: int, stride: int) -> float:
    """Yaw moment of what left tyres pull more than right ones. [N m]"""
    moment = 0.0
    for axle in range(2):
        c = CORNER_BASE + 2 * axle * N_CORNER
        apart = at(S, c + C.planar_y, lane, stride) - at(S, c + N_CORNER + C.planar_y, lane, stride)
        moment -= 0.5 * apart * at(S, H.front_along_extra + axle, lane, stride)
    return moment


class _Asked(NamedTuple):
    """What a motion asks of both axles, the accelerations in the car's axes beside it."""

    along: float
    """Acceleration in the car's axes. [m/s^2]"""
    aside: float
    lateral_front: float
    """Force across the car. [N]"""
    lateral_rear: float
    drive_front: float
    """Through the half shafts, at the ground. [N]"""
    drive_rear: float
    brake_front: float
    """Of the brakes, at the ground, negative. [N]"""
    brake_rear: float
    wheels_front: float
    """Force along the wheels: of shafts and brakes, less what spins the wheels up. [N]"""
    wheels_rear: float


@inline
def _spun_up(S: Workspace, lane: int, stride: int, axle: int) -> float:
    """Force at the ground that changes the speed of an axle's wheels as the car's changes. [N]"""
    c = CORNER_BASE + 2 * axle * N_CORNER
    radius = at(S, c + C.tyre_radius, lane, stride)
    inertia = 2.0 * at(S, c + C.spin_inertia, lane, stride) / (radius * radius)
    return inertia * given(S, I.longitudinal_acceleration, lane, stride)


@inline
def axle_forces(S: Workspace, lane: int, stride: int) -> _Asked:
    """Return what the motion asks of both axles.

    Notes
    -----
    With b the sideslip, d the steer, F along the wheels and Y across the car:
      a_x,car = a_x cos b - a_y sin b,  a_y,car = a_y cos b + a_x sin b
      L Y_front = m a_y,car l_rear + I r' - M,  M of unequal forces along left and right tyres
      F_front / cos d + F_rear = m a_x,car + drag + Y_front tan d - what unequal steer takes back
    Shafts and brakes give F and, at the ground, 2 I_spin a_x / R^2 of each axle, which its wheels take to
    turn faster or slower. Pulling, that comes from the driven axles; slowing, the closed throttle gives what
    it can through the driven axles and the brakes give the rest by their share of the torque.

    Source: derived here; power balance of a steady turn in tests/validation/test_rig_near_the_limit.py.
    """
    ax, ay = (
        given(S, I.longitudinal_acceleration, lane, stride),
        given(S, I.lateral_acceleration, lane, stride),
    )
    sine, cosine = at(S, H.sine_sideslip, lane, stride), at(S, H.cosine_sideslip, lane, stride)
    along, aside = ax * cosine - ay * sine, ay * cosine + ax * sine
    mass = at(S, P.total_mass, lane, stride)
    to_front, to_rear = at(S, P.cg_to_front, lane, stride), at(S, P.cg_to_rear, lane, stride)
    turning = at(S, P.yaw_inertia, lane, stride) * given(S, I.yaw_acceleration, lane, stride)
    turning -= _along_extra_moment(S, lane, stride)
    front = (mass * aside * to_rear + turning) / (to_front + to_rear)
    steer = at(S, H.steer, lane, stride)
    secant = 1.0 / sine_quarter(HALF_PI - abs(steer))
    spun_front, spun_rear = _spun_up(S, lane, stride, 0), _spun_up(S, lane, stride, 1)
    pull = mass * along + output(S, O.drag, lane, stride) + front * sine_quarter(steer) * secant
    pull -= at(S, H.front_drawn_back, lane, stride) + at(S, H.rear_drawn_back, lane, stride)
    pull += spun_front * secant + spun_rear
    share, brake_share = at(S, P.drive_front_share, lane, stride), at(S, P.brake_front_share, lane, stride)
    radius_front = at(S, CORNER_BASE + C.tyre_radius, lane, stride)
    radius_rear = at(S, CORNER_BASE + 2 * N_CORNER + C.tyre_radius, lane, stride)
    brake_share = brake_share * radius_rear / (brake_share * radius_rear + (1.0 - brake_share) * radius_front)
    driven_radius = share * radius_front + (1.0 - share) * radius_rear
    overrun = min(0.0, given(S, I.engine_torque, lane, stride)) / driven_radius
    driving = max(pull / (1.0 + share * (secant - 1.0)), overrun)
    rest = pull - driving * (1.0 + share * (secant - 1.0))
    braking = rest / (1.0 + brake_share * (secant - 1.0))
    drive_front, drive_rear = driving * share, driving * (1.0 - share)
    brake_front, brake_rear = braking * brake_share, braking * (1.0 - brake_share)
    return _Asked(
        along,
        aside,
        front,
        mass * aside - front,
        drive_front,
        drive_rear,
        brake_front,
        brake_rear,
        drive_front + brake_front - spun_front,
        drive_rear + brake_rear - spun_rear,
    )


@inline
def _report_axle(
    S: Workspace, lane: int, stride: int, axle: int, lateral: float, along_wheels: float, steer: float
) -> None:
    """Report the forces of an axle's tyres in the car's axes, its wheels turned by ``steer`` in the mean."""
    secant = 1.0 / sine_quarter(HALF_PI - abs(steer))
    tangent = sine_quarter(steer) * secant
    left = 2 * axle
    share = _share_by_load(S, lane, stride, left)
    share = 0.5 + at(S, P.lateral_load_sharing, lane, stride) * (share - 0.5)
    own = lateral * share + at(S, H.front_lateral_extra + axle, lane, stride)
    along = along_wheels * secant - lateral * tangent + at(S, H.front_drawn_back + axle, lane, stride)
    extra = 0.5 * at(S, H.front_along_extra + axle, lane, stride)
    report(S, O.lateral_force + left, lane, stride, own)
    report(S, O.lateral_force + left + 1, lane, stride, lateral - own)
    report(S, O.longitudinal_force + left, lane, stride, 0.5 * along + extra)
    report(S, O.longitudinal_force + left + 1, lane, stride, 0.5 * along - extra)


@inline
def rig_motion(S: Workspace, lane: int, stride: int) -> None:
    """Report what follows from heights and rates alone, the front wheels turned as they are held."""
    motion(S, lane, stride, given(S, I.speed, lane, stride), at(S, H.steer, lane, stride))
    S[place(H.drag, lane, stride)] = output(S, O.drag, lane, stride)
    _report_drag(S, lane, stride)


@inline
def rig_balance(S: Workspace, lane: int, stride: int) -> None:
    """Set all rates of the car on the rig, its motion being reported and its attitude held.

    Brakes are outboard, so a braked wheel's torque is its share of the axle's brake force times its radius.
    """
    asked = axle_forces(S, lane, stride)
    report(S, O.front_drive_force, lane, stride, asked.drive_front)
    report(S, O.rear_drive_force, lane, stride, asked.drive_rear)
    steer = at(S, H.steer, lane, stride)
    _report_axle(S, lane, stride, 0, asked.lateral_front, asked.wheels_front, steer)
    _report_axle(S, lane, stride, 1, asked.lateral_rear, asked.wheels_rear, 0.0)
    front = -0.5 * asked.brake_front * at(S, CORNER_BASE + C.tyre_radius, lane, stride)
    rear = -0.5 * asked.brake_rear * at(S, CORNER_BASE + 2 * N_CORNER + C.tyre_radius, lane, stride)
    vertical_rates(S, lane, stride, asked.along, asked.aside, front, front, rear, rear)


@inline
def _tyre_at(S: Workspace, wheel: int, stride: int, slip: float, tangent: float) -> tuple[float, float]:
    """Return a tyre's force along and across its wheel, at slips of the left-hand tyre it is or mirrors.

    Notes
    -----
    A motion may ask for more than there is. So that it has one answer, which comes and goes as the motion
    does, forces go on to rise with slip from `_PAST_PEAK` on, in the direction that the tyre slides in.
    """
    side = at(S, W.side, wheel, stride)
    tyres, step, load = TYRE_SET_BASE * stride + wheel, 4 * stride, output(S, O.tyre_load, wheel, stride)
    along_peaks = slip * S[place(T.sharpness_x, tyres, step)]
    aside_peaks = tangent * S[place(T.sharpness_y, tyres, step)]
    peaks = sqrt(max(along_peaks * along_peaks + aside_peaks * aside_peaks, _LEAST_SQUARE))
    inside = min(1.0, _PAST_PEAK / peaks)
    along, across = patch_forces(
        S, 0, tyres, step, load, inside * slip, inside * tangent, at(S, V.lean, wheel, stride) * side
    )
    beyond = 1.0 - inside
    along += beyond * slip * (_BEYOND_ALONG * load + _FLAT_AT_ALL)
    across -= beyond * tangent * (_BEYOND_ASIDE * load + _FLAT_AT_ALL)
    return along, across * side


@inline
def look_at_tyre(S: Workspace, wheel: int, stride: int) -> None:
    """Write a tyre's force along and across its wheel; ``wheel`` as in `full_car.rolling_tyre`."""
    # Outward in the mirror too, so that a right turn is a left one seen in it.
    tangent = at(S, V.tangent, wheel, stride) * at(S, W.side, wheel, stride)
    along, across = _tyre_at(S, wheel, stride, at(S, V.slip, wheel, stride), tangent)
    S[place(V.along, wheel, stride)] = along
    S[place(V.across, wheel, stride)] = across


@inline
def look_around_tyre(S: Workspace, wheel: int, stride: int) -> None:
    """Write a tyre's forces, and those a difference further in its longitudinal slip and in its tangent.

    Notes
    -----
    All three before any is written: what hangs on the load alone is then computed once.
    """
    slip, tangent = (
        at(S, V.slip, wheel, stride),
        at(S, V.tangent, wheel, stride) * at(S, W.side, wheel, stride),
    )
    along, across = _tyre_at(S, wheel, stride, slip, tangent)
    along_by_slip, across_by_slip = _tyre_at(S, wheel, stride, slip + _DIFFERENCE, tangent)
    along_by_tangent, across_by_tangent = _tyre_at(S, wheel, stride, slip, tangent + _DIFFERENCE)
    S[place(V.along, wheel, stride)] = along
    S[place(V.across, wheel, stride)] = across
    S[place(V.along + 8, wheel, stride)] = along_by_slip
    S[place(V.across + 8, wheel, stride)] = across_by_slip
    S[place(V.along + 16, wheel, stride)] = along_by_tangent
    S[place(V.across + 16, wheel, stride)] = across_by_tangent


@inline
def _slope(S: Workspace, lane: int, stride: int, force: int, moved: int) -> float:
    """Change of a tyre's force with its longitudinal slip, ``moved`` 1, or its tangent, 2. [N]"""
    return (at(S, force + 8 * moved, lane, stride) - at(S, force, lane, stride)) / _DIFFERENCE


@inline
def _slope_aside(S: Workspace, lane: int, stride: int, force: int, corner: int) -> float:
    """Change of a tyre's force with the tangent of its slip angle. [N]"""
    return _slope(S, lane, stride, force + corner, 2) * at(S, W.side + corner, lane, stride)


@inline
def _flat(S: Workspace, lane: int, stride: int, corner: int) -> float:
    """Slope of a tyre's force below which it gives no more. [N]"""
    return _FLAT * output(S, O.tyre_load + corner, lane, stride) + _FLAT_AT_ALL


@inline
def _rising(S: Workspace, lane: int, stride: int, corner: int) -> float:
    """Slope of the force along over slip, at least flat. [N]"""
    return max(_slope(S, lane, stride, V.along + corner, 1), _flat(S, lane, stride, corner))


@inline
def _falling(S: Workspace, lane: int, stride: int, corner: int) -> float:
    """Slope of the force across over the tangent of the slip angle, at least flat. [N]"""
    return min(_slope_aside(S, lane, stride, V.across, corner), -_flat(S, lane, stride, corner))


@inline
def _across_car(S: Workspace, lane: int, stride: int, corner: int, along: float, across: float) -> float:
    """What a force along and across a wheel is across the car."""
    return across * at(S, V.cosine_steer + corner, lane, stride) + along * at(
        S, V.sine_steer + corner, lane, stride
    )


@inline
def _within(value: float, widest: float) -> float:
    """Hold a value within bounds on either side."""
    return max(-widest, min(widest, value))


@inline
def _change_slip(S: Workspace, lane: int, stride: int, corner: int, change: float) -> float:
    """Change a tyre's longitudinal slip within bounds; return the change made."""
    slip = at(S, V.slip + corner, lane, stride)
    changed = _within(slip + change, _WIDEST)
    S[place(V.slip + corner, lane, stride)] = changed
    return changed - slip


@inline
def _is_stuck(S: Workspace, lane: int, stride: int, corner: int, change: float) -> bool:
    """Say whether a tyre's slip is at its bound and would go on, or the tyre is off the ground."""
    slip = at(S, V.slip + corner, lane, stride)
    load = output(S, O.tyre_load + corner, lane, stride)
    other = output(S, O.tyre_load + (corner ^ 1), lane, stride)
    return ((abs(slip) >= _WIDEST) & (slip * change > 0.0)) | (load < _LIFTED * other)


class _Axle(NamedTuple):
    """What two tyres of an axle give and how it changes, for Newton's method."""

    along_by_left: float
    along_by_right: float
    along_by_tangent: float
    across_by_left: float
    across_by_right: float
    across_by_tangent: float
    along_short: float
    """Of what is asked along the wheels. [N]"""
    across_short: float
    """Of what is asked across the car. [N]"""


class _Tie(NamedTuple):
    """An equation for the changes of an axle's left slip, right slip and tangent."""

    by_left: float
    by_right: float
    by_tangent: float
    rest: float


@inline
def _changes(axle: _Axle, tie: _Tie) -> tuple[float, float, float]:
    """Solve for the changes of left slip, right slip and tangent, by Cramer's rule."""
    al, ar, b, cl, cr, e, x, y = axle
    pl, pr, pt, z = tie
    one, two, three = cr * pt - e * pr, cl * pt - e * pl, cl * pr - cr * pl
    determinant = al * one - ar * two + b * three
    share = 1.0 / copysign(max(abs(determinant), 1e-9), determinant)
    y_tangent, y_left, y_right = y * pt - e * z, cl * z - y * pl, y * pr - cr * z
    return (
        share * (x * one - ar * y_tangent + b * y_right),
        share * (al * y_tangent - x * two + b * y_left),
        share * (x * three - al * y_right - ar * y_left),
    )


@inline
def _axle_at_slips(
    S: Workspace, lane: int, stride: int, left: int, lateral: float, along_wheels: float
) -> _Axle:
    """Return what an axle gives at the slips held; arguments as `_correct_axle`."""
    right = left + 1
    al, ar = _rising(S, lane, stride, left), _rising(S, lane, stride, right)
    bl, br = _slope_aside(S, lane, stride, V.along, left), _slope_aside(S, lane, stride, V.along, right)
    along_left, along_right = at(S, V.along + left, lane, stride), at(S, V.along + right, lane, stride)
    given_left = _across_car(S, lane, stride, left, along_left, at(S, V.across + left, lane, stride))
    given_right = _across_car(S, lane, stride, right, along_right, at(S, V.across + right, lane, stride))
    e = _across_car(S, lane, stride, left, bl, _falling(S, lane, stride, left))
    return _Axle(
        al,
        ar,
        bl + br,
        _across_car(S, lane, stride, left, al, _slope(S, lane, stride, V.across + left, 1)),
        _across_car(S, lane, stride, right, ar, _slope(S, lane, stride, V.across + right, 1)),
        e + _across_car(S, lane, stride, right, br, _falling(S, lane, stride, right)),
        along_wheels - along_left - along_right,
        lateral - given_left - given_right,
    )


@inline
def _tied_changes(
    S: Workspace, lane: int, stride: int, number: int, drive: float, axle: _Axle
) -> tuple[float, float, float]:
    """Return the changes of an axle's slips under its differential.

    Notes
    -----
    As `driveline.lock_torque` at rest, where spins are steady. If the wheels can be held at one speed, D = 0,
    by no more than the capacity, they are; else the tyres' moments differ by the capacity, on the side of
    what holding them would take, and by what the viscous part adds: M = +-capacity - n D.
    """
    left, right = 2 * number, 2 * number + 1
    lock = P.front_lock_preload + 4 * number
    radius = at(S, CORNER_BASE + left * N_CORNER + C.tyre_radius, lane, stride)
    turning = given(S, I.speed, lane, stride) * at(S, H.cosine_sideslip, lane, stride) / radius
    spin_left = turning * at(S, V.rolling + left, lane, stride)
    spin_right = turning * at(S, V.rolling + right, lane, stride)
    apart = spin_left * (1.0 + at(S, V.slip + left, lane, stride)) - spin_right * (
        1.0 + at(S, V.slip + right, lane, stride)
    )
    moment = radius * (at(S, V.along + left, lane, stride) - at(S, V.along + right, lane, stride))
    torque = drive * radius
    capacity = at(S, lock, lane, stride) + at(S, lock + 1, lane, stride) * max(torque, 0.0)
    capacity += at(S, lock + 2, lane, stride) * max(-torque, 0.0)
    viscous = at(S, lock + 3, lane, stride)
    by_left, by_right = radius * axle.along_by_left, -radius * axle.along_by_right
    by_tangent = radius * (
        _slope_aside(S, lane, stride, V.along, left) - _slope_aside(S, lane, stride, V.along, right)
    )
    held = _changes(axle, _Tie(spin_left, -spin_right, 0.0, -apart))
    holding = moment + by_left * held[0] + by_right * held[1] + by_tangent * held[2]
    slipping = _changes(
        axle,
        _Tie(
            by_left + viscous * spin_left,
            by_right - viscous * spin_right,
            by_tangent,
            copysign(capacity, holding) - moment - viscous * apart,
        ),
    )
    # A clutch slips only with less torque on the faster wheel; near a tyre's peak its slope tells that badly.
    wrong_way = (capacity > 0.0) & (apart * holding > 0.0)
    return held if (abs(holding) < capacity) | wrong_way else slipping


@inline
def _correct_axle(
    S: Workspace,
    lane: int,
    stride: int,
    number: int,
    lateral: float,
    along_wheels: float,
    drive: float,
    reach: float,
) -> tuple[float, float]:
    """Move an axle's slips by a step of Newton's method; return the change of tangent and the longest change.

    Parameters
    ----------
    number : 0 front, 1 rear.
    lateral : force across the car that the axle must give. [N]
    along_wheels, drive : force along its wheels in all, and through its half shafts. [N]
    reach : longest change of a slip.
    """
    left, right = 2 * number, 2 * number + 1
    axle = _axle_at_slips(S, lane, stride, left, lateral, along_wheels)
    slip_left, slip_right, tangent = _tied_changes(S, lane, stride, number, drive, axle)
    # A wheel locked or spun as far as is looked takes no further part, nor does what ties it to the other.
    if _is_stuck(S, lane, stride, left, slip_left):
        slip_left, slip_right, tangent = _changes(axle, _Tie(1.0, 0.0, 0.0, 0.0))
    elif _is_stuck(S, lane, stride, right, slip_right):
        slip_left, slip_right, tangent = _changes(axle, _Tie(0.0, 1.0, 0.0, 0.0))
    far = max(abs(slip_left), abs(slip_right), abs(tangent))
    part = min(1.0, reach / max(far, 1e-30))
    slip_left = _change_slip(S, lane, stride, left, part * slip_left)
    slip_right = _change_slip(S, lane, stride, right, part * slip_right)
    tangent *= part
    return tangent, max(abs(slip_left), abs(slip_right), abs(tangent))


@inline
def correct_slips(S: Workspace, lane: int, stride: int, reach: float) -> float:
    """Move slips, by ``reach`` at most, drift and steer toward what is asked; return the longest change."""
    asked = axle_forces(S, lane, stride)
    turned, far = _correct_axle(
        S, lane, stride, 1, asked.lateral_rear, asked.wheels_rear, asked.drive_rear, reach
    )
    own, own_far = _correct_axle(
        S, lane, stride, 0, asked.lateral_front, asked.wheels_front, asked.drive_front, reach
    )
    drift = at(S, H.drift, lane, stride) + turned
    S[place(H.drift, lane, stride)] = _within(drift, _WIDEST)
    steer = at(S, H.steer, lane, stride) + turned - own
    S[place(H.steer, lane, stride)] = _within(steer, _WIDEST)
    return max(far, own_far)


@inline
def share_out_forces(S: Workspace, lane: int, stride: int) -> None:
    """Hold how the two tyres of each axle share what it gives, from the forces looked at."""
    for axle in range(2):
        left, right = 2 * axle, 2 * axle + 1
        steer = at(S, H.steer, lane, stride) * (1.0 - axle)
        secant = 1.0 / sine_quarter(HALF_PI - abs(steer))
        tangent = sine_quarter(steer) * secant
        lateral, ahead, wheels, sign, lateral_left, extra = 0.0, 0.0, 0.0, 1.0, 0.0, 0.0
        for corner in range(left, right + 1):
            along, across = at(S, V.along + corner, lane, stride), at(S, V.across + corner, lane, stride)
            sine, cosine = (
                at(S, V.sine_steer + corner, lane, stride),
                at(S, V.cosine_steer + corner, lane, stride),
            )
            own = across * cosine + along * sine
            forward = along * cosine - across * sine
            lateral_left += own * (1.0 + sign) * 0.5
            lateral += own
            ahead += forward
            extra += sign * forward
            wheels += along
            sign = -1.0
        share = _share_by_load(S, lane, stride, left)
        S[place(H.front_lateral_extra + axle, lane, stride)] = lateral_left - share * lateral
        S[place(H.front_along_extra + axle, lane, stride)] = extra
        S[place(H.front_drawn_back + axle, lane, stride)] = ahead - (wheels * secant - lateral * tangent)


@driver
def hold_slips(S: Workspace, stride: int, lanes: int, rounds: int) -> float:
    """Look at the tyres of the cars loaded in ``S``, their motion being reported, and hold what comes.

    Parameters
    ----------
    rounds : of Newton's method at the most; 0 looks at the forces only.

    Returns
    -------
    float
        Longest change of a slip in the last of them.
    """
    for lane in range(lanes):
        take_attitude(S, lane, stride)
    far, reach = 1.0, _FARTHEST
    for done in range(rounds + 1):
        last = (done == rounds) | (far < _FOUND)
        if last:
            for wheel in range(4 * lanes):
                look_at_tyre(S, wheel, stride)
        else:
            for wheel in range(4 * lanes):
                look_around_tyre(S, wheel, stride)
        for lane in range(lanes):
            share_out_forces(S, lane, stride)
        if last:
            break
        far = 0.0
        for lane in range(lanes):
            far = max(far, correct_slips(S, lane, stride, reach))
        if done >= _PATIENCE:
            reach *= _SHORTER
        for lane in range(lanes):
            take_attitude(S, lane, stride)
    for lane in range(lanes):
        for corner in range(4):
            report(S, O.slip + corner, lane, stride, at(S, V.slip + corner, lane, stride))
            report(S, O.slip_angle + corner, lane, stride, at(S, V.tangent + corner, lane, stride))
    return far


@inline
def looks_at_tyres(S: Workspace) -> bool:
    """Say whether a car's tyres are looked at: it rolls, and is no textbook's."""
    return (given(S, I.speed, 0, 1) > 0.0) & (at(S, P.finds_slips, 0, 1) > 0.0)


@driver
def step_slips(S: Workspace, rounds: int) -> float:
    """Take steps of the search for the slips of the one car loaded in ``S``; return the last's length."""
    return hold_slips(S, 1, 1, rounds)


@driver
def look(S: Workspace, stride: int, lanes: int, first: bool) -> None:
    """Find the slips of a run's first motion from nothing, then follow them; on a straight they stay."""
    looks = (given(S, I.speed, 0, stride) > 0.0) & (at(S, P.finds_slips, 0, stride) > 0.0)
    if looks & (first | (not is_straight(S, 0, stride))):
        hold_slips(S, stride, lanes, _ROUNDS if first else 1)
