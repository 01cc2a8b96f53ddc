"""Balances in closed form: where they are, where they end, and what is past the end."""

import numpy as np
import pytest
from numpy.testing import assert_allclose

from fourpatch.events.equilibrium import Array, Balanced, Residuals, balanced, leap, newton, walk

LONGEST = 0.2


def sine(asked: float) -> Residuals:
    """sin(x) = asked: rises to 1 at a right angle, falls beyond."""

    def residuals(unknowns: Array) -> Array:
        return np.sin(unknowns) - asked

    return residuals


@pytest.fixture
def at_rest() -> Balanced:
    return balanced(sine(0.0), np.zeros((1, 1)), 0.0)


@pytest.mark.parametrize("asked", [0.9, 0.999, -0.97])
def test_a_walk_comes_to_what_is_asked(at_rest: Balanced, asked: float) -> None:
    there = walk(sine, at_rest, asked, longest=LONGEST)
    assert there.asked == asked
    # the last Newton step, 1e-10, over the cosine
    assert_allclose(there.unknowns[0, 0], np.arcsin(asked), rtol=1e-7)
    # slopes by differences of 1e-7: half of it times the curvature over the slope squared, 5e-4 at 0.999
    assert_allclose(there.slopes[0, 0], 1.0 / np.sqrt(1.0 - asked**2), rtol=1e-3)


def test_a_walk_ends_at_the_most_there_is(at_rest: Balanced) -> None:
    there = walk(sine, at_rest, 1.5, longest=LONGEST)
    # a leap that failed is halved, down to 0.005: the last one was less than twice that
    assert 1.0 - 0.01 < there.asked < 1.0


def test_a_balance_past_the_end_is_none(at_rest: Balanced) -> None:
    """sin(x) = 0.9 at 2.02 as well, where the curve falls."""
    past, settled = newton(sine(0.9), np.full((1, 1), 2.0))
    assert settled[0]
    assert balanced(sine(0.9), past, 0.9).sense == -at_rest.sense
    assert leap(sine, Balanced(asked=0.0, unknowns=past, slopes=np.zeros((1, 1)), sense=1.0), 0.9) is None
