"""Bounded least squares against a well-kept dense solver."""

import numpy as np
import pytest
from numpy.testing import assert_allclose
from scipy.optimize import lsq_linear
from scipy.sparse import csc_array

from fourpatch.errors import SolveError
from fourpatch.track import bounded_least_squares as under_test
from fourpatch.track.bounded_least_squares import GAP, bounded_least_squares


@pytest.mark.parametrize("seed", range(6))
def test_the_sum_is_that_of_an_active_set_method(seed: int) -> None:
    random = np.random.default_rng(seed)
    slope = random.normal(size=(40, 25))
    constant = 3.0 * random.normal(size=40)
    least = -random.uniform(0.01, 1.0, 25)
    most = random.uniform(0.01, 1.0, 25)
    expected = lsq_linear(slope, -constant, (least, most), method="bvls", tol=1e-14)
    assert np.any(expected.active_mask != 0)
    found = bounded_least_squares(csc_array(slope), constant, least=least, most=most)
    assert np.all((found > least) & (found < most))
    half_way = np.sum((slope @ (0.5 * (least + most)) + constant) ** 2)
    assert_allclose(
        np.sum((slope @ found + constant) ** 2), 2.0 * expected.cost, rtol=0, atol=2 * GAP * half_way
    )
    # twice the sum's excess over its least curvature bounds the squared distance
    softest = np.linalg.svd(slope, compute_uv=False)[-1]
    assert np.linalg.norm(found - expected.x) < np.sqrt(2.0 * GAP * half_way) / softest


def test_nothing_to_do_is_half_way() -> None:
    found = bounded_least_squares(
        csc_array((2, 3)), np.zeros(2), least=np.array([-1.0, 0.0, 2.0]), most=np.array([1.0, 1.0, 4.0])
    )
    assert_allclose(found, [0.0, 0.5, 3.0], rtol=1e-12, atol=1e-12)


def test_giving_up_says_what_is_left(monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setattr(under_test, "MOST_ROUNDS", 2)
    with pytest.raises(SolveError, match=r"not found in 2 rounds.*bounds leave room"):
        bounded_least_squares(
            csc_array(np.eye(2)), np.array([5.0, 1.0]), least=np.full(2, -3.0), most=np.full(2, 3.0)
        )
