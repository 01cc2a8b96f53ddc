"""A track at evenly spaced places: what a driver, a lap solver or a picture asks of it."""

from dataclasses import dataclass
from typing import Final

from fourpatch.track.checks import require_sound
from fourpatch.track.even_rows import EvenRows
from fourpatch.track.road import FloatArray
from fourpatch.track.road_shape import banking_at, elevation_at, widths_at
from fourpatch.track.spacing import even_distances
from fourpatch.track.track import Track

DEFAULT_SPACING: Final = 1.0
"""Between places, unless another is asked for; a 15 m arc of 90 deg has 24 of them. [m]"""


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class TrackLayout(EvenRows):
    """A track read at even distances along its centre line."""

    adjustment: str
    """What had to be done to the line as given, such as closing it."""
    x: FloatArray
    """In a level plane. [m]"""
    y: FloatArray
    """In a level plane, to the left of x. [m]"""
    heading: FloatArray
    """From the x axis to the left, counted on through full turns. [rad]"""
    curvature: FloatArray
    """Positive to the left. [1/m]"""
    banking: FloatArray
    """Positive where the left edge is the higher one. [rad]"""
    elevation: FloatArray
    """Of the centre line. [m]"""
    gradient: FloatArray
    """Rise of the elevation per distance. [-]"""
    left: FloatArray
    """From the centre line to the left edge. [m]"""
    right: FloatArray
    """From the centre line to the right edge. [m]"""


def lay_out(track: Track, *, spacing: float = DEFAULT_SPACING) -> TrackLayout:
    """Read a track at even distances.

    Parameters
    ----------
    track : to be read.
    spacing : between places, at most; the length is cut into the fewest equal steps of no more. [m]

    Returns
    -------
    TrackLayout

    Raises
    ------
    TrackError
        If the spacing is not positive or the track cannot be: everything that is wrong with it.

    Notes
    -----
    Between the given places the widths are linear, the banking is a monotone cubic (it does not swing beyond
    what is given), the elevation a cubic spline: periodic on a lap, so that gradient and vertical curvature
    are continuous everywhere.  Before the first and beyond the last given place of an open track they keep
    their values.
    """
    require_sound(track)
    drawn = track.centre_line.draw()
    line, road = drawn.line, track.road
    distance = even_distances(line.length, spacing=spacing)
    sample = line.at(distance)
    elevation, gradient = elevation_at(road.elevation, distance, line=line)
    left, right = widths_at(road.width, distance, line=line)
    return TrackLayout(
        closed=line.closed,
        adjustment=drawn.adjustment,
        distance=distance,
        x=sample.x,
        y=sample.y,
        heading=sample.heading,
        curvature=sample.curvature,
        banking=banking_at(road.banking, distance, line=line),
        elevation=elevation,
        gradient=gradient,
        left=left,
        right=right,
    )
