"""What a driver needs to know to drive a car round a track: from the car's own limits and steady turns."""

from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from fourpatch.analysis.lap_profile import LapProfile, braking_ceiling, lap_profile
from fourpatch.analysis.limits_map import Along, LimitsMap, limits_map
from fourpatch.car.car import Car
from fourpatch.car.gravity import GRAVITY
from fourpatch.events.drive import made_ready
from fourpatch.events.drive_inputs import DriveRoad
from fourpatch.events.driver_style import DriverStyle
from fourpatch.events.lap import Handling, LapRun, PacePlan, drive_lap, habits_of, handling_of
from fourpatch.events.steady_circle import SteadyCircle, steady_circle
from fourpatch.track.line import Line

Array = NDArray[np.float64]

_TURN_SPEEDS = (10.0, 60.0)  # between which a driver's steady turns are taken [m/s] ...
_TURN_SHARE = (
    0.7  # ... and of the limits map's highest speed at the most: turning, no car holds its top speed
)
_HIGHEST = 1.06  # of the fastest place: a driver plans no faster
_FAST = 0.8  # of the limits map's highest speed, where growth of grip with speed is read


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class DriverPlan:
    """One driver with one car on one line."""

    car: Car
    line: Line
    profile: LapProfile
    """The quasi-steady lap at the car's limits."""
    ceiling: Array
    """(n,) the fastest from which all that follows can be taken. [m/s]"""
    traction: Array
    """(n,) drive of the tyres going straight at the speed of the profile, per mass. [m/s^2]"""
    habits: Array
    """(N_HABIT,), or (cars, N_HABIT) of drivers who differ."""
    handling: Handling
    learned: Array
    """(n,) factor on the quasi-steady speeds that practice found; 1 before it. [1]"""

    def at_pace(self, pace: Array, *, unsteadiness: Array | float = 0.0) -> PacePlan:
        """Return the plan of drivers who drive at factors of what they learned.

        Parameters
        ----------
        pace : (cars,) on speed; on accelerations its square. [1]
        unsteadiness : (cars, n) or one number, added to the steer. [rad]
        """
        factors = np.asarray(pace, dtype=np.float64)[:, None] * self.learned
        return self.by_factors(factors, unsteadiness=unsteadiness)

    def by_factors(self, factors: Array, *, unsteadiness: Array | float = 0.0) -> PacePlan:
        """Return the plan of drivers who drive at factors of the quasi-steady speeds.

        Parameters
        ----------
        factors : (cars, n) on speed; on accelerations their square. [1]
        unsteadiness : (cars, n) or one number, added to the steer. [rad]

        Notes
        -----
        Where nothing has to be slowed down for the ceiling lies far above what the car reaches. It is cut
        there, for the integrator's step goes by the highest, and laps must not hang on what others try.
        """
        highest = _HIGHEST * float(self.ceiling.max())
        return PacePlan(
            speed=np.minimum(factors, 1.0) * self.profile.speed,
            ceiling=np.minimum(factors * self.ceiling, highest),
            traction=factors**2 * self.traction,
            unsteadiness=np.broadcast_to(unsteadiness, factors.shape),
        )

    def drive(self, pace: PacePlan, road: DriveRoad, *, interval: float = 0.02) -> LapRun:
        """Drive a lap by each row of a plan, the same car and driver side by side; as `drive_lap`."""
        return drive_lap(
            made_ready([self.car] * pace.speed.shape[0]),
            self.line,
            pace,
            habits=self.habits,
            handling=self.handling,
            road=road,
            interval=interval,
        )


def driver_plan(
    car: Car, line: Line, *, style: DriverStyle | None = None, limits: LimitsMap | None = None
) -> DriverPlan:
    """Work out what a driver plans.

    Parameters
    ----------
    limits : of the car, if they are known already.

    Raises
    ------
    SolveError
        If the car cannot pass a place of the line at any speed, or finds no steady turn.
    """
    limits, style = limits or limits_map(car), style or DriverStyle()
    profile = lap_profile(limits, line)
    slowest, fastest = _TURN_SPEEDS
    highest = max(min(fastest, _TURN_SHARE * limits.fastest), slowest)
    speed = float(np.clip(np.median(profile.speed), slowest, highest))
    turns = steady_circle(car, SteadyCircle(speed=speed))
    return DriverPlan(
        car=car,
        line=line,
        profile=profile,
        ceiling=braking_ceiling(limits, line, trail_braking=style.trail_braking),
        traction=_straight_traction(limits, profile.speed),
        habits=habits_of(style, turns),
        handling=handling_of(turns, growth=_growth(limits)),
        learned=np.ones_like(profile.speed),
    )


def _straight_traction(limits: LimitsMap, speed: Array) -> Array:
    where = Along(
        speed=speed,
        gravity=np.full_like(speed, GRAVITY),
        share=np.zeros_like(speed),
        left=np.ones(speed.size, dtype=bool),
    )
    return limits.along(where)[..., 0]


def _growth(limits: LimitsMap) -> float:
    """Growth of the lateral limit with speed squared over its value at rest, from two speeds. [s^2/m^2]"""
    speed = np.array([limits.speed[0], _FAST * limits.fastest])
    found, _ = limits.lateral(speed=speed, gravity=np.full(2, GRAVITY), left=np.ones(2, dtype=bool))
    slope = (found[1] - found[0]) / (speed[1] ** 2 - speed[0] ** 2)
    return float(slope / (found[0] - slope * speed[0] ** 2))
