"""The line a track is measured along, and its commonest form: a chain of pieces of linear curvature.

Positions lie in a level plane, x to the right of the page and y up it; headings are counted from the x axis,
counter-clockwise, so a left-hand corner has positive curvature, as yaw has in ISO 8855.  Distance is measured
along the line in that plane: on a gradient of 10 % the road is 0.5 % longer.
"""

import math
from dataclasses import dataclass, field
from typing import Final, NamedTuple, Protocol

import numpy as np
from numpy.typing import NDArray

from fourpatch.errors import TrackError
from fourpatch.track.road import SPACING_ROUNDING, FloatArray

_NODES, _WEIGHTS = np.polynomial.legendre.leggauss(24)
NODES: Final[FloatArray] = 0.5 * (1.0 + _NODES)
"""Gauss-Legendre points on 0 to 1."""
WEIGHTS: Final[FloatArray] = 0.5 * _WEIGHTS
"""Their weights."""

MOST_HEADING_PER_PIECE: Final = 2.0 * math.pi
"""By how much a piece may turn one way and back; the quadrature is exact to rounding up to there. [rad]"""


class LineSample(NamedTuple):
    """A line read at given distances, each row of their shape."""

    x: FloatArray
    """[m]"""
    y: FloatArray
    """[m]"""
    heading: FloatArray
    """Counted on through full turns, not folded back. [rad]"""
    curvature: FloatArray
    """Heading per distance, positive to the left. [1/m]"""


class CentreLine(Protocol):
    """What every line offers that a track can be laid along."""

    @property
    def length(self) -> float:
        """Distance [m] from the start to the end, once round if it is closed."""

    @property
    def closed(self) -> bool:
        """Whether the end is the start."""

    @property
    def heading_change(self) -> float:
        """Heading [rad] at the end less that at the start."""

    def at(self, distance: FloatArray) -> LineSample:
        """Read the line at distances [m]; a closed one goes on for ever."""


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class ClothoidChain:
    """Pieces whose curvature is linear in distance: straights, arcs and clothoids, end to end.

    It begins at the origin with heading 0.  The arrays are copied and made read-only.

    Raises
    ------
    TrackError
        If the rows differ in length, a number is not finite, a piece has negative length or turns by more
        than a full turn.

    Notes
    -----
    A piece turns by k0 s + (k1 - k0) s² / (2 L) after s of its length L.  Its points are the integral of
    (cos, sin) of the heading, taken by Gauss-Legendre quadrature with 24 points: one way for all pieces, with
    none of the cancellation the Fresnel integrals have where curvature hardly changes.  Up to a full turn the
    two differ by less than 1e-14 of the length (measured in the tests).

    Source: derived here; the closed form with Fresnel integrals is the check in the tests.

    >>> stadium = ClothoidChain(
    ...     lengths=np.array([500.0, 60.0 * math.pi] * 2), start_curvature=np.array([0.0, 1 / 60.0] * 2),
    ...     end_curvature=np.array([0.0, 1 / 60.0] * 2), closed=True)
    >>> f"{stadium.length:.6f} m", abs(stadium.end) < 1e-9
    ('1376.991118 m', True)
    """

    lengths: FloatArray
    """Of the pieces, shape (n,). [m]"""
    start_curvature: FloatArray
    """Of each piece, shape (n,). [1/m]"""
    end_curvature: FloatArray
    """Of each piece, shape (n,). [1/m]"""
    closed: bool
    """Whether the end is the start; that it is so is the maker's duty, see `closing`."""
    starts: FloatArray = field(init=False)
    """Distance at which each piece starts, and the length of the chain, shape (n + 1,). [m]"""
    headings: FloatArray = field(init=False)
    """At the start of each piece, and at the end, shape (n + 1,). [rad]"""
    corners: NDArray[np.complex128] = field(init=False)
    """Where each piece starts, and where the last ends, as x + i y, shape (n + 1,). [m]"""

    def __post_init__(self) -> None:
        """Copy the rows, refuse what cannot be a line, and join the pieces end to end."""
        for name in ("lengths", "start_curvature", "end_curvature"):
            row = np.array(getattr(self, name), dtype=np.float64)
            if row.ndim != 1 or row.size == 0 or row.shape != np.shape(self.lengths):
                raise TrackError(
                    f"line: {name} has shape {row.shape}, lengths {np.shape(self.lengths)}; each piece needs "
                    "a length, a curvature at its start and one at its end. Give rows of the same length."
                )
            if not np.all(np.isfinite(row)):
                bad = int(np.flatnonzero(~np.isfinite(row))[0])
                raise TrackError(f"{name} of piece {bad + 1} is {row[bad]}; give a finite number.")
            row.setflags(write=False)
            object.__setattr__(self, name, row)
        self._require_drawable()
        turned = 0.5 * self.lengths * (self.start_curvature + self.end_curvature)
        object.__setattr__(self, "starts", _summed(self.lengths))
        object.__setattr__(self, "headings", _summed(turned))
        piece = np.arange(self.lengths.size)
        object.__setattr__(self, "corners", _summed(self._along(piece, self.lengths)))

    def _require_drawable(self) -> None:
        if np.any(self.lengths < 0.0) or not np.any(self.lengths > 0.0):
            bad = int(np.argmin(self.lengths))
            raise TrackError(
                f"piece {bad + 1} is {self.lengths[bad]:g} m long; a line runs forward. Give it a "
                "length above 0."
            )
        steepest = np.maximum(np.abs(self.start_curvature), np.abs(self.end_curvature))
        if np.any(self.lengths * steepest > MOST_HEADING_PER_PIECE * (1.0 + SPACING_ROUNDING)):
            bad = int(np.argmax(self.lengths * steepest))
            raise TrackError(
                f"piece {bad + 1}, {self.lengths[bad]:g} m long with a radius down to "
                f"{1.0 / steepest[bad]:g} m, turns by more than 360 deg; the road would meet itself. Shorten "
                "it or take a larger radius."
            )

    @property
    def length(self) -> float:
        """Distance [m] from the start to the end."""
        return float(self.starts[-1])

    @property
    def heading_change(self) -> float:
        """Heading [rad] at the end; that at the start is 0."""
        return float(self.headings[-1])

    @property
    def end(self) -> complex:
        """Where the chain ends, as x + i y. [m]"""
        return complex(self.corners[-1])

    def at(self, distance: FloatArray) -> LineSample:
        """Read the chain at distances.

        Parameters
        ----------
        distance : from the start, any shape; on a closed line it may lie before 0 or beyond the length. [m]

        Returns
        -------
        LineSample
            Where two pieces meet, the curvature is that of the later one.

        Raises
        ------
        TrackError
            If a distance lies off an open line.
        """
        within, laps = folded(distance, length=self.length, closed=self.closed)
        piece = np.clip(np.searchsorted(self.starts, within, side="right") - 1, 0, self.lengths.size - 1)
        along = within - self.starts[piece]
        point = self.corners[piece] + self._along(piece, along)
        curvature = self.start_curvature[piece] + self._sharpness[piece] * along
        heading = self._heading(piece, along) + laps * self.heading_change
        return LineSample(point.real, point.imag, heading, curvature)

    @property
    def _sharpness(self) -> FloatArray:
        """Change of curvature per distance of each piece. [1/m²]"""
        change = self.end_curvature - self.start_curvature
        return np.asarray(
            np.divide(change, self.lengths, out=np.zeros_like(change), where=self.lengths > 0.0)
        )

    def _heading(self, piece: NDArray[np.intp], along: FloatArray) -> FloatArray:
        turned = along * (self.start_curvature[piece] + 0.5 * self._sharpness[piece] * along)
        return np.asarray(self.headings[piece] + turned)

    def _along(self, piece: NDArray[np.intp], along: FloatArray) -> NDArray[np.complex128]:
        """Way from the start of a piece to a distance along it, as x + i y. [m]"""
        heading = self._heading(piece[..., np.newaxis], along[..., np.newaxis] * NODES)
        return np.asarray(along * (np.exp(1j * heading) @ WEIGHTS))


def folded(distance: FloatArray, *, length: float, closed: bool) -> tuple[FloatArray, FloatArray]:
    """Return distances within one lap, and the whole laps before them.

    Raises
    ------
    TrackError
        If a distance lies off an open line.
    """
    if closed:
        laps = np.floor(distance / length)
        return np.asarray(np.clip(distance - laps * length, 0.0, length)), laps
    room = SPACING_ROUNDING * length
    if np.any(distance < -room) or np.any(distance > length + room):
        raise TrackError(
            f"distance {np.min(distance):g} to {np.max(distance):g} m: the line is open and runs from 0 to "
            f"{length:g} m. Stay on it."
        )
    return np.clip(distance, 0.0, length), np.zeros_like(distance)


def _summed(steps: NDArray[np.generic]) -> NDArray[np.generic]:
    """Sum from the first step on, beginning at 0; read-only."""
    sums: NDArray[np.generic] = np.concatenate((np.zeros(1, dtype=steps.dtype), np.cumsum(steps)))
    sums.setflags(write=False)
    return sums
