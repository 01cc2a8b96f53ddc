"""The road under the wheels along a whole track: surface and kerbs, joined without steps."""

import math
from collections.abc import Callable
from typing import Final

import numpy as np

from fourpatch.errors import TrackError
from fourpatch.track.centre_line import CentreLine
from fourpatch.track.checks import require_sound
from fourpatch.track.contact_filter import sample_profile
from fourpatch.track.kerb import INTERVALS_PER_PIECE
from fourpatch.track.road import (
    SPACING_ROUNDING,
    FloatArray,
    RoadClass,
    RoadProfile,
    require_positive,
    rough_road,
)
from fourpatch.track.road_shape import even_distances, widths_at
from fourpatch.track.track import ClassSurface, MeasuredSurface, Surface, Track
from fourpatch.track.track_kerb import TrackKerb, TrackSide

JOIN_LENGTH: Final = 10.0
"""Over which one surface gives way to the next, about its start; less where a surface is shorter.  [m]"""

LONGEST_WAVELENGTH: Final = 100.0
"""Of a random surface; a lap that is shorter holds none longer than itself. [m]"""

LateralOffset = float | Callable[[FloatArray], FloatArray]
"""Of the middle of the car from the centre line, to the left: a number, or a function of distance. [m]"""


def track_road(
    track: Track, *, offset: LateralOffset, spacing: float, seed: int, track_width: float
) -> RoadProfile:
    """Lay the whole road under the left and the right wheels of a car.

    Parameters
    ----------
    track : to be driven.
    offset : of the middle of the car from the centre line, positive to the left; a number, or a function of
        the distance along the centre line, shape (n,), that returns the same shape. [m]
    spacing : between points, at most; 0.05 m or less, 0.025 m or less where a kerb with the usual edges is
        touched. [m]
    seed : of the random surfaces; the same seed lays the same bumps.
    track_width : between the left and the right wheels. [m]

    Returns
    -------
    RoadProfile
        Heights above the smooth road against distance along the centre line, from the start line to the end.
        Of a lap the last point repeats the first and the slope carries on.  Elevation and banking are not in
        it: they are in the layout.

    Raises
    ------
    TrackError
        If the track cannot be, a number is not positive, the spacing is too coarse for surface or kerbs, or a
        wheel leaves the road.

    Notes
    -----
    Surfaces.  Random ones are made for the whole track at once from one set of phases and stretched in height
    to each surface's roughness, so their bumps carry on across a join.  Over `JOIN_LENGTH` about the start of
    a surface its heights h and those before give way by w(s) h + (1 - w(s)) h_before, w = 6 t^5 - 15 t^4 +
    10 t^3: height, slope and curvature are continuous.  A measured surface keeps its end height where its
    file ends within a join.

    Kerbs.  A wheel touches a kerb where the middle of its tread is over it; the kerb rises across the road
    over its side ramp.  Where kerbs lie on each other the higher one counts.  Corners of a kerb that lie
    between points are cut, as in `kerbed_straight`.

    Left out: distance is along the centre line, where a wheel n to the left of it travels 1 - curvature * n
    times as far (8 % less at n = 4 m in a corner of 50 m), so bumps and kerbs are that much too long or short
    there; a random surface has the same bumps at any offset; a tread partly on a kerb is not partly lifted.
    """
    require_sound(track)
    require_positive(track_width, name="track width", unit="m", remedy="Cars have 1.2 to 1.8 m.")
    line = track.centre_line.draw().line
    distance = even_distances(line.length, spacing=spacing)
    middle = _middle(offset, distance, closed=line.closed)
    surface = _surface(track, line, distance, seed=seed, track_width=track_width)
    left, right = (
        height + _kerbs(track, line, distance, middle + to_left, wheels)
        for height, to_left, wheels in (
            (surface.left, 0.5 * track_width, "left"),
            (surface.right, -0.5 * track_width, "right"),
        )
    )
    return RoadProfile(distance=distance, left=left, right=right)


def _middle(offset: LateralOffset, distance: FloatArray, *, closed: bool) -> FloatArray:
    """Offset of the middle of the car at each distance."""
    if not callable(offset):
        return np.full_like(distance, offset)
    middle = np.asarray(offset(distance), dtype=np.float64)
    if middle.shape != distance.shape or not np.all(np.isfinite(middle)):
        raise TrackError(
            f"offset: the function returned shape {middle.shape} for distances of shape {distance.shape}, or "
            "a number that is not finite. Return one offset in metres for each distance."
        )
    if closed and abs(middle[-1] - middle[0]) > 1e-3:
        raise TrackError(
            f"offset: {middle[0]:.4g} m at the start of the lap and {middle[-1]:.4g} m at its end, which is "
            "the same place. Let the path close."
        )
    return middle


# Surfaces


def _surface(
    track: Track, line: CentreLine, distance: FloatArray, *, seed: int, track_width: float
) -> RoadProfile:
    surfaces = track.road.surface
    starts = [one.start for one in surfaces]
    lengths = np.diff([*starts, line.length])
    join = min(JOIN_LENGTH, float(np.min(lengths)))
    left, right = np.zeros_like(distance), np.zeros_like(distance)
    laps = (-line.length, 0.0, line.length) if line.closed else (0.0,)
    for at, (surface, length) in enumerate(zip(surfaces, lengths, strict=True)):
        heights = None
        for lap in laps:
            along = distance - surface.start + lap
            share = _risen(along / join) - _risen((along - length) / join)
            if not line.closed:  # nothing lies before the first and beyond the last
                share = share + (at == 0) * (1.0 - _risen(along / join))
                share = share + (at == len(surfaces) - 1) * _risen((along - length) / join)
            if isinstance(surface, MeasuredSurface):
                profile = surface.profile
                heights = (
                    sample_profile(profile.distance, profile.left, along).height,
                    sample_profile(profile.distance, profile.right, along).height,
                )
            elif heights is None:
                rough = _random_surface(surface, line, distance, seed=seed, track_width=track_width)
                heights = (rough.left, rough.right)
            left += share * heights[0]
            right += share * heights[1]
    return RoadProfile(distance=distance, left=left, right=right)


def _random_surface(
    surface: Surface, line: CentreLine, distance: FloatArray, *, seed: int, track_width: float
) -> RoadProfile:
    """Lay one roughness along the whole track; a seed gives all of them the same phases."""
    if isinstance(surface, ClassSurface):
        roughness, waviness = RoadClass[surface.road_class].value, 2.0
    else:
        assert not isinstance(surface, MeasuredSurface)
        roughness, waviness = surface.roughness, surface.waviness
    return rough_road(
        roughness=roughness,
        length=line.length,
        spacing=line.length / (distance.size - 1),
        seed=seed,
        track_width=track_width,
        waviness=waviness,
        longest_wavelength=min(LONGEST_WAVELENGTH, line.length),
    )


def _risen(t: FloatArray) -> FloatArray:
    """Smooth step about 0, from 0 at -1/2 to 1 at 1/2."""
    inside = np.clip(t + 0.5, 0.0, 1.0)
    return np.asarray(inside**3 * (10.0 + inside * (6.0 * inside - 15.0)))


# Kerbs


def _kerbs(
    track: Track, line: CentreLine, distance: FloatArray, lateral: FloatArray, wheels: str
) -> FloatArray:
    """Height of the kerbs under wheels at a lateral position, and the refusal of wheels off the road."""
    edges: dict[TrackSide, FloatArray] = {}
    edges["left"], edges["right"] = widths_at(track.road.width, distance, line=line)
    beyond: dict[TrackSide, FloatArray] = {
        "left": lateral - edges["left"],
        "right": -lateral - edges["right"],
    }
    height = np.zeros_like(distance)
    reach: dict[TrackSide, FloatArray] = {side: np.zeros_like(distance) for side in edges}
    for at, kerb in enumerate(track.road.kerbs, start=1):
        along = distance - kerb.start
        along = along % line.length if line.closed else along
        over = (along >= 0.0) & (along <= kerb.length)
        reach[kerb.side][over] = np.maximum(reach[kerb.side][over], kerb.far_side)
        under = np.where(over, kerb.height_at(along, beyond[kerb.side]), 0.0)
        if np.any(under > 0.0):
            _require_fine_enough(kerb, at, spacing=line.length / (distance.size - 1))
        height = np.maximum(height, under)
    for side, outside in beyond.items():
        off = outside - reach[side]
        if np.any(off > SPACING_ROUNDING):
            first = int(np.argmax(off > SPACING_ROUNDING))
            raise TrackError(
                f"offset: the {wheels} wheels leave the road at {distance[first]:.1f} m and get up to "
                f"{float(np.max(off)):.2g} m beyond the {side} edge and its kerbs. Keep the middle of the "
                "car further from that edge."
            )
    return height


def _require_fine_enough(kerb: TrackKerb, number: int, *, spacing: float) -> None:
    piece = kerb.shape.cross_section().shortest_piece
    if spacing * INTERVALS_PER_PIECE > piece * (1.0 + SPACING_ROUNDING):
        raise TrackError(
            f"spacing is {spacing:.4g} m, the shortest piece of kerb {number} ({kerb.shape.kind}) {piece:g} "
            f"m; at least {INTERVALS_PER_PIECE} spacings must fit on it, or its shape is lost. Take a "
            f"spacing of {math.floor(1e4 * piece / INTERVALS_PER_PIECE) / 1e4:g} m or less."
        )
