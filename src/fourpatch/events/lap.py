"""Driven round a track: the full transient car under a driver who follows a line."""

from collections.abc import Sequence
from dataclasses import dataclass
from typing import NamedTuple

import numpy as np
from numpy.typing import NDArray
from scipy.interpolate import CubicSpline

from fourpatch.car.car import Car
from fourpatch.car.gravity import GRAVITY
from fourpatch.errors import SolveError
from fourpatch.events.drive import Driven
from fourpatch.events.drive_inputs import DriveRoad
from fourpatch.events.drive_start import (
    DriveStart,
    engine_table,
    road_table,
    settle_drive,
    stable_drive_step,
)
from fourpatch.events.driver_style import DriverStyle
from fourpatch.events.run import TWO_STAGES, empty_history, lanes_pay, part_of, refuse_failed, share_out
from fourpatch.events.steady_circle import SteadyTurns
from fourpatch.events.tumbling import tumbles
from fourpatch.physics.driver import N_HABIT, N_PACE, N_WAY, B, G, K, Plan
from fourpatch.physics.integrate import LANES, Clock, History
from fourpatch.physics.lap import LapRecord, run_lap_lanes, run_lap_singly
from fourpatch.physics.lap_tally import NO_MARKS, NO_TALLY
from fourpatch.physics.layout import N_DRIVE, P, X
from fourpatch.track.contact_filter import tyre_path
from fourpatch.track.line import Line
from fourpatch.track.road import RoadProfile

Array = NDArray[np.float64]

_INTERVAL = 0.01  # between stored instants, nearly [s]
_RUN_UP = (300.0, 100.0)  # before the start line between which a lap is begun, where it is straightest [m]
_RUN_OUT = 8.0  # beyond the end of a lap, so that an instant after it is stored [m]
_PATIENCE = 1.3  # times the planned time, after which a lap is broken off
_TURN_STEPS = 32  # of a driver's knowledge how his car steers
_PADDING = 5.0  # of road beyond both ends for the contact patch [m]


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class PacePlan:
    """What a driver plans for each place of a line; rows of the line's shape, or (cars, n)."""

    speed: Array
    """What he expects to reach there. [m/s]"""
    ceiling: Array
    """The fastest from which all that follows can be taken. [m/s]"""
    traction: Array
    """The most drive he asks of the tyres there going straight, per mass. [m/s^2]"""
    unsteadiness: Array
    """Added to his steer. [rad]"""

    @classmethod
    def side_by_side(cls, plans: "Sequence[PacePlan]") -> "PacePlan":
        """Return the plans of several drivers, (cars, n), as one."""
        return cls(
            speed=np.concatenate([one.speed for one in plans]),
            ceiling=np.concatenate([one.ceiling for one in plans]),
            traction=np.concatenate([one.traction for one in plans]),
            unsteadiness=np.concatenate([one.unsteadiness for one in plans]),
        )


def way_table(line: Line) -> Array:
    """Return a line as the driver's kernel reads it, (n, N_WAY)."""
    slope = np.arctan(line.gradient)
    table = np.empty((line.distance.size, N_WAY))
    table[:, G.curvature] = line.curvature
    table[:, G.sine_bank], table[:, G.cosine_bank] = np.sin(line.banking), np.cos(line.banking)
    table[:, G.uphill], table[:, G.weight] = GRAVITY * np.sin(slope), GRAVITY * np.cos(slope)
    table[:, G.upright] = np.cos(slope) ** 3 * line.vertical_curvature
    return table


def pace_table(line: Line, pace: PacePlan, cars: int) -> Array:
    """Return a pace as the driver's kernel reads it, (cars, n, N_PACE)."""
    table = np.empty((cars, line.distance.size, N_PACE))
    table[..., K.ceiling] = pace.ceiling
    half_square = 0.5 * np.broadcast_to(pace.ceiling, table.shape[:2]) ** 2
    table[..., K.slope] = np.gradient(half_square, line.spacing, axis=1)
    table[..., K.traction], table[..., K.unsteadiness] = pace.traction, pace.unsteadiness
    return table


def habits_of(style: DriverStyle, turns: SteadyTurns) -> Array:
    """Return a driver's habits in a car whose steady turns he knows, (N_HABIT,)."""
    habits = np.empty(N_HABIT)
    ratio = turns.car.steering.ratio
    states = turns.start.states
    forward, sideways, yaw_rate = (
        states[:, slot] for slot in (X.forward_velocity, X.lateral_velocity, X.yaw_rate)
    )
    parameters = turns.driven.parameters[0]
    front = turns.start.steer - np.arctan((sideways + parameters[P.cg_to_front] * yaw_rate) / forward)
    rear = np.arctan((sideways - parameters[P.cg_to_rear] * yaw_rate) / forward)
    habits[[B.preview, B.yaw_share, B.steer_lag]] = style.preview, style.yaw_share, style.arm_lag
    habits[B.steer_rate] = style.steering_rate / ratio
    habits[[B.anticipation, B.urgency]] = style.anticipation, style.urgency
    habits[[B.throttle_rate, B.brake_rate, B.release_rate]] = (
        style.throttle_rate,
        style.brake_rate,
        style.release_rate,
    )
    habits[[B.front_slip, B.rear_slip]] = _BEYOND * np.abs([front[-1], rear[-1]])
    habits[[B.spin, B.lock]] = style.spin, style.lock
    return habits


_BEYOND = 1.2  # times the slip angle of the last steady turn: what a driver lets happen


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class Handling:
    """How cars steer in steady turns, as their drivers know it."""

    grip: Array
    """(cars, 2) lateral limit g0 + g1 v^2. [m/s^2], [1/m]"""
    understeer: Array
    """(cars, m) steer beyond wheelbase x curvature, evenly over 0 to 1 of that limit. [rad]"""


def handling_of(turns: SteadyTurns, *, growth: float) -> Handling:
    """Return how a car steers in steady turns, (1, ...).

    Parameters
    ----------
    turns : at one speed, up to the limit.
    growth : of the lateral limit with speed squared: g1 / g0. [s^2/m^2]

    Notes
    -----
    At another speed the same share of the limit is taken to need the same steer beyond the geometry.
    """
    lateral = np.append(0.0, np.abs(turns.lateral_acceleration))
    beyond = np.abs(turns.start.steer) - turns.car.chassis.wheelbase * np.abs(turns.curvature)
    even = np.linspace(0.0, lateral[-1], _TURN_STEPS)
    least = lateral[-1] / (1.0 + growth * turns.speed[-1] ** 2)
    return Handling(
        grip=np.array([[least, least * growth]]),
        understeer=np.interp(even, lateral, np.append(0.0, beyond))[None],
    )


def lay_lap_road(car: Car, profile: RoadProfile, *, closed: bool) -> DriveRoad:
    """Return what a car's wheels feel of the road along a line; of a lap, round and round."""
    n, spacing = profile.distance.size - 1, profile.spacing
    around = round(_PADDING / spacing)
    stretches = np.zeros((n, 4, 4))
    for corner, axle in enumerate((car.front, car.front, car.rear, car.rear)):
        heights = profile.left if corner % 2 == 0 else profile.right
        felt = tyre_path(
            np.pad(heights[:-1], around, mode="wrap") if closed else np.pad(heights, around, mode="edge"),
            spacing,
            contact_length=axle.tyre.contact_length,
            tyre_radius=axle.tyre.radius,
        )[around : around + n + 1]
        felt = np.append(felt[:n], felt[0]) if closed else felt
        spline = CubicSpline(profile.distance, felt, bc_type="periodic" if closed else "natural")
        stretches[:, corner] = spline.c[::-1].T
    lap = float(profile.distance[-1])
    road = DriveRoad(stretches=stretches, spacing=spacing, origin=float(profile.distance[0]))
    return DriveRoad(stretches=stretches, spacing=spacing, origin=road.origin, lap=lap) if closed else road


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class LapRun:
    """Cars that were driven along a line, and what came of it."""

    driven: Driven
    line: Line
    start: DriveStart
    interval: float
    """Between stored instants. [s]"""
    history: History
    """Not a number after a car's end of the run."""
    hands: Array
    """(cars, instants, 3) steer of the road wheels [rad], throttle, brake; likewise."""
    finished: NDArray[np.bool_]
    """(cars,) whether the end of the line was reached."""

    @property
    def time(self) -> Array:
        """Stored instants. [s]"""
        return np.arange(self.history.states.shape[1], dtype=np.float64) * self.interval

    def crossing(self, distance: float) -> Array:
        """Return when each car was so far along, laps counted on, (cars,); not a number if never. [s]"""
        found = np.full(self.finished.size, np.nan)
        for car, row in enumerate(self.history.states[:, :, X.distance]):
            reached = np.flatnonzero(row >= distance)
            if reached.size and (reached[0] > 0 or row[0] == distance):
                k = max(int(reached[0]) - 1, 0)
                found[car] = self.time[k] + self.interval * (distance - row[k]) / (row[k + 1] - row[k])
        return found

    @property
    def lap_time(self) -> Array:
        """From the start line to it again, or from start to end of an open line, (cars,). [s]"""
        length = self.line.length
        if self.line.closed:
            return self.crossing(2.0 * length) - self.crossing(length)
        return self.crossing(length * (1.0 - 1e-9))


def drive_lap(
    driven: Driven,
    line: Line,
    pace: PacePlan,
    *,
    habits: Array,
    handling: Handling,
    road: DriveRoad,
    interval: float = _INTERVAL,
    threads: int | None = None,
) -> LapRun:
    """Drive cars along a line, of a lap once round after a run-up.

    Parameters
    ----------
    driven : cars; all start where the line is straightest, as fast as their drivers plan to be there.
    habits : (N_HABIT,) or (cars, N_HABIT), from `habits_of`.
    handling : from `handling_of`, of each car or of all.
    interval : between stored instants, nearly. [s]
    threads : cores to use; all by default.

    Raises
    ------
    SolveError
        If a car has no steady start; if every car turns over or its state stops being finite.

    Notes
    -----
    A car that turns over, or leans beyond what the model is for, ends its lap there.

    Left out: distance counts in a level plane, so a road of 10 % makes its part of a lap 0.5 % short; what
    lies under the wheels is the road of the line, wherever beside it the car is.
    """
    cars = driven.parameters.shape[0]
    plan, start, clock = lay_laps(
        driven, line, pace, np.arange(cars), habits=habits, handling=handling, interval=interval
    )
    step, steps, every = clock
    history = empty_history(cars, steps // every + 1, N_DRIVE)
    hands = np.zeros((cars, steps // every + 1, 3))
    hands[:, 0, 0], hands[:, 0, 1] = start.steer, start.throttle
    ended = np.full(cars, -1)
    engines, under = engine_table(driven.engines), road_table(road)

    def work(part: slice) -> None:
        kernel = run_lap_lanes if lanes_pay(part.stop - part.start, clock) else run_lap_singly
        own = plan._replace(
            pace=plan.pace[part],
            habits=plan.habits[part],
            grip=plan.grip[part],
            understeer=plan.understeer[part],
        )
        kernel(
            driven.parameters[part],
            start.states[part],
            own,
            engines._replace(torque=engines.torque[part]),
            under,
            clock,
            LapRecord(part_of(history, part), hands[part], NO_MARKS, NO_TALLY, ended[part]),
        )

    share_out(cars, work, block=LANES, threads=threads)
    beyond = np.where(ended < 0, steps + 1, ended)
    # A car that turns over may leave the range of numbers: its lap ends there. After its end it is no matter.
    gone = tumbles(history, step * every, every=every, steps=np.minimum(beyond, steps))
    over = np.where(gone.row >= 0, gone.row * every, np.where(history.failed >= 0, history.failed, beyond))
    lost = over < beyond
    if lost.all():
        gone.refuse("lap", lambda row: f"{row * step * every:.2f} s")
        refuse_failed(history, name="lap", interval=step * every, every=every)
    last = np.where(lost, over - every, np.minimum(beyond, steps)) // every
    rows = int(last.max()) + 1
    for car in np.flatnonzero(lost | (ended >= 0)):
        for series in (history.states, history.rates, history.outputs, hands):
            series[car, last[car] + 1 :] = np.nan
    return LapRun(
        driven=driven,
        line=line,
        start=start,
        interval=step * every,
        history=History(
            history.states[:, :rows], history.rates[:, :rows], history.outputs[:, :rows], history.failed
        ),
        hands=hands[:, :rows],
        finished=(ended >= 0) & ~lost,
    )


class LaidLaps(NamedTuple):
    """What drivers know, how their cars start, and the time they are given."""

    plan: Plan
    start: DriveStart
    clock: Clock


def lay_laps(
    driven: Driven,
    line: Line,
    pace: PacePlan,
    rows: NDArray[np.intp],
    *,
    habits: Array,
    handling: Handling,
    interval: float,
) -> LaidLaps:
    """Make ready what the kernels need to drive cars along a line; arguments as `drive_lap`.

    Parameters
    ----------
    rows : (cars,) of each car in the pace; the plan keeps rows that none of them has.
    """
    cars = rows.size
    table = pace_table(line, pace, max(int(rows.max()) + 1, np.atleast_2d(pace.ceiling).shape[0]))
    place = _straightest(line)
    speeds = np.broadcast_to(pace.speed, table.shape[:2])
    step = stable_drive_step(driven.parameters, fastest=float(np.max(pace.ceiling)), reach=TWO_STAGES)
    every = max(1, round(interval / step))
    start = _started(driven, line, place, speeds[rows, place])
    whole = line.length * (2.0 if line.closed else 1.0)
    slowest = float(np.sum(line.spacing / speeds.min(axis=0)))
    planned = slowest * (whole - line.distance[place]) / line.length
    plan = Plan(
        way=way_table(line),
        pace=table,
        spacing=line.spacing,
        closed=line.closed,
        habits=_for_each(np.atleast_2d(habits), cars),
        grip=_for_each(handling.grip, cars),
        understeer=_for_each(handling.understeer, cars),
        finish=whole + _RUN_OUT,
    )
    steps = every * int(np.ceil(_PATIENCE * planned / (step * every)))
    return LaidLaps(plan, start, Clock(step, steps, every))


def _for_each(rows: Array, cars: int) -> Array:
    return np.ascontiguousarray(np.broadcast_to(rows, (cars, *rows.shape[1:])))


def _straightest(line: Line) -> int:
    """Place a drive begins from: of a lap the straightest within the run-up to the start line."""
    if not line.closed:
        return 0
    earliest, latest = line.length - _RUN_UP[0], line.length - _RUN_UP[1]
    before = np.flatnonzero((line.distance >= max(earliest, 0.5 * line.length)) & (line.distance <= latest))
    return int(before[np.argmin(np.abs(line.curvature[before]))])


def _started(driven: Driven, line: Line, place: int, speeds: Array) -> DriveStart:
    """Return cars rolling steadily at a place, each as fast as it is to be there or its engine can hold."""
    start = _together(driven, speeds)
    if start is None:
        found: dict[tuple[int, float], DriveStart] = {}
        each = []
        for number, (car, speed) in enumerate(zip(driven.cars, speeds.tolist(), strict=True)):
            alike = (id(car), speed)
            if alike not in found:
                found[alike] = _held(driven, number, speed)
            each.append(found[alike])
        start = DriveStart(
            states=np.concatenate([one.states for one in each]),
            steer=np.concatenate([one.steer for one in each]),
            throttle=np.concatenate([one.throttle for one in each]),
        )
    start.states[:, X.distance] = line.distance[place]
    return start


def _together(driven: Driven, speeds: Array) -> DriveStart | None:
    """Settle cars that are to be equally fast at once; None if they are not, or one cannot hold that speed.

    Notes
    -----
    Of two dozen cars one by one the start took longer than their drive through a corner.
    """
    if np.unique(speeds).size > 1 or len({id(car) for car in driven.cars}) == 1:
        return None
    try:
        return settle_drive(driven.parameters, driven.engines, speed=float(speeds[0]), name="lap")
    except SolveError:
        return None


_SHARES = (1.0, 0.97, 0.93, 0.88, 0.8)
"""Of a planned speed, tried in turn: at the end of a straight no engine holds it steadily."""


def _held(driven: Driven, car: int, speed: float) -> DriveStart:
    engines = driven.engines.only(car)
    for share in _SHARES[:-1]:
        try:
            return settle_drive(driven.parameters[car : car + 1], engines, speed=share * speed, name="lap")
        except SolveError:
            continue
    return settle_drive(driven.parameters[car : car + 1], engines, speed=_SHARES[-1] * speed, name="lap")
