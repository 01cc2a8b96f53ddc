"""A sudden steer held, as in ISO 7401."""

from typing import Annotated, Literal, Self

import numpy as np
from numpy.typing import NDArray
from pydantic import model_validator

from fourpatch.document.part import Part
from fourpatch.events.drive import Driven
from fourpatch.events.drive_inputs import DriveControls
from fourpatch.events.drive_start import DriveStart, settle_drive
from fourpatch.events.motion import half_steps
from fourpatch.events.phase import Phase
from fourpatch.units import Unit

Array = NDArray[np.float64]

_BEFORE = 0.2  # straight running ahead of the steer [s]
_USUAL_LATERAL_ACCELERATION = 4.0  # [m/s^2]


class StepSteer(Part):
    """Steer suddenly out of straight running, then hold steering and throttle.

    How much is steered: the angle of the road wheels, of the steering wheel, or whatever brings each car to
    a lateral acceleration in the steady turn at the starting speed. One of the three; 4 m/s^2 if none.
    """

    kind: Literal["step-steer"] = "step-steer"
    speed: Annotated[float, Unit("m/s", "km/h", 5.0, 110.0)] = 80.0 / 3.6
    """At the start; the throttle that holds it stays as it is."""
    lateral_acceleration: Annotated[float, Unit("m/s**2", "m/s**2", 0.1, 30.0)] | None = None
    """In the steady turn; 4 m/s**2 if none of the three sizes is given."""
    road_wheel_angle: Annotated[float, Unit("rad", "deg", 0.0005, 0.5)] | None = None
    """Mean of the front wheels."""
    steering_wheel_angle: Annotated[float, Unit("rad", "deg", 0.005, 8.0)] | None = None
    """Divided by the car's steering ratio."""
    direction: Literal["left", "right"] = "left"
    """Which way it turns."""
    ramp_time: Annotated[float, Unit("s", "s", 0.01, 2.0)] = 0.1
    """From straight to full angle, at a constant rate."""
    hold: Annotated[float, Unit("s", "s", 1.0, 30.0)] = 3.0
    """Time at full angle."""

    @model_validator(mode="after")
    def _steered_once(self) -> Self:
        ways = ("lateral_acceleration", "road_wheel_angle", "steering_wheel_angle")
        given = [name for name in ways if getattr(self, name) is not None]
        if len(given) > 1:
            raise ValueError(f"{' and '.join(given)} each say how much is steered; give one of them")
        return self

    def controls(self, step: float) -> DriveControls:
        """Return what the driver does, at half steps of ``step`` [s]; a steer of 1 stands for full angle."""
        full = _BEFORE + self.ramp_time
        time = half_steps(full + self.hold, step)
        steer = np.clip((time - _BEFORE) / self.ramp_time, 0.0, 1.0)
        return DriveControls(
            name="step steer",
            step=step,
            steer=steer if self.direction == "left" else -steer,
            throttle=np.zeros(time.size),
            brake=np.zeros(time.size),
            holding=np.ones(time.size),
            store_every=max(1, round(2e-3 / step)),
            phases=(
                Phase("straight", 0.0, _BEFORE),
                Phase("steer", _BEFORE, full),
                Phase("held", full, float(time[-1]) + step),
            ),
        )

    def steer_factors(self, driven: Driven, start: DriveStart) -> Array:
        """Return the full road-wheel angle of each car. [rad]

        Raises
        ------
        SolveError
            If a car cannot reach the lateral acceleration.
        """
        if self.road_wheel_angle is not None:
            return np.full(len(driven.cars), self.road_wheel_angle)
        if self.steering_wheel_angle is not None:
            return np.array([self.steering_wheel_angle / car.steering.ratio for car in driven.cars])
        wanted = self.lateral_acceleration or _USUAL_LATERAL_ACCELERATION
        side = 1.0 if self.direction == "left" else -1.0
        turning = settle_drive(
            driven.parameters,
            driven.engines,
            speed=self.speed,
            lateral_acceleration=side * wanted,
            name="step steer",
        )
        return np.asarray(side * (turning.steer - start.steer))
