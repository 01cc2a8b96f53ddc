"""A corner of a track on the rig: the car is taken through it as a lap goes, at a driver's pace."""

from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from fourpatch.car.car import Car
from fourpatch.car.gravity import GRAVITY
from fourpatch.errors import EventError
from fourpatch.events.motion import RigMotion, half_steps, planar_inputs
from fourpatch.events.phase import corner_phases

Array = NDArray[np.float64]


@dataclass(frozen=True, slots=True, kw_only=True)
class Pace:
    """How long a driver takes to do what a quasi-steady lap does at once."""

    pedals: float = 0.3
    """From one longitudinal acceleration to another. [s]"""
    steering: float = 0.2
    """From one sideways acceleration to another. [s]"""

    def __post_init__(self) -> None:
        """Refuse what no driver does.

        Raises
        ------
        EventError
        """
        for name, value in (("pedals", self.pedals), ("steering", self.steering)):
            if not 0.05 <= value <= 2.0:
                raise EventError(
                    f"build-up, {name}: {value:g} s; a driver takes 0.05 to 2 s. Give a time between."
                )


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class CornerOnLap:
    """What a lap does about one corner. Rows have one shape, (n,)."""

    name: str
    time: Array
    """Rising. [s]"""
    speed: Array
    """[m/s]"""
    curvature: Array
    """Of the path, positive to the left. [1/m]"""
    tyre_longitudinal: Array
    """What the tyres answer for along the road, drag not included. [m/s^2]"""
    tyre_lateral: Array
    """The same, to the left. [m/s^2]"""
    start: float
    """When the corner begins. [s]"""
    slowest: float
    """When the car is slowest in it. [s]"""
    end: float
    """When the corner ends. [s]"""
    pace: Pace = Pace()
    gravity: float = GRAVITY
    """What presses the car on the road in its middle, per mass, downforce not included. [m/s^2]"""

    @property
    def slowest_speed(self) -> float:
        """Where the car is slowest in it. [m/s]"""
        return float(np.interp(self.slowest, self.time, self.speed))

    def motion(self, car: Car, step: float) -> RigMotion:
        """Return what the rig does, at half steps of ``step`` [s].

        Notes
        -----
        Each row in time is smoothed with a half sine of the build-up time, so that a jump becomes the rise
        along a half cosine that the other events have; it begins half that time before the jump. Phases,
        with a pedal in use from a tenth of its largest effect on, the steering from a tenth of what the
        tightest place of the corner needs:

        - braking: from the brake until the steering is wound on, if a brake is used before that;
        - entry: from there, or from a later brake, until the brake is released; without a brake, until nine
          tenths of the steering are on;
        - mid: from there until the throttle is taken up, 0.1 s at least; in a corner that is driven through
          with the throttle open, while nine tenths are held;
        - exit: from there until the steering is unwound, or where the corner ends if it is not before the
          next.

        The road's normal force is the parameters' business (`under_gravity`), its change within a corner is
        left out.
        """
        time = half_steps(float(self.time[-1] - self.time[0]), step)
        at = time + self.time[0]
        rows = {
            "speed": (self.speed, self.pace.pedals),
            "longitudinal_acceleration": (self.tyre_longitudinal, self.pace.pedals),
            "lateral_acceleration": (self.tyre_lateral, self.pace.steering),
            "curvature": (self.curvature, self.pace.steering),
        }
        smooth = {
            name: _smoothed(np.interp(at, self.time, row), build_up / (0.5 * step))
            for name, (row, build_up) in rows.items()
        }
        marks = [one - float(self.time[0]) for one in (self.start, self.slowest, self.end)]
        phases = corner_phases(
            time, along=smooth["longitudinal_acceleration"], curvature=smooth["curvature"], marks=marks
        )
        return RigMotion(
            name=self.name,
            step=step,
            inputs=planar_inputs(car, time, **smooth),
            store_every=max(1, round(4e-3 / step)),
            phases=phases,
        )


def _smoothed(row: Array, places: float) -> Array:
    """Smooth a row with a half sine over so many places."""
    count = max(int(places), 1)
    weights = np.sin(np.pi * (np.arange(count) + 0.5) / count)
    ahead = (count - 1) // 2
    padded = np.pad(row, (ahead, count - 1 - ahead), mode="edge")
    from scipy.signal import oaconvolve

    return np.asarray(oaconvolve(padded, weights / weights.sum(), mode="valid"))
