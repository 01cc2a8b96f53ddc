"""The line of least curvature between the edges of a track."""

from dataclasses import replace
from typing import Final, NamedTuple

import numpy as np
from numpy.typing import NDArray
from scipy.sparse import csc_array, diags_array

from fourpatch.errors import SolveError, TrackError
from fourpatch.track.bounded_least_squares import bounded_least_squares
from fourpatch.track.centre_line import CentreLine
from fourpatch.track.checks import require_sound
from fourpatch.track.crossing import ComplexArray
from fourpatch.track.layout import DEFAULT_SPACING, TrackLayout
from fourpatch.track.line import Line
from fourpatch.track.line_at import line_through
from fourpatch.track.road import FloatArray, require_positive
from fourpatch.track.road_shape import widths_at
from fourpatch.track.spacing import even_distances
from fourpatch.track.track import Track
from fourpatch.track.track_kerb import TrackKerb, TrackSide

DEFAULT_MARGIN: Final = 0.3
"""Between the side of the car and the edge of the road.  Chosen here. [m]"""

DEFAULT_CAR_WIDTH: Final = 1.9
"""Over the tyres; cars have 1.6 to 2.0 m (common practice, no published source). [m]"""

FLAT_KERB: Final = 0.03
"""Highest a kerb may be and still be driven over as if it were road.  Chosen here. [m]"""

_STEP = 2.0  # between the stations at which the offset is sought [m]
_STILL = 0.01  # by which the line may still move when it counts as found [m]
_NO_GAIN = 5e-6  # share of the sum; a round that lessens it by less gains nothing
_ROUNDS = 20
_MOST_HALVED = 8
_SIDES: Final[tuple[TrackSide, TrackSide]] = ("left", "right")


def least_curvature_line(
    track: Track,
    *,
    car_width: float = DEFAULT_CAR_WIDTH,
    margin: float = DEFAULT_MARGIN,
    kerb_share: float = 0.0,
    flat_kerb: float = FLAT_KERB,
    spacing: float = DEFAULT_SPACING,
) -> Line:
    """Draw the line with the least integral of squared curvature that keeps the car between the edges.

    Parameters
    ----------
    track : to be driven.
    car_width : over the tyres. [m]
    margin : between the side of the car and the edge of the road, or of what of a kerb may be driven; not
        negative. [m]
    kerb_share : how much of the width of the kerbs along the edges may be driven, 0 to 1.
    flat_kerb : highest of those kerbs; higher ones are left alone, and kept clear of where they lie on the
        road. [m]
    spacing : between places along the line, at most. [m]

    Returns
    -------
    Line

    Raises
    ------
    TrackError
        If the track cannot be, a number cannot, or the road is too narrow for car and margin.
    SolveError
        If the line is not found.

    Notes
    -----
    Sought are offsets n at even stations 2 m apart.  Between the points they make, the line turns by angles
    phi over lengths h, and the sum of phi² / h, which is that of curvature² times length, is made least by
    Gauss-Newton steps: it is linearised about the line found last, not only about the centre line, until the
    line moves by less than 1 cm or gains nothing by moving.  Each step is a `bounded_least_squares`.  Between
    the points the line may come closer to an edge than the margin, by h² k / 8 at most: 3 cm where it bends
    on a radius of 18 m.

    On one bend between straights the line is the free elastic rod (k'' = -k³/2), tangent to the outer edges
    and touching the inner one at the apex: the integral agrees to 1e-5 with the closed form in the tests.

    **Least curvature is not least time.**  It weighs every corner alike, whatever speed it is taken at and
    whatever straight follows; a driver gives up radius early in a corner to be on the throttle sooner onto a
    long straight, and takes a shorter way where the car does not run out of grip.  It also turns in early and
    long: what is least is the integral of curvature², not the largest curvature, so in a corner of constant
    radius its tightest place is tighter than the largest arc that fits.  In lap time it is commonly some
    tenths of a percent to 1 % slower than the line of least time (from memory of published comparisons, not
    checked).  It is a line to begin with, not one to teach.

    Source: common practice; the linearisation is derived here.
    """
    _require_sense(car_width, margin=margin, kerb_share=kerb_share, flat_kerb=flat_kerb)
    require_sound(track)
    centre = track.centre_line.draw().line
    station = even_distances(centre.length, spacing=min(_STEP, centre.length / 16.0))
    rail, taken = _rail(centre, station), car_width + 2.0 * margin
    left, right = (
        _reach(track, centre, station, side, kerb_share=kerb_share, flat_kerb=flat_kerb) - 0.5 * taken
        for side in _SIDES
    )
    if np.any(left + right <= 0.0):
        at = int(np.argmin(left + right))
        raise TrackError(
            f"at {station[at]:.0f} m the road is {left[at] + right[at] + taken:.3g} m wide; a car of "
            f"{car_width:g} m with a margin of {margin:g} m on both sides needs more than {taken:.3g} m. "
            "Take a smaller margin or a narrower car."
        )
    offset = _straightest(rail, _Bounds(-right, left))
    point = rail.point + offset * rail.across
    point = np.append(point, point[0]) if centre.closed else point
    return line_through(track, centre, point, station=station, spacing=spacing)


def with_kerbs(
    layout: TrackLayout, track: Track, *, kerb_share: float, flat_kerb: float = FLAT_KERB
) -> TrackLayout:
    """Return a track's layout with its edges where the kerbs that may be driven end.

    Parameters
    ----------
    layout : of the track.
    kerb_share, flat_kerb : as `least_curvature_line`.
    """
    centre = track.centre_line.draw().line
    left, right = (
        _reach(track, centre, layout.distance, side, kerb_share=kerb_share, flat_kerb=flat_kerb)
        for side in _SIDES
    )
    return replace(layout, left=left, right=right)


def _require_sense(car_width: float, *, margin: float, kerb_share: float, flat_kerb: float) -> None:
    require_positive(car_width, name="car width", unit="m", remedy="Cars have 1.6 to 2.0 m over the tyres.")
    for name, value, most in (("margin", margin, 10.0), ("flat kerb", flat_kerb, 0.3)):
        if not 0.0 <= value <= most:
            raise TrackError(f"{name} is {value:g} m; it must be 0 to {most:g} m. Take 0 for none.")
    if not 0.0 <= kerb_share <= 1.0:
        raise TrackError(
            f"kerb share is {kerb_share:g}; it is a share of a kerb's width, 0 to 1. Take 0 to keep off them."
        )


# Where the car may be


def _reach(
    track: Track,
    centre: CentreLine,
    station: FloatArray,
    side: TrackSide,
    *,
    kerb_share: float,
    flat_kerb: float,
) -> FloatArray:
    """Distance from the centre line to where the road that may be driven ends on a side. [m]"""
    widths = widths_at(track.road.width, station, line=centre)
    edge = widths[0 if side == "left" else 1]
    usable, step = np.zeros_like(station), float(station[1])
    barred = np.full_like(station, np.inf)
    # From the edge outward, so that a kerb behind another is reached only over it.
    for kerb in sorted(track.road.kerbs, key=lambda one: one.offset):
        if kerb.side != side:
            continue
        if kerb.shape.height <= flat_kerb:  # from a step inside it: the line may not cut its corner
            touching = _beside(kerb, centre, station, room=-step) & (usable >= kerb.offset)
            far = kerb_share * kerb.far_side
            usable[touching] = np.maximum(usable[touching], far)
        else:  # a step more either way: it may lie between two stations
            beside = _beside(kerb, centre, station, room=step)
            barred[beside] = np.minimum(barred[beside], kerb.offset)
    return np.asarray(edge + np.minimum(usable, barred))


def _beside(kerb: TrackKerb, centre: CentreLine, station: FloatArray, *, room: float) -> NDArray[np.bool_]:
    """Whether each station lies along a kerb, or no further from its ends than some room."""
    along = station - kerb.start + room
    along = along % centre.length if centre.closed else along
    return np.asarray((along >= 0.0) & (along <= kerb.length + 2.0 * room))


# The straightest line


class _Rail(NamedTuple):
    """Points of the centre line, of a lap without the last, and the unit vectors to the left there."""

    point: ComplexArray
    across: ComplexArray
    ahead: csc_array
    """Differences from each point to the next, shape (pieces, points)."""
    turn: csc_array
    """Differences from each piece to the next, shape (corners, pieces)."""

    def pieces(self, offset: FloatArray) -> ComplexArray:
        """Return the way from each point of a line to the next. [m]"""
        return np.asarray(self.ahead @ (self.point + offset * self.across))


class _Bounds(NamedTuple):
    """Of the offset at each point. [m]"""

    least: FloatArray
    most: FloatArray


def _rail(centre: CentreLine, station: FloatArray) -> _Rail:
    at = station[:-1] if centre.closed else station
    sample = centre.at(at)
    ahead = _differences(at.size, closed=centre.closed)
    return _Rail(
        point=sample.x + 1j * sample.y,
        across=1j * np.exp(1j * sample.heading),
        ahead=ahead,
        turn=_differences(ahead.shape[0], closed=centre.closed),
    )


def _differences(count: int, *, closed: bool) -> csc_array:
    """Matrix of the differences from each of some values to the next, of a lap on to the first again."""
    row = np.arange(count if closed else count - 1)
    return csc_array(
        (
            np.repeat((-1.0, 1.0), row.size),
            (np.tile(row, 2), np.concatenate((row, (row + 1) % count))),
        ),
        shape=(row.size, count),
    )


def _straightest(rail: _Rail, bounds: _Bounds) -> FloatArray:
    """Offsets of the line of least curvature."""
    bounds = _Bounds(*(row[: rail.point.size] for row in bounds))
    offset = 0.5 * (bounds.least + bounds.most)
    residual, slope = _bending(rail, offset)
    moved = 0.0
    for _ in range(_ROUNDS):
        found = bounded_least_squares(slope, residual - slope @ offset, least=bounds.least, most=bounds.most)
        before, way = float(np.sum(residual**2)), found - offset
        # All of the way, unless the line bends more there than the linear one said: then a shorter one.
        for halved in range(_MOST_HALVED):
            tried = offset + 0.5**halved * way
            residual, slope = _bending(rail, tried)
            if (after := float(np.sum(residual**2))) <= before:
                break
        moved, offset = float(np.max(np.abs(tried - offset))), tried
        # Round a hairpin the line may be shifted along the straights at no cost: then it need not stay.
        if moved < _STILL or abs(before - after) <= _NO_GAIN * before:
            return offset
    raise SolveError(
        f"the line of least curvature still moves by {moved:.2g} m after {_ROUNDS} rounds. Look at the track "
        "where edges come close to the centre of a tight corner, or take a wider margin."
    )


def _bending(rail: _Rail, offset: FloatArray) -> tuple[FloatArray, csc_array]:
    """Curvature times the root of the length it holds on, at each corner of a line, and its change with n."""
    piece = rail.pieces(offset)
    length = np.abs(piece)
    # Change of a piece with the offsets of its two ends, as a share of its length: real along it, imaginary
    # across it.
    relative = diags_array(1.0 / piece) @ rail.ahead @ diags_array(rail.across)
    lengthening = diags_array(length) @ csc_array(relative).real
    before, after = _ends(rail)
    angle = np.angle(piece[after] / piece[before])
    held = 0.5 * (length[before] + length[after])
    change = diags_array(held**-0.5) @ rail.turn @ csc_array(relative).imag
    mean = 0.5 * abs(rail.turn)
    change -= diags_array(0.5 * angle * held**-1.5) @ mean @ lengthening
    return angle / np.sqrt(held), csc_array(change)


def _ends(rail: _Rail) -> tuple[NDArray[np.intp], NDArray[np.intp]]:
    """Numbers of the pieces before and after each corner."""
    pieces = rail.turn.shape[1]
    corner = np.arange(rail.turn.shape[0])
    return corner, (corner + 1) % pieces
