"""A quasi-steady lap in numbers: its time, its sectors, and how it passes each corner."""

from dataclasses import dataclass
from typing import Annotated

import numpy as np
from numpy.typing import NDArray

from fourpatch.analysis.lap_profile import DOING, LIMITS, LapProfile, lap_profile
from fourpatch.analysis.limits_map import LimitsMap, Margins, limits_map
from fourpatch.analysis.quantity import ALONG, SHARE, SPEED, TIME, Findings, Measure
from fourpatch.car.car import Car
from fourpatch.errors import EventError
from fourpatch.track.corners import Corner, find_corners
from fourpatch.track.layout import TrackLayout, lay_out
from fourpatch.track.line import Line
from fourpatch.track.racing_line import least_curvature_line
from fourpatch.track.track import Track

Array = NDArray[np.float64]

SECTORS = 3
"""Of a lap, equally long."""

ACCELERATION = Measure("m/s**2", "m/s**2")

PROFILE_UNITS = {
    "station": ("m", "along the centre line"),
    "distance": ("m", "along the line driven"),
    "time": ("s", "since the start line"),
    "speed": ("m/s", "along the road"),
    "highest_speed": ("m/s", "at which the curve there could just be held"),
    "longitudinal_acceleration": ("m/s**2", "change of speed"),
    "lateral_acceleration": ("m/s**2", "level, to the left"),
}
"""Unit and meaning of each row of `profile_rows`."""

_TREAD = 0.25  # width of a tyre, half of which stands out of the track width on each side [m]


class LapCorner(Findings):
    """How a lap passes a corner; stations are along the centre line."""

    corner: str
    """Its number, counted from the start line."""
    direction: str
    """Which way it turns: left or right."""
    speed_class: str
    """Slow, medium or fast, by the speed of this lap at its apex."""
    length_class: str
    """Short or long."""
    limit: str
    """What holds the car where it is slowest: front axle, rear axle, or none where it could corner faster."""
    start: Annotated[float, ALONG]
    """Where the radius of the centre line falls below 400 m."""
    slowest_at: Annotated[float, ALONG]
    """Where the car is slowest between start and end."""
    end: Annotated[float, ALONG]
    """Where the radius is beyond 400 m again; before `start` if the start line lies between."""
    entry_speed: Annotated[float, SPEED]
    """At the start."""
    slowest_speed: Annotated[float, SPEED]
    """Where it is slowest."""
    exit_speed: Annotated[float, SPEED]
    """At the end."""
    time: Annotated[float, TIME]
    """From start to end."""
    lateral_acceleration: Annotated[float, ACCELERATION]
    """Largest, whichever way."""


class LapSector(Findings):
    """A part of the lap."""

    time: Annotated[float, TIME]
    """It takes."""


class LapSummary(Findings):
    """What there is to know of a lap."""

    lap_time: Annotated[float, TIME]
    """From the start line round to it, or to the end of an open track."""
    line_length: Annotated[float, ALONG]
    """Of the line driven."""
    mean_speed: Annotated[float, SPEED]
    """Length over time."""
    highest_speed: Annotated[float, SPEED]
    """Anywhere."""
    lowest_speed: Annotated[float, SPEED]
    """Anywhere."""
    acceleration: Annotated[float, ACCELERATION]
    """Largest along the road."""
    deceleration: Annotated[float, ACCELERATION]
    """Largest along the road."""
    lateral_acceleration: Annotated[float, ACCELERATION]
    """Largest, whichever way."""
    braking: Annotated[float, SHARE]
    """Share of the time spent slowing down."""
    cornering: Annotated[float, SHARE]
    """Share of the time at the speed that the curve allows."""
    driving: Annotated[float, SHARE]
    """Share of the time gaining speed."""
    front_limited: Annotated[float, SHARE]
    """Share of the time in which the front axle is what limits the car."""
    rear_limited: Annotated[float, SHARE]
    """The rear axle."""
    engine_limited: Annotated[float, SHARE]
    """The engine."""
    brakes_limited: Annotated[float, SHARE]
    """The torque of the brakes."""
    sectors: tuple[LapSector, ...]
    """Equally long along the centre line, in driving direction."""
    corners: tuple[LapCorner, ...]
    """In driving direction."""


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class LapStudy:
    """A lap with all that its summary and its pictures are made from."""

    track: Track
    line: Line
    limits: LimitsMap
    profile: LapProfile
    summary: LapSummary


def car_width(car: Car) -> float:
    """Width of a car over its tyres. [m]"""
    return max(car.front.track_width, car.rear.track_width) + _TREAD


def driven_line(car: Car, track: Track) -> Line:
    """Return the line of least curvature that a car of this width can drive on a track.

    Raises
    ------
    TrackError
        If the track cannot be, or is too narrow for the car.
    """
    return least_curvature_line(track, car_width=car_width(car))


def study_lap(
    car: Car,
    track: Track,
    *,
    use: Margins | None = None,
    line: Line | None = None,
    start_speed: float | None = None,
    near: LimitsMap | None = None,
) -> LapStudy:
    """Compute a lap of a track quasi-steadily.

    Parameters
    ----------
    use : of the worse axle's grip; all of it if left out.
    line : to follow; that of least curvature if left out.
    start_speed : of an open track; as fast as the first place allows if left out. [m/s]
    near : as `limits_map`.

    Raises
    ------
    TrackError, EventError, SolveError
        As `driven_line`, `limits_map` and `lap_profile`.
    """
    followed = driven_line(car, track) if line is None else line
    limits = limits_map(car, use=use, near=near)
    profile = lap_profile(limits, followed, start_speed=start_speed)
    summary = lap_summary(profile, lay_out(track))
    return LapStudy(track=track, line=followed, limits=limits, profile=profile, summary=summary)


def lap_summary(profile: LapProfile, layout: TrackLayout, *, sectors: int = SECTORS) -> LapSummary:
    """Return a lap in numbers.

    Parameters
    ----------
    layout : of the track the lap was computed on.
    sectors : how many, one or more.

    Raises
    ------
    EventError
        If no sector is asked for.
    """
    if sectors < 1:
        raise EventError(f"sectors: {sectors} are asked for; a lap has one at least. Ask for one or more.")
    stations = _Stations(profile)
    corners = find_corners(layout, speed=lambda at: float(stations.read(profile.speed, at)))
    along = profile.longitudinal_acceleration
    ends = stations.read(profile.time, np.linspace(0.0, stations.length, sectors + 1))
    shares = _shares(profile)
    return LapSummary(
        lap_time=profile.lap_time,
        line_length=profile.line.length,
        mean_speed=profile.line.length / profile.lap_time,
        highest_speed=float(profile.speed.max()),
        lowest_speed=float(profile.speed.min()),
        acceleration=float(max(along.max(), 0.0)),
        deceleration=float(max(-along.min(), 0.0)),
        lateral_acceleration=float(np.abs(profile.lateral_acceleration).max()),
        braking=shares["braking"],
        cornering=shares["cornering"],
        driving=shares["driving"],
        front_limited=shares["front axle"],
        rear_limited=shares["rear axle"],
        engine_limited=shares["engine"],
        brakes_limited=shares["brakes"],
        sectors=tuple(LapSector(time=float(time)) for time in np.diff(ends)),
        corners=tuple(_corner(profile, stations, corner) for corner in corners),
    )


def _shares(profile: LapProfile) -> dict[str, float]:
    """Share of the time spent in everything of `DOING` and `LIMITS`."""
    # Each place stands for half of the stretches beside it.
    stretch = np.diff(profile.time)
    time = 0.5 * (np.append(stretch, 0.0) + np.append(0.0, stretch)) / profile.lap_time
    doing = np.bincount(profile.doing, weights=time, minlength=len(DOING))
    limit = np.bincount(profile.limit, weights=time, minlength=len(LIMITS))
    return {
        **dict(zip(DOING, doing.tolist(), strict=True)),
        **dict(zip(LIMITS, limit.tolist(), strict=True)),
    }


class _Stations:
    """What a lap did against distance along the centre line."""

    def __init__(self, profile: LapProfile) -> None:
        # A line may hardly move along the centre line where it runs across it; stations never fall back.
        self.station = np.maximum.accumulate(profile.line.station)
        self.length = float(self.station[-1])

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


def _corner(profile: LapProfile, stations: _Stations, corner: Corner) -> LapCorner:
    places = stations.within(corner.start, corner.end)
    slowest = int(places[np.argmin(profile.speed[places])])
    begun, ended = (float(stations.read(profile.time, at)) for at in (corner.start, corner.end))
    held = DOING[profile.doing[slowest]] == "cornering"
    return LapCorner(
        corner=str(corner.number),
        direction=corner.direction,
        speed_class=corner.speed_class,
        length_class=corner.length_class,
        limit=LIMITS[profile.limit[slowest]] if held else "none",
        start=corner.start,
        slowest_at=float(stations.station[slowest]),
        end=corner.end,
        entry_speed=float(stations.read(profile.speed, corner.start)),
        slowest_speed=float(profile.speed[slowest]),
        exit_speed=float(stations.read(profile.speed, corner.end)),
        time=ended - begun if corner.end >= corner.start else ended - begun + profile.lap_time,
        lateral_acceleration=float(np.abs(profile.lateral_acceleration[places]).max()),
    )


def profile_rows(profile: LapProfile) -> dict[str, tuple[Array, str]]:
    """Return the rows of a lap that a program asks for, by name, each with its unit."""
    rows = {
        "station": profile.line.station,
        "distance": profile.line.distance,
        "time": profile.time,
        "speed": profile.speed,
        "highest_speed": profile.highest_speed,
        "longitudinal_acceleration": profile.longitudinal_acceleration,
        "lateral_acceleration": profile.lateral_acceleration,
    }
    return {name: (row, PROFILE_UNITS[name][0]) for name, row in rows.items()}
