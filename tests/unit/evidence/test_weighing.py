"""Weights against the closed form of normal scores and straight laws, where both are known exactly."""

import numpy as np
import pytest
from numpy.typing import NDArray

from fourpatch.errors import AdviceError
from fourpatch.evidence.heard import Heard
from fourpatch.evidence.weighing import ENOUGH, effective, fitted, weigh

Array = NDArray[np.float64]


def heard_at(values: Array, spread: float) -> list[Heard]:
    return [Heard(low=float(value), high=float(value), spread=spread) for value in values]


def given(slope: Array, values: Array, spread: float) -> tuple[Array, Array]:
    """Mean and covariance of standard normal scores given slope @ scores + error (any textbook)."""
    total = slope @ slope.T + spread**2 * np.eye(len(values))
    return (
        slope.T @ np.linalg.solve(total, values),
        np.eye(slope.shape[1]) - slope.T @ np.linalg.solve(total, slope),
    )


def sharp_case() -> tuple[Array, Array]:
    """Five numbers of twelve of a hundred unknowns, each 20 to 50 times as sharp as before."""
    generator = np.random.default_rng(3)
    slope = np.zeros((5, 100))
    slope[:, :12] = generator.standard_normal((5, 12))
    return slope, slope @ generator.standard_normal(100) + 0.1 * generator.standard_normal(5)


def test_sharp_evidence_among_many_unknowns_is_the_closed_form() -> None:
    slope, values = sharp_case()
    found = weigh(lambda scores: scores @ slope.T, 100, heard_at(values, 0.1))
    assert found.effective >= ENOUGH
    mean, covariance = given(slope, values, 0.1)
    # Monte Carlo error of a mean is one spread over the root of the effective number; 4.5 of them over 100.
    error = np.sqrt(np.diag(covariance) / found.effective)
    assert np.all(np.abs(found.weights @ found.scores - mean) < 4.5 * error)
    spread = np.sqrt(found.weights @ (found.scores - found.weights @ found.scores) ** 2)
    # Of a spread, relative: 1 / sqrt(2 n).
    assert np.all(np.abs(spread / np.sqrt(np.diag(covariance)) - 1.0) < 4.5 / np.sqrt(2.0 * found.effective))


def test_without_drawing_again_hardly_a_car_would_be_left() -> None:
    slope, values = sharp_case()
    scores = np.random.default_rng(1).standard_normal((256, 100))
    logs = sum(one.log_likelihood(scores @ slope[k]) for k, one in enumerate(heard_at(values, 0.1)))
    weights = np.exp(logs - np.max(logs))
    assert effective(weights / weights.sum()) < 3.0


def test_the_law_of_a_straight_forward_is_that_law() -> None:
    slope, values = sharp_case()
    found = weigh(lambda scores: 3.0 + scores @ slope.T, 100, heard_at(values + 3.0, 0.1))
    # Least squares on numbers without error: rounding.
    np.testing.assert_allclose(found.law.slope, slope, atol=1e-9)
    np.testing.assert_allclose(found.law.constant, 3.0, atol=1e-9)
    _, covariance = given(slope, values, 0.1)
    spread = found.law.given(heard_at(values + 3.0, 0.1)).spread()
    np.testing.assert_allclose(spread, np.sqrt(np.diag(covariance)), atol=1e-6)


def test_a_bent_forward_is_weighed_right_however_wrong_the_law() -> None:
    """One unknown, number exp(z): its posterior by quadrature."""
    heard = [Heard(low=3.0, high=3.0, spread=0.2)]
    found = weigh(lambda scores: np.exp(scores[:, :1]), 20, heard)
    grid = np.linspace(-5.0, 5.0, 20001)
    density = np.exp(-0.5 * grid**2 - 0.5 * ((np.exp(grid) - 3.0) / 0.2) ** 2)
    mean = float((density * grid).sum() / density.sum())
    spread = float(np.sqrt((density * (grid - mean) ** 2).sum() / density.sum()))
    # Four standard errors of a Monte Carlo mean.
    assert found.weights @ found.scores[:, 0] == pytest.approx(
        mean, abs=4.0 * spread / np.sqrt(found.effective)
    )
    assert found.effective >= ENOUGH


def test_what_one_number_cannot_tell_apart_stays_a_ridge() -> None:
    heard = [Heard(low=1.0, high=1.0, spread=0.05)]
    found = weigh(lambda scores: scores[:, :1] + scores[:, 1:2], 10, heard)
    one, other = found.scores[:, 0], found.scores[:, 1]
    mean = found.weights @ found.scores
    both = found.weights @ ((one - mean[0]) * (other - mean[1]))
    sizes = [np.sqrt(found.weights @ (each - m) ** 2) for each, m in ((one, mean[0]), (other, mean[1]))]
    # Closed form: correlation -1 / (1 + 0.05^2), spread of each 0.707.
    assert both / (sizes[0] * sizes[1]) < -0.98
    assert sizes[0] == pytest.approx(np.sqrt(0.5), rel=0.3)


def test_nothing_observed_leaves_all_alike() -> None:
    found = weigh(lambda scores: np.empty((len(scores), 0)), 4, [])
    np.testing.assert_array_equal(found.weights, np.full(256, 1.0 / 256.0))
    assert found.wider == 1.0


def test_the_same_seed_gives_the_same_cars_and_another_others() -> None:
    heard = [Heard(low=1.0, high=1.0, spread=0.05)]
    one, same, other = (weigh(lambda scores: scores[:, :1], 6, heard, seed=seed) for seed in (1, 1, 2))
    np.testing.assert_array_equal(one.scores, same.scores)
    np.testing.assert_array_equal(one.weights, same.weights)
    assert not np.array_equal(one.scores, other.scores)


def test_cars_that_cannot_be_put_there_do_not_count() -> None:
    def forward(scores: Array) -> Array:
        return np.where(scores[:, :1] > 0.0, scores[:, :1], np.nan)

    found = weigh(forward, 5, [Heard(low=0.5, high=0.5, spread=1.0)])
    assert found.weights[found.scores[:, 0] <= 0.0].sum() == 0.0
    with pytest.raises(AdviceError, match="None of the plausible cars"):
        weigh(lambda scores: np.full((len(scores), 1), np.nan), 5, [Heard(low=0.0, high=0.0, spread=1.0)])


def test_what_no_car_shows_widens_and_never_sharpens() -> None:
    """Two readings of one number that contradict each other by 20 of their errors."""
    heard = heard_at(np.array([0.0, 2.0]), 0.1)

    def forward(scores: Array) -> Array:
        return np.repeat(scores[:, :1], 2, axis=1)

    found = weigh(forward, 5, heard)
    # D^2 = 2^2 / (2 0.1^2 w^2) of their difference and 1 / (1 + 0.1^2 w^2 / 2) of their mean, to be its mean,
    # 2: w = 11.9. The law is exact; its constant is 0 but for rounding.
    assert found.wider == pytest.approx(11.9, rel=0.02)
    spread = np.sqrt(found.weights @ (found.scores[:, 0] - found.weights @ found.scores[:, 0]) ** 2)
    # Two readings of 1.19 each on a spread of 1: 0.64; a Monte Carlo spread of a hundred cars, 7 %.
    assert spread == pytest.approx(0.64, rel=0.25)
    agreeing = weigh(forward, 5, heard_at(np.array([1.0, 1.1]), 0.1))
    assert agreeing.wider == 1.0


def test_a_law_takes_in_what_shows_and_little_else() -> None:
    generator = np.random.default_rng(5)
    scores = generator.standard_normal((400, 150))
    numbers = (2.0 * scores[:, 3] - scores[:, 40] + 0.1 * generator.standard_normal(400))[:, None]
    law = fitted(scores, numbers)
    seen = np.flatnonzero(law.slope[0])
    assert {3, 40} <= set(seen.tolist())
    # 150 scores at 3.5 standard errors: 0.07 by chance on average; 2 would be one case in 400.
    assert len(seen) <= 3
    assert law.error[0] == pytest.approx(0.1, rel=0.2)  # of 400 cars: 3.5 % is one standard error
