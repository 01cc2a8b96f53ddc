"""One corner on the rig: braking, entry, mid, exit, straight."""

from typing import Annotated, Literal

import numpy as np

from fourpatch.car.car import Car
from fourpatch.document.part import Part
from fourpatch.errors import EventError
from fourpatch.events.motion import RigMotion, half_steps, planar_inputs, ramp
from fourpatch.events.phase import Phase
from fourpatch.units import Unit

_BEFORE = 0.1
_AFTER = 0.4


class Corner(Part):
    """Brake in a straight line, release while turning in, hold, open the throttle while unwinding."""

    kind: Literal["corner"] = "corner"
    radius: Annotated[float, Unit("m", "m", 5.0, 2000.0)] = 60.0
    """Of the middle of the corner."""
    speed: Annotated[float, Unit("m/s", "km/h", 3.0, 110.0)] = 25.0
    """In the middle of the corner."""
    direction: Literal["left", "right"] = "left"
    """Which way it turns."""
    deceleration: Annotated[float, Unit("m/s**2", "m/s**2", 0.0, 60.0)] = 8.0
    """Under braking."""
    build_up: Annotated[float, Unit("s", "s", 0.02, 5.0)] = 0.3
    """Time from first touch of the brake to full deceleration."""
    braking: Annotated[float, Unit("s", "s", 0.05, 20.0)] = 0.8
    """Time at full deceleration, before turning in."""
    entry: Annotated[float, Unit("s", "s", 0.05, 10.0)] = 0.7
    """Time over which the brake is released while the steering is wound on."""
    mid: Annotated[float, Unit("s", "s", 0.05, 60.0)] = 1.0
    """Time with the steering held and the speed steady."""
    exit: Annotated[float, Unit("s", "s", 0.05, 20.0)] = 1.2
    """Time over which the throttle is taken up while the steering is unwound."""
    acceleration: Annotated[float, Unit("m/s**2", "m/s**2", 0.0, 30.0)] = 3.0
    """At the end of the exit."""

    def motion(self, car: Car, step: float) -> RigMotion:
        """Return what the rig does, at half steps of ``step`` [s].

        Notes
        -----
        Deceleration, curvature and acceleration rise and fall along half cosines. The speed is
        integrated both ways from the middle of the corner.
        """
        from scipy.integrate import cumulative_trapezoid

        brake_full = _BEFORE + self.build_up
        turn_in = brake_full + self.braking
        steady = turn_in + self.entry
        throttle = steady + self.mid
        straight = throttle + self.exit
        time = half_steps(straight + _AFTER, step)
        along = self.acceleration * ramp(time, start=throttle, duration=self.exit) - self.deceleration * (
            ramp(time, start=_BEFORE, duration=self.build_up) - ramp(time, start=turn_in, duration=self.entry)
        )
        gained = cumulative_trapezoid(along, time, initial=0)
        speed = self.speed + gained - np.interp(steady, time, gained)
        turned = ramp(time, start=turn_in, duration=self.entry) - ramp(
            time, start=throttle, duration=self.exit
        )
        curvature = (1.0 if self.direction == "left" else -1.0) * turned / self.radius
        if speed.max() > 130.0:
            raise EventError(
                f"corner: braking by {self.deceleration:g} m/s² for {self.braking:g} s would have to "
                "begin at "
                f"{speed.max() * 3.6:.0f} km/h; brake less or for a shorter time."
            )
        inputs = planar_inputs(
            car,
            time,
            speed=speed,
            longitudinal_acceleration=along,
            lateral_acceleration=speed**2 * curvature,
            curvature=curvature,
        )
        return RigMotion(
            name=f"{self.radius:g} m {self.direction}-hander at {self.speed * 3.6:.0f} km/h",
            step=step,
            inputs=inputs,
            store_every=max(1, round(4e-3 / step)),
            phases=(
                Phase("straight", 0.0, _BEFORE),
                Phase("braking", _BEFORE, turn_in),
                Phase("entry", turn_in, steady),
                Phase("mid", steady, throttle),
                Phase("exit", throttle, straight),
                Phase("straight out", straight, float(time[-1]) + step),
            ),
        )
