"""A car's limits in every direction of the a_x-a_y plane, at all speeds, on roads that press it more or less.

Accelerations here are what the tyres must answer for: specific forces in the plane of the road, gravity's
share included. On a flat road they are the accelerations of the car.
"""

from dataclasses import dataclass
from functools import cached_property
from typing import NamedTuple, TypeAlias

import numpy as np
from numpy.typing import NDArray
from scipy.interpolate import PchipInterpolator, RegularGridInterpolator

from fourpatch.analysis.axle_use import axle_use
from fourpatch.analysis.steady_limits import FASTEST, top_speed
from fourpatch.car.car import Car
from fourpatch.car.engine_curve import driven_radius, overrun_wheel_torque, wheel_torque
from fourpatch.car.gravity import GRAVITY
from fourpatch.car.pack import pack
from fourpatch.errors import EventError, SolveError
from fourpatch.events.motion import steady_rows
from fourpatch.events.run import settle, settled_rows
from fourpatch.events.steady_states import steady_outputs, under_gravity, without_slips
from fourpatch.physics.layout import N_POSITION, O, P

Array = NDArray[np.float64]

GRAVITIES = (5.0, GRAVITY, 15.0)
"""Specific forces normal to the road at which limits are computed: a crest, a flat road, a dip. [m/s^2]"""

TURNING_SHARES = (0.0, 0.3, 0.5, 0.7, 0.8, 0.9, 0.96, 1.0)
"""Shares of the lateral limit at which the drag of slip angles is computed. [1]"""

_SPEEDS = 10
_SLOWEST = 10.0  # below it limits count as there
_DIRECTIONS = 17  # from braking over cornering to driving, by 11.25 deg
_CLOSE = 3e-4  # of the use sought, at which a limit counts as found ...
_CLOSE_BY = 5e-5  # ... and beside a map of nearly the same car: a click may be worth 10 ms of a lap
_CLOSE_ENOUGH = 3e-3  # where a closer search will begin
_GROWTH = 1.2  # power of the acceleration with which use grows at a limit, about (measured: 1 to 1.3)
_NARROW = 3e-4  # of the acceleration, where the car has no steady place beyond
_ROUNDS = 40
_FINE = 181  # places on a limit curve when it is read along another axis
_SHARES = 33  # of the lateral limit at which a curve is tabulated, evenly in the arc cosine


@dataclass(frozen=True, slots=True, kw_only=True)
class Margins:
    """How much of its grip a driver asks of the worse axle: 1 leaves nothing."""

    braking: float = 1.0
    """[1]"""
    lateral: float = 1.0
    """[1]"""
    driving: float = 1.0
    """[1]"""

    def __post_init__(self) -> None:
        """Refuse what is no share.

        Raises
        ------
        EventError
        """
        for name in ("braking", "lateral", "driving"):
            value = getattr(self, name)
            if not 0.05 <= value <= 1.0:
                raise EventError(
                    f"use, {name}: {100.0 * value:g} % of the grip; a driver can use 5 to 100 %. "
                    "Give a share between 0.05 and 1."
                )

    def toward(self, direction: Array) -> Array:
        """Use sought in directions, 0 cornering, pi/2 driving, -pi/2 braking, along an ellipse. [1]"""
        along = np.where(direction < 0.0, self.braking, self.driving)
        return np.asarray(1.0 / np.hypot(np.cos(direction) / self.lateral, np.sin(direction) / along))


class Along(NamedTuple):
    """Where limits along the road are asked for; rows of one shape."""

    speed: Array
    """[m/s]"""
    gravity: Array
    """Specific force normal to the road. [m/s^2]"""
    share: Array
    """Of the lateral limit that is taken, 0 to 1. [1]"""
    left: NDArray[np.bool_]
    """Whether the tyres push the car to the left."""


_Sides: TypeAlias = tuple[RegularGridInterpolator, RegularGridInterpolator]
"""The same table for tyres that push to the left and to the right."""


@dataclass(frozen=True, kw_only=True, eq=False)
class LimitsMap:
    """What the tyres of a car allow, with what engine and brakes add to it."""

    speed: Array
    """(n,). [m/s]"""
    gravity: Array
    """Specific force normal to the road, (g,). [m/s^2]"""
    direction: Array
    """In the a_x-a_y plane: 0 cornering, pi/2 driving, -pi/2 braking, (m,). [rad]"""
    size: Array
    """Largest acceleration in a direction: turning left and right, gravity, speed, direction,
    (2, g, n, m). [m/s^2]"""
    balance: Array
    """Front use less rear use there, same shape; positive where the front axle is the limit. [1]"""
    engine_speed: Array
    """Road speeds of the next two, (k,). [m/s]"""
    engine: Array
    """Acceleration the best gear leaves after drag; negative past top speed, (k,). [m/s^2]"""
    brakes: Array
    """Deceleration of fully pressed brakes, drag and closed throttle, (k,). [m/s^2]"""
    turning_drag: Array
    """Deceleration by slip angles at ``speed`` and `TURNING_SHARES` on a flat road, (n, s). [m/s^2]"""
    stance: Array
    """Positions in which the car was settled last in each search, the same shape and a position more."""
    growth: Array
    """Power of the acceleration with which use grows there, the same shape as ``size``. [1]"""

    @property
    def fastest(self) -> float:
        """Highest speed the map knows. [m/s]"""
        return float(self.speed[-1])

    @cached_property
    def _lateral(self) -> _Sides:
        """Pure cornering limit and balance there, turning left and right."""
        at = int(np.argmin(np.abs(self.direction)))
        values = np.stack([self.size[..., at], self.balance[..., at]], axis=-1)
        return _sides((self.gravity, self.speed**2), values)

    @cached_property
    def _along(self) -> tuple[_Sides, _Sides]:
        """Driving and braking against arc cosine of the share of the lateral limit; balance likewise."""
        angle = np.linspace(0.0, 0.5 * np.pi, _SHARES)
        axes = (self.gravity, self.speed**2, angle)
        table = _along_table(self, angle)
        return _sides(axes, table[..., :2]), _sides(axes, table[..., 2:])

    def lateral(self, *, speed: Array, gravity: Array, left: NDArray[np.bool_]) -> tuple[Array, Array]:
        """Return the lateral limit [m/s^2] without acceleration along the road, and the balance there [1].

        Parameters
        ----------
        speed, gravity : specific force normal to the road; held above the crest's lowest by its slope. [m/s],
            [m/s^2]
        left : whether the tyres push the car to the left.
        """
        points = np.stack(np.broadcast_arrays(gravity, self._held(speed)), axis=-1)
        found = _by_side(self._lateral, points, left)
        return np.maximum(found[..., 0], 0.0), found[..., 1]

    def along(self, where: Along) -> Array:
        """Return what tyres allow along the road, driving and braking (negative), (..., 2). [m/s^2]"""
        return self._read(self._along[0], where)

    def along_balance(self, where: Along) -> Array:
        """Return front use less rear use at those two limits, (..., 2). [1]"""
        return self._read(self._along[1], where)

    def drag_in_turn(self, where: Along) -> Array:
        """Return what the tyres' slip angles take from engine and brakes there, as on a flat road. [m/s^2]"""
        return np.asarray(self._turning(np.stack([self._held(where.speed), where.share], axis=-1)))

    @cached_property
    def _turning(self) -> RegularGridInterpolator:
        axes = (self.speed**2, np.array(TURNING_SHARES))
        return RegularGridInterpolator(axes, self.turning_drag, bounds_error=False, fill_value=None)

    def _read(self, table: _Sides, where: Along) -> Array:
        angle = np.arccos(np.clip(where.share, 0.0, 1.0))
        rows = np.broadcast_arrays(where.gravity, self._held(where.speed), angle)
        return _by_side(table, np.stack(rows, axis=-1), where.left)

    def _held(self, speed: Array) -> Array:
        return np.asarray(np.clip(speed, self.speed[0], self.speed[-1]) ** 2)


def limits_map(
    car: Car, *, use: Margins | None = None, near: LimitsMap | None = None, hasty: bool = False
) -> LimitsMap:
    """Compute the limits of a car.

    Parameters
    ----------
    use : of the worse axle's grip, by direction; all of it if left out.
    near : limits of nearly the same car, such as before a click: the search begins there and needs half of
        the time (measured: 0.08 to 0.3 s of a processor for 0.2 to 0.5 s), six times closer.
    hasty : look once at each of those limits and correct it by what the use there tells, in an eighth of the
        time: what a click changes of a lap comes out within a fifth (measured on five adjusters of a car).

    Returns
    -------
    LimitsMap
        Speeds 10 m/s to 10 % above top speed; the limits below are those at 10 m/s.

    Raises
    ------
    EventError
        If the engine cannot hold 36 km/h.
    SolveError
        If the car finds no steady place straight ahead at a speed.

    Notes
    -----
    Every point is the full car settled on the rig in that motion; its size is where the use of the worse
    axle (`axle_use`) reaches what is sought. All points are sought together: from half the normal
    acceleration on, by the secant through the origin, then false position (Illinois) within a bracket, to
    3e-4. Beyond a motion without a steady place nothing is credited. Read between the points, limits are
    linear in speed squared and in normal acceleration, and cubic (monotone) in direction.

    What slip angles take from forward motion is found with the tyres' slips, and so stands in the limits;
    what it leaves of engine and brakes is read beside them (`LimitsMap.drag_in_turn`).

    Left out: rolling resistance, 0.1 to 0.15 m/s^2; gear changes.

    Source: the quasi-steady performance envelope ("g-g diagram") is common practice; in print as the g-g
    diagram in Milliken & Milliken, Race Car Vehicle Dynamics, SAE 1995 (from memory).
    """
    top = top_speed(car)
    speed = np.linspace(_SLOWEST, max(min(1.1 * top, FASTEST), _SLOWEST + 5.0), _SPEEDS)
    direction = np.linspace(-0.5 * np.pi, 0.5 * np.pi, _DIRECTIONS)
    sides = (1.0, -1.0) if _lopsided(car) else (1.0,)
    axes = np.meshgrid(np.array(sides), np.array(GRAVITIES), speed, direction, indexing="ij")
    side, gravity, at_speed, toward = (one.ravel() for one in axes)
    search = _Search(car, side=side, gravity=gravity, speed=at_speed, direction=toward, use=use or Margins())
    close = _CLOSE
    if near is not None:
        search.begin_at(near, len(sides))
        close = _CLOSE_BY
    else:
        search.begin_near()
    size, balance = (one.reshape(axes[0].shape) for one in (search.look() if hasty else search.run(close)))
    stance = search.positions.reshape(*axes[0].shape, N_POSITION)
    growth = search.growth.reshape(axes[0].shape)
    if len(sides) == 1:
        size, balance, stance, growth = (np.repeat(one, 2, axis=0) for one in (size, balance, stance, growth))
    engine_speed, engine, brakes = _powers(car, fastest=float(speed[-1]))
    sideways = size[0, GRAVITIES.index(GRAVITY), :, _DIRECTIONS // 2]
    return LimitsMap(
        speed=speed,
        gravity=np.array(GRAVITIES),
        direction=direction,
        size=size,
        balance=balance,
        engine_speed=engine_speed,
        engine=engine,
        brakes=brakes,
        turning_drag=_turning_drag(car, speed, sideways),
        stance=stance,
        growth=growth,
    )


class _Search:
    """Acceleration at which the worse axle's use reaches its target, for many motions at once."""

    def __init__(
        self, car: Car, *, side: Array, gravity: Array, speed: Array, direction: Array, use: Margins
    ) -> None:
        self._car, self._vector = car, pack(car)
        self._parameters = under_gravity(self._vector, gravity)
        self._side, self._speed, self._direction = side, speed, direction
        self._target = use.toward(direction)
        self._first = 0.5 * gravity * self._target
        self.positions = np.zeros((speed.size, N_POSITION))
        self.growth = np.full(speed.size, _GROWTH)

    def begin_at(self, near: LimitsMap, sides: int) -> None:
        """Begin where another search ended, and from rest where that found nothing."""
        size = near.size[:sides].ravel()
        self._first = np.where(size > 0.0, size, self._first)
        self.positions = near.stance[:sides].reshape(self.positions.shape).copy()
        self.growth = near.growth[:sides].ravel().copy()

    def begin_near(self) -> None:
        """Begin where the limits of a car without slips are, which costs little and is near."""
        sought = self._parameters
        self._parameters = without_slips(sought)
        self._first = self.run(_CLOSE_ENOUGH)[0]
        self._parameters = sought

    def look(self) -> tuple[Array, Array]:
        """Return sizes [m/s^2] and balances [1] after one look where the search begins.

        Notes
        -----
        Use grows as a power of the acceleration, taken as it was where the search begins; where the car finds
        no steady place the limit stays where it was.
        """
        use = self._use(np.arange(self._speed.size), self._first)
        worst = np.max(use, axis=1)
        known = np.isfinite(worst) & (worst > 0.0)
        shortfall = np.where(known, self._target / np.where(known, worst, 1.0), 1.0)
        balance = np.where(known, use[:, 0] - use[:, 1], 0.0)
        return self._first * shortfall ** (1.0 / self.growth), balance

    def run(self, close: float) -> tuple[Array, Array]:
        """Return sizes [m/s^2] and balances [1], sought to ``close`` of the use."""
        n = self._speed.size
        found, balance, open_ = _Bracket(self.growth), np.zeros(n), np.ones(n, dtype=bool)
        trial = self._first
        for _ in range(_ROUNDS):
            rows = np.flatnonzero(open_)
            use = self._use(rows, trial[rows])
            error = np.log(np.maximum(np.max(use, axis=1), 1e-3) / self._target[rows])
            known = np.isfinite(error)
            balance[rows[known]] = (use[:, 0] - use[:, 1])[known]
            found.take(rows, trial[rows], error)
            done = known & (np.abs(error) < close)
            found.low[rows[done]] = trial[rows[done]]
            open_[rows[done]] = False
            open_ &= ~(found.high - found.low < min(_NARROW, close) * found.high)
            if not open_.any():
                break
            trial = found.next_trial()
        return found.low, balance

    def _use(self, rows: NDArray[np.intp], size: Array) -> Array:
        """Front and rear use, (rows, 2); not a number where the car finds no steady place."""
        inputs = steady_rows(
            self._car,
            speed=self._speed[rows],
            lateral_acceleration=self._side[rows] * size * np.cos(self._direction[rows]),
            longitudinal_acceleration=size * np.sin(self._direction[rows]),
        )
        parameters = self._parameters[rows]
        positions, settled = settled_rows(parameters, inputs, self.positions[rows])
        self.positions[rows[settled]] = positions[settled]
        history = steady_outputs(parameters, inputs, positions)
        use = axle_use(self._vector[None, :], history.outputs).use[0]
        return np.where(settled[:, None], use, np.nan)


class _Bracket:
    """Below and above of n values sought, and how fast use grew between the last two looks at each.

    Use grows about as a power of the acceleration, so the search is made in logarithms of both: by the secant
    through the last two looks, by halves where that leaves the bracket.

    Parameters
    ----------
    growth : the power to begin with, (n,), changed to what is found. [1]
    """

    def __init__(self, growth: Array) -> None:
        n = growth.size
        self.low, self.high = np.zeros(n), np.full(n, np.inf)
        self._growth, self._last, self._error = growth, np.full(n, np.nan), np.full(n, np.nan)

    def take(self, rows: NDArray[np.intp], trial: Array, error: Array) -> None:
        """Take how far use was from its target at trials; no number is a motion beyond the limit."""
        with np.errstate(invalid="ignore", divide="ignore"):
            growth = (error - self._error[rows]) / np.log(trial / self._last[rows])
        self._growth[rows] = np.clip(np.where(np.isfinite(growth), growth, self._growth[rows]), 0.4, 4.0)
        self._last[rows], self._error[rows] = trial, error
        within = np.isfinite(error) & (error <= 0.0)
        self.low[rows[within]] = trial[within]
        self.high[rows[~within]] = trial[~within]

    def next_trial(self) -> Array:
        """Return where to look next, (n,)."""
        with np.errstate(invalid="ignore"):
            factor = np.clip(np.exp(-self._error / self._growth), 0.5, 2.0)
            trial = self._last * np.where(np.isfinite(factor), factor, 0.9)
            half = np.sqrt(self.low * self.high)
            inside = (trial > self.low) & (trial < self.high)
        return np.where(inside | (half == 0.0) | ~np.isfinite(half), trial, half)


def _lopsided(car: Car) -> bool:
    return car.chassis.cg_lateral_offset != 0.0 or car.chassis.cross_weight_share != 0.5


def _powers(car: Car, *, fastest: float) -> tuple[Array, Array, Array]:
    """Return speeds, what the engine leaves after drag, and what brakes can do. [m/s], [m/s^2]"""
    nodes = np.linspace(_SLOWEST, fastest, 12)
    still = np.zeros(nodes.size)
    inputs = steady_rows(car, speed=nodes, lateral_acceleration=still, longitudinal_acceleration=still)
    parameters = np.repeat(pack(car)[None, :], nodes.size, axis=0)
    positions, settled = settled_rows(parameters, inputs, np.zeros((nodes.size, N_POSITION)))
    for row in np.flatnonzero(
        ~settled
    ):  # stops and the edges of the map bend it too sharply for a quick search
        try:
            positions[row] = settle(parameters[row : row + 1], inputs[row], name="limits")[0, :N_POSITION]
        except SolveError:
            raise SolveError(
                f"limits: at {nodes[row] * 3.6:.0f} km/h straight ahead the car finds no steady place: "
                "springs, stops and downforce do not balance. Check ride heights, bump stops and the aero "
                "map."
            ) from None
    area = steady_outputs(parameters, inputs, positions).outputs[0, :, O.drag] / nodes**2
    speed = np.arange(0.0, fastest + 0.25, 0.25)
    drag = np.interp(speed, nodes, area) * speed**2
    mass, radius = parameters[0, P.total_mass], driven_radius(car)
    engine = (wheel_torque(car, speed) / radius - drag) / mass
    share = car.brakes.front_share
    pads = car.brakes.full_pedal_torque * (
        share / car.front.tyre.radius + (1.0 - share) / car.rear.tyre.radius
    )
    brakes = (pads + overrun_wheel_torque(car, speed) / radius + drag) / mass
    return speed, engine, brakes


def _turning_drag(car: Car, speed: Array, sideways: Array) -> Array:
    """Return what holding speed takes beside the air's drag at shares of a lateral limit, (n, s). [m/s^2]

    Notes
    -----
    It is the drive force that the rig finds in a steady turn, less the air's drag, over the mass. A car
    without a steady place in one is taken to need what it needs at the next smaller share.
    """
    shares = np.array(TURNING_SHARES)
    at_speed, lateral = np.repeat(speed, shares.size), (sideways[:, None] * shares).ravel()
    inputs = steady_rows(
        car, speed=at_speed, lateral_acceleration=lateral, longitudinal_acceleration=np.zeros(lateral.size)
    )
    parameters = np.repeat(pack(car)[None, :], lateral.size, axis=0)
    positions, settled = settled_rows(parameters, inputs, np.zeros((lateral.size, N_POSITION)))
    outputs = steady_outputs(parameters, inputs, positions).outputs[0]
    force = outputs[:, O.front_drive_force] + outputs[:, O.rear_drive_force] - outputs[:, O.drag]
    drag = np.where(settled, force / parameters[0, P.total_mass], 0.0).reshape(speed.size, shares.size)
    return np.maximum.accumulate(np.maximum(drag, 0.0), axis=1)


def _sides(axes: tuple[Array, ...], values: Array) -> _Sides:
    """Make a table of each side's values, (2, ...), that goes on linearly past its ends."""
    left, right = (RegularGridInterpolator(axes, one, bounds_error=False, fill_value=None) for one in values)
    return left, right


def _by_side(sides: _Sides, points: Array, left: NDArray[np.bool_]) -> Array:
    """Read the table of the side each point is on."""
    left = np.broadcast_to(left, points.shape[:-1])
    found = np.empty((*left.shape, sides[0].values.shape[-1]))
    for table, here in zip(sides, (left, ~left), strict=True):
        if here.any():
            found[here] = table(points[here])
    return found


def _along_table(limits: LimitsMap, angle: Array) -> Array:
    """Read polar limit curves along the lateral axis: (2, g, n, shares, 4)."""
    fine = np.linspace(0.0, 0.5 * np.pi, _FINE)
    middle = int(np.argmin(np.abs(limits.direction)))
    read = PchipInterpolator(limits.direction, np.stack([limits.size, limits.balance], axis=-1), axis=3)
    table = np.empty((*limits.size.shape[:3], angle.size, 4))
    for column, sign in ((0, 1.0), (1, -1.0)):
        curves = read(sign * fine)
        for place in np.ndindex(*limits.size.shape[:3]):
            size, balance = curves[place].T
            wanted = limits.size[(*place, middle)] * np.cos(angle)
            lateral = size * np.cos(fine)
            # Beyond its widest place a curve falls back to the axis: each lateral value is there once.
            widest = int(np.argmax(lateral))
            rising = np.maximum.accumulate(lateral[widest:][::-1])
            for slot, values in ((column, sign * size * np.sin(fine)), (column + 2, balance)):
                table[(*place, slice(None), slot)] = np.interp(wanted, rising, values[widest:][::-1])
    return table
