"""A line along a track: what the middle of a car follows, and what the road does along it."""

from dataclasses import dataclass, fields

import numpy as np

from fourpatch.track.even_rows import EvenRows
from fourpatch.track.road import FloatArray


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class Line(EvenRows):
    """A line along a track at even distances along itself."""

    station: FloatArray
    """Distance along the centre line of the nearest place there, 0 to the length of the centre line. [m]"""
    offset: FloatArray
    """From the centre line, positive to the left. [m]"""
    x: FloatArray
    """In a level plane. [m]"""
    y: FloatArray
    """In a level plane, to the left of x. [m]"""
    heading: FloatArray
    """From the x axis to the left, counted on through full turns. [rad]"""
    curvature: FloatArray
    """Positive to the left. [1/m]"""
    banking: FloatArray
    """Positive where the left side is the higher one. [rad]"""
    gradient: FloatArray
    """Rise of the road per distance along the line, banking included. [1]"""
    vertical_curvature: FloatArray
    """Change of the gradient per distance: positive in a dip, negative over a crest. [1/m]"""


def thinned(line: Line, *, every: int) -> Line:
    """Return a line with fewer places, again evenly spaced: one for every so many, both ends kept."""
    distance = np.linspace(0.0, line.length, max(2, (line.distance.size - 1) // every + 1))
    rows = {
        one.name: np.interp(distance, line.distance, getattr(line, one.name))
        for one in fields(line)
        if one.name != "closed"
    }
    return Line(closed=line.closed, **rows)
