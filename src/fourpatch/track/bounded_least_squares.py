"""Sparse least squares with bounds on every unknown."""

from typing import Final, NamedTuple

import numpy as np
from scipy.sparse import csc_array, diags_array
from scipy.sparse.linalg import splu

from fourpatch.errors import SolveError
from fourpatch.track.road import FloatArray

GAP: Final = 1e-7
"""Between the sum of squares found and the least one, as a share of the sum half-way between the bounds."""

MOST_ROUNDS: Final = 60
"""Some 15 are enough for the line of a lap."""

_ROUNDING = 1e-15
_BOLD = 0.99  # share of the way to the nearest bound that a round may go
_SIDES = np.array([[1.0], [-1.0]])  # room to a bound = side (x - bound)


def bounded_least_squares(
    slope: csc_array, constant: FloatArray, *, least: FloatArray, most: FloatArray
) -> FloatArray:
    """Return the x between bounds with the least |slope x + constant|².

    Parameters
    ----------
    slope : sparse, shape (m, n).
    constant : shape (m,).
    least, most : bounds of x, least < most, shape (n,).

    Returns
    -------
    FloatArray
        x, shape (n,), inside the bounds.

    Raises
    ------
    SolveError
        If it is not found.

    Notes
    -----
    Primal-dual interior-point method with predictor and corrector: a force holds x off each bound; force
    times room to the bound is the same everywhere, and falls to nothing.  A round costs one sparse
    factorisation: of 1200 unknowns that meet only their neighbours 1 to 2 ms, 0.15 s in all, where
    `scipy.optimize.lsq_linear`, iterating, was still 0.5 m off after a minute (measured): the matrix is a
    second difference, and badly conditioned.

    Source: S. Mehrotra, On the implementation of a primal-dual interior point method, SIAM J. Optimization 2
    (1992) (from memory); checked in the tests against `scipy.optimize.lsq_linear` on small problems.
    """
    square, pull = csc_array(slope.T @ slope), np.asarray(slope.T @ constant)
    x = 0.5 * (least + most)
    room = _SIDES * (x - np.stack((least, most)))
    first = float(np.sum((slope @ x + constant) ** 2))
    # Less than rounding leaves of what a way from bound to bound changes is nothing.
    allowed = GAP * first + _ROUNDING * float(np.sum((abs(slope) @ (most - least)) ** 2))
    state = _State(x, room, (first + allowed) / room.size / room)
    for _ in range(MOST_ROUNDS):
        imbalance = square @ state.x + pull - np.sum(_SIDES * state.force, axis=0)
        if state.gap <= allowed and float(np.sum(np.abs(imbalance) * (most - least))) <= allowed:
            return state.x
        state = _round(state, square, imbalance)
    raise SolveError(
        f"least squares with bounds: not found in {MOST_ROUNDS} rounds; the sum may still fall by "
        f"{state.gap:.2g} of {first:.2g}. Check that the bounds leave room everywhere."
    )


class _State(NamedTuple):
    """Where the search is; rows of room and force are for the lower and the upper bound."""

    x: FloatArray
    room: FloatArray
    force: FloatArray

    @property
    def gap(self) -> float:
        """By how much twice the sum may still fall."""
        return float(np.sum(self.room * self.force))

    def moved(self, dx: FloatArray, dforce: FloatArray, *, bold: float) -> "_State":
        """Go a way, or as much of it as the bounds allow."""
        droom = _SIDES * dx
        reach = min(1.0, bold * _most(self.room, droom), bold * _most(self.force, dforce))
        return _State(self.x + reach * dx, self.room + reach * droom, self.force + reach * dforce)


def _round(state: _State, square: csc_array, imbalance: FloatArray) -> _State:
    factors = splu(csc_array(square + diags_array(np.sum(state.force / state.room, axis=0))))

    def way(product: FloatArray | float) -> tuple[FloatArray, FloatArray]:
        """Towards balance, with force times room having some value."""
        push = product / state.room - state.force
        dx = factors.solve(np.sum(_SIDES * push, axis=0) - imbalance)
        return dx, push - state.force / state.room * _SIDES * dx

    dx, dforce = way(0.0)
    share = state.moved(dx, dforce, bold=1.0).gap / state.gap
    return state.moved(*way(share**3 * state.gap / state.room.size - _SIDES * dx * dforce), bold=_BOLD)


def _most(value: FloatArray, change: FloatArray) -> float:
    """How many times a change may be made before one of some positive values is used up."""
    shrinking = change < 0.0
    return float(np.min(-value[shrinking] / change[shrinking], initial=np.inf))
