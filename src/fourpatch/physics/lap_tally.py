"""A lap summed up while it is driven: times, extremes and work, so that no history need be stored.

A history of a lap takes megabytes a car; of a hundred thousand cars nobody keeps it. What is kept here is
told at the same instants and by the same definitions as a stored history would tell it.
"""

from typing import NamedTuple

import numpy as np

from fourpatch.physics._compile import inline, place
from fourpatch.physics.driver import Plan, between, where
from fourpatch.physics.full_car import found, state
from fourpatch.physics.integrate import FloatArray
from fourpatch.physics.layout import (
    CORNER_BASE,
    N_CORNER,
    N_GATE,
    N_LAP,
    STATE_BASE,
    A,
    C,
    O,
    Q,
    R,
    X,
)
from fourpatch.physics.suspension import at
from fourpatch.physics.trig import HALF_PI, sine_quarter
from fourpatch.physics.tyre import Workspace

LOCKED, SPINNING = -0.3, 0.3
"""Slip beyond which a wheel counts as locked or spinning: about three times that of the peak force."""

_FAR = 1e9
_CREEP = 1e-3  # [m/s]


class Marks(NamedTuple):
    """Where a lap is timed and what lies beside its line."""

    gates: FloatArray  # (m,) rising distances of the run [m]
    begin: float  # distances between which extremes count [m]
    end: float
    room: FloatArray  # (n, 2) at the places of the plan: from a car on the line to either edge [m]


class Tally(NamedTuple):
    """Filled by a run."""

    gates: FloatArray  # (cars, m, N_GATE), all NaN before
    lap: FloatArray  # (cars, N_LAP)


NO_MARKS = Marks(np.empty(0), 0.0, 0.0, np.empty((0, 2)))
NO_TALLY = Tally(np.empty((0, 0, N_GATE)), np.empty((0, N_LAP)))


@inline
def begin_tally(S: Workspace, lane: int, stride: int) -> None:
    """Clear the sums of the car in ``lane``."""
    for k in range(N_LAP):
        S[place(Q.lap + k, lane, stride)] = 0.0
    S[place(Q.lap + A.room, lane, stride)] = _FAR
    S[place(Q.carry, lane, stride)] = 0.0
    S[place(Q.gates, lane, stride)] = 0.0
    S[place(Q.before, lane, stride)] = state(S, X.distance, lane, stride) - 1.0
    S[place(Q.slowest, lane, stride)] = _FAR
    S[place(Q.rear_slip, lane, stride)] = 0.0


@inline
def carry_rounding(S: Workspace, lane: int, stride: int, start: float, advance: float) -> None:
    """Set the distance to ``start`` + ``advance``, and carry on what this sum rounds away. [m]

    Notes
    -----
    Single precision knows 4 km to a quarter of a millimetre; of a hundred thousand small steps, each rounded
    so, a lap time would be 6 ms off.

    Source: compensated summation, Kahan, Communications of the ACM 8, 1965 (from memory).
    """
    due = advance + at(S, Q.carry, lane, stride)
    now = start + due
    S[place(Q.carry, lane, stride)] = due - (now - start)
    S[place(STATE_BASE + X.distance, lane, stride)] = now


@inline
def _largest(S: Workspace, slot: int, lane: int, stride: int, value: float) -> None:
    S[place(slot, lane, stride)] = max(at(S, slot, lane, stride), value)


@inline
def _for_a_while(S: Workspace, slot: int, lane: int, stride: int, holds: bool, interval: float) -> None:
    S[place(slot, lane, stride)] += interval if holds else 0.0


@inline
def _note_wheel(S: Workspace, lane: int, stride: int, corner: int, interval: float) -> None:
    """Sum up what a wheel does; the power of sliding as `analysis.tyre_work.sliding_power` has it."""
    load = found(S, O.tyre_load + corner, lane, stride)
    slip, tangent = state(S, X.slip + corner, lane, stride), state(S, X.slip_angle + corner, lane, stride)
    _largest(S, Q.lap + A.load + corner, lane, stride, load if interval > 0.0 else 0.0)
    _for_a_while(S, Q.lap + A.off_ground + corner, lane, stride, load <= 0.0, interval)
    _for_a_while(S, Q.lap + A.locked + corner, lane, stride, slip < LOCKED, interval)
    _for_a_while(S, Q.lap + A.spinning + corner, lane, stride, slip > SPINNING, interval)
    steer = found(S, O.steer + corner, lane, stride)
    sin, cos = sine_quarter(steer), sine_quarter(HALF_PI - abs(steer))
    c, yaw_rate = CORNER_BASE + corner * N_CORNER, state(S, X.yaw_rate, lane, stride)
    forward = state(S, X.forward_velocity, lane, stride) - yaw_rate * at(S, c + C.planar_y, lane, stride)
    sideways = state(S, X.lateral_velocity, lane, stride) + yaw_rate * at(S, c + C.planar_x, lane, stride)
    lengthwise = found(S, O.longitudinal_force + corner, lane, stride)
    across = found(S, O.lateral_force + corner, lane, stride)
    power = abs(forward * cos + sideways * sin) * (
        slip * (lengthwise * cos + across * sin) - tangent * (across * cos - lengthwise * sin)
    )
    S[place(Q.lap + A.tyre_work + corner, lane, stride)] += power * interval


@inline
def _replace(S: Workspace, slot: int, lane: int, stride: int, replaced: bool, value: float) -> None:
    S[place(slot, lane, stride)] = value if replaced else at(S, slot, lane, stride)


@inline
def _note_way(S: Workspace, lane: int, stride: int, plan: Plan, marks: Marks, counts: bool) -> None:
    """Keep the largest sideslip and the least room, and where they were."""
    distance = state(S, X.distance, lane, stride)
    forward, sideways = state(S, X.forward_velocity, lane, stride), state(S, X.lateral_velocity, lane, stride)
    sideslip = abs(sideways) / max(forward, _CREEP)
    k, part = where(distance, plan)
    offset = state(S, X.offset, lane, stride)
    left, right = between(marks.room, k, part, 0) - offset, between(marks.room, k, part, 1) + offset
    room = min(left, right)
    worse = counts & (sideslip > at(S, Q.lap + A.sideslip, lane, stride))
    nearer = counts & (room < at(S, Q.lap + A.room, lane, stride))
    _replace(S, Q.lap + A.sideslip, lane, stride, worse, sideslip)
    _replace(S, Q.lap + A.sideslip_at, lane, stride, worse, distance)
    _replace(S, Q.lap + A.room, lane, stride, nearer, room)
    _replace(S, Q.lap + A.room_at, lane, stride, nearer, distance)


@inline
def _note_gate(
    S: Workspace, lane: int, stride: int, time: float, interval: float, marks: Marks, gates: Workspace
) -> None:
    """Tell of the next gate, if the car has passed it since the instant before; of one a time.

    Notes
    -----
    Two gates closer than the way between two instants: the second is told of an instant later, its time drawn
    back by the speed of then.
    """
    forward, distance = state(S, X.forward_velocity, lane, stride), state(S, X.distance, lane, stride)
    rear = max(abs(state(S, X.slip_angle + 2, lane, stride)), abs(state(S, X.slip_angle + 3, lane, stride)))
    slowest = min(at(S, Q.slowest, lane, stride), forward)
    slip = max(at(S, Q.rear_slip, lane, stride), rear)
    passed = at(S, Q.gates, lane, stride)
    count = marks.gates.shape[0]
    k = min(np.uintp(passed), np.uintp(count - 1))
    gate = marks.gates[k]
    before = at(S, Q.before, lane, stride)
    passes = (passed < float(count)) & (distance >= gate)
    since = interval * (distance - gate) / (distance - before)
    if passes:
        gates[k, R.time] = time - since
        gates[k, R.speed] = forward
        gates[k, R.slowest] = slowest
        gates[k, R.rear_slip] = slip
    S[place(Q.gates, lane, stride)] = passed + 1.0 if passes else passed
    S[place(Q.before, lane, stride)] = distance
    S[place(Q.slowest, lane, stride)] = forward if passes else slowest
    S[place(Q.rear_slip, lane, stride)] = rear if passes else slip


@inline
def note(
    S: Workspace,
    lane: int,
    stride: int,
    time: float,
    interval: float,
    plan: Plan,
    marks: Marks,
    gates: Workspace,
) -> None:
    """Add an instant to the sums of a lap.

    Parameters
    ----------
    time : of the instant. [s]
    interval : since the instant before. [s]
    gates : (m, N_GATE) of this car.
    """
    distance = state(S, X.distance, lane, stride)
    counts = (distance >= marks.begin) & (distance <= marks.end)
    for corner in range(4):
        _note_wheel(S, lane, stride, corner, interval if counts else 0.0)
    _note_way(S, lane, stride, plan, marks, counts)
    _note_gate(S, lane, stride, time, interval, marks, gates)


@inline
def tell(S: Workspace, lane: int, stride: int, lap: Workspace) -> None:
    """Write the sums of a lap to its row."""
    for k in range(N_LAP):
        lap[k] = at(S, Q.lap + k, lane, stride)
