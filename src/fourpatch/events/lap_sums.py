"""Many driven laps summed up without their histories: times, room, sideslip, loads, slips, tyre work."""

from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from fourpatch.compute.lap_task import LapSums, LapTask
from fourpatch.compute.single import narrowed, single_laps
from fourpatch.events.drive import Driven
from fourpatch.events.drive_inputs import DriveRoad
from fourpatch.events.drive_start import engine_table, road_table
from fourpatch.events.lap import Handling, PacePlan, lay_laps
from fourpatch.events.run import share_out
from fourpatch.physics.integrate import LANES, IntArray
from fourpatch.physics.lap import run_lap_lanes
from fourpatch.physics.lap_tally import Marks
from fourpatch.physics.layout import A, R
from fourpatch.track.corners import Corner
from fourpatch.track.layout import TrackLayout
from fourpatch.track.line import Line

Array = NDArray[np.float64]

_INTERVAL = 0.01  # [s]


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class Gates:
    """Distances of a run at which cars are timed."""

    at: Array
    """(m,) rising. [m]"""
    lap: tuple[int, int]
    """Of start and end of the lap."""
    corners: NDArray[np.intp]
    """(corners, 2) of begin and end of each."""


def lap_gates(line: Line, corners: Sequence[Corner]) -> Gates:
    """Return gates at the ends of a lap or an open line, and of corners."""
    begun = line.length if line.closed else 0.0
    ends = begun + np.array([0.0, line.length * (1.0 if line.closed else 1.0 - 1e-9)])
    station = np.maximum.accumulate(line.station)
    places = [
        [float(np.interp(at, station, line.distance)) for at in (one.start, one.end)] for one in corners
    ]
    bends = begun + np.array(places).reshape(-1, 2)
    at = np.unique(np.concatenate([ends, bends.ravel()]))
    first, last = np.searchsorted(at, ends)
    return Gates(at=at, lap=(int(first), int(last)), corners=np.searchsorted(at, bends))


def room_beside(line: Line, layout: TrackLayout, *, car_width: float) -> Array:
    """Return the room from a car on the line to either edge of the road, (n, 2) left and right. [m]"""
    station = np.maximum.accumulate(line.station)
    edges = np.stack(
        [
            np.interp(station, layout.distance, layout.left) - line.offset,
            np.interp(station, layout.distance, layout.right) + line.offset,
        ],
        axis=1,
    )
    return np.asarray(edges - 0.5 * car_width)


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class SummedLaps:
    """What came of laps; four numbers are in the order FL, FR, RL, RR."""

    lap_time: Array
    """(cars,) not a number if not finished. [s]"""
    corner_time: Array
    """(cars, corners) not a number if the car did not come so far. [s]"""
    slowest_speed: Array
    """(cars, corners) likewise. [m/s]"""
    rear_slip: Array
    """(cars, corners) largest slip angle of a rear wheel in each corner, likewise. [rad]"""
    finished: NDArray[np.bool_]
    """(cars,) whether the end of the line was reached."""
    largest_sideslip: Array
    """(cars,) [rad]"""
    least_room: Array
    """(cars,) between the side of the car and the edge of the road; below zero it was over it. [m]"""
    largest_load: Array
    """(cars, 4) [N]"""
    off_ground: Array
    """(cars, 4) time without load. [s]"""
    locked: Array
    """(cars, 4) time with a slip below -0.3. [s]"""
    spinning: Array
    """(cars, 4) time with a slip beyond 0.3. [s]"""
    tyre_work: Array
    """(cars, 4) of sliding. [J]"""


def lay_summed_laps(
    driven: Driven,
    line: Line,
    pace: PacePlan,
    *,
    habits: Array,
    handling: Handling,
    road: DriveRoad,
    gates: Gates,
    room: Array,
    rows: NDArray[np.intp] | None = None,
    interval: float = _INTERVAL,
) -> LapTask:
    """Make laps ready to be driven by whatever computes them.

    Parameters
    ----------
    driven, line, pace, habits, handling, road, interval : as `drive_lap`.
    gates : from `lap_gates`.
    room : from `room_beside`.
    rows : (cars,) row of each car in the pace, if several share one; each has its own if left out.

    Raises
    ------
    SolveError
        If a car has no steady start.
    """
    cars = driven.parameters.shape[0]
    own = np.arange(cars)
    rows = own if rows is None else rows
    plan, start, clock = lay_laps(
        driven, line, pace, rows, habits=habits, handling=handling, interval=interval
    )
    alike = handling.understeer.shape[0] == 1
    begun = line.length if line.closed else 0.0
    return LapTask(
        parameters=driven.parameters,
        states=start.states,
        hands=np.stack([start.steer, start.throttle, np.zeros(cars)], axis=1),
        plan=plan._replace(understeer=handling.understeer),
        engines=engine_table(driven.engines),
        rows=np.stack([rows, np.zeros_like(own) if alike else own, own]),
        road=road_table(road),
        clock=clock,
        marks=Marks(gates=gates.at, begin=begun, end=begun + line.length, room=room),
    )


def lane_sums(task: LapTask, *, single: bool, threads: int | None = None) -> LapSums:
    """Drive a task's laps on the processor's cores, in single precision or in double."""
    found: list[tuple[int, Array, Array, IntArray]] = []
    kernel = single_laps() if single else run_lap_lanes

    def work(part: slice) -> None:
        given = task.part(part).kernel_arguments()
        given = narrowed(given) if single else given
        kernel(*given)
        record = given[-1]
        found.append((part.start, record.tally.gates, record.tally.lap, record.ended))

    share_out(task.cars, work, block=2 * LANES, threads=threads)
    found.sort(key=lambda one: one[0])
    gates, lap, ended = (np.concatenate([one[k] for one in found]) for k in (1, 2, 3))
    return LapSums(gates.astype(np.float64), lap.astype(np.float64), ended)


def summed(sums: LapSums, gates: Gates) -> SummedLaps:
    """Return sums by what they mean."""
    first, last = gates.lap
    time = sums.gates[:, :, R.time]
    lap_time = time[:, last] - time[:, first]
    begin, end = gates.corners.T
    corner_time = time[:, end] - time[:, begin]
    around = end < begin  # the start line lies between
    corner_time[:, around] += lap_time[:, None]
    stretches = [_stretches(a, b, gates.lap) for a, b in gates.corners.tolist()]
    slowest = [sums.gates[:, held, R.slowest].min(axis=1) for held in stretches]
    slip = [sums.gates[:, held, R.rear_slip].max(axis=1) for held in stretches]
    cars, four = time.shape[0], slice(0, 4)
    wheel = {name: sums.lap[:, getattr(A, name) :][:, four] for name in A._fields[4:]}
    return SummedLaps(
        lap_time=lap_time,
        corner_time=corner_time,
        slowest_speed=np.array(slowest).reshape(-1, cars).T,
        rear_slip=np.arctan(np.array(slip).reshape(-1, cars).T),
        finished=sums.ended >= 0,
        largest_sideslip=np.arctan(sums.lap[:, A.sideslip]),
        least_room=sums.lap[:, A.room],
        largest_load=wheel["load"],
        off_ground=wheel["off_ground"],
        locked=wheel["locked"],
        spinning=wheel["spinning"],
        tyre_work=wheel["tyre_work"],
    )


def _stretches(begin: int, end: int, lap: tuple[int, int]) -> list[int]:
    """Gates that end a stretch between two gates, round the start line if the end comes first."""
    if begin <= end:
        return list(range(begin + 1, end + 1))
    return [*range(begin + 1, lap[1] + 1), *range(lap[0] + 1, end + 1)]
