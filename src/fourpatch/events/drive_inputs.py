"""What a driven car meets: its driver's controls in time, its engine, the road under its wheels."""

from collections.abc import Sequence
from dataclasses import dataclass, field

import numpy as np
from numpy.typing import NDArray

from fourpatch.car.car import Car
from fourpatch.car.engine_curve import engine_table
from fourpatch.errors import EventError
from fourpatch.events.motion import half_steps
from fourpatch.events.phase import Phase
from fourpatch.track.contact_filter import tyre_path
from fourpatch.track.road import RoadProfile

Array = NDArray[np.float64]

ENDLESS = 1e18
"""A lap longer than any way. [m]"""

_FASTEST_WHEEL, _WHEEL_SPACING = 420.0, 0.5  # of the engine table [rad/s]


@dataclass(frozen=True, slots=True, kw_only=True)
class DriveControls:
    """What a driver does in time, whatever the car does: at every half step of the integrator."""

    name: str
    step: float
    """[s]"""
    steer: Array
    """(2 steps + 1,) of the road wheels, from where each car's driver held them at the start. [rad]"""
    throttle: Array
    """0 to 1, added to the held one."""
    brake: Array
    """0 to 1."""
    holding: Array
    """Share of the throttle that held each car's speed at the start."""
    store_every: int
    """Stored instants are this many steps apart."""
    phases: tuple[Phase, ...] = field(default=())

    @property
    def steps(self) -> int:
        """Number of steps."""
        return (self.steer.size - 1) // 2

    @property
    def interval(self) -> float:
        """Time between stored instants. [s]"""
        return self.step * self.store_every


def controls_in_time(
    time: Array,
    *,
    name: str,
    step: float,
    road_wheel_angle: Array | None = None,
    steering_wheel_angle: Array | None = None,
    steering_ratio: float | None = None,
    throttle: Array | None = None,
    brake: Array | None = None,
    holding: Array | None = None,
    store_every: int = 1,
) -> DriveControls:
    """Return controls read from series in time, straight between their points.

    Parameters
    ----------
    time : (n,) rising from 0. [s]
    step : of the integrator. [s]
    road_wheel_angle : (n,) left positive; or ``steering_wheel_angle`` with its ``steering_ratio``. [rad]
    throttle, brake : (n,) 0 to 1; not touched if left out.
    holding : (n,) share of the throttle that held the speed at the start; none if left out.
    store_every : stored instants are this many steps apart.

    Raises
    ------
    EventError
        If times do not rise from 0, the steering is given twice or without its ratio, or a pedal leaves
        0 to 1.
    """
    if time.size < 2 or time[0] != 0.0 or np.min(np.diff(time)) <= 0.0:
        raise EventError(f"{name}: times must begin at 0 s and rise. Sort them and drop repeated ones.")
    if steering_wheel_angle is not None:
        if road_wheel_angle is not None or not steering_ratio:
            raise EventError(
                f"{name}: the steering is known from road_wheel_angle, or from steering_wheel_angle with "
                "steering_ratio. Give one or the other."
            )
        road_wheel_angle = steering_wheel_angle / steering_ratio
    for pedal, series in (("throttle", throttle), ("brake", brake), ("holding", holding)):
        if series is not None and not (0.0 <= np.min(series) and np.max(series) <= 1.0):
            raise EventError(
                f"{name}: {pedal} runs from {np.min(series):g} to {np.max(series):g}; it lies between 0, not "
                "touched, and 1, fully pressed. Scale it."
            )
    halves, still = half_steps(float(time[-1]), step), np.zeros(time.size)
    steer, opened, pressed, held = (
        np.interp(halves, time, still if series is None else series)
        for series in (road_wheel_angle, throttle, brake, holding)
    )
    return DriveControls(
        name=name,
        step=step,
        steer=steer,
        throttle=opened,
        brake=pressed,
        holding=held,
        store_every=store_every,
    )


@dataclass(frozen=True, slots=True, kw_only=True)
class Engines:
    """Torque at the wheels of each car over evenly spaced wheel speeds."""

    torque: Array
    """(cars, n, 2) throttle open and closed. [N m]"""
    spacing: float
    """[rad/s]"""

    def only(self, car: int) -> "Engines":
        """Return the engine of one of the cars."""
        return Engines(torque=self.torque[car : car + 1], spacing=self.spacing)


def engines_of(cars: Sequence[Car]) -> Engines:
    """Return the engines of cars."""
    tables = [engine_table(car, fastest=_FASTEST_WHEEL, spacing=_WHEEL_SPACING) for car in cars]
    return Engines(torque=np.stack(tables), spacing=_WHEEL_SPACING)


@dataclass(frozen=True, slots=True, kw_only=True)
class DriveRoad:
    """A road as four wheels feel it: cubics between evenly spaced points, level before and after."""

    stretches: Array
    """(n, 4, 4) of stretch and wheel: coefficients of the distance into it, constant first. SI units."""
    spacing: float
    """[m]"""
    origin: float
    """Where the first stretch begins; the front wheels start at 0. [m]"""
    lap: float = ENDLESS
    """After which it begins again. [m]"""

    def height_under(self, distance: Array, corner: int) -> Array:
        """Height under a wheel at its distances along the road. [m]"""
        along = np.fmod(distance - self.origin, self.lap)
        place = np.clip(along / self.spacing, 0.0, self.stretches.shape[0] - 1e-9)
        k = place.astype(np.intp)
        s = (place - k) * self.spacing
        a, b, c, d = np.moveaxis(self.stretches[k, corner], -1, 0)
        return np.asarray(a + s * (b + s * (c + s * d)))


LEVEL_ROAD = DriveRoad(stretches=np.zeros((1, 4, 4)), spacing=1.0, origin=0.0)
"""Flat and endless."""


def lay_drive_road(car: Car, profile: RoadProfile) -> DriveRoad:
    """Return what a car's wheels feel of a road; its front wheels start at the profile's distance 0.

    Notes
    -----
    The same filter and the same spline as the rig's road (`motion.lay_road`), so that both ways of driving
    meet the same bump. The rear wheels follow in the tracks of the front ones however the car points.
    """
    from scipy.interpolate import CubicSpline

    distance, n = profile.distance, profile.distance.size
    stretches = np.zeros((n + 1, 4, 4))
    for corner, axle in enumerate((car.front, car.front, car.rear, car.rear)):
        heights = tyre_path(
            profile.left if corner % 2 == 0 else profile.right,
            profile.spacing,
            contact_length=axle.tyre.contact_length,
            tyre_radius=axle.tyre.radius,
        )
        stretches[1:n, corner] = CubicSpline(distance, heights).c[::-1].T
        stretches[0, corner, 0], stretches[n, corner, 0] = heights[0], heights[-1]
    origin = float(distance[0]) - profile.spacing
    return DriveRoad(stretches=stretches, spacing=profile.spacing, origin=origin)
