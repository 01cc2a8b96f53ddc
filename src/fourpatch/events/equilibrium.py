"""Where cars are in balance: Newton's method on the residuals of many cars at once."""

from collections.abc import Callable
from typing import TypeAlias

import numpy as np
from numpy.typing import NDArray

Array = NDArray[np.float64]

Residuals: TypeAlias = Callable[[Array], Array]
"""Residuals at some points of each car, (cars, points, n), for unknowns of the same shape."""

_FARTHEST = 0.05  # longest step toward balance, in each unknown
_SETTLED = 1e-10  # step at which a car counts as settled
_DIFFERENCE = 1e-7  # for the Jacobian
_TRIES = 40


def newton(
    residuals: Residuals, start: Array, *, tries: int = _TRIES, close: float = _SETTLED
) -> tuple[Array, NDArray[np.bool_]]:
    """Return the unknowns at which residuals vanish, (cars, n), and for which cars they were found.

    Parameters
    ----------
    start : (cars, n), scaled by the caller so that 0.05 is a careful step in each unknown.
    tries : steps after which a car counts as not found.
    close : step at which it counts as found; what is left is about its square.

    Notes
    -----
    No step is longer than that; one that leaves a car further from balance is taken back and a quarter of it
    tried.
    """
    best = start.copy()
    residual, jacobian = _with_jacobian(residuals, best)
    reach = np.full(best.shape[0], _FARTHEST)
    size = np.full(best.shape[0], np.inf)
    for _ in range(tries):
        change = -_solved(jacobian, residual)
        size = np.abs(change).max(axis=1)
        if size.max() < close:
            return best + change, size < close
        trial = best + change * np.minimum(1.0, reach / np.maximum(size, 1e-300))[:, None]
        found, slopes = _with_jacobian(residuals, trial)
        better = np.linalg.norm(found, axis=1) < np.linalg.norm(residual, axis=1)
        best[better], residual[better], jacobian[better] = trial[better], found[better], slopes[better]
        reach = np.where(better, np.minimum(2.0 * reach, _FARTHEST), 0.25 * np.minimum(reach, size))
    return best, size < close


def along_equation(residuals: Residuals, balanced: Array) -> tuple[Array, Array]:
    """How cars in balance move with what their last equation asks for, and the sign of their determinant.

    Parameters
    ----------
    balanced : (cars, n), where the residuals vanish.

    Returns
    -------
    Array, Array
        Change of the unknowns per change of the last equation's right-hand side, (cars, n); sign of the
        determinant of the equations, (cars,): it turns where that change has no end, at a limit.
    """
    residual, jacobian = _with_jacobian(residuals, balanced)
    asked = np.zeros_like(residual)
    asked[:, -1] = 1.0
    return _solved(jacobian, asked), np.sign(np.linalg.slogdet(jacobian)[0])


def _with_jacobian(residuals: Residuals, unknowns: Array) -> tuple[Array, Array]:
    """Residuals of cars, (cars, n), and how they change with each unknown, (cars, n, n)."""
    n = unknowns.shape[1]
    points = np.repeat(unknowns[:, None, :], n + 1, axis=1)
    each = np.arange(n)
    points[:, each + 1, each] += _DIFFERENCE
    found = residuals(points)
    return found[:, 0].copy(), np.swapaxes((found[:, 1:] - found[:, :1]) / _DIFFERENCE, 1, 2)


def _solved(jacobian: Array, residual: Array) -> Array:
    """Solve all cars' equations; where they have no single solution (no wheel on the road), move nothing."""
    try:
        solution = np.linalg.solve(jacobian, residual[..., None])[..., 0]
        if np.isfinite(solution).all():
            return np.asarray(solution)
    except np.linalg.LinAlgError:
        pass
    free = np.abs(np.linalg.det(jacobian)) > 0.0
    solvable = np.where(free[:, None, None], jacobian, np.eye(residual.shape[1]))
    solution = np.linalg.solve(solvable, residual[..., None])[..., 0]
    return np.where(free[:, None], solution, 1.0)
