"""A driver who looks ahead: where he steers and what he does with the pedals, once a step.

He knows a line, how fast each place of it can be taken (`Plan`), and how his car steers in steady turns. He
looks a moment ahead, corrects where the car is going and how it turns, and eases what slides. Every gain is a
habit of his (`HabitSlots`), not of the car.
"""

from math import copysign, sqrt
from typing import NamedTuple

import numpy as np

from fourpatch.physics._compile import inline, place
from fourpatch.physics.full_car import found, given, state
from fourpatch.physics.integrate import EngineTable, FloatArray, engine_torques, place_in_table
from fourpatch.physics.layout import CORNER_BASE, INPUT_BASE, N_CORNER, C, I, O, P, X
from fourpatch.physics.suspension import at
from fourpatch.physics.trig import arctangent, sine_cosine
from fourpatch.physics.tyre import Workspace


class HabitSlots(NamedTuple):
    """How a driver drives, a row per car."""

    preview: int  # time ahead at which he wants to be on the line again [s]
    yaw_share: int  # of the steer that would turn the car at once as fast as it should
    steer_lag: int  # of his arms [s]
    steer_rate: int  # of the road wheels, at most [rad/s]
    anticipation: int  # time ahead at which he reads the speed [s]
    urgency: int  # acceleration per difference of speed [1/s]
    throttle_rate: int  # opening; closing is quick [1/s]
    brake_rate: int  # pressing [1/s]
    release_rate: int  # [1/s]
    front_slip: int  # slip angle of the front axle beyond which he does not turn in further [rad]
    rear_slip: int  # slip angle of the rear axle from which he eases the throttle [rad]
    spin: int  # slip of a driven wheel from which he eases the throttle
    lock: int  # slip of a braked wheel from which he eases the brake


B = HabitSlots(*range(len(HabitSlots._fields)))
N_HABIT = len(B)


class WaySlots(NamedTuple):
    """A line along a road, place by place."""

    curvature: int  # [1/m]
    sine_bank: int  # left side higher positive
    cosine_bank: int
    uphill: int  # gravity's part against the way [m/s^2]
    weight: int  # gravity's part upright and square to the way [m/s^2]
    upright: int  # vertical curvature, positive in a dip [1/m]


G = WaySlots(*range(len(WaySlots._fields)))
N_WAY = len(G)


class PaceSlots(NamedTuple):
    """What a driver knows of a place."""

    ceiling: int  # the fastest from which all that follows can be taken [m/s]
    slope: int  # speed x its change along the way [m/s^2]
    traction: int  # the most drive he asks of his tyres there going straight, per mass [m/s^2]
    unsteadiness: int  # added to his steer [rad]


K = PaceSlots(*range(len(PaceSlots._fields)))
N_PACE = len(K)


class Plan(NamedTuple):
    """What drivers know; of a lap the last place is the first again."""

    way: FloatArray  # (n, N_WAY)
    pace: FloatArray  # (cars, n, N_PACE)
    spacing: float  # between places [m]
    closed: bool
    habits: FloatArray  # (cars, N_HABIT)
    grip: FloatArray  # (cars, 2): lateral limit g0 + g1 v^2 in steady turns [m/s^2], [1/m]
    understeer: (
        FloatArray  # (cars, m): steer beyond wheelbase x curvature, evenly over 0 to 1 of that limit [rad]
    )
    finish: float  # distance at which a run ends [m]


_EASING = 20.0  # share of a pedal given up per slip beyond a habit's
_QUICK = 10.0  # rate at which a foot comes off the throttle [1/s]
_ALWAYS_LEFT = 0.02  # square of the share of drive that no corner takes: it holds the speed
_LEAST = 3.0  # speed below which curvatures count as at it [m/s]


@inline
def where(distance: float, plan: Plan) -> tuple[np.uintp, float]:
    """Place before a distance and the way past it, in places."""
    places = plan.way.shape[0] - 1
    along = distance / plan.spacing
    if plan.closed:
        along -= np.floor(along / places) * places
    return place_in_table(along, places)


@inline
def between(table: Workspace, k: np.uintp, part: float, column: int) -> float:
    """Read a column of a table along the way, straight between its rows."""
    return table[k, column] + part * (table[k + 1, column] - table[k, column])


@inline
def lay_way(S: Workspace, lane: int, stride: int, plan: Plan) -> None:
    """Set what the line and the slope of its road are under the car.

    Notes
    -----
    Gravity's parts in the car's own axes, turned from the way's by the heading; square to the road
    cos b (w + v^2 k_v) - v^2 k sin b with the weight w upright, bank b, curvature k, vertical curvature k_v.

    Source: derived here; the quasi-steady lap (`lap_profile.RoadDemand`) asks the same of a car.
    """
    k, part = where(state(S, X.distance, lane, stride), plan)
    curvature = between(plan.way, k, part, G.curvature)
    sine_bank, cosine_bank = (
        between(plan.way, k, part, G.sine_bank),
        between(plan.way, k, part, G.cosine_bank),
    )
    weight, upright = between(plan.way, k, part, G.weight), between(plan.way, k, part, G.upright)
    uphill = between(plan.way, k, part, G.uphill)
    speed = state(S, X.forward_velocity, lane, stride)
    square = speed * speed
    sin, cos = sine_cosine(state(S, X.heading, lane, stride))
    across = -weight * sine_bank
    press = cosine_bank * (weight + square * upright) - square * curvature * sine_bank
    S[place(INPUT_BASE + I.path_curvature, lane, stride)] = curvature
    S[place(INPUT_BASE + I.slope_x, lane, stride)] = across * sin - uphill * cos
    S[place(INPUT_BASE + I.slope_y, lane, stride)] = across * cos + uphill * sin
    S[place(INPUT_BASE + I.press, lane, stride)] = press - at(S, P.gravity, lane, stride)


@inline
def _toward(now: float, wanted: float, most_up: float, most_down: float) -> float:
    """Move at most so far."""
    return now + min(max(wanted - now, -most_down), most_up)


@inline
def wanted_steer(S: Workspace, lane: int, stride: int, car: int, plan: Plan) -> float:
    """Steer of the road wheels that a driver wants now. [rad]

    Notes
    -----
    He aims to be on the line again a preview time ahead. On a course c with an offset n, turning with
    curvature k over the reach d brings the car to n + d c + d^2 (k - k_line) / 2, so he wants
    k = k_line - 2 (n + d c) / d^2, k_line taken a third of the reach ahead (the mean that counts for where
    one ends). For it he steers as his car does in steady turns, and more or less by how much faster or
    slower the car should turn: that is also what catches a slide. He asks for no tighter turn than the car
    can hold, and does not turn the front beyond its best slip angle.

    Source: derived here; preview control of this kind is common practice, no published source.
    """
    habits = plan.habits[car]
    distance = state(S, X.distance, lane, stride)
    forward = max(state(S, X.forward_velocity, lane, stride), _LEAST)
    sideways, yaw_rate = state(S, X.lateral_velocity, lane, stride), state(S, X.yaw_rate, lane, stride)
    reach = forward * habits[B.preview]
    k, part = where(distance + reach / 3.0, plan)
    course = state(S, X.heading, lane, stride) + sideways / forward
    aim = state(S, X.offset, lane, stride) + reach * course
    curvature = between(plan.way, k, part, G.curvature) - 2.0 * aim / (reach * reach)
    to_front, to_rear = at(S, P.cg_to_front, lane, stride), at(S, P.cg_to_rear, lane, stride)
    wheelbase = to_front + to_rear
    table, square = plan.understeer[car], forward * forward
    most = (plan.grip[car, 0] + plan.grip[car, 1] * square) / square
    curvature = min(max(curvature, -most), most)
    turns = table.shape[0] - 1
    j, part = place_in_table(abs(curvature) / most * turns, turns)
    beyond = table[j] + part * (table[j + 1] - table[j])
    steer = wheelbase * curvature + copysign(beyond, curvature)
    steer += habits[B.yaw_share] * (wheelbase / forward) * (forward * curvature - yaw_rate)
    going = (sideways + to_front * yaw_rate) / forward
    steer = min(max(steer, going - habits[B.front_slip]), going + habits[B.front_slip])
    k, part = where(distance, plan)
    return steer + between(plan.pace[car], k, part, K.unsteadiness)


@inline
def _eased(slip: float, habit: float) -> float:
    """Share of a pedal that is left at a slip."""
    return min(max(1.0 - _EASING * (slip - habit), 0.0), 1.0)


@inline
def _left_for_drive(S: Workspace, lane: int, stride: int, car: int, plan: Plan) -> float:
    """Share of the tyres' pull that cornering, as the line asks or the car does it, leaves by an ellipse."""
    forward = state(S, X.forward_velocity, lane, stride)
    square = forward * forward
    most = plan.grip[car, 0] + plan.grip[car, 1] * square
    asked = square * abs(given(S, I.path_curvature, lane, stride))
    done = abs(forward * state(S, X.yaw_rate, lane, stride))
    share = max(asked, done) / most
    return sqrt(max(1.0 - share * share, _ALWAYS_LEFT))


@inline
def wanted_pedals(
    S: Workspace, lane: int, stride: int, car: int, plan: Plan, engines: EngineTable
) -> tuple[float, float]:
    """Throttle and brake that a driver wants now, 0 to 1 each.

    Notes
    -----
    He reads the fastest speed of a place a moment ahead and wants its slope and what closes the
    difference, never more drive than the tyres take beside what they do sideways. What closed throttle and
    drag do not give the brake does. Slip of a wheel and of the rear axle beyond his habits make him ease the
    pedal.
    """
    habits, pace = plan.habits[car], plan.pace[car]
    forward = max(state(S, X.forward_velocity, lane, stride), _LEAST)
    mass = at(S, P.total_mass, lane, stride)
    k, part = where(state(S, X.distance, lane, stride) + forward * habits[B.anticipation], plan)
    spare = between(pace, k, part, K.ceiling) - forward
    wanted = between(pace, k, part, K.slope) + habits[B.urgency] * spare
    needed = mass * (wanted - given(S, I.slope_x, lane, stride)) + found(S, O.drag, lane, stride)
    needed = min(
        needed, mass * between(pace, k, part, K.traction) * _left_for_drive(S, lane, stride, car, plan)
    )
    front = at(S, CORNER_BASE + C.tyre_radius, lane, stride)
    rear = at(S, CORNER_BASE + 2 * N_CORNER + C.tyre_radius, lane, stride)
    share = at(S, P.drive_front_share, lane, stride)
    radius = rear + share * (front - rear)
    torque_open, torque_closed = engine_torques(S, lane, stride, engines.torque[car], engines.spacing)
    coasting, full = torque_closed / radius, torque_open / radius
    throttle = min(max((needed - coasting) / max(full - coasting, 1.0), 0.0), 1.0)
    share = at(S, P.brake_front_share, lane, stride)
    pressed = at(S, P.brake_torque, lane, stride) / (rear + share * (front - rear))
    brake = min(max((coasting - needed) / pressed, 0.0), 1.0)
    to_rear = at(S, P.cg_to_rear, lane, stride)
    sideways, yaw_rate = state(S, X.lateral_velocity, lane, stride), state(S, X.yaw_rate, lane, stride)
    rear_slip = abs(arctangent((sideways - to_rear * yaw_rate) / forward))
    most, least = _slips(S, lane, stride, at(S, P.drive_front_share, lane, stride))
    throttle *= _eased(most, habits[B.spin]) * _eased(rear_slip, habits[B.rear_slip])
    return throttle, brake * _eased(-least, habits[B.lock])


@inline
def _slips(S: Workspace, lane: int, stride: int, front_share: float) -> tuple[float, float]:
    """Largest slip of a driven wheel, least of any."""
    fl, fr = state(S, X.slip, lane, stride), state(S, X.slip + 1, lane, stride)
    rl, rr = state(S, X.slip + 2, lane, stride), state(S, X.slip + 3, lane, stride)
    front = max(fl, fr) if front_share > 0.0 else 0.0
    rear = max(rl, rr) if front_share < 1.0 else 0.0
    return max(front, rear), min(min(fl, fr), min(rl, rr))


@inline
def act(
    S: Workspace, lane: int, stride: int, car: int, step: float, plan: Plan, engines: EngineTable
) -> None:
    """Move a driver's hands and feet on by a step [s]; they stay so until the next."""
    habits = plan.habits[car]
    steer, throttle, brake = (
        given(S, I.steer, lane, stride),
        given(S, I.throttle, lane, stride),
        given(S, I.brake, lane, stride),
    )
    nearer = min(step / habits[B.steer_lag], 1.0) * (wanted_steer(S, lane, stride, car, plan) - steer)
    most = habits[B.steer_rate] * step
    wanted_throttle, wanted_brake = wanted_pedals(S, lane, stride, car, plan, engines)
    S[place(INPUT_BASE + I.steer, lane, stride)] = steer + min(max(nearer, -most), most)
    S[place(INPUT_BASE + I.throttle, lane, stride)] = _toward(
        throttle, wanted_throttle, habits[B.throttle_rate] * step, _QUICK * step
    )
    S[place(INPUT_BASE + I.brake, lane, stride)] = _toward(
        brake, wanted_brake, habits[B.brake_rate] * step, habits[B.release_rate] * step
    )
