"""The road under the wheels along a whole track: surface and kerbs, joined without steps."""

from typing import Final

import numpy as np

from fourpatch.track.centre_line import CentreLine
from fourpatch.track.checks import require_sound
from fourpatch.track.contact_filter import sample_profile
from fourpatch.track.kerb_passage import WheelPath, kerbs_under, road_distances, wheel_path
from fourpatch.track.line import Line
from fourpatch.track.road import FloatArray, RoadClass, RoadProfile, require_positive, rough_road
from fourpatch.track.track import ClassSurface, MeasuredSurface, SpectrumSurface, Track

JOIN_LENGTH: Final = 10.0
"""Over which one surface gives way to the next, about its start; less where a surface is shorter.  [m]"""

LONGEST_WAVELENGTH: Final = 100.0
"""Of a random surface; a lap that is shorter holds none longer than itself. [m]"""


def track_road(
    track: Track, line: Line, *, seed: int, track_width: float, spacing: float | None = None
) -> RoadProfile:
    """Lay the whole road under the left and the right wheels of a car.

    Parameters
    ----------
    track : to be driven.
    line : of the middle of the car.
    seed : of the random surfaces; the same seed lays the same bumps on the same line.
    track_width : between the left and the right wheels. [m]
    spacing : between points, at most; if left out, as coarse as random surfaces (0.05 m) and the kerbs along
        the line (half their shortest piece) allow. [m]

    Returns
    -------
    RoadProfile
        Heights above the smooth road against distance along the line, from the start line to the end.  Of a
        lap the last point repeats the first and the slope carries on.  Elevation and banking are not in it:
        they are in the line.

    Raises
    ------
    TrackError
        If the track cannot be, the line is not of it, a number is not positive, the spacing is too coarse for
        surface or kerbs, or a wheel leaves the road.

    Notes
    -----
    Surfaces.  Random ones are made for the whole line at once from one set of phases and stretched in height
    to each surface's roughness, so their bumps carry on across a join.  Over `JOIN_LENGTH` about the start of
    a surface its heights h and those before give way by w(s) h + (1 - w(s)) h_before, w = 6 t^5 - 15 t^4 +
    10 t^3 of the station: height, slope and curvature are continuous.  A measured surface lies at its
    stations and keeps its end height where its file ends within a join.

    Kerbs lie where they lie: for each wheel by its own station and offset.  So teeth given along the centre
    line are met 1 / (1 - curvature * n) times as often on an inner edge, n inward: 1.43 times at n = 4.5 m in
    a hairpin of 15 m.  A wheel touches a kerb where the middle of its tread is over it; the kerb rises across
    the road over its side ramp.  Where kerbs lie on each other the higher one counts.  Corners of a kerb that
    lie between points are cut, as in `kerbed_straight`.

    Left out: bumps are true along the line, and for wheels half a track width b to its sides too long or
    short by curvature * b / 2 (1.6 % in a corner of 50 m); two lines have different bumps even where they
    meet; rear wheels follow the front ones; a tread partly on a kerb is not partly lifted.
    """
    require_sound(track)
    require_positive(track_width, name="track width", unit="m", remedy="Cars have 1.2 to 1.8 m.")
    centre = track.centre_line.draw().line
    path = wheel_path(line, centre, road_distances(track, centre, line, spacing=spacing))
    surface = _surface(track, centre, path, seed=seed, track_width=track_width)
    left = surface.left + kerbs_under(track, centre, path, "left", track_width=track_width).height
    right = surface.right + kerbs_under(track, centre, path, "right", track_width=track_width).height
    return RoadProfile(distance=path.distance, left=left, right=right)


# Surfaces


def _surface(
    track: Track, line: CentreLine, path: WheelPath, *, seed: int, track_width: float
) -> RoadProfile:
    surfaces = track.road.surface
    lengths = np.diff([*(one.start for one in surfaces), line.length])
    join = min(JOIN_LENGTH, float(np.min(lengths)))
    left, right = np.zeros_like(path.station), np.zeros_like(path.station)
    random: dict[float, RoadProfile] = {}
    for at, (surface, length) in enumerate(zip(surfaces, lengths, strict=True)):
        fades_in = line.closed or at > 0
        fades_out = line.closed or at < len(surfaces) - 1
        for lap in (0.0, -line.length, line.length) if line.closed else (0.0,):
            start = surface.start + lap
            first, last = np.searchsorted(path.station, (start - 0.5 * join, start + length + 0.5 * join))
            part = slice(int(first) if fades_in else 0, int(last) if fades_out else path.station.size)
            along = path.station[part] - start
            share = _risen(along / join) if fades_in else np.ones_like(along)
            share = share - _risen((along - length) / join) if fades_out else share
            if isinstance(surface, MeasuredSurface):
                profile = surface.profile
                left[part] += share * sample_profile(profile.distance, profile.left, along).height
                right[part] += share * sample_profile(profile.distance, profile.right, along).height
            else:
                roughness, waviness = _roughness(surface)
                if waviness not in random:
                    random[waviness] = _unit_road(path, waviness, seed=seed, track_width=track_width)
                left[part] += np.sqrt(roughness) * share * random[waviness].left[part]
                right[part] += np.sqrt(roughness) * share * random[waviness].right[part]
    return RoadProfile(distance=path.distance, left=left, right=right)


def _roughness(surface: ClassSurface | SpectrumSurface) -> tuple[float, float]:
    """Gd(n0) [m³] and waviness."""
    if isinstance(surface, ClassSurface):
        return RoadClass[surface.road_class].value, 2.0
    return surface.roughness, surface.waviness


def _unit_road(path: WheelPath, waviness: float, *, seed: int, track_width: float) -> RoadProfile:
    """Lay a roughness of 1 m³ along the whole line, which every roughness is a scale of."""
    length = float(path.distance[-1])
    return rough_road(
        roughness=1.0,
        length=length,
        spacing=path.spacing,
        seed=seed,
        track_width=track_width,
        waviness=waviness,
        longest_wavelength=min(LONGEST_WAVELENGTH, length),
    )


def _risen(t: FloatArray) -> FloatArray:
    """Smooth step about 0, from 0 at -1/2 to 1 at 1/2."""
    inside = np.clip(t + 0.5, 0.0, 1.0)
    return np.asarray(inside**3 * (10.0 + inside * (6.0 * inside - 15.0)))
