"""Straight braking on the rig: the deceleration is prescribed, the loads follow."""

from typing import Annotated, Literal

import numpy as np

from fourpatch.car.car import Car
from fourpatch.document.part import Part
from fourpatch.errors import EventError
from fourpatch.events.motion import RigMotion, half_steps, planar_inputs, ramp
from fourpatch.events.phase import Phase
from fourpatch.units import Unit

_BEFORE = 0.1


class Braking(Part):
    """Brake in a straight line and release."""

    kind: Literal["braking"] = "braking"
    speed: Annotated[float, Unit("m/s", "km/h", 5.0, 110.0)] = 50.0
    """At the start."""
    deceleration: Annotated[float, Unit("m/s**2", "m/s**2", 0.1, 60.0)] = 9.0
    """Held between build-up and release."""
    build_up: Annotated[float, Unit("s", "s", 0.02, 5.0)] = 0.3
    """Time from first touch to full deceleration."""
    hold: Annotated[float, Unit("s", "s", 0.1, 20.0)] = 1.2
    """Time at full deceleration."""
    release: Annotated[float, Unit("s", "s", 0.02, 5.0)] = 0.4
    """Time from full deceleration to none."""
    recovery: Annotated[float, Unit("s", "s", 0.1, 10.0)] = 0.8
    """Time observed after the release."""

    def motion(self, car: Car, step: float) -> RigMotion:
        """Return what the rig does, at half steps of ``step`` [s].

        Raises
        ------
        EventError
            If the car would come to rest before the release ends.
        """
        from scipy.integrate import cumulative_trapezoid

        full = _BEFORE + self.build_up
        let_go = full + self.hold
        free = let_go + self.release
        time = half_steps(free + self.recovery, step)
        slowing = self.deceleration * (
            ramp(time, start=_BEFORE, duration=self.build_up)
            - ramp(time, start=let_go, duration=self.release)
        )
        speed = self.speed - cumulative_trapezoid(slowing, time, initial=0)
        if speed[-1] < 2.0:
            lost = self.deceleration * (0.5 * self.build_up + self.hold + 0.5 * self.release)
            raise EventError(
                f"braking: from {self.speed * 3.6:.0f} km/h the car would stop before the brake is released "
                f"(it loses {lost * 3.6:.0f} km/h). Start faster, brake less, or hold for a shorter time "
                "than "
                f"{self.hold:g} s."
            )
        still = np.zeros(time.size)
        inputs = planar_inputs(
            car,
            time,
            speed=speed,
            longitudinal_acceleration=-slowing,
            lateral_acceleration=still,
            curvature=still,
        )
        return RigMotion(
            name=f"straight braking from {self.speed * 3.6:.0f} km/h",
            step=step,
            inputs=inputs,
            store_every=max(1, round(2e-3 / step)),
            phases=(
                Phase("straight", 0.0, _BEFORE),
                Phase("brake build-up", _BEFORE, full),
                Phase("braking", full, let_go),
                Phase("brake release", let_go, free),
                Phase("recovery", free, float(time[-1]) + step),
            ),
        )
