"""A run of laps: how tyres warm, gain pressure and wear, what fuel goes, what that does to the car."""

from collections.abc import Sequence
from dataclasses import dataclass, replace
from typing import Final, Literal

import numpy as np
from numpy.typing import NDArray

from fourpatch.analysis.lap_duty import LapDuty, lap_duty
from fourpatch.analysis.lap_profile import LapProfile, lap_profile
from fourpatch.analysis.lap_summary import driven_line
from fourpatch.analysis.limits_map import LimitsMap, limits_map
from fourpatch.analysis.tyre_heat import ATMOSPHERE, TyreHeat, warm_pressure
from fourpatch.car.car import Car
from fourpatch.car.paths import replace_parameters
from fourpatch.errors import EventError
from fourpatch.long_work import Cancelled, Progress, go_on, never, unwatched
from fourpatch.track.line import Line, thinned
from fourpatch.track.track import Track

Array = NDArray[np.float64]
TrackState = Literal["dry", "damp", "wet"]
End = Literal["laps", "fuel", "tread"]

ENDS: Final = ("front", "rear")
_WARM = 0.9  # of the highest rise of the treads over the stint, from which tyres count as warm
_EVERY = 4  # places of a line that is a metre apart
_HOTTEST = 473.0  # that a car file allows, with a margin [K]
_PRESSURES = (0.5e5, 6e5)  # that it allows [Pa]


@dataclass(frozen=True, slots=True, kw_only=True)
class Surface:
    """What a state of the track does, over a dry one; spreads are one standard deviation of the value."""

    friction: float
    """Of tyres fit for it: peak friction. [1]"""
    friction_spread: float
    cooling: float
    """Heat that a tread gives off. [1]"""
    wear: float
    """Wear for the same work of sliding. [1]"""
    spread: float
    """Of the last two."""


SURFACES: Final[dict[TrackState, Surface]] = {
    "dry": Surface(friction=1.0, friction_spread=0.0, cooling=1.0, wear=1.0, spread=0.0),
    "damp": Surface(friction=0.85, friction_spread=0.07, cooling=1.5, wear=0.5, spread=0.3),
    "wet": Surface(friction=0.70, friction_spread=0.14, cooling=3.0, wear=0.2, spread=0.4),
}
"""From memory: common practice, no published source; the sizes are a choice of ours."""


@dataclass(frozen=True, slots=True, kw_only=True)
class Conditions:
    """What a stint is driven in."""

    laps: int
    air: float
    """[K]"""
    start: float
    """Of the tyres. [K]"""
    pace: float
    """Of the quasi-steady speeds, at which the tyres work. [1]"""
    surface: Surface = SURFACES["dry"]
    cold_pressure: tuple[float | None, float | None] = (None, None)
    """Gauge, front and rear, at the air's temperature; what leads to the car's own if left out. [Pa]"""


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class Condition:
    """What laps have made of tyres and tank."""

    rise: Array
    """Of tread and carcass over air, (4, 2). [K]"""
    worn: Array
    """Share of each tyre's life, (4,). [1]"""
    fuel: float
    """[kg]"""


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class StintLap:
    """A lap of a stint, as it begins."""

    lap: int
    """From one."""
    time: float
    """Since the start. [s]"""
    condition: Condition
    pressure: Array
    """Gauge, (4,). [Pa]"""
    limits: LimitsMap
    profile: LapProfile
    duty: LapDuty
    """Of this lap."""
    alike: LapDuty
    """Of the tyres as they are, in the motion of the stint's reference lap: what balances are compared in."""


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class Stint:
    """A run of laps."""

    car: Car
    """As it stands, with the tyres of its file."""
    conditions: Conditions
    hot: tuple[float, float]
    """Temperature of the gas at which the pressures of the car's file hold, front and rear. [K]"""
    dry: LapProfile
    """With the tyres of the file on a dry track."""
    reference: LapProfile
    """With them on the track as it is."""
    laps: tuple[StintLap, ...]
    """Those that were computed, the first and the last among them; the last is the one after the stint."""
    ended: End
    """What ended it."""

    @property
    def warm(self) -> StintLap:
        """The first computed lap with warm tyres."""
        rises = [float(one.condition.rise[:, 0].mean()) for one in self.laps]
        return next(one for one, rise in zip(self.laps, rises, strict=True) if rise >= _WARM * max(rises))

    @property
    def last(self) -> StintLap:
        """What the next lap would be."""
        return self.laps[-1]

    @property
    def driven(self) -> int:
        """Laps."""
        return self.last.lap - 1

    def lap_times(self, numbers: Sequence[int]) -> Array:
        """Return times of laps by number, read off a straight line between two that were computed. [s]"""
        return np.interp(numbers, [one.lap for one in self.laps], [one.profile.lap_time for one in self.laps])

    @property
    def total_time(self) -> float:
        """Of all laps. [s]"""
        return float(self.lap_times(range(1, self.last.lap)).sum())

    @property
    def fuel_per_lap(self) -> float:
        """Burnt, mean of all laps. [kg]"""
        length = self.reference.line.length
        if not self.driven:
            return burnt(self.car, self.last.duty, length)
        return (self.laps[0].condition.fuel - self.last.condition.fuel) / self.driven

    @property
    def drift(self) -> float:
        """Balance at the end less that on warm tyres; positive is toward understeer. [points]"""
        return self.last.alike.balance - self.warm.alike.balance

    def cold_pressures(self) -> tuple[float, float]:
        """Gauge pressures of front and rear tyres at the air's temperature. [Pa]"""
        air, front, rear = self.conditions.air, self.car.front.tyre.pressure, self.car.rear.tyre.pressure
        found = warm_pressure(np.array([front, rear]), np.array(self.hot), other=air)
        return float(found[0]), float(found[1])

    def standing(self, condition: Condition, car: Car | None = None) -> Car:
        """Return a car, this one by default, with tyres and tank in some condition."""
        return condition_car(self.car if car is None else car, self.conditions, self.hot, condition)


def stint_line(car: Car, track: Track) -> Line:
    """Return the line of least curvature with a place every four metres: laps come out within 0.02 s.

    Raises
    ------
    EventError
        If the track has ends.
    TrackError
        As `driven_line`.
    """
    line = driven_line(car, track)
    if not line.closed:
        raise EventError(f"stint: {track.name} has a start and an end, no laps. Choose a circuit.")
    return thinned(line, every=_EVERY)


def run_stint(
    car: Car,
    line: Line,
    conditions: Conditions,
    *,
    at: Sequence[int] | None = None,
    like: Stint | None = None,
    hot: tuple[float, float] | None = None,
    progress: Progress = unwatched,
    cancelled: Cancelled = never,
) -> Stint:
    """Compute a run of laps.

    Parameters
    ----------
    car : as it stands.
    line : of `stint_line`.
    at : laps to compute, the rest being read off between them; by default the first four, then half as many
        again each time, no further apart than tyres take to settle.
    like : of nearly the same car in the same conditions: balances are told in its motion.
    hot : temperature of the gas at which the file's pressures hold; that of settled tyres by default. [K]
    progress, cancelled : as `long_work`.

    Raises
    ------
    EventError
        If tyres grow hotter than the car's file can say.
    SolveError
        If the car has no lap.
    Stopped
        If it is cancelled.

    Notes
    -----
    From one computed lap to the next powers of sliding, rolling and engine are as on the first of them (what
    that puts off is measured in docs/stint.md); the temperatures follow from them exactly. The two tyres of
    an axle grip alike, with the mean of what they are; each has its own heat and wear.
    """
    heats = [TyreHeat(tyre=one.tyre.stint) for one in (car.front, car.rear)]
    if like is None:
        limits = limits_map(car)
        dry = lap_profile(limits, line)
        reference = dry if conditions.surface.friction == 1.0 else _reference(car, conditions, line, limits)
    else:
        limits, dry, reference = like.laps[0].limits, like.dry, like.reference
    hot = hot or _hot(car, conditions, heats, lap_duty(car, dry, share=conditions.pace), dry)
    apart = max(int(min(one.settling for one in heats) * conditions.pace / dry.lap_time), 1)
    heats = [replace(one, cooling=conditions.surface.cooling) for one in heats]
    now = Condition(
        rise=np.full((4, 2), conditions.start - conditions.air),
        worn=np.repeat([car.front.tyre.worn, car.rear.tyre.worn], 2),
        fuel=car.fuel.mass,
    )
    found: list[StintLap] = []
    lap, time = 1, 0.0
    ended: End = "laps"
    while True:
        go_on(cancelled, f"{lap - 1} of {conditions.laps} laps were computed")
        progress((lap - 1) / conditions.laps, f"lap {lap} of {conditions.laps}")
        there = condition_car(car, conditions, hot, now)
        limits = limits_map(there, near=limits)
        profile = lap_profile(limits, line)
        duty = lap_duty(there, profile, share=conditions.pace)
        pressure = _pressures(car, conditions, hot, now)
        found.append(
            StintLap(
                lap=lap,
                time=time,
                condition=now,
                pressure=pressure,
                limits=limits,
                profile=profile,
                duty=duty,
                alike=lap_duty(there, reference, share=conditions.pace),
            )
        )
        if lap > conditions.laps:
            break
        following = next(one for one in _computed(conditions.laps, at, apart) if one > lap)
        step, end = _lasting(car, conditions, now, duty, line.length, following - lap)
        if step == 0:
            ended = end
            break
        seconds = step * profile.lap_time / conditions.pace
        now = _driven(car, conditions, heats, now, duty, step * line.length, seconds)
        lap, time = lap + step, time + seconds
    return Stint(
        car=car,
        conditions=conditions,
        hot=hot,
        dry=dry,
        reference=reference,
        laps=tuple(found),
        ended=ended,
    )


def _reference(car: Car, conditions: Conditions, line: Line, near: LimitsMap) -> LapProfile:
    """Return a lap with the tyres of the car's file on the surface of the stint."""
    friction = {f"{end}.tyre.road_friction": value for end, value in _friction(car, conditions).items()}
    return lap_profile(limits_map(replace_parameters(car, friction), near=near), line)


def _friction(car: Car, conditions: Conditions) -> dict[str, float]:
    """Return the road's friction at both ends."""
    own = {"front": car.front.tyre.road_friction, "rear": car.rear.tyre.road_friction}
    return {end: conditions.surface.friction * one for end, one in own.items()}


def _computed(laps: int, at: Sequence[int] | None, apart: int) -> list[int]:
    """Return the laps to compute, the one after the last among them."""
    if at is not None:
        return [*(one for one in at if one <= laps), laps + 1]
    found = [1]
    while found[-1] <= laps:
        found.append(min(found[-1] + min(max(found[-1] // 2, 1), apart), laps + 1))
    return found


def _hot(
    car: Car, conditions: Conditions, heats: Sequence[TyreHeat], duty: LapDuty, profile: LapProfile
) -> tuple[float, float]:
    """Return at which temperature of the gas the pressures of the car's file hold, front and rear. [K]

    Notes
    -----
    They are those of tyres that laps like the car's own, on this track when it is dry, no longer warm; where
    a cold pressure is said, those that it rises to.
    """
    power = _powers(heats, duty, profile.lap_time / conditions.pace, profile.line.length)
    found = []
    for k, (axle, heat) in enumerate(zip((car.front, car.rear), heats, strict=True)):
        cold = conditions.cold_pressure[k]
        if cold is None:
            found.append(conditions.air + float(heat.settled(power[2 * k : 2 * k + 2])[:, 1].mean()))
        else:
            # p / T is constant: the temperature at which gas of that cold pressure has the file's.
            found.append(conditions.air * (axle.tyre.pressure + ATMOSPHERE) / (cold + ATMOSPHERE))
    return found[0], found[1]


def _powers(heats: Sequence[TyreHeat], duty: LapDuty, seconds: float, metres: float) -> Array:
    """Return what warms tread and carcass of each tyre, (4, 2). [W]"""
    speed = metres / seconds
    halves = [slice(0, 2), slice(2, 4)]
    return np.concatenate(
        [
            heat.powers(sliding=speed * duty.sliding[half], rolling=speed * duty.load[half])
            for heat, half in zip(heats, halves, strict=True)
        ]
    )


def _pressures(car: Car, conditions: Conditions, hot: tuple[float, float], now: Condition) -> Array:
    """Return gauge pressures of the four tyres. [Pa]"""
    told = np.repeat([car.front.tyre.pressure, car.rear.tyre.pressure], 2)
    return warm_pressure(told, np.repeat(hot, 2), other=conditions.air + now.rise[:, 1])


def condition_car(car: Car, conditions: Conditions, hot: tuple[float, float], now: Condition) -> Car:
    """Return a car with its tyres and its tank in some condition.

    Raises
    ------
    EventError
        If a tread is hotter, or a pressure another, than a car's file can say.
    """
    treads, pressures = conditions.air + now.rise[:, 0], _pressures(car, conditions, hot, now)
    values, friction = {"fuel.mass": max(now.fuel, 0.0)}, _friction(car, conditions)
    for k, end in enumerate(ENDS):
        tread = float(treads[2 * k : 2 * k + 2].mean())
        if tread > _HOTTEST:
            raise EventError(
                f"stint: the {end} treads grow to {tread - 273.15:.0f} degC, which no tyre is used at. Check "
                f"{end}.tyre.stint: life, cooling and shares of heat; or drive at a lower pace."
            )
        pressure = float(pressures[2 * k : 2 * k + 2].mean())
        if not _PRESSURES[0] <= pressure <= _PRESSURES[1]:
            raise EventError(
                f"stint: the {end} tyres come to {pressure / 1e5:.2f} bar, beyond 0.5 to 6 bar. Check the "
                "pressure of the set-up and what is said of the air and of cold pressures."
            )
        values |= {
            f"{end}.tyre.temperature": tread,
            f"{end}.tyre.pressure": pressure,
            f"{end}.tyre.worn": min(float(now.worn[2 * k : 2 * k + 2].mean()), 1.0),
            f"{end}.tyre.road_friction": friction[end],
        }
    return replace_parameters(car, values)


def _life(car: Car) -> Array:
    return np.repeat([car.front.tyre.stint.life, car.rear.tyre.stint.life], 2)


def _wear(car: Car, conditions: Conditions, duty: LapDuty, metres: float) -> Array:
    """Return the share of its life that a way takes of each tyre, (4,). [1]"""
    return conditions.surface.wear * duty.sliding * metres / _life(car)


def burnt(car: Car, duty: LapDuty, metres: float) -> float:
    """Return the fuel for a way. [kg]"""
    rolling = np.repeat([one.tyre.stint.rolling_resistance for one in (car.front, car.rear)], 2)
    work = (duty.engine + float((rolling * duty.load).sum())) * metres
    return car.driveline.fuel_per_work * work / car.driveline.efficiency


def _lasting(
    car: Car, conditions: Conditions, now: Condition, duty: LapDuty, length: float, wanted: int
) -> tuple[int, End]:
    """Return how many laps fuel and treads last, as many as wanted at most, and what ends first."""
    fuel = now.fuel / burnt(car, duty, length)
    tread = float(((1.0 - now.worn) / _wear(car, conditions, duty, length)).min())
    first: End = "fuel" if fuel < tread else "tread"
    return min(wanted, int(min(fuel, tread, 1e6))), first


def _driven(
    car: Car,
    conditions: Conditions,
    heats: Sequence[TyreHeat],
    now: Condition,
    duty: LapDuty,
    metres: float,
    seconds: float,
) -> Condition:
    """Return what a way has made of tyres and tank."""
    power = _powers(heats, duty, seconds, metres)
    rise = np.concatenate(
        [
            heat.warmed(now.rise[half], power[half], seconds).end
            for heat, half in zip(heats, (slice(0, 2), slice(2, 4)), strict=True)
        ]
    )
    worn = now.worn + _wear(car, conditions, duty, metres)
    return Condition(rise=rise, worn=worn, fuel=now.fuel - burnt(car, duty, metres))
