"""How fast a car can go along a line, place by place: the quasi-steady lap."""

from dataclasses import dataclass
from math import acos, pi, sqrt
from typing import Literal

import numpy as np
from numpy.typing import NDArray

from fourpatch.analysis.limits_map import Along, LimitsMap
from fourpatch.car.gravity import GRAVITY
from fourpatch.errors import EventError, SolveError
from fourpatch.track.line import Line

Array = NDArray[np.float64]
Doing = Literal["cornering", "braking", "driving"]

DOING: tuple[Doing, ...] = ("cornering", "braking", "driving")
LIMITS = ("front axle", "rear axle", "engine", "brakes", "top of the map")

_SHARES = 24  # speeds at which each place's limits are tabulated, up to the highest there
_TURNED_IN = (0.1, 0.4)  # shares of the lateral limit between which a driver without trail braking lets go
_SLOWEST = 1.0  # slower, a place counts as out of reach [m/s]
_SCANNED = 4.0  # between speeds at which a place is tried first [m/s]
_HALVINGS = 6
_AT_HIGHEST = 2e-3  # of speed below the highest, within which a curve counts as what holds the car back


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class RoadDemand:
    """What a line asks of a car: constants of each place from which forces at any speed follow.

    Notes
    -----
    With gradient angle t, banking b (left side higher positive), curvature k of the level line and k_v of
    its height: the specific force sideways and level is h = v^2 cos^2(t) k, the one upright and square to
    the path n = g cos t + v^2 cos^3(t) k_v. The road's own axes are turned by b, its left side up:

        f_y = h cos b + n sin b,   f_z = n cos b - h sin b,   f_x = a_x + g sin t.

    So banking helps where the inner side is the lower one. Source: derived here; checked against
    v^2 = g R (mu + tan b) / (1 - mu tan b).
    """

    level: Array
    """cos^2(t) k. [1/m]"""
    upright: Array
    """cos^3(t) k_v. [1/m]"""
    weight: Array
    """g cos t. [m/s^2]"""
    uphill: Array
    """g sin t. [m/s^2]"""
    cosine: Array
    """cos b. [1]"""
    sine: Array
    """sin b. [1]"""
    way: Array
    """Along the road from each place to the next, (n - 1,). [m]"""

    def forces(self, speed: Array) -> tuple[Array, Array]:
        """Specific forces sideways and normal to the road at speeds, (n, ...). [m/s^2]"""
        square = speed**2

        def spread(row: Array) -> Array:
            return row.reshape(-1, *(1,) * (speed.ndim - 1))

        sideways = square * spread(self.level)
        upright = spread(self.weight) + square * spread(self.upright)
        cosine, sine = spread(self.cosine), spread(self.sine)
        return sideways * cosine + upright * sine, upright * cosine - sideways * sine


def road_demand(line: Line) -> RoadDemand:
    """Return what a line asks of a car."""
    slope = np.arctan(line.gradient)
    cosine = np.cos(slope)
    return RoadDemand(
        level=cosine**2 * line.curvature,
        upright=cosine**3 * line.vertical_curvature,
        weight=GRAVITY * cosine,
        uphill=GRAVITY * np.sin(slope),
        cosine=np.cos(line.banking),
        sine=np.sin(line.banking),
        way=line.spacing * 0.5 * (1.0 / cosine[:-1] + 1.0 / cosine[1:]),
    )


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class LapProfile:
    """A lap, or a run along an open line, computed quasi-steadily. Rows have the line's shape (n,)."""

    line: Line
    speed: Array
    """Along the road. [m/s]"""
    highest_speed: Array
    """At which the car could just hold the curve of that place. [m/s]"""
    time: Array
    """Since the start of the line. [s]"""
    longitudinal_acceleration: Array
    """Change of speed. [m/s^2]"""
    lateral_acceleration: Array
    """Level, to the left. [m/s^2]"""
    tyre_longitudinal: Array
    """What the tyres answer for per mass, in the plane of the road: gradient included, drag not. [m/s^2]"""
    tyre_lateral: Array
    """The same, to the left. [m/s^2]"""
    tyre_normal: Array
    """What presses the car on the road, per mass, downforce not included. [m/s^2]"""
    doing: NDArray[np.int64]
    """Index in `DOING`."""
    limit: NDArray[np.int64]
    """Index in `LIMITS`."""
    balance: Array
    """Front use less rear use of grip where the tyres would give way: cornering, or braking or driving beside
    the sideways force of that place; positive where the front axle would. [1]"""

    @property
    def lap_time(self) -> float:
        """From the start of the line to its end. [s]"""
        return float(self.time[-1])


def lap_profile(limits: LimitsMap, line: Line, *, start_speed: float | None = None) -> LapProfile:
    """Return how fast a car can go along a line.

    Parameters
    ----------
    start_speed : at the start of an open line; as fast as the car can corner there by default. [m/s]

    Raises
    ------
    EventError
        If a start speed is given for a lap, or is faster than the first place or what follows can take.
    SolveError
        If there is a place that the car cannot pass at any speed, or cannot climb.

    Notes
    -----
    1. At each place the highest speed whose sideways force is within the lateral limit; where the car is
       pressed on by downforce, the first such limit on the way up from rest.
    2. From the slowest place forward, accelerating as tyres and engine allow beside the sideways force;
       twice round a lap if need be. v^2 grows by 2 a ds, a the mean of both ends (Heun).
    3. The same backward under braking.

    With the tables as they are, a lap of the demo cars is within 0.1 % of one with twice or three times as
    many speeds, directions, normal accelerations and places (measured). The braking limit alone jumps by up
    to 19 % where the closed throttle begins to act through a lower gear; between two speeds of the map that
    is smoothed.

    The car takes every change of acceleration at once, never slides, and steers where it points. Against a
    drive this flatters; `lap_drive` says by how much.

    Source: forward-backward passes under a g-g diagram are common practice, no published source.
    """
    demand = road_demand(line)
    highest = _highest_speed(limits, demand)
    _refuse_impassable(highest, line)
    tables = _Tables(limits, demand, highest)
    forward, backward = _Pass(tables, demand, driving=True), _Pass(tables, demand, driving=False)
    speed = _run_passes(forward, backward, highest, line, start_speed)
    return _profile(limits, demand, line, speed, highest)


def braking_ceiling(limits: LimitsMap, line: Line, *, trail_braking: float = 1.0) -> Array:
    """Return the fastest at each place from which all that follows can be taken, (n,). [m/s]

    The highest speeds of `lap_profile` with its braking pass, but without its driving pass: how fast the car
    might be, not how fast it can have become.

    Parameters
    ----------
    trail_braking : share of the braking that cornering leaves which the driver uses once the car turns in;
        with 0 he is off the brake at four tenths of the lateral limit. [1]

    Raises
    ------
    SolveError
        As `lap_profile`.
    """
    demand = road_demand(line)
    highest = _highest_speed(limits, demand)
    _refuse_impassable(highest, line)
    bound: list[float] = highest.tolist()
    if line.closed:
        bound[0] = bound[-1] = min(bound[0], bound[-1])
    tables = _Tables(limits, demand, highest, trail_braking=trail_braking)
    backward = _Pass(tables, demand, driving=False)
    _carry(backward, bound, line, onward=False)
    while line.closed and bound[0] < bound[-1]:
        bound[-1] = bound[0]
        _carry(backward, bound, line, onward=False, as_far_as_needed=True)
    return np.array(bound)


def _highest_speed(limits: LimitsMap, demand: RoadDemand) -> Array:
    """Highest speed at each place, (n,): scanned up, halved, then straight to the limit. [m/s]"""

    def spare(speed: Array) -> Array:
        sideways, normal = demand.forces(speed)
        most, _ = limits.lateral(speed=speed, gravity=normal, left=sideways >= 0.0)
        return np.where(normal > 0.0, most, 0.0) - np.abs(sideways)

    places = demand.level.size
    steps = np.append(np.arange(_SLOWEST, limits.fastest - 1.0, _SCANNED), limits.fastest)
    scanned = spare(np.broadcast_to(steps, (places, steps.size)).copy())
    held = scanned >= 0.0
    first, place = np.argmin(held, axis=1), np.arange(places)
    before = np.maximum(first - 1, 0)
    low, high = steps[before], steps[first]
    low_spare, high_spare = scanned[place, before], scanned[place, first]
    for _ in range(_HALVINGS):
        middle = 0.5 * (low + high)
        found = spare(middle)
        inside = found >= 0.0
        low, low_spare = np.where(inside, middle, low), np.where(inside, found, low_spare)
        high, high_spare = np.where(inside, high, middle), np.where(inside, high_spare, found)
    with np.errstate(invalid="ignore", divide="ignore"):
        limit = low + (high - low) * low_spare / (low_spare - high_spare)
    return np.where(held.all(axis=1), limits.fastest, np.where(held[:, 0], limit, 0.0))


def _refuse_impassable(highest: Array, line: Line) -> None:
    if highest.min() < _SLOWEST:
        place = int(np.argmin(highest))
        radius = 1.0 / max(abs(line.curvature[place]), 1e-9)
        raise SolveError(
            f"lap: at {line.distance[place]:.0f} m the car cannot stay on the road at any speed: radius "
            f"{radius:.1f} m, banking {np.degrees(line.banking[place]):.1f} deg. Check curvature and banking "
            "of the line there, or the tyres' grip."
        )


class _Tables:
    """Longitudinal limits of the tyres at each place, evenly in the arc cosine of (v / highest)^2."""

    def __init__(
        self, limits: LimitsMap, demand: RoadDemand, highest: Array, *, trail_braking: float = 1.0
    ) -> None:
        parts = np.cos(np.linspace(0.0, 0.5 * np.pi, _SHARES))
        straight = np.clip((_TURNED_IN[1] - parts) / (_TURNED_IN[1] - _TURNED_IN[0]), 0.0, 1.0)
        used = trail_braking + (1.0 - trail_braking) * straight
        speed = highest[:, None] * np.sqrt(parts)
        found, read = _along(limits, demand, speed)
        self.turning: list[list[float]] = limits.drag_in_turn(read).tolist()
        self.driving: list[list[float]] = found[..., 0].tolist()
        self.braking: list[list[float]] = (used * found[..., 1]).tolist()
        self.highest: list[float] = highest.tolist()
        self.interval = float(limits.engine_speed[1])
        self.engine: list[float] = limits.engine.tolist()
        self.brakes: list[float] = limits.brakes.tolist()


def _along(limits: LimitsMap, demand: RoadDemand, speed: Array) -> tuple[Array, Along]:
    """What tyres allow along the road, (..., 2), at speeds (n, ...), and where that was read. [m/s^2]"""
    sideways, normal = demand.forces(speed)
    left = sideways >= 0.0
    most, _ = limits.lateral(speed=speed, gravity=normal, left=left)
    share = np.abs(sideways) / np.maximum(most, 1e-9)
    read = Along(speed=speed, gravity=normal, share=share, left=left)
    return limits.along(read), read


class _Pass:
    """Speed squared carried from place to place, forward under drive or backward under braking."""

    def __init__(self, tables: _Tables, demand: RoadDemand, *, driving: bool) -> None:
        self._rows = tables.driving if driving else tables.braking
        self._power = tables.engine if driving else [-one for one in tables.brakes]
        self._turning = tables.turning
        self._highest, self._interval = tables.highest, tables.interval
        self._uphill: list[float] = demand.uphill.tolist()
        self._way: list[float] = demand.way.tolist()
        self._driving = driving

    def acceleration(self, place: int, speed: float) -> float:
        """Largest change of speed at a place: of braking, the most negative. [m/s^2]"""
        ratio = speed / self._highest[place]
        at = acos(min(ratio * ratio, 1.0)) * ((_SHARES - 1) / (0.5 * pi))
        k = min(int(at), _SHARES - 2)
        row = self._rows[place]
        grip = row[k] + (at - k) * (row[k + 1] - row[k])
        row = self._turning[place]
        turning = row[k] + (at - k) * (row[k + 1] - row[k])
        at = speed / self._interval
        k = min(int(at), len(self._power) - 2)
        power = self._power[k] + (at - k) * (self._power[k + 1] - self._power[k]) - turning
        return (min(grip, power) if self._driving else max(grip, power)) - self._uphill[place]

    def step(self, place: int, speed: float) -> float:
        """Speed at the next place on the way, never above the highest there; 0 if it cannot be reached."""
        onward = place + 1 if self._driving else place - 1
        way = self._way[min(place, onward)] * (1.0 if self._driving else -1.0)
        first = self.acceleration(place, speed)
        guess = sqrt(max(speed * speed + 2.0 * way * first, 0.0))
        second = self.acceleration(onward, min(guess, self._highest[onward]))
        reached = sqrt(max(speed * speed + way * (first + second), 0.0))
        return min(reached, self._highest[onward])


def _run_passes(
    forward: _Pass, backward: _Pass, highest: Array, line: Line, start_speed: float | None
) -> Array:
    """Return speeds along the line, (n,)."""
    bound: list[float] = highest.tolist()
    if line.closed:
        if start_speed is not None:
            raise EventError(
                f"start speed: {start_speed * 3.6:.0f} km/h is given, but the line is a lap and is driven at "
                "speed from the first metre. Leave it out."
            )
        bound[0] = bound[-1] = min(bound[0], bound[-1])
    elif start_speed is not None:
        bound[0] = _started(start_speed, bound[0])
    for run, onward in ((forward, True), (backward, False)):
        _carry(run, bound, line, onward=onward)
        begin, end = (0, -1) if onward else (-1, 0)
        # What comes in at the line of a lap is what went out: round again as far as that lowers anything.
        while line.closed and bound[end] < bound[begin]:
            bound[begin] = bound[end]
            _carry(run, bound, line, onward=onward, as_far_as_needed=True)
    if start_speed is not None and bound[0] < start_speed * (1.0 - 1e-6):
        raise EventError(
            f"start speed: from {start_speed * 3.6:.0f} km/h the car cannot slow down for what follows; it "
            f"can from {bound[0] * 3.6:.0f} km/h. Start slower."
        )
    return np.array(bound)


def _started(start_speed: float, highest: float) -> float:
    if not _SLOWEST <= start_speed <= highest:
        raise EventError(
            f"start speed: {start_speed * 3.6:.0f} km/h; the first place can be taken at "
            f"{_SLOWEST * 3.6:.0f} to {highest * 3.6:.0f} km/h. Give a speed between."
        )
    return start_speed


def _carry(
    run: _Pass, bound: list[float], line: Line, *, onward: bool, as_far_as_needed: bool = False
) -> None:
    """Lower the bounds to what can be reached, from one end of the line to the other."""
    places = range(len(bound) - 1) if onward else range(len(bound) - 1, 0, -1)
    for place in places:
        following = place + 1 if onward else place - 1
        reached = run.step(place, bound[place])
        if reached < _SLOWEST:
            raise SolveError(
                f"lap: the car comes to rest at {line.distance[following]:.0f} m: the engine or the driven "
                f"tyres cannot hold it on a gradient of {100.0 * line.gradient[following]:.0f} %. Check the "
                "gradient and the car's gears and grip."
            )
        if as_far_as_needed and reached >= bound[following]:
            return
        bound[following] = min(bound[following], reached)


def _profile(limits: LimitsMap, demand: RoadDemand, line: Line, speed: Array, highest: Array) -> LapProfile:
    """Put together what is known at each place."""
    times = 2.0 * demand.way / (speed[:-1] + speed[1:])
    stretch = (speed[1:] ** 2 - speed[:-1] ** 2) / (2.0 * demand.way)
    # At a place, the mean of the stretches on both sides.
    first, last = (stretch[-1], stretch[0]) if line.closed else (stretch[0], stretch[-1])
    along = 0.5 * (np.append(first, stretch) + np.append(stretch, last))
    sideways, normal = demand.forces(speed)
    found, read = _along(limits, demand, speed)
    balance = limits.along_balance(read)
    _, cornering = limits.lateral(speed=speed, gravity=normal, left=sideways >= 0.0)
    turning = limits.drag_in_turn(read)
    engine = np.interp(speed, limits.engine_speed, limits.engine) - turning
    brakes = -np.interp(speed, limits.engine_speed, limits.brakes) - turning
    at_highest = speed > highest * (1.0 - _AT_HIGHEST)
    doing = np.where(at_highest, 0, np.where(along < 0.0, 1, 2))
    there = np.choose(doing, [cornering, balance[:, 1], balance[:, 0]])
    by_axle = np.where(there > 0.0, 0, 1)
    limit = np.where((doing == 2) & (engine < found[:, 0]), 2, by_axle)
    limit = np.where((doing == 1) & (brakes > found[:, 1]), 3, limit)
    limit = np.where(at_highest & (highest >= limits.fastest), 4, limit)
    return LapProfile(
        line=line,
        speed=speed,
        highest_speed=highest,
        time=np.append(0.0, np.cumsum(times)),
        longitudinal_acceleration=along,
        lateral_acceleration=speed**2 * demand.level,
        tyre_longitudinal=along + demand.uphill,
        tyre_lateral=sideways,
        tyre_normal=normal,
        doing=doing,
        limit=limit,
        balance=there,
    )
