"""Straight braking by the pedal."""

from typing import Annotated, Literal

import numpy as np
from numpy.typing import NDArray

from fourpatch.document.part import Part
from fourpatch.events.drive import Driven
from fourpatch.events.drive_inputs import DriveControls
from fourpatch.events.drive_start import DriveStart
from fourpatch.events.motion import half_steps
from fourpatch.events.phase import Phase
from fourpatch.units import Unit

Array = NDArray[np.float64]

_BEFORE = 0.2  # steady running ahead of the brake [s]


class StraightBraking(Part):
    """Close the throttle and press the brake, running straight, until the time is up."""

    kind: Literal["straight-braking"] = "straight-braking"
    speed: Annotated[float, Unit("m/s", "km/h", 5.0, 110.0)] = 40.0
    """At the start."""
    pedal: Annotated[float, Unit("1", "%", 0.01, 1.0)] = 0.5
    """Share of full pedal; brake torque is in proportion."""
    rise_time: Annotated[float, Unit("s", "s", 0.02, 5.0)] = 0.2
    """From first touch to that pedal; the throttle closes meanwhile."""
    duration: Annotated[float, Unit("s", "s", 0.1, 30.0)] = 3.0
    """Time at that pedal."""

    def controls(self, step: float) -> DriveControls:
        """Return what the driver does, at half steps of ``step`` [s]."""
        full = _BEFORE + self.rise_time
        time = half_steps(full + self.duration, step)
        pressed = np.clip((time - _BEFORE) / self.rise_time, 0.0, 1.0)
        return DriveControls(
            name="straight braking",
            step=step,
            steer=np.zeros(time.size),
            throttle=np.zeros(time.size),
            brake=self.pedal * pressed,
            holding=1.0 - pressed,
            store_every=max(1, round(2e-3 / step)),
            phases=(
                Phase("straight", 0.0, _BEFORE),
                Phase("brake build-up", _BEFORE, full),
                Phase("braking", full, float(time[-1]) + step),
            ),
        )

    def steer_factors(self, driven: Driven, start: DriveStart) -> Array:
        """Return 1 for each car: the steering is left as it is."""
        return np.ones(len(driven.cars))
