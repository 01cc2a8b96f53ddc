"""A corner of the rig, driven: the same path at nearly the same speeds, by a driver who looks ahead."""

from collections.abc import Sequence
from dataclasses import dataclass
from typing import Final, NamedTuple

import numpy as np
from numpy.typing import NDArray
from scipy.integrate import cumulative_trapezoid

from fourpatch.analysis.axle_use import axle_use
from fourpatch.car.car import Car
from fourpatch.car.pack import pack
from fourpatch.events.drive import made_ready
from fourpatch.events.drive_inputs import DriveRoad
from fourpatch.events.driver_style import DriverStyle
from fourpatch.events.lap import Handling, LapRun, PacePlan, drive_lap, habits_of, handling_of, lay_lap_road
from fourpatch.events.run import FEW, stable_step
from fourpatch.events.steady_circle import SteadyCircle, steady_circle
from fourpatch.events.trial import CornerTrial, rig_motion, slowest_speed
from fourpatch.physics.layout import I, X
from fourpatch.track.line import Line
from fourpatch.track.road import RoadProfile

Array = NDArray[np.float64]

PACE: Final = 0.95
"""Of the rig's speeds, so of its accelerations nine tenths: what a driver corrects with needs grip too."""

_SPACING = 1.0  # of the line [m]
_RUN_UP, _RUN_OUT = 60.0, 30.0  # straight on, before and after what the rig does [m]
_TRACTION = 1.5  # times the largest acceleration the corner asks for, which a driver's foot may go to


class Stretch(NamedTuple):
    """A phase of the corner by distance along the line."""

    begin: float
    end: float


class DrivenAnswer(NamedTuple):
    """What cars do in a corner that is driven; not a number for one that does not get through."""

    balance: Array
    """(cars,) 100 (U_front - U_rear), the shares of its grip that each axle gives while driven. [points]"""
    steer: Array
    """(cars,) of the front wheels beyond wheelbase x path curvature, into the corner: more of it is towards
    understeer, below zero is opposite lock. It counts the tyres' stiffness too. [rad]"""


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class DrivenCorner:
    """A corner that cars can be driven through, all alike."""

    name: str
    line: Line
    plan: PacePlan
    habits: Array
    handling: Handling
    road: DriveRoad
    phases: dict[str, Stretch]

    def answers(self, cars: Sequence[Car], phases: Sequence[str]) -> "DrivenAnswer":
        """Drive cars through it and return what they do in some phases together.

        Raises
        ------
        SolveError
            If no car has a steady start or stays in the range of numbers.
        """
        run = self.drive(cars)
        balance, steer = np.full(len(cars), np.nan), np.full(len(cars), np.nan)
        for place, car in enumerate(cars):
            if run.finished[place]:
                found = [self._in_phase(run, place, car, self.phases[phase]) for phase in phases]
                balance[place], steer[place] = np.mean(found, axis=0)
        return DrivenAnswer(balance, steer)

    def _in_phase(self, run: LapRun, place: int, car: Car, part: Stretch) -> tuple[float, float]:
        """Balance [points] and steer beyond the path [rad], means over the distance of a phase."""
        at = run.history.states[place, :, X.distance]
        inside = np.flatnonzero((at >= part.begin) & (at <= part.end))
        states, at = run.history.states[place, inside], at[inside]
        speed = states[:, X.forward_velocity]
        path = states[:, X.yaw_rate] / speed
        use = axle_use(
            run.driven.parameters[place : place + 1], run.history.outputs[place : place + 1, inside]
        ).use[0]
        turned = np.sign(np.sum(self.line.curvature))
        steer = turned * (run.hands[place, inside, 0] - car.chassis.wheelbase * path)
        # Over distance, not over time: a slower car must not count a place twice.
        balance = 100.0 * (use[:, 0] - use[:, 1])
        means = [np.trapezoid(row, at) / (at[-1] - at[0]) for row in (balance, steer)]
        return float(means[0]), float(means[1])

    def drive(self, cars: Sequence[Car]) -> LapRun:
        """Drive cars through it, with the same driver and plan; a few more if they are few.

        Notes
        -----
        One or two cars would need another kernel to be compiled, half a minute for nothing.
        """
        return drive_lap(
            made_ready([*cars, *list(cars[:1]) * (FEW - len(cars))]),
            self.line,
            self.plan,
            habits=self.habits,
            handling=self.handling,
            road=self.road,
        )


def driven_corner(car: Car, corner: CornerTrial, name: str) -> DrivenCorner:
    """Make a corner of the rig one to be driven through.

    Parameters
    ----------
    car : as it stands: whose motion it is, and whose steering the driver knows.

    Raises
    ------
    SolveError
        If the car finds no steady turn at the corner's speed.

    Notes
    -----
    The line has the curvature, and the plan `PACE` of the speed, that the rig prescribes at the same
    distance; so the driver brakes, turns in and accelerates where the rig does. The road is smooth and level.
    """
    motion = rig_motion(corner, car, stable_step(pack(car)[None]))
    rows = motion.inputs
    time = np.arange(rows.shape[0]) * 0.5 * motion.step
    speed, curvature = rows[:, I.speed], rows[:, I.path_curvature]
    along = cumulative_trapezoid(speed, time, initial=0)
    distance = np.arange(0.0, _RUN_UP + float(along[-1]) + _RUN_OUT, _SPACING)
    at = distance - _RUN_UP
    bent = np.interp(at, along, curvature, left=float(curvature[0]), right=float(curvature[-1]))
    planned = PACE * np.interp(at, along, speed)
    asked = float(np.abs(rows[:, I.longitudinal_acceleration]).max())
    turns = steady_circle(car, SteadyCircle(speed=float(np.clip(slowest_speed(corner), 10.0, 60.0))))
    flat = RoadProfile(distance=distance, left=np.zeros_like(distance), right=np.zeros_like(distance))
    return DrivenCorner(
        name=name,
        line=level_line(distance, bent),
        plan=PacePlan(
            speed=planned,
            ceiling=planned,
            traction=np.full_like(distance, _TRACTION * asked),
            unsteadiness=np.zeros_like(distance),
        ),
        habits=habits_of(DriverStyle(), turns),
        handling=handling_of(turns, growth=0.0),
        road=lay_lap_road(car, flat, closed=False),
        phases={
            phase.name: Stretch(
                *(float(np.interp(end, time, along)) + _RUN_UP for end in (phase.start, phase.end))
            )
            for phase in motion.phases
        },
    )


def level_line(distance: Array, curvature: Array) -> Line:
    """Return an open line on a level plane from its curvature.

    Parameters
    ----------
    distance : (n,) evenly from 0. [m]
    curvature : (n,) positive to the left. [1/m]
    """
    heading = cumulative_trapezoid(curvature, distance, initial=0)
    level = np.zeros_like(distance)
    return Line(
        closed=False,
        distance=distance,
        station=distance.copy(),
        offset=level.copy(),
        x=cumulative_trapezoid(np.cos(heading), distance, initial=0),
        y=cumulative_trapezoid(np.sin(heading), distance, initial=0),
        heading=heading,
        curvature=curvature,
        banking=level.copy(),
        gradient=level.copy(),
        vertical_curvature=level.copy(),
    )
