"""What a driven lap was: times, room to the edges, wheels off the ground, locked or spinning, their work."""

from collections.abc import Iterator
from dataclasses import dataclass
from typing import NamedTuple

import numpy as np
from numpy.typing import NDArray

from fourpatch.analysis.tyre_work import drive_sliding
from fourpatch.events.lap import LapRun
from fourpatch.physics.layout import CORNER_BASE, N_CORNER, C, O, P, X
from fourpatch.track.corners import Corner
from fourpatch.track.kerb_passage import KerbPassage
from fourpatch.track.layout import TrackLayout

Array = NDArray[np.float64]

CORNERS = ("FL", "FR", "RL", "RR")

LOCKED, SPINNING = -0.3, 0.3
"""Slip beyond which a wheel counts as locked or spinning: about three times that of the peak force."""

OUT_OF_HAND = np.radians(15.0)
"""Sideslip angle beyond which the car counts as lost."""

SHORTEST_FLIGHT = 0.02
"""Shorter times without load are not listed. [s]"""


@dataclass(frozen=True, slots=True, kw_only=True)
class Flight:
    """A wheel off the ground."""

    corner: str
    distance: float
    """Along the line, where it left the ground. [m]"""
    duration: float
    """[s]"""


@dataclass(frozen=True, slots=True, kw_only=True)
class DrivenCorner:
    """How a corner was driven."""

    corner: Corner
    entry_speed: float
    """Where the corner begins. [m/s]"""
    slowest_speed: float
    """[m/s]"""
    exit_speed: float
    """Where the corner ends. [m/s]"""
    time: float
    """From its beginning to its end. [s]"""


@dataclass(frozen=True, slots=True, kw_only=True)
class KerbStruck:
    """A kerb that wheels were on, and what it did to them."""

    passage: KerbPassage
    largest_load: float
    """Of the tyres on it. [N]"""
    off_ground: float
    """Longest that one of them was without load there or within half a second after. [s]"""


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class DrivenLap:
    """One lap of one car; four numbers are in the order FL, FR, RL, RR."""

    lap_time: float
    """Not a number if the lap was not finished. [s]"""
    sector_times: tuple[float, ...]
    """Of equally long sectors of the line. [s]"""
    corners: tuple[DrivenCorner, ...]
    kerbs: tuple[KerbStruck, ...]
    flights: tuple[Flight, ...]
    least_room: float
    """Between the side of the car and the edge of the road; below zero it was over it. [m]"""
    least_room_at: float
    """Along the line. [m]"""
    largest_sideslip: float
    """[rad]"""
    largest_sideslip_at: float
    """Along the line. [m]"""
    locked: Array
    """Time of each wheel beyond the slip `LOCKED`. [s]"""
    spinning: Array
    """Time of each wheel beyond the slip `SPINNING`. [s]"""
    tyre_work: Array
    """Done by sliding in each contact patch. [J]"""
    brake_work: Array
    """Turned to heat by each brake. [J]"""
    trouble: str
    """Empty if the car stayed on the road and in hand."""


class LapRows:
    """The stored instants of one car on its lap, from the start line on."""

    def __init__(self, run: LapRun, car: int) -> None:
        line = run.line
        begun = line.length if line.closed else 0.0
        distance = run.history.states[car, :, X.distance]
        held = np.flatnonzero((distance >= begun) & (distance <= begun + line.length))
        self.run, self.car, self.line = run, car, line
        self.states = run.history.states[car, held]
        self.outputs = run.history.outputs[car, held]
        self.hands = run.hands[car, held]
        self.parameters = run.driven.parameters[car]
        self.time = run.time[held]
        self.distance = distance[held] - begun
        self.interval = run.interval

    def when(self, distance: float) -> float:
        """Return when the car was so far on its lap, not a number if never. [s]"""
        begun = self.line.length if self.line.closed else 0.0
        return float(self.run.crossing(begun + distance)[self.car])

    def taken(self, begin: float, end: float) -> float:
        """Return the time between distances, over the start line if the end does not come later. [s]

        Not a number if the car did not come so far; of one distance twice, the lap's.
        """
        time = self.when(end) - self.when(begin)
        return time + self.when(self.line.length) - self.when(0.0) if end <= begin else time

    def between(self, begin: float, end: float) -> NDArray[np.bool_]:
        """Say which instants lie between distances, over the start line if the end does not come later."""
        if end <= begin:
            return np.asarray((self.distance >= begin) | (self.distance <= end))
        return np.asarray((self.distance >= begin) & (self.distance <= end))

    @property
    def sideslip(self) -> Array:
        """Sideslip angle either way, (instants,). [rad]"""
        forward, sideways = self.states[:, X.forward_velocity], self.states[:, X.lateral_velocity]
        return np.asarray(np.abs(np.arctan2(sideways, forward)))

    def at_wheel(self, slot: int) -> Array:
        """Return a parameter of the four corners, (4,)."""
        return np.asarray(self.parameters[[CORNER_BASE + k * N_CORNER + slot for k in range(4)]])


def driven_lap(
    run: LapRun,
    car: int,
    layout: TrackLayout,
    corners: tuple[Corner, ...],
    kerbs: tuple[KerbPassage, ...],
    *,
    car_width: float,
    sectors: int = 3,
) -> DrivenLap:
    """Sum up a driven lap.

    Parameters
    ----------
    car : which of the run.
    layout : of the track.
    corners : of the track.
    kerbs : that wheels meet along the line.
    car_width : over the tyres. [m]

    Notes
    -----
    Work of a contact patch: |F_x s u| + |F_y tan(alpha) u| over time, slips lagged, u the car's speed. Work
    of a brake: the torque of the pedal times the wheel's spin; a locked wheel's brake does none.
    """
    rows = LapRows(run, car)
    room = _room(rows, layout, car_width)
    sideslip = rows.sideslip
    slip = rows.states[:, X.slip : X.slip + 4]
    flights = tuple(_flights(rows))
    nearest, widest = int(np.argmin(room)), int(np.argmax(sideslip))
    return DrivenLap(
        lap_time=float(run.lap_time[car]),
        sector_times=_sector_times(rows, sectors),
        corners=tuple(
            _corner(rows, corner, timed)
            for corner, timed in zip(corners, corner_times(rows, corners), strict=True)
        ),
        kerbs=tuple(_struck(rows, one, flights) for one in kerbs),
        flights=flights,
        least_room=float(room[nearest]),
        least_room_at=float(rows.distance[nearest]),
        largest_sideslip=float(sideslip[widest]),
        largest_sideslip_at=float(rows.distance[widest]),
        locked=(slip < LOCKED).sum(axis=0) * rows.interval,
        spinning=(slip > SPINNING).sum(axis=0) * rows.interval,
        tyre_work=tyre_work(rows),
        brake_work=_brake_work(rows),
        trouble=_trouble(rows, room, sideslip, finished=bool(run.finished[car])),
    )


def in_hand(run: LapRun, car: int, layout: TrackLayout, *, car_width: float) -> bool:
    """Say whether a car finished its lap, on the road and never far sideways."""
    held = stayed_in_hand(LapRows(run, car), layout, car_width=car_width)
    return bool(run.finished[car] and held.size > 0 and held.all())


def laps_in_hand(run: LapRun, layout: TrackLayout, *, car_width: float) -> NDArray[np.bool_]:
    """Say which cars of a run were `in_hand`, (cars,)."""
    cars = range(run.finished.size)
    return np.array([in_hand(run, car, layout, car_width=car_width) for car in cars], dtype=np.bool_)


def stayed_in_hand(rows: LapRows, layout: TrackLayout, *, car_width: float) -> NDArray[np.bool_]:
    """Say at which instants a car was on the road and not far sideways, (instants,)."""
    if rows.distance.size == 0:
        return np.zeros(0, dtype=np.bool_)
    return np.asarray((_room(rows, layout, car_width) >= 0.0) & (rows.sideslip <= OUT_OF_HAND))


def _room(rows: LapRows, layout: TrackLayout, car_width: float) -> Array:
    """Distance from the nearer side of the car to the edge of the road on that side, (instants,). [m]"""
    line = rows.line
    station = np.interp(rows.distance, line.distance, np.maximum.accumulate(line.station))
    middle = np.interp(rows.distance, line.distance, line.offset) + rows.states[:, X.offset]
    left = np.interp(station, layout.distance, layout.left) - middle
    right = np.interp(station, layout.distance, layout.right) + middle
    return np.asarray(np.minimum(left, right) - 0.5 * car_width)


def _trouble(rows: LapRows, room: Array, sideslip: Array, *, finished: bool) -> str:
    off, lost = np.flatnonzero(room < 0.0), np.flatnonzero(sideslip > OUT_OF_HAND)
    if lost.size and (not off.size or lost[0] <= off[0]):
        return f"lost at {rows.distance[lost[0]]:.0f} m: sideslip beyond {np.degrees(OUT_OF_HAND):.0f} deg"
    if off.size:
        return f"off the road at {rows.distance[off[0]]:.0f} m"
    return "" if finished else "did not reach the end of the lap"


def _sector_times(rows: LapRows, sectors: int) -> tuple[float, ...]:
    ends = np.linspace(0.0, rows.line.length, sectors + 1)
    return tuple(np.diff([rows.when(end) for end in ends]).tolist())


class CornerTime(NamedTuple):
    """A corner by distances along the line, and the time it took."""

    begin: float
    """[m]"""
    end: float
    """Before `begin` if the start line lies between. [m]"""
    time: float
    """Not a number if the car did not come so far. [s]"""


def corner_times(rows: LapRows, corners: tuple[Corner, ...]) -> Iterator[CornerTime]:
    """Yield where each corner lies along the line and how long the car took for it."""
    station = np.maximum.accumulate(rows.line.station)
    for corner in corners:
        begin, end = (float(np.interp(at, station, rows.line.distance)) for at in (corner.start, corner.end))
        yield CornerTime(begin, end, rows.taken(begin, end))


def _corner(rows: LapRows, corner: Corner, timed: CornerTime) -> DrivenCorner:
    speed = rows.states[:, X.forward_velocity]
    inside = rows.between(timed.begin, timed.end)
    return DrivenCorner(
        corner=corner,
        entry_speed=float(np.interp(timed.begin, rows.distance, speed)),
        slowest_speed=float(speed[inside].min()) if inside.any() else float("nan"),
        exit_speed=float(np.interp(timed.end, rows.distance, speed)),
        time=timed.time,
    )


def _flights(rows: LapRows) -> Iterator[Flight]:
    off = rows.outputs[:, O.tyre_load : O.tyre_load + 4] <= 0.0
    for wheel, name in enumerate(CORNERS):
        edges = np.flatnonzero(np.diff(np.concatenate([[False], off[:, wheel], [False]]).astype(np.int8)))
        for begin, end in edges.reshape(-1, 2):
            duration = (end - begin) * rows.interval
            if duration >= SHORTEST_FLIGHT:
                yield Flight(corner=name, distance=float(rows.distance[begin]), duration=float(duration))


_AFTER_KERB = 0.5  # [s]


def _struck(rows: LapRows, passage: KerbPassage, flights: tuple[Flight, ...]) -> KerbStruck:
    wheels = (0, 2) if passage.wheels == "left" else (1, 3)
    begin, end = rows.when(passage.start), rows.when(passage.end)
    on = (rows.time >= begin) & (rows.time <= end + _AFTER_KERB)
    loads = rows.outputs[on][:, [O.tyre_load + k for k in wheels]]
    names = {CORNERS[k] for k in wheels}
    near = [
        one.duration
        for one in flights
        if one.corner in names and begin <= rows.when(one.distance) <= end + _AFTER_KERB
    ]
    return KerbStruck(
        passage=passage,
        largest_load=float(loads.max()) if loads.size else float("nan"),
        off_ground=max(near, default=0.0),
    )


def tyre_work(rows: LapRows) -> Array:
    """Return the work of sliding of each tyre, (4,). [J]"""
    power = drive_sliding(rows.parameters, rows.states, rows.outputs)
    return np.asarray(power.sum(axis=0) * rows.interval)


def _brake_work(rows: LapRows) -> Array:
    front = rows.parameters[P.brake_front_share]
    share = 0.5 * np.array([front, front, 1.0 - front, 1.0 - front])
    spin = np.abs(rows.states[:, X.spin : X.spin + 4])
    torque = rows.hands[:, 2, None] * rows.parameters[P.brake_torque] * share
    # A brake that holds a wheel turns nothing to heat; one that slips, what its torque and the spin give.
    moving = spin * rows.at_wheel(C.tyre_radius) > 0.05
    return np.asarray((torque * spin * moving).sum(axis=0) * rows.interval)
