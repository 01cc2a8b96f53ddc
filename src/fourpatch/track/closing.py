"""Bringing the end of a line back to its start by the least change of what it is made of."""

import math
from collections.abc import Callable
from typing import Final, NamedTuple

import numpy as np
from numpy.typing import NDArray

from fourpatch.errors import TrackError
from fourpatch.track.centre_line import ClothoidChain
from fourpatch.track.road import FloatArray

CLOSED_GAP: Final = 1e-6
"""Largest distance of the end from the start of a line that counts as closed. [m]"""

_MOST_STEPS = 30


class ClosingError(NamedTuple):
    """By how much a line misses its own start."""

    gap: float
    """Distance from end to start. [m]"""
    heading: float
    """Heading at the end less that at the start, beyond one full turn to its side. [rad]"""

    def __str__(self) -> str:
        """Say it in a clause."""
        return f"the end lies {self.gap:.3g} m from the start, its heading {_degrees(self.heading)} deg off"


def closing_error(chain: ClothoidChain) -> ClosingError:
    """Return by how much a chain misses its own start.

    Raises
    ------
    TrackError
        If it turns by less than half or more than one and a half circles: a closed line that does not cross
        itself turns exactly once (Hopf's theorem on the turning of a simple closed curve).
    """
    turned = chain.heading_change
    if not math.pi < abs(turned) < 3.0 * math.pi:
        raise TrackError(
            f"the line does not close: left and right turns add up to {math.degrees(turned):.4g} deg. A "
            "closed line that does not cross itself turns by 360 deg to the left or to the right, all "
            "counted together. Check angles and directions, or write closed = false."
        )
    return ClosingError(gap=abs(chain.end), heading=turned - math.copysign(2.0 * math.pi, turned))


def least_change(
    start: FloatArray,
    weight: FloatArray,
    chain_of: Callable[[FloatArray], ClothoidChain],
    sensitivity: Callable[[ClothoidChain], tuple[NDArray[np.complex128], FloatArray]],
) -> FloatArray:
    """Change numbers of a line as little as closes it.

    Parameters
    ----------
    start : the numbers as given, shape (n,).
    weight : of each number's squared change in the sum that is made least, > 0 or infinite, shape (n,).
    chain_of : the line made of such numbers.
    sensitivity : how end [m, as x + i y] and heading at the end [rad] of a line move with each number.

    Returns
    -------
    FloatArray
        The numbers with which the line closes to `CLOSED_GAP`, shape (n,).

    Raises
    ------
    TrackError
        If the numbers cannot close the line, or not nearby.

    Notes
    -----
    Least sum of weight * change² under three conditions: the end on the start (x and y), one full turn.  The
    conditions are linearised about the latest line and the least change that meets them is solved for
    (Lagrange multipliers), until they hold: some 3 to 6 times for a line that nearly closes.

    Source: derived here.
    """
    share = 1.0 / weight
    change = np.zeros_like(start)
    for _ in range(_MOST_STEPS):
        try:
            chain = chain_of(start + change)
            error = closing_error(chain)
        except TrackError:
            if not np.any(change):
                raise
            break  # the change makes it no line at all
        missed = np.array([chain.end.real, chain.end.imag, error.heading * chain.length])
        if math.hypot(*missed) < CLOSED_GAP * 1e-3:
            return start + change
        end, heading = sensitivity(chain)
        slope = np.vstack((end.real, end.imag, heading * chain.length))
        normal = (slope * share) @ slope.T
        if not np.linalg.cond(normal) < 1e14:
            break
        change = share * (slope.T @ np.linalg.solve(normal, slope @ change - missed))
    raise TrackError(
        "the line does not close, and no small change closes it. Check the sections one by one, or write "
        "closed = false."
    )


def _degrees(angle: float) -> str:
    return f"{math.degrees(angle):.3g}"
