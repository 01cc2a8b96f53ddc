"""Where cars are in balance: Newton's method on residuals, for many cars at once or one after another."""

from collections.abc import Callable
from dataclasses import dataclass
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
_FINEST_LEAP = 5e-3  # in what is asked for, at which the end of a walk counts as found


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
    tried. One shorter than the differences that slopes are taken with is not judged so: slopes miss by a
    percent what a tyre does at slips of 1e-10, and residuals grow once before they vanish.
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
        better |= size < _DIFFERENCE
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


@dataclass(frozen=True, slots=True, kw_only=True)
class Balanced:
    """One car in balance, on the way to a balance that asks for more in its last equation."""

    asked: float
    """Right-hand side of the last equation."""
    unknowns: Array
    """(1, n)"""
    slopes: Array
    """(1, n) change of the unknowns per change of what is asked."""
    sense: float
    """Sign of the equations' determinant."""


def balanced(residuals: Residuals, unknowns: Array, asked: float) -> Balanced:
    """Return one car in balance, (1, n), with what leads on from there."""
    slopes, sense = along_equation(residuals, unknowns)
    return Balanced(asked=asked, unknowns=unknowns, slopes=slopes, sense=float(sense[0]))


def leap(residuals_for: Callable[[float], Residuals], here: Balanced, asked: float) -> Balanced | None:
    """Return the balance next to a known one in which ``asked`` is asked for; None if there is none.

    Notes
    -----
    Newton's method, begun along the slope of the known one. Beyond the most that can be asked for lie other
    balances, in which an axle slides: they are told by the sign of the equations' determinant.
    """
    residuals = residuals_for(asked)
    found, settled = newton(residuals, here.unknowns + (asked - here.asked) * here.slopes)
    there = balanced(residuals, found, asked)
    return there if settled[0] and there.sense == here.sense else None


def walk(
    residuals_for: Callable[[float], Residuals], here: Balanced, asked: float, *, longest: float
) -> Balanced:
    """Return the balance in which ``asked`` is asked for, or the last on the way to it.

    Parameters
    ----------
    longest : leap on the way; one to where there is no balance is halved, down to 0.005.
    """
    way = 1.0 if asked > here.asked else -1.0
    length = longest
    while here.asked != asked and length > _FINEST_LEAP:
        far = abs(asked - here.asked)
        there = leap(residuals_for, here, asked if far <= length else here.asked + way * length)
        here, length = (there, min(2.0 * length, longest)) if there else (here, 0.5 * min(length, far))
    return here


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
