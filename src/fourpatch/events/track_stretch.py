"""A stretch of a track's road, driven straight along at one speed."""

from dataclasses import dataclass
from typing import Final

import numpy as np

from fourpatch.car.car import Car
from fourpatch.errors import EventError
from fourpatch.events.motion import RigMotion, half_steps, straight_inputs
from fourpatch.events.phase import Phase
from fourpatch.track.road import RoadProfile, fade_in

LEAD_IN: Final = 30.0
"""Of the road before a stretch, over which its heights grow from nothing. [m]"""

LEAST: Final = 1.0
"""Shortest time on a stretch. [s]"""


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class TrackStretch:
    """Drive straight along what the wheels of a lap feel of a stretch of road."""

    name: str
    """Where it is."""
    profile: RoadProfile
    """Of the stretch, `LEAD_IN` before it included; distance from 0."""
    speed: float
    """Held throughout. [m/s]"""

    def motion(self, car: Car, step: float) -> RigMotion:
        """Return what the rig does, at half steps of ``step`` [s].

        Notes
        -----
        The lateral and longitudinal acceleration of the lap are left out, so are its banks and slopes: only
        what is rough is met, and kerbs that the line runs over.
        """
        begin = (LEAD_IN + car.chassis.wheelbase) / self.speed
        time = half_steps((self.profile.length - 2.0) / self.speed, step)
        inputs = straight_inputs(car, fade_in(self.profile, lead_in=LEAD_IN), time=time, speed=self.speed)
        return RigMotion(
            name=self.name,
            step=step,
            inputs=inputs,
            store_every=max(1, round(2e-3 / step)),
            phases=(Phase("lead-in", 0.0, begin), Phase("road", begin, float(time[-1]) + step)),
        )


def track_stretch(
    road: RoadProfile, *, begin: float, end: float, closed: bool, speed: float, name: str
) -> TrackStretch:
    """Cut a stretch out of the road along a line.

    Parameters
    ----------
    road : along the whole line, from `track_road`.
    begin, end : along the line; the end comes first where the start line of a lap lies between. [m]
    closed : whether the road is a lap.
    speed : at which the stretch is driven. [m/s]

    Raises
    ------
    EventError
        If less than a second is left of it.
    """
    lap, points = road.length, road.distance.size - 1
    long = (end - begin) % lap if closed else end - begin
    first = begin - LEAD_IN
    if not closed:
        first, long = max(first, 0.0), min(long, lap - max(first, 0.0) - LEAD_IN)
    if long < LEAST * speed:
        raise EventError(
            f"{name}: {long:.0f} m of road at {3.6 * speed:.0f} km/h are less than a second, too short to "
            "say what bumps do. Name a longer part of the track."
        )
    count = int(np.ceil((LEAD_IN + long) / road.spacing)) + 1
    rows = round(first / road.spacing) + np.arange(count)
    rows = rows % points if closed else rows[rows <= points]
    return TrackStretch(
        name=name,
        profile=RoadProfile(
            distance=np.arange(rows.size, dtype=np.float64) * road.spacing,
            left=road.left[rows],
            right=road.right[rows],
        ),
        speed=speed,
    )
