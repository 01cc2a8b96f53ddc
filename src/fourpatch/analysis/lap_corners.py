"""A lap by its corners and sectors: speeds, times, and which axle was the limit."""

from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from fourpatch.analysis.lap_profile import DOING, LIMITS, LapProfile
from fourpatch.errors import EventError
from fourpatch.track.corners import Corner, CornerLimits, find_corners
from fourpatch.track.layout import TrackLayout

Array = NDArray[np.float64]


@dataclass(frozen=True, slots=True, kw_only=True)
class CornerPassage:
    """How a corner is passed on a lap."""

    corner: Corner
    """Classed by the speed of this lap."""
    entry_speed: float
    """Where the corner begins. [m/s]"""
    slowest_speed: float
    """[m/s]"""
    slowest_station: float
    """Where along the centre line it is slowest. [m]"""
    exit_speed: float
    """Where the corner ends. [m/s]"""
    time: float
    """From its beginning to its end. [s]"""
    largest_lateral: float
    """Of the acceleration, level, whichever way. [m/s^2]"""
    limit: str
    """What holds the car where it is slowest, one of `LIMITS`; "none" where it could corner faster."""


def corner_passages(
    profile: LapProfile, layout: TrackLayout, *, limits: CornerLimits | None = None
) -> tuple[CornerPassage, ...]:
    """Return how a lap passes the corners of the track it was computed on, in driving order.

    Parameters
    ----------
    layout : of the same track.
    limits : from where on a bend counts as a corner, and which are called slow and fast.
    """
    stations = _Stations(profile)
    corners = find_corners(layout, limits=limits, speed=lambda at: float(stations.read(profile.speed, at)))
    return tuple(_passage(profile, stations, corner) for corner in corners)


def sector_times(profile: LapProfile, *, sectors: int = 3) -> tuple[float, ...]:
    """Return the times of equally long sectors of the centre line. [s]

    Raises
    ------
    EventError
        If no sector is asked for.
    """
    if sectors < 1:
        raise EventError(f"sectors: {sectors} are asked for; a lap has one at least. Ask for one or more.")
    stations = _Stations(profile)
    ends = np.linspace(0.0, stations.length, sectors + 1)
    return tuple(np.diff(stations.read(profile.time, ends)).tolist())


class _Stations:
    """What a lap did against distance along the centre line."""

    def __init__(self, profile: LapProfile) -> None:
        # A line may hardly move along the centre line where it runs across it; stations never fall back.
        self.station = np.maximum.accumulate(profile.line.station)
        self.length = float(self.station[-1])
        self.lap_time = profile.lap_time

    def read(self, row: Array, station: float | Array) -> Array:
        """Return a row of the profile at stations within the lap."""
        return np.asarray(np.interp(station, self.station, row))

    def within(self, start: float, end: float) -> NDArray[np.intp]:
        """Places from a station to another, over the start line if need be; never none."""
        inside = (self.station >= start) & (self.station <= end)
        if end < start:
            inside = (self.station >= start) | (self.station <= end)
        found = np.flatnonzero(inside)
        return found if found.size else np.array([int(np.argmin(np.abs(self.station - start)))])


def _passage(profile: LapProfile, stations: _Stations, corner: Corner) -> CornerPassage:
    places = stations.within(corner.start, corner.end)
    slowest = int(places[np.argmin(profile.speed[places])])
    begun, ended = (float(stations.read(profile.time, at)) for at in (corner.start, corner.end))
    cornering = DOING[profile.doing[slowest]] == "cornering"
    return CornerPassage(
        corner=corner,
        entry_speed=float(stations.read(profile.speed, corner.start)),
        slowest_speed=float(profile.speed[slowest]),
        slowest_station=float(stations.station[slowest]),
        exit_speed=float(stations.read(profile.speed, corner.end)),
        time=ended - begun if corner.end >= corner.start else ended - begun + stations.lap_time,
        largest_lateral=float(np.abs(profile.lateral_acceleration[places]).max()),
        limit=LIMITS[profile.limit[slowest]] if cornering else "none",
    )
