"""Where lines cross themselves or each other."""

from collections.abc import Sequence
from typing import NamedTuple

import numpy as np
from numpy.typing import NDArray

from fourpatch.track.road import FloatArray

ComplexArray = NDArray[np.complex128]


class Crossing(NamedTuple):
    """Two places that are one."""

    first: float
    """Distance along the centre line, to half a piece. [m]"""
    second: float
    """Distance along the centre line, beyond the first. [m]"""


def first_crossing(lines: Sequence[ComplexArray], distance: FloatArray, *, closed: bool) -> Crossing | None:
    """Find where lines of points that run side by side cross themselves or each other.

    Parameters
    ----------
    lines : points as x + i y, each of shape (n,); of a lap the last is the first again. [m]
    distance : of the points along the centre line, shape (n,). [m]
    closed : whether it is a lap.

    Returns
    -------
    Crossing or None
        The one met first in driving direction.

    Notes
    -----
    Only pieces whose middles are no further apart than the longest piece can cross; a tree of the middles
    finds them, so the work grows with n log n.  Pieces that merely touch, or lie upon each other, are not
    found.
    """
    from scipy.spatial import cKDTree

    begin = np.concatenate([line[:-1] for line in lines])
    end = np.concatenate([line[1:] for line in lines])
    middle = 0.5 * (begin + end)
    longest = float(np.max(np.abs(end - begin)))
    pairs = cKDTree(np.column_stack((middle.real, middle.imag))).query_pairs(longest, output_type="ndarray")
    pieces = distance.size - 1
    along, which = pairs % pieces, pairs // pieces
    apart = np.abs(along[:, 0] - along[:, 1])
    apart = np.minimum(apart, pieces - apart) if closed else apart
    pairs = pairs[(which[:, 0] != which[:, 1]) | (apart > 1)]
    one, other = pairs[:, 0], pairs[:, 1]
    crosses = _parts(begin[one], end[one], begin[other], end[other]) & _parts(
        begin[other], end[other], begin[one], end[one]
    )
    if not np.any(crosses):
        return None
    halfway = 0.5 * (distance[:-1] + distance[1:])
    places = np.sort(halfway[pairs[crosses] % pieces], axis=1)
    first = places[np.lexsort((places[:, 1], places[:, 0]))[0]]
    return Crossing(float(first[0]), float(first[1]))


def _parts(
    begin: ComplexArray, end: ComplexArray, one: ComplexArray, other: ComplexArray
) -> NDArray[np.bool_]:
    """Whether the line from begin to end has two points on different sides."""
    along = end - begin
    sides = ((along.conj() * (one - begin)).imag, (along.conj() * (other - begin)).imag)
    return np.asarray(sides[0] * sides[1] < 0.0)
