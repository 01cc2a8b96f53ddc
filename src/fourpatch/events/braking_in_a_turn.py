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
from fourpatch.physics.layout import P
from fourpatch.units import Unit

Array = NDArray[np.float64]

_BEFORE = 0.2  # steady circle ahead of the brake [s]


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
