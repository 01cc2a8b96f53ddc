"""Kerbs under the wheels of a car along a line: their heights, and which is met where."""

import math
from collections.abc import Iterator
from dataclasses import dataclass
from typing import Final, Literal, NamedTuple

import numpy as np
from numpy.typing import NDArray

from fourpatch.errors import TrackError
from fourpatch.track.centre_line import CentreLine
from fourpatch.track.checks import require_sound
from fourpatch.track.kerb import INTERVALS_PER_PIECE
from fourpatch.track.line import Line
from fourpatch.track.line_at import spline_along
from fourpatch.track.road import SPACING_ROUNDING, FloatArray, require_positive
from fourpatch.track.road_shape import widths_at
from fourpatch.track.spacing import even_distances
from fourpatch.track.track import Track
from fourpatch.track.track_kerb import TrackKerb, TrackSide

Wheels = Literal["left", "right"]

COARSEST_SPACING: Final = 0.05
"""Between points of a road with random surfaces. [m]"""

_BETWEEN_PLACES = 1.05  # by which wheels beside the line may be stretched more than the line's own places
_OFF_ROAD = 1e-6  # room for rounding of the line's offsets [m]


@dataclass(frozen=True, slots=True, kw_only=True)
class KerbPassage:
    """A stretch over which the wheels of one side are on a kerb; distances are along the line."""

    kerb: int
    """Number of the kerb, in the order of the file, from 1."""
    side: TrackSide
    """Edge of the road it lies along."""
    wheels: Wheels
    """Which are on it."""
    start: float
    """Where they come onto it. [m]"""
    end: float
    """Where they leave it; before `start` if the start line of a lap lies between. [m]"""
    highest: float
    """Of what they meet. [m]"""


def kerb_passages(
    track: Track, line: Line, *, track_width: float, spacing: float | None = None
) -> list[KerbPassage]:
    """List the kerbs that wheels are on along a line.

    Parameters
    ----------
    track : to be driven.
    line : of the middle of the car.
    track_width : between the left and the right wheels. [m]
    spacing : as `track_road`. [m]

    Returns
    -------
    list of KerbPassage
        By start.  Where kerbs lie on each other the wheels are on all of them.

    Raises
    ------
    TrackError
        As `track_road`.
    """
    require_sound(track)
    require_positive(track_width, name="track width", unit="m", remedy="Cars have 1.2 to 1.8 m.")
    centre = track.centre_line.draw().line
    path = wheel_path(line, centre, road_distances(track, centre, line, spacing=spacing))
    met = [kerbs_under(track, centre, path, wheels, track_width=track_width) for wheels in _SIDES]
    return sorted((one for found in met for one in found.passages), key=lambda one: (one.start, one.kerb))


class WheelPath(NamedTuple):
    """A line at many places, with what it takes to say where wheels beside it are."""

    distance: FloatArray
    """Along the line. [m]"""
    station: FloatArray
    offset: FloatArray
    stretch: FloatArray
    """Station per distance. [-]"""
    sine: FloatArray
    """Of the angle from the centre line to the line. [-]"""
    closed: bool

    @property
    def spacing(self) -> float:
        """Between places. [m]"""
        return float(self.distance[-1]) / (self.distance.size - 1)

    def beside(self, to_left: float) -> tuple[FloatArray, FloatArray]:
        """Station and offset of wheels some way to the left of the line. [m], [m]

        Left out: the centre line bends under the wheel, k (b sin)²/8 across: 0.2 mm at the most.
        """
        cosine = np.sqrt(1.0 - self.sine**2)
        station = self.station - to_left * self.sine * self.stretch / cosine
        return station, self.offset + to_left * cosine


def wheel_path(line: Line, centre: CentreLine, distance: FloatArray) -> WheelPath:
    """Read a line at distances along it. [m]"""
    even = centre.length / line.length  # what a station differs from an even rise repeats on a lap
    station = spline_along(line.distance, line.station - even * line.distance, closed=line.closed)
    offset = spline_along(line.distance, line.offset, closed=line.closed)
    return WheelPath(
        distance=distance,
        station=even * distance + station(distance),
        offset=offset(distance),
        stretch=even + station(distance, 1),
        sine=offset(distance, 1),
        closed=line.closed,
    )


def road_distances(track: Track, centre: CentreLine, line: Line, *, spacing: float | None) -> FloatArray:
    """Places along a line, as far apart as random surfaces and kerbs allow if nothing else is said. [m]"""
    _require_of_track(line, centre)
    if spacing is None:
        path = wheel_path(line, centre, line.distance)
        spacing = min([COARSEST_SPACING, *(_finest(kerb, centre, path) for kerb in track.road.kerbs)])
    return even_distances(line.length, spacing=spacing)


def _require_of_track(line: Line, centre: CentreLine) -> None:
    if line.closed != centre.closed or abs(line.station[-1] - centre.length) > 0.01:
        raise TrackError(
            f"line: it runs to {line.station[-1]:.1f} m of the centre line, that of the track is "
            f"{centre.length:.1f} m long. Take a line of this track, from its start to its end."
        )


def _finest(kerb: TrackKerb, centre: CentreLine, path: WheelPath) -> float:
    """Spacing that keeps the shape of a kerb. [m]"""
    beside = [slice(max(one.start - 1, 0), one.stop + 1) for one in _along(kerb, centre, path.station)]
    stretch = max((float(np.max(path.stretch[one])) for one in beside), default=1.0)
    return _coarsest(kerb) / (stretch * _BETWEEN_PLACES)


def _coarsest(kerb: TrackKerb) -> float:
    """Spacing along the centre line that keeps the shape of a kerb. [m]"""
    return float(kerb.shape.cross_section().shortest_piece / INTERVALS_PER_PIECE)


class KerbsMet(NamedTuple):
    """Kerbs under the wheels of one side."""

    height: FloatArray
    """Shape of the path's places. [m]"""
    passages: list[KerbPassage]


_SIDES: Final[dict[Wheels, float]] = {"left": 0.5, "right": -0.5}


def kerbs_under(
    track: Track, centre: CentreLine, path: WheelPath, wheels: Wheels, *, track_width: float
) -> KerbsMet:
    """Heights of the kerbs under the wheels of one side, and the refusal of wheels off the road."""
    station, lateral = path.beside(_SIDES[wheels] * track_width)
    within = station % centre.length if centre.closed else np.clip(station, 0.0, centre.length)
    left, right = widths_at(track.road.width, within, line=centre)
    beyond: dict[TrackSide, FloatArray] = {"left": lateral - left, "right": -lateral - right}
    reach: dict[TrackSide, FloatArray] = {side: np.zeros_like(station) for side in beyond}
    height = np.zeros_like(station)
    passages: list[KerbPassage] = []
    for number, kerb in enumerate(track.road.kerbs, start=1):
        over = np.zeros(station.shape, dtype=np.bool_)
        under = np.zeros_like(station)
        outward = beyond[kerb.side]
        for part in _along(kerb, centre, station):
            along = (
                (station[part] - kerb.start) % centre.length if centre.closed else station[part] - kerb.start
            )
            reach[kerb.side][part] = np.maximum(reach[kerb.side][part], kerb.far_side)
            over[part] = (outward[part] > kerb.offset) & (outward[part] < kerb.far_side)
            under[part] = kerb.height_at(along, outward[part])
        if np.any(under > 0.0):
            _require_fine_enough(kerb, number, path.spacing, float(np.max(path.stretch[over])))
            passages.extend(_passages(number, kerb, wheels, over, under, path))
            height = np.maximum(height, under)
    for side, outside in beyond.items():
        _require_on_road(outside - reach[side], path.distance, wheels=wheels, side=side)
    return KerbsMet(height, passages)


def _along(kerb: TrackKerb, centre: CentreLine, station: FloatArray) -> Iterator[slice]:
    """Places that lie along a kerb: of one over the start line of a lap, those before and behind it."""
    for lap in (0.0, -centre.length, centre.length) if centre.closed else (0.0,):
        start = kerb.start + lap
        first, last = np.searchsorted(station, (start, start + kerb.length))
        if last > first:
            yield slice(int(first), int(last))


def _passages(
    number: int,
    kerb: TrackKerb,
    wheels: Wheels,
    over: NDArray[np.bool_],
    under: FloatArray,
    path: WheelPath,
) -> Iterator[KerbPassage]:
    """Stretches over which wheels are on a kerb, each with the highest they meet."""
    edge = np.flatnonzero(np.diff(over, prepend=False, append=False))
    found = [(int(first), int(last)) for first, last in zip(edge[::2], edge[1::2] - 1, strict=True)]
    highest = [float(np.max(under[first : last + 1])) for first, last in found]
    if path.closed and len(found) > 1 and over[0] and over[-1]:
        found[0], highest[0] = (found[-1][0], found[0][1]), max(highest[0], highest[-1])
        del found[-1], highest[-1]
    for (first, last), top in zip(found, highest, strict=True):
        if top > 0.0:
            start, end = float(path.distance[first]), float(path.distance[last])
            yield KerbPassage(kerb=number, side=kerb.side, wheels=wheels, start=start, end=end, highest=top)


def _require_fine_enough(kerb: TrackKerb, number: int, spacing: float, stretch: float) -> None:
    coarsest = _coarsest(kerb)
    if spacing * stretch > coarsest * (1.0 + SPACING_ROUNDING):
        shorter = f", {100.0 / stretch:.0f} % of it along the line" if stretch > 1.001 else ""
        raise TrackError(
            f"spacing is {spacing:.4g} m, the shortest piece of kerb {number} ({kerb.shape.kind}) "
            f"{kerb.shape.cross_section().shortest_piece:g} m{shorter}; at least {INTERVALS_PER_PIECE} "
            f"spacings must fit on it, or its shape is lost. Take a spacing of "
            f"{math.floor(1e4 * coarsest / max(stretch, 1.0)) / 1e4:g} m or less."
        )


def _require_on_road(off: FloatArray, distance: FloatArray, *, wheels: Wheels, side: TrackSide) -> None:
    if np.any(off > _OFF_ROAD):
        first = int(np.argmax(off > _OFF_ROAD))
        raise TrackError(
            f"line: the {wheels} wheels leave the road at {distance[first]:.1f} m and get up to "
            f"{float(np.max(off)):.2g} m beyond the {side} edge and its kerbs. Keep the middle of the car "
            "further from that edge."
        )
