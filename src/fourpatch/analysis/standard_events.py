"""The tests every car is put through for a first answer, scaled to what the car can do."""

from collections.abc import Collection
from math import floor

from fourpatch.analysis.steady_limits import braking_limit, corner_speed, top_speed, traction_limit
from fourpatch.car.car import Car
from fourpatch.errors import EventError
from fourpatch.events.bumps import BumpEvent
from fourpatch.events.corner import Corner
from fourpatch.events.kerb_strike import KerbStrike
from fourpatch.events.rough_road import RoughRoad

CORNER_RADII = {"slow corner": 25.0, "medium corner": 60.0, "fast corner": 140.0}
"""Radius of each standard corner. [m]"""

CORNERING = 0.92
"""Use of the worse axle's grip in the middle of a standard corner."""

BRAKING = 0.85
"""Use of the worse axle's grip under full braking into it, and in traction out of it."""

_BRAKED = 1.3
"""Time at full deceleration that would slow a standard corner's car as its braking and entry do. [s]"""


def standard_events(car: Car) -> dict[str, Corner | BumpEvent]:
    """Return the events of a first answer, scaled to the car as it stands."""
    top = top_speed(car)
    return {**_corners(car, top), "rough road": _road(top), "kerb": standard_kerb(car)}


def standard_corners(car: Car, only: Collection[str] = tuple(CORNER_RADII)) -> dict[str, Corner]:
    """Return the three standard corners at speeds this car can do, or those of them that are wanted.

    Notes
    -----
    Speeds and accelerations follow from the car as it stands; changes of set-up are then compared in the
    same motion. No corner is approached faster than 95 % of top speed, nor taken faster than 90 % of that.
    """
    return _corners(car, top_speed(car), only)


def _corners(car: Car, top: float, only: Collection[str] = tuple(CORNER_RADII)) -> dict[str, Corner]:
    return {
        name: _corner(car, radius, None, 0.95 * top) for name, radius in CORNER_RADII.items() if name in only
    }


def scaled_corner(car: Car, *, radius: float, speed: float | None = None) -> Corner:
    """Return a left-hander of any radius, braked into and driven out of as the standard corners are.

    Parameters
    ----------
    radius : of its middle. [m]
    speed : in its middle, up to 90 % of 95 % of top speed; if left out, that of a standard corner. [m/s]

    Raises
    ------
    EventError
        If the speed is beyond that.
    """
    fastest = 0.95 * top_speed(car)
    if speed is not None and speed > 0.9 * fastest:
        raise EventError(
            f"corner at {speed * 3.6:.0f} km/h: {car.name} does {fastest / 0.95 * 3.6:.0f} km/h at the most; "
            f"take the corner at {floor(0.9 * fastest * 3.6)} km/h or slower."
        )
    return _corner(car, radius, speed, fastest)


def _corner(car: Car, radius: float, speed: float | None, fastest: float) -> Corner:
    if speed is None:
        speed = corner_speed(car, radius=radius, use=CORNERING, fastest=0.9 * fastest)
    return Corner(
        radius=radius,
        speed=speed,
        deceleration=min(braking_limit(car, speed=speed, use=BRAKING), (fastest - speed) / _BRAKED),
        acceleration=traction_limit(car, speed=speed, use=BRAKING),
    )


def standard_road(car: Car) -> RoughRoad:
    """Return a class B road at the speed of the standard medium corner's approach, about 40 m/s."""
    return _road(top_speed(car))


def _road(top: float) -> RoughRoad:
    return RoughRoad(speed=min(40.0, 0.8 * top))


def standard_kerb(car: Car) -> KerbStrike:
    """Return a ramped kerb under the left wheels at 30 m/s, of a height the car's clearance allows."""
    clearance = min(car.front.ride_height, car.rear.ride_height)
    return KerbStrike(height=min(0.05, round(0.6 * clearance, 3)))


def standard_bumps(car: Car) -> dict[str, RoughRoad | KerbStrike]:
    """Return the standard road and the standard kerb, by name."""
    return {"rough road": standard_road(car), "kerb": standard_kerb(car)}
