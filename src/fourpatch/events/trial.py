"""What a change of set-up is tried in: a corner, bumps, or the drive's answer to the steering."""

from typing import Final

import numpy as np
from numpy.typing import NDArray

from fourpatch.car.car import Car
from fourpatch.events.bumps import BumpEvent
from fourpatch.events.corner import Corner
from fourpatch.events.motion import RigMotion
from fourpatch.events.steady_states import all_under_gravity
from fourpatch.events.step_steer import StepSteer
from fourpatch.events.track_corner import CornerOnLap
from fourpatch.events.track_stretch import TrackStretch

Array = NDArray[np.float64]

CornerTrial = Corner | CornerOnLap
"""A corner: of this project's making, or of a track."""
BumpTrial = BumpEvent | TrackStretch
"""Bumps; its first phase leads in, all after it is measured."""
RigTrial = CornerTrial | BumpTrial
Trial = RigTrial | StepSteer

LEAD: Final = 0.8
"""Of a track's corner that is run before its first phase: five periods of a body that swings at 6 Hz, more
than one of one at 1.3 Hz, most of it at a steady throttle. [s]"""


THINNED: Final = 2
"""Stored instants of a track's corner taken as one, 8 ms: means over phases of tenths of a second or more, of
movements below 10 Hz."""


def rig_motion(trial: RigTrial, car: Car, step: float) -> RigMotion:
    """Return what the rig does, at half steps of ``step`` [s]; of a track's corner its phases alone."""
    motion = trial.motion(car, step)
    if not isinstance(trial, CornerOnLap):
        return motion
    return motion.between(motion.phases[0].start - LEAD, motion.phases[-1].end, every=THINNED)


def pressed_on(trial: Trial, vectors: Array) -> Array:
    """Return cars under the normal force of a trial's road, (cars, N_PARAMETER).

    Parameters
    ----------
    vectors : (cars, N_PARAMETER) as on the level.
    """
    return all_under_gravity(vectors, trial.gravity) if isinstance(trial, CornerOnLap) else vectors


def slowest_speed(corner: CornerTrial) -> float:
    """Return the speed a corner is taken at where it is slowest. [m/s]"""
    return corner.speed if isinstance(corner, Corner) else corner.slowest_speed


def lateral_acceleration(corner: CornerTrial) -> float:
    """Return the lateral acceleration a corner is held at, positive whichever way. [m/s^2]"""
    if isinstance(corner, Corner):
        return corner.speed**2 / corner.radius
    return float(abs(np.interp(corner.slowest, corner.time, corner.tyre_lateral)))
