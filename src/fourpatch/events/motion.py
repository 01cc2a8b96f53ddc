"""Prescribed motion of the rig: a time axis, what is prescribed at each half step, and its phases."""

from dataclasses import dataclass, field, replace

import numpy as np
from numpy.typing import NDArray

from fourpatch.car.car import Car
from fourpatch.car.engine_curve import overrun_wheel_torque
from fourpatch.events.phase import Phase
from fourpatch.physics.layout import N_INPUT, I
from fourpatch.track.contact_filter import sample_profile, tyre_path
from fourpatch.track.road import RoadProfile

Array = NDArray[np.float64]

LEAD_IN = 5.0
"""Smooth road before anything happens, ahead of the front axle. [m]"""


@dataclass(frozen=True, slots=True, kw_only=True)
class RigMotion:
    """What the rig does to the car, sampled at every half step of the integrator."""

    name: str
    step: float
    """[s]"""
    inputs: Array
    """(2 steps + 1, N_INPUT), columns as in `layout.InputSlots`, SI."""
    store_every: int
    """Stored instants are this many steps apart."""
    phases: tuple[Phase, ...] = field(default=())

    @property
    def steps(self) -> int:
        """Number of steps."""
        return int(self.inputs.shape[0] - 1) // 2

    @property
    def duration(self) -> float:
        """[s]"""
        return self.steps * self.step

    def when(self, time: float) -> str:
        """Return a time with its phase: ``3.22 s (exit)``."""
        phase = next((f" ({one.name})" for one in self.phases if one.start <= time < one.end), "")
        return f"{time:.2f} s{phase}"

    def between(self, start: float, end: float, *, every: int = 1) -> "RigMotion":
        """Return the part of the motion between two times, whole stored instants at either end.

        Parameters
        ----------
        start, end : cut to what there is. [s]
        every : of the stored instants, how many steps of them are kept as one.

        Notes
        -----
        A car then starts settled in the motion of that instant, so a part begins some tenths of a second
        before what is to be measured: bodies swing at 1 to 6 Hz and are damped.
        """
        apart = every * self.store_every
        interval = self.step * apart
        first = int(np.clip(np.floor(start / interval + 1e-9), 0, self.steps // apart))
        last = int(np.clip(np.ceil(end / interval - 1e-9), first, self.steps // apart))
        rows = 2 * apart
        shift, length = first * interval, (last - first) * interval
        kept = [
            Phase(one.name, max(one.start - shift, 0.0), min(one.end - shift, length + self.step))
            for one in self.phases
            if one.end > shift and one.start < shift + length
        ]
        return replace(
            self,
            inputs=self.inputs[rows * first : rows * last + 1],
            store_every=apart,
            phases=tuple(kept),
        )


def half_steps(duration: float, step: float) -> Array:
    """Return the times of all half steps from 0 to ``duration``, rounded up to whole steps. [s]"""
    steps = int(np.ceil(duration / step - 1e-9))
    return np.arange(2 * steps + 1, dtype=np.float64) * (step / 2.0)


def ramp(time: Array, *, start: float, duration: float) -> Array:
    """Rise from 0 to 1 along a half cosine. [1]"""
    return np.asarray(0.5 - 0.5 * np.cos(np.pi * np.clip((time - start) / duration, 0.0, 1.0)))


def planar_inputs(
    car: Car,
    time: Array,
    *,
    speed: Array,
    longitudinal_acceleration: Array,
    lateral_acceleration: Array,
    curvature: Array,
) -> Array:
    """Return rig inputs of a smooth planar motion on a flat road.

    Parameters
    ----------
    speed, longitudinal_acceleration, lateral_acceleration : (n,) along the path. [m/s], [m/s^2]
    curvature : of the path, positive to the left. [1/m]

    Notes
    -----
    The car is taken to point along its path: yaw rate is speed x curvature, and the steer angle, which
    only leans the front wheels by caster, is wheelbase x curvature. Throttle closed means the engine's
    overrun torque in the lowest gear it can use.
    """
    inputs = np.zeros((time.size, N_INPUT))
    inputs[:, I.speed] = speed
    inputs[:, I.longitudinal_acceleration] = longitudinal_acceleration
    inputs[:, I.lateral_acceleration] = lateral_acceleration
    inputs[:, I.yaw_acceleration] = np.gradient(speed * curvature, time)
    inputs[:, I.path_curvature] = curvature
    inputs[:, I.steer] = car.chassis.wheelbase * curvature
    inputs[:, I.engine_torque] = -overrun_wheel_torque(car, speed)
    return inputs


def steady_rows(
    car: Car, *, speed: Array, lateral_acceleration: Array, longitudinal_acceleration: Array
) -> Array:
    """Return rows of inputs, (n, N_INPUT): steady motions on a flat road.

    Parameters
    ----------
    speed : (n,). [m/s]
    lateral_acceleration, longitudinal_acceleration : (n,). [m/s^2]
    """
    curvature = np.where(speed > 0.0, lateral_acceleration / np.maximum(speed, 1e-9) ** 2, 0.0)
    inputs = np.zeros((speed.size, N_INPUT))
    inputs[:, I.speed] = speed
    inputs[:, I.longitudinal_acceleration] = longitudinal_acceleration
    inputs[:, I.lateral_acceleration] = lateral_acceleration
    inputs[:, I.path_curvature] = curvature
    inputs[:, I.steer] = car.chassis.wheelbase * curvature
    inputs[:, I.engine_torque] = -overrun_wheel_torque(car, speed)
    return inputs


def steady_inputs(
    car: Car, *, speed: float, lateral_acceleration: float = 0.0, longitudinal_acceleration: float = 0.0
) -> Array:
    """Return one row of inputs: steady motion on a flat road."""
    rows = steady_rows(
        car,
        speed=np.array([speed]),
        lateral_acceleration=np.array([lateral_acceleration]),
        longitudinal_acceleration=np.array([longitudinal_acceleration]),
    )
    return np.asarray(rows[0])


def lay_road(inputs: Array, car: Car, profile: RoadProfile, *, distance: Array, speed: Array) -> None:
    """Write what the four wheels feel of a road into rig inputs.

    Parameters
    ----------
    distance : (n,) of the front axle along the profile; the rear axle follows a wheelbase behind. [m]
    speed : (n,). [m/s]
    """
    for corner, axle in enumerate((car.front, car.front, car.rear, car.rear)):
        heights = tyre_path(
            profile.left if corner % 2 == 0 else profile.right,
            profile.spacing,
            contact_length=axle.tyre.contact_length,
            tyre_radius=axle.tyre.radius,
        )
        behind = 0.0 if corner < 2 else car.chassis.wheelbase
        felt = sample_profile(profile.distance, heights, distance - behind)
        inputs[:, I.road + corner] = felt.height
        inputs[:, I.road_speed + corner] = felt.slope * speed


def straight_inputs(
    car: Car, profile: RoadProfile, *, time: Array, speed: float, distance: Array | None = None
) -> Array:
    """Return rig inputs of a straight over an uneven road at constant speed.

    Parameters
    ----------
    speed : [m/s]
    distance : (n,) of the front axle along the profile; from 0 on if left out. [m]
    """
    along, still = np.full(time.size, speed), np.zeros(time.size)
    inputs = planar_inputs(
        car, time, speed=along, longitudinal_acceleration=still, lateral_acceleration=still, curvature=still
    )
    lay_road(inputs, car, profile, distance=speed * time if distance is None else distance, speed=along)
    return inputs
