"""Straight acceleration by the pedal from a given speed: what engine, gears and tyres make of it."""

from collections.abc import Sequence
from typing import Annotated, Literal

import numpy as np
from numpy.typing import NDArray

from fourpatch.car.car import Car
from fourpatch.document.part import Part
from fourpatch.errors import EventError
from fourpatch.events.drive import Driven, DriveRun, drive_from, made_ready, step_for
from fourpatch.events.drive_inputs import DriveControls
from fourpatch.events.drive_start import settle_drive
from fourpatch.events.motion import half_steps
from fourpatch.events.phase import Phase
from fourpatch.physics.layout import P
from fourpatch.units import Unit

Array = NDArray[np.float64]

_BEFORE = 0.2  # steady running ahead of the throttle [s]


class StraightAcceleration(Part):
    """Press the throttle, running straight, until the time is up."""

    kind: Literal["straight-acceleration"] = "straight-acceleration"
    speed: Annotated[float, Unit("m/s", "km/h", 5.0, 110.0)] = 20.0
    """At the start."""
    to_speed: Annotated[float, Unit("m/s", "km/h", 5.0, 120.0)] | None = None
    """Up to which time and distance are counted."""
    pedal: Annotated[float, Unit("1", "%", 0.01, 1.0)] = 1.0
    """Throttle, 100 % fully open; always in the gear that pulls hardest."""
    rise_time: Annotated[float, Unit("s", "s", 0.02, 5.0)] = 0.2
    """From what held the speed to that throttle."""
    duration: Annotated[float, Unit("s", "s", 0.1, 60.0)] = 8.0
    """Time at that throttle."""

    def controls(self, step: float) -> DriveControls:
        """Return what the driver does, at half steps of ``step`` [s]."""
        full = _BEFORE + self.rise_time
        time = half_steps(full + self.duration, step)
        pressed = np.clip((time - _BEFORE) / self.rise_time, 0.0, 1.0)
        return DriveControls(
            name=f"straight acceleration from {self.speed * 3.6:.0f} km/h",
            step=step,
            steer=np.zeros(time.size),
            throttle=self.pedal * pressed,
            brake=np.zeros(time.size),
            holding=1.0 - pressed,
            store_every=max(1, round(2e-3 / step)),
            phases=(
                Phase("straight", 0.0, _BEFORE),
                Phase("throttle taken up", _BEFORE, full),
                Phase("accelerating", full, float(time[-1]) + step),
            ),
        )


def accelerate(cars: Sequence[Car], event: StraightAcceleration) -> DriveRun:
    """Put cars through a straight acceleration.

    Raises
    ------
    EventError
        If the speed to reach is not above the one at the start.
    SolveError
        If a car cannot hold the speed at the start or its state stops being finite.

    Notes
    -----
    The step suits the speed that the engine's greatest power could give the mass alone,
    v^2 = v0^2 + 2 P t / m.
    """
    if event.to_speed is not None and event.to_speed <= event.speed:
        raise EventError(
            f"straight-acceleration: to_speed {event.to_speed * 3.6:.0f} km/h is not above speed "
            f"{event.speed * 3.6:.0f} km/h, at which the car starts. Give a higher one, or start slower."
        )
    driven = made_ready(cars)
    controls = event.controls(step_for(driven, speed=_fastest(driven, event)))
    start = settle_drive(driven.parameters, driven.engines, speed=event.speed, name=controls.name)
    return drive_from(start, driven, controls)


def _fastest(driven: Driven, event: StraightAcceleration) -> float:
    pull = driven.engines.torque[:, :, 0]
    power = np.max(pull * driven.engines.spacing * np.arange(pull.shape[1]), axis=1)
    gained = 2.0 * power * (event.rise_time + event.duration) / driven.parameters[:, P.total_mass]
    return float(np.sqrt(event.speed**2 + np.max(gained)))
