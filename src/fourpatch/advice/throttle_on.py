"""Throttle opened out of a steady turn, the drive free: how much of it can be used, and which end slides."""

from collections.abc import Sequence
from typing import Final, NamedTuple

import numpy as np
from numpy.typing import NDArray

from fourpatch.car.car import Car
from fourpatch.errors import SolveError
from fourpatch.events.drive import Driven, DriveRun, drive_from, made_ready, step_for
from fourpatch.events.drive_inputs import DriveControls
from fourpatch.events.drive_start import settle_drive
from fourpatch.events.motion import half_steps
from fourpatch.events.trial import CornerTrial, lateral_acceleration, slowest_speed
from fourpatch.physics.layout import CORNER_BASE, N_CORNER, C, O, X

Array = NDArray[np.float64]

SHARES: Final = (0.8, 0.7, 0.6, 0.5)
"""Of the corner's lateral acceleration, the first at which all cars turn steadily; on exit it is less."""

_BEFORE, _RISE = 0.2, 2.0  # steady turn ahead of the throttle, and from there to all of it [s]
_SPINNING = 1.2  # rim speed over the car's speed from which on a wheel spins, beyond any tyre's peak


class ThrottleOn(NamedTuple):
    """What cars do when the throttle is opened and the steering held."""

    traction: Array
    """(cars,) Largest forward acceleration until a driven wheel spins, or all throttle is had. [m/s^2]"""
    turning: Array
    """(cars,) Yaw rate over speed, over that of the steady turn, less 1, when the first car's wheel spins, at
    one throttle for all: above zero the rear comes round, below it the front runs wide. [1]"""
    spins: NDArray[np.bool_]
    """(cars,) Whether a driven wheel spins before all throttle is had."""
    lateral_acceleration: float
    """Of the steady turn. [m/s^2]"""


def throttle_on(cars: Sequence[Car], corner: CornerTrial) -> ThrottleOn | None:
    """Open the throttle of cars out of a steady turn at a corner's slowest speed; None if they find none.

    Notes
    -----
    The turn of ISO 7975, with the throttle in place of the brake: steering held, throttle from what holds the
    speed to all of it in 2 s, slowly enough that the car settles to it. A test of this project; that traction
    and which end slides are the two things to tell on exit is common practice, no published source.
    """
    driven, speed = made_ready(cars), slowest_speed(corner)
    for share in SHARES:
        wanted = share * lateral_acceleration(corner)
        try:
            start = settle_drive(
                driven.parameters,
                driven.engines,
                speed=speed,
                lateral_acceleration=wanted,
                name="throttle on",
            )
            run = drive_from(start, driven, _controls(step_for(driven, speed=speed)))
        except SolveError:
            continue
        return _read(run, driven, cars, wanted)
    return None


def _controls(step: float) -> DriveControls:
    time = half_steps(_BEFORE + _RISE, step)
    opened = np.clip((time - _BEFORE) / _RISE, 0.0, 1.0)
    return DriveControls(
        name="throttle on",
        step=step,
        steer=np.zeros(time.size),
        throttle=opened,
        brake=np.zeros(time.size),
        holding=1.0 - opened,
        store_every=max(1, round(5e-3 / step)),
    )


def _read(run: DriveRun, driven: Driven, cars: Sequence[Car], lateral: float) -> ThrottleOn:
    states, outputs = run.history.states, run.history.outputs
    last = states.shape[1] - 1
    ends = np.array([_first_spin(states[k], driven.parameters[k], car) for k, car in enumerate(cars)])
    spins = ends <= last
    ends = np.minimum(ends, last)
    path = states[:, :, X.yaw_rate] / states[:, :, X.forward_velocity]
    return ThrottleOn(
        traction=np.array(
            [outputs[k, : end + 1, O.longitudinal_acceleration].max() for k, end in enumerate(ends)]
        ),
        turning=path[:, ends[0]] / path[:, 0] - 1.0,
        spins=spins,
        lateral_acceleration=lateral,
    )


def _first_spin(states: Array, parameters: Array, car: Car) -> int:
    """Return the first instant at which a driven wheel spins; one beyond the last if none does."""
    front = car.driveline.front_drive_share
    wheels = [wheel for wheel in range(4) if (front > 0.0 if wheel < 2 else front < 1.0)]
    radius = np.array([parameters[CORNER_BASE + wheel * N_CORNER + C.tyre_radius] for wheel in wheels])
    rim = states[:, [X.spin + wheel for wheel in wheels]] * radius
    over = (rim > _SPINNING * states[:, [X.forward_velocity]]).any(axis=1)
    return int(np.argmax(over)) if over.any() else len(over)
