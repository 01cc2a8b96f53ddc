"""Braking in a turn as in ISO 7975: a steady circle, then brakes of growing force with the steering held."""

from dataclasses import dataclass
from math import sqrt
from typing import Annotated, Literal

import numpy as np
from numpy.typing import NDArray

from fourpatch.car.car import Car
from fourpatch.document.part import Part
from fourpatch.events.drive import DriveRun, drive_from, step_for
from fourpatch.events.drive_inputs import DriveControls
from fourpatch.events.motion import half_steps
from fourpatch.events.phase import Phase
from fourpatch.events.steady_circle import SteadyTurns, steady_turn
from fourpatch.events.straight_braking import WheelSpell, lock_ups
from fourpatch.physics.full_car import SLOWEST
from fourpatch.physics.layout import O, P, X
from fourpatch.units import Unit

Array = NDArray[np.float64]

MEASURED_AT = 1.0
"""After first touch of the brake, when the values are taken. [s]"""

_BEFORE = 0.2  # steady circle ahead of the brake [s]
_SPUN = 0.5 * np.pi  # sideslip angle from which on a car counts as spun


class BrakingInATurn(Part):
    """Brake out of a steady circle with the steering held, harder in each run.

    In the first run the throttle is closed and the brake not touched; in each other one the brakes of
    free-rolling wheels add a force of so much deceleration to that of engine, tyres and drag.
    """

    kind: Literal["braking-in-a-turn"] = "braking-in-a-turn"
    radius: Annotated[float, Unit("m", "m", 10.0, 2000.0)] = 100.0
    """Of the steady circle."""
    lateral_acceleration: Annotated[float, Unit("m/s**2", "m/s**2", 0.5, 40.0)] = 5.0
    """In the steady circle."""
    direction: Literal["left", "right"] = "left"
    """Which way it turns."""
    step: Annotated[float, Unit("m/s**2", "m/s**2", 0.2, 10.0)] = 1.0
    """Brake force over mass, from one run to the next."""
    largest_deceleration: Annotated[float, Unit("m/s**2", "m/s**2", 0.0, 40.0)] = 8.0
    """Brake force over mass in the last run; with the full pedal if that is less."""
    rise_time: Annotated[float, Unit("s", "s", 0.02, 1.0)] = 0.2
    """From first touch to that brake force; the throttle closes meanwhile."""
    duration: Annotated[float, Unit("s", "s", 1.0, 10.0)] = 2.0
    """From first touch to the end."""

    @property
    def name(self) -> str:
        """What is braked out of."""
        return f"braking in a turn of {self.radius:g} m at {self.lateral_acceleration:g} m/s²"

    def braked(self, car: Car, parameters: Array) -> list[tuple[float, float]]:
        """Return brake force over mass and pedal of every run. [m/s^2], [1]"""
        share, torque = car.brakes.front_share, car.brakes.full_pedal_torque
        force = torque * (share / car.front.tyre.radius + (1.0 - share) / car.rear.tyre.radius)
        full = force / float(parameters[P.total_mass])
        runs = int(self.largest_deceleration / self.step + 1e-9) + 1
        asked = [k * self.step for k in range(runs)]
        within = [(one, one / full) for one in asked if one <= full]
        return within if len(within) == runs else [*within, (full, 1.0)]

    def controls(self, step: float, *, pedal: float) -> DriveControls:
        """Return what the driver does with a pedal in the end, at half steps of ``step`` [s]."""
        time = half_steps(_BEFORE + self.duration, step)
        pressed = np.clip((time - _BEFORE) / self.rise_time, 0.0, 1.0)
        return DriveControls(
            name="braking in a turn",
            step=step,
            steer=np.zeros(time.size),
            throttle=np.zeros(time.size),
            brake=pedal * pressed,
            holding=1.0 - pressed,
            store_every=max(1, round(2e-3 / step)),
            phases=(
                Phase("steady circle", 0.0, _BEFORE),
                Phase("brake build-up", _BEFORE, _BEFORE + self.rise_time),
                Phase("braking", _BEFORE + self.rise_time, float(time[-1]) + step),
            ),
        )


@dataclass(frozen=True, slots=True, kw_only=True)
class TurnBraked:
    """One car braked out of one steady circle, a run for each brake force."""

    event: BrakingInATurn
    circle: SteadyTurns
    asked: tuple[float, ...]
    """Brake force over mass. [m/s^2]"""
    runs: tuple[DriveRun, ...]


def brake_in_a_turn(car: Car, event: BrakingInATurn) -> TurnBraked:
    """Brake a car out of a steady circle.

    Raises
    ------
    SolveError
        If the car cannot stay on the circle, or a run does not end in numbers.
    """
    side = 1.0 if event.direction == "left" else -1.0
    circle = steady_turn(
        car,
        lateral_acceleration=side * event.lateral_acceleration,
        radius=event.radius,
        name="braking in a turn",
    )
    step = step_for(circle.driven, speed=sqrt(event.lateral_acceleration * event.radius))
    braked = event.braked(car, circle.driven.parameters[0])
    runs = (drive_from(circle.start, circle.driven, event.controls(step, pedal=pedal)) for _, pedal in braked)
    return TurnBraked(event=event, circle=circle, asked=tuple(force for force, _ in braked), runs=tuple(runs))


@dataclass(frozen=True, slots=True, kw_only=True)
class TurnBrakedValues:
    """Characteristic values of one run, one second after first touch of the brake unless said otherwise.

    Those are not numbers where the car stands or has spun by then.
    """

    mean_deceleration: float
    """Speed lost since first touch over that second. [m/s^2]"""
    yaw_rate_ratio: float
    """Yaw rate over that of a car that stays on the circle at the speed of the moment. [1]"""
    lateral_acceleration_ratio: float
    """Lateral acceleration over that of the same car. [1]"""
    largest_yaw_rate_ratio: float
    """Largest until the end, or until the car stands or has spun. [1]"""
    sideslip_change: float
    """Sideslip angle less that of the steady circle. [rad]"""
    path_deviation: float
    """Of the centre of gravity from the circle, into the turn positive. [m]"""
    spun: bool
    """Whether the sideslip angle passed a right angle before the end."""
    lock_up: dict[str, WheelSpell]
    """By corner, FL, FR, RL, RR, from first touch to the end."""


def turn_braked_values(braked: TurnBraked) -> list[TurnBrakedValues]:
    """Return the characteristic values of each run.

    Notes
    -----
    Staying on the circle of radius R_0 at the speed v of the moment a car has the yaw rate v / R_0 and the
    lateral acceleration v^2 / R_0.

    Source: definitions of ISO 7975 (2019, 2006), from memory.
    """
    return [_values(run) for run in braked.runs]


def _values(run: DriveRun) -> TurnBrakedValues:
    states, outputs, time = run.history.states[0], run.history.outputs[0], run.time
    forward, sideways = states[:, X.forward_velocity], states[:, X.lateral_velocity]
    speed, sideslip = np.hypot(forward, sideways), np.arctan2(sideways, forward)
    touched = int(np.searchsorted(time, run.controls.phases[1].start - 1e-9))
    then = int(np.searchsorted(time, time[touched] + MEASURED_AT - 1e-9))
    curvature = states[0, X.yaw_rate] / speed[0]
    counts = (speed > SLOWEST) & (np.arange(time.size) >= touched)
    over = np.flatnonzero(np.abs(sideslip) > _SPUN)
    if over.size:
        counts[over[0] :] = False
    ratio = states[:, X.yaw_rate] / (np.maximum(speed, SLOWEST) * curvature)
    # What a standing or spun car does is no answer to the brake.
    there = 1.0 if counts[then] else float("nan")
    return TurnBrakedValues(
        mean_deceleration=there * float((speed[touched] - speed[then]) / (time[then] - time[touched])),
        yaw_rate_ratio=there * float(ratio[then]),
        lateral_acceleration_ratio=there
        * float(outputs[then, O.lateral_acceleration] / (speed[then] ** 2 * curvature)),
        largest_yaw_rate_ratio=float(np.max(ratio[counts])),
        sideslip_change=there * float(sideslip[then] - sideslip[0]),
        path_deviation=there * _inward(states[[0, then]], curvature),
        spun=bool(over.size),
        lock_up=lock_ups(run, run.driven.parameters[0], states, start=touched, end=time.size - 1),
    )


def _inward(states: Array, curvature: float) -> float:
    """How far the second of two states lies inside the circle on which the first one moves. [m]"""
    course = states[0, X.heading] + np.arctan2(states[0, X.lateral_velocity], states[0, X.forward_velocity])
    centre = states[0, [X.distance, X.offset]] + np.array([-np.sin(course), np.cos(course)]) / curvature
    return float(1.0 / abs(curvature) - np.linalg.norm(states[1, [X.distance, X.offset]] - centre))
