"""A line beside the centre line of a track, exactly: its direction, curvature, slope and banking."""

from collections.abc import Callable
from typing import Final, NamedTuple, TypeAlias, TypeVar

import numpy as np
from numpy.typing import NDArray
from scipy.interpolate import CubicHermiteSpline, CubicSpline

from fourpatch.errors import TrackError
from fourpatch.track.centre_line import CentreLine
from fourpatch.track.checks import require_sound
from fourpatch.track.crossing import ComplexArray
from fourpatch.track.layout import DEFAULT_SPACING
from fourpatch.track.line import Line
from fourpatch.track.road import FloatArray
from fourpatch.track.road_shape import banking_at, elevation_at
from fourpatch.track.spacing import even_distances
from fourpatch.track.track import Track

Number = TypeVar("Number", np.float64, np.complex128)

LateralOffset: TypeAlias = float | FloatArray | Callable[[FloatArray], FloatArray]
"""From the centre line, positive to the left [m]: a number, one for each of any number of even stations from
start to end, or a function of stations [m], shape (n,), that returns the same shape."""

CLOSING_ROOM: Final = 1e-3
"""By which the offsets at the start and at the end of a lap may differ. [m]"""

_ROUNDS = 4  # of Newton's method for a station; rounding is reached in two or three


def line_at(track: Track, offset: LateralOffset, *, spacing: float = DEFAULT_SPACING) -> Line:
    """Draw a line along a track from its offsets from the centre line.

    Parameters
    ----------
    track : it runs along.
    offset : of the line from the centre line; a function is read at stations 1 m or `spacing` apart.
    spacing : between places along the line, at most. [m]

    Returns
    -------
    Line

    Raises
    ------
    TrackError
        If the track cannot be, the spacing is not positive, an offset is not finite, reaches the centre of a
        corner or does not close on a lap.

    Notes
    -----
    With the centre line's heading theta and curvature k at station s, offset n, and u the distance along a
    line of frozen offset, du = (1 - k n) ds, the line's heading and curvature are

        psi = theta + arctan(n_u),   k_line = k / ((1 - k n) w) + n_uu / w³,   w² = 1 + n_u²,   dl = w du.

    n is a cubic spline of u, periodic on a lap, so the line has a kink nowhere and its curvature is as
    continuous as that of the centre line.  As a spline of s it would kink wherever the curvature of the
    centre line jumps, by 5 mrad for n_s = 0.06 and n = 4 m at the foot of an arc of 50 m.

    Across, the road is straight: height = elevation + n tan(banking).  So the gradient of a line beside the
    centre line jumps where the curvature jumps, by (gradient) k n; that is the road's shape, and the vertical
    curvature there is this jump over one spacing.

    Source: derived here; checked in the tests against circles, straights, parallel curves and differences of
    the drawn points.

    >>> from fourpatch.track.demo import demo_track
    >>> inside = line_at(demo_track("long-corners"), -4.0)  # mostly right-hand, driven clockwise
    >>> middle = line_at(demo_track("long-corners"), 0.0)
    >>> f"{middle.length - inside.length:.4f} m", f"{8.0 * np.pi:.4f} m"
    ('25.1327 m', '25.1327 m')
    """
    require_sound(track)
    return line_along(track, track.centre_line.draw().line, offset, spacing=spacing)


def line_along(track: Track, centre: CentreLine, offset: LateralOffset, *, spacing: float) -> Line:
    """Do as `line_at` for a track known to be sound, whose centre line is drawn already."""
    path = _path(centre, offset, spacing=min(spacing, DEFAULT_SPACING))
    distance = even_distances(float(path.distance[-1]), spacing=spacing)
    across = _read(path, centre, distance)
    sample = centre.at(across.station)
    secant = np.hypot(1.0, across.slope)
    bend = sample.curvature / ((1.0 - sample.curvature * across.offset) * secant) + across.bend / secant**3
    return _on_road(track, centre, distance, across, bend)


def line_through(
    track: Track, centre: CentreLine, point: ComplexArray, *, station: FloatArray, spacing: float
) -> Line:
    """Draw a smooth line through points in the plane.

    Parameters
    ----------
    track : known to be sound.
    centre : its centre line, drawn.
    point : x + i y of the points from the start line to the end, of a lap the last is the first again, shape
        (n,). [m]
    station : of the points, shape (n,). [m]
    spacing : between places along the line, at most. [m]

    Returns
    -------
    Line
        A cubic spline of the chords, periodic on a lap: its curvature is continuous whatever that of the
        centre line is, which offsets from a centre line of straights and arcs can only follow with ripples.
    """
    along = np.append(0.0, np.cumsum(np.abs(np.diff(point))))
    curve = spline_along(along, point, closed=centre.closed)
    speed, between = np.abs(curve(along, 1)), np.abs(curve(0.5 * (along[1:] + along[:-1]), 1))
    length = np.append(0.0, np.cumsum(np.diff(along) * (speed[:-1] + 4.0 * between + speed[1:]) / 6.0))
    distance = even_distances(float(length[-1]), spacing=spacing)
    at = CubicHermiteSpline(length, along, 1.0 / speed)(distance)
    place, forward, bend = curve(at), curve(at, 1), curve(at, 2)
    foot = np.interp(at, along, station)
    for _ in range(_ROUNDS):  # the place lies on the normal of the centre line
        sample = centre.at(foot)
        way = (place - sample.x - 1j * sample.y) * np.exp(-1j * sample.heading)
        foot = np.clip(foot + way.real / (1.0 - sample.curvature * way.imag), 0.0, centre.length)
    foot[[0, -1]] = 0.0, centre.length  # but for rounding, which would meet another piece
    direction = forward * np.exp(-1j * centre.at(foot).heading)
    across = _Across(foot, way.imag, direction.imag / direction.real)
    return _on_road(track, centre, distance, across, (forward.conj() * bend).imag / np.abs(forward) ** 3)


def _on_road(
    track: Track, centre: CentreLine, distance: FloatArray, across: "_Across", curvature: FloatArray
) -> Line:
    """Lay a line on the road."""
    sample = centre.at(across.station)
    point = sample.x + 1j * sample.y + 1j * np.exp(1j * sample.heading) * across.offset
    elevation, _ = elevation_at(track.road.elevation, across.station, line=centre)
    lean = np.tan(banking_at(track.road.banking, across.station, line=centre))
    height = spline_along(distance, elevation + lean * across.offset, closed=centre.closed)
    rise = height(distance, 1)
    return Line(
        closed=centre.closed,
        distance=distance,
        station=across.station,
        offset=across.offset,
        x=point.real,
        y=point.imag,
        heading=sample.heading + np.arctan(across.slope),
        curvature=curvature,
        # Slope along the line and across the road give the one across the line.
        banking=np.arctan(lean * np.hypot(1.0, across.slope) - rise * across.slope),
        gradient=rise,
        vertical_curvature=height(distance, 2),
    )


class _Path(NamedTuple):
    """Offsets against the distance u along lines of frozen offset."""

    station: FloatArray
    heading: FloatArray
    """Of the centre line. [rad]"""
    offset: CubicSpline[np.float64]
    u: FloatArray
    distance: FloatArray
    """Along the line. [m]"""


class _Across(NamedTuple):
    """Where places of a line are, seen from the centre line."""

    station: FloatArray
    offset: FloatArray
    slope: FloatArray
    """Tangent of the angle from the centre line to the line; of the offset against u."""
    bend: FloatArray | float = 0.0
    """Second derivative of the offset against u. [1/m]"""


def _path(centre: CentreLine, offset: LateralOffset, *, spacing: float) -> _Path:
    station, given = _offsets(centre, offset, spacing=spacing)
    sample = centre.at(station)
    folds = sample.curvature * given >= 1.0
    if np.any(folds):
        at = int(np.argmax(sample.curvature * given))
        raise TrackError(
            f"offset: {given[at]:.3g} m at {station[at]:.1f} m, where the centre line has a radius of "
            f"{1.0 / abs(sample.curvature[at]):.3g} m: the line would run backwards. Keep it nearer to the "
            "centre line there."
        )
    step = np.diff(station) - 0.5 * (given[1:] + given[:-1]) * np.diff(sample.heading)
    u = np.append(0.0, np.cumsum(step))
    curve = spline_along(u, given, closed=centre.closed)
    ends, middle = np.hypot(1.0, curve(u, 1)), np.hypot(1.0, curve(0.5 * (u[1:] + u[:-1]), 1))
    length = step * (ends[:-1] + 4.0 * middle + ends[1:]) / 6.0  # Simpson's rule
    return _Path(station, sample.heading, curve, u, np.append(0.0, np.cumsum(length)))


def _offsets(centre: CentreLine, offset: LateralOffset, *, spacing: float) -> tuple[FloatArray, FloatArray]:
    """Stations, and the offset at each."""
    if not callable(offset) and np.ndim(offset) == 1 and np.size(offset) > 2:
        given = np.array(offset, dtype=np.float64)
        station = np.linspace(0.0, centre.length, given.size)
    else:
        # A spline needs a few places, whatever the spacing.
        station = even_distances(centre.length, spacing=min(spacing, centre.length / 8.0))
        given = np.array(offset(station) if callable(offset) else offset, dtype=np.float64)
        given = np.full_like(station, given) if given.ndim == 0 else given
    if given.shape != station.shape or not np.all(np.isfinite(given)):
        raise TrackError(
            f"offset: shape {given.shape} for stations of shape {station.shape}, or a number that is not "
            "finite. Give one offset in metres, one for each of three or more even stations from start to "
            "end, or a function that returns one for each station."
        )
    if centre.closed and abs(given[-1] - given[0]) > CLOSING_ROOM:
        raise TrackError(
            f"offset: {given[0]:.4g} m at the start of the lap and {given[-1]:.4g} m at its end, which is "
            "the same place. Let the path close."
        )
    return station, given


def _read(path: _Path, centre: CentreLine, distance: FloatArray) -> _Across:
    """Find places at distances along the line."""
    slope = path.offset(path.u, 1)
    u = CubicHermiteSpline(path.distance, path.u, 1.0 / np.hypot(1.0, slope))(distance)
    offset = path.offset(u)
    cell = np.clip(np.searchsorted(path.u, u, side="right") - 1, 0, path.u.size - 2)
    first = path.station[cell]
    mean = 0.5 * (path.offset(path.u[cell]) + offset)
    share = (u - path.u[cell]) / np.diff(path.u)[cell]
    station = first + share * np.diff(path.station)[cell]
    for _ in range(_ROUNDS):  # du = ds - n dtheta within the cell
        sample = centre.at(station)
        excess = station - first - mean * (sample.heading - path.heading[cell]) - (u - path.u[cell])
        station = np.clip(station - excess / (1.0 - mean * sample.curvature), 0.0, centre.length)
    station[[0, -1]] = 0.0, centre.length  # but for rounding, which would meet another piece
    return _Across(station, offset, path.offset(u, 1), path.offset(u, 2))


def spline_along(at: FloatArray, value: NDArray[Number], *, closed: bool) -> CubicSpline[Number]:
    """Return a cubic spline through values along a line: of a lap periodic, its last value the first."""
    if not closed:
        return CubicSpline(at, value)
    return CubicSpline(at, np.append(value[:-1], value[0]), bc_type="periodic")
