"""The polynomials against the C library, at the bounds their docstrings state."""

import math

import numba
import numpy as np
import pytest
from numpy.testing import assert_allclose

from fourpatch.physics import trig


@numba.njit
def _sine_of_pair(x: float) -> float:
    return trig.sine_cosine(x)[0]


@numba.njit
def _cosine_of_pair(x: float) -> float:
    return trig.sine_cosine(x)[1]


def _grid(low: float, high: float) -> np.ndarray:
    """Dense, with the ends, and finer still about 0."""
    return np.concatenate([np.linspace(low, high, 20_001), np.geomspace(1e-9, high, 500)])


TURNS = np.concatenate([_grid(-10.0, 10.0), np.linspace(-1e4, 1e4, 50_001), np.pi * np.arange(-3183, 3183)])
WIDE = np.concatenate([_grid(-3.0, 3.0), np.geomspace(3.0, 1e12, 500), -np.geomspace(3.0, 1e12, 500)])


@pytest.mark.parametrize(
    ("ours", "exact", "grid", "share", "bound"),
    [
        (trig.arctangent_unit, np.arctan, _grid(-1.0, 1.0), 3.4e-10, 0.0),
        (trig.arctangent_small, np.arctan, _grid(-0.25, 0.25), 1.5e-10, 0.0),
        (trig.arctangent_small, np.arctan, _grid(-0.5, 0.5), 0.0, 3e-5),
        (trig.arctangent_positive, np.arctan, WIDE[WIDE >= 0.0], 3.4e-10, 0.0),
        (trig.arctangent, np.arctan, WIDE, 3.4e-10, 0.0),
        (trig.sine_quarter, np.sin, _grid(-np.pi / 2, np.pi / 2), 1.8e-11, 0.0),
        (trig.arctangent_unit_single, np.arctan, _grid(-1.0, 1.0), 6e-7, 0.0),
        (trig.sine_quarter_single, np.sin, _grid(-np.pi / 2, np.pi / 2), 8e-7, 0.0),
        (trig.cosine_small, np.cos, _grid(-0.5, 0.5), 0.0, 7.6e-10),
        (trig.cosine_small, np.cos, _grid(-1.0, 1.0), 0.0, 2.4e-5),
        (_sine_of_pair, np.sin, TURNS, 0.0, 3e-11),
        (_cosine_of_pair, np.cos, TURNS, 0.0, 3e-11),
        (trig.sine, np.sin, _grid(-10.0, 10.0), 0.0, 3e-11),
        (trig.cosine, np.cos, _grid(-10.0, 10.0), 0.0, 3e-11),
    ],
)
def test_error_stays_within_the_stated_bound(ours, exact, grid, share, bound):
    """The bounds of the docstrings: a share of |x|, of π/2 at most, or one number for all."""
    error = np.abs([ours(x) for x in grid.tolist()] - exact(grid))
    reach = np.minimum(np.abs(grid), np.pi / 2 if exact is np.sin else 1.0)
    # 1e-15: rounding of a result that is near 0 or a right angle.
    assert np.all(error <= share * reach + bound + 1e-15)


def test_exponential_stays_within_the_stated_bound():
    grid = _grid(-2.0, 2.0)
    # The bounds of the docstrings.
    assert_allclose([trig.exponential(x) for x in grid.tolist()], np.exp(grid), rtol=2.5e-11)
    assert_allclose([trig.exponential_single(x) for x in grid.tolist()], np.exp(grid), rtol=9e-8)


@pytest.mark.parametrize(
    "odd", [trig.arctangent_unit, trig.arctangent_small, trig.arctangent, trig.sine_quarter]
)
def test_odd_functions_are_exactly_odd(odd):
    for x in (0.0, 1e-300, 0.1, 0.7):
        assert odd(-x) == -odd(x)


def test_arctangent_of_infinity_is_a_right_angle():
    assert trig.arctangent(math.inf) == math.pi / 2
    assert trig.arctangent(-math.inf) == -math.pi / 2


def test_exponent_is_held_at_the_limit():
    assert trig.exponential(50.0) == trig.exponential(trig.EXPONENT_LIMIT)
    assert trig.exponential(-50.0) == trig.exponential(-trig.EXPONENT_LIMIT)
