import numpy as np
import pytest
from scipy.integrate import quad
from scipy.stats import norm

from fourpatch.errors import AdviceError
from fourpatch.evidence.heard import BADLY, LITTLE, NOTHING, VAGUE, Heard, outcome_heard, words_heard


def test_a_point_is_a_normal_distribution() -> None:
    heard = Heard(low=2.0, high=2.0, spread=0.5)
    found = heard.log_likelihood(np.array([1.0, 2.0, 4.0]))
    # The same formula written out; rounding only.
    expected = -0.5 * ((np.array([1.0, 2.0, 4.0]) - 2.0) / 0.5) ** 2 - np.log(0.5 * np.sqrt(2.0 * np.pi))
    np.testing.assert_allclose(found, expected, rtol=1e-12)


def test_an_interval_is_what_falls_in_it() -> None:
    heard = Heard(low=1.0, high=3.0, spread=2.0)
    for number in (-4.0, 0.0, 2.0, 7.0):
        inside, _ = quad(lambda told, at=number: norm.pdf(told, at, 2.0), 1.0, 3.0)
        # quad's own tolerance is 1.5e-8.
        assert np.exp(heard.log_likelihood(np.array([number])))[0] == pytest.approx(inside, abs=1e-7)


def test_words_of_a_scale_leave_nothing_out_and_overlap_nowhere() -> None:
    balances = np.linspace(-40.0, 40.0, 81)
    total = np.exp(words_heard("", nothing=True).log_likelihood(balances))
    for size in ("a little", "clearly", "badly"):
        heard = words_heard(size, nothing=False)
        total += np.exp(heard.log_likelihood(balances)) + np.exp(heard.log_likelihood(-balances))
    # Chances of all that can be said sum to 1, to rounding.
    np.testing.assert_allclose(total, 1.0, rtol=1e-9)
    outcomes = sum(
        np.exp(outcome_heard(one).log_likelihood(balances)) for one in ("better", "no difference", "worse")
    )
    np.testing.assert_allclose(outcomes, 1.0, rtol=1e-9)


def test_what_is_said_without_a_size_is_any_size() -> None:
    balances = np.linspace(-20.0, 40.0, 31)
    sized = sum(
        np.exp(words_heard(size, nothing=False).log_likelihood(balances))
        for size in ("a little", "clearly", "badly")
    )
    np.testing.assert_allclose(
        np.exp(words_heard("", nothing=False).log_likelihood(balances)), sized, rtol=1e-9
    )
    assert NOTHING < LITTLE < BADLY


def test_far_off_it_is_unlikely_but_a_number_and_nearer_is_likelier() -> None:
    far = np.array([-4000.0, -400.0, -40.0])
    found = words_heard("a little", nothing=False).log_likelihood(far)
    assert np.all(np.isfinite(found))
    assert np.all(np.diff(found) > 0.0)
    # Of the nearer edge's tail: log of the normal's sf, to which the farther edge adds nothing.
    assert found[1] == pytest.approx(norm.logsf((NOTHING + 400.0) / VAGUE), rel=1e-9)


def test_what_is_no_number_is_impossible() -> None:
    heard = Heard(low=0.0, high=0.0, spread=1.0)
    assert heard.log_likelihood(np.array([np.nan]))[0] == -np.inf


def test_beyond_is_signed_and_zero_inside() -> None:
    heard = Heard(low=-1.0, high=1.0, spread=0.5)
    assert (heard.beyond(0.3), heard.beyond(2.0), heard.beyond(-3.0)) == (0.0, 2.0, -4.0)


@pytest.mark.parametrize(("low", "high", "spread"), [(1.0, 0.0, 1.0), (0.0, 1.0, 0.0)])
def test_limits_that_nothing_lies_between_are_refused(low: float, high: float, spread: float) -> None:
    with pytest.raises(AdviceError, match="nothing lies between"):
        Heard(low=low, high=high, spread=spread)


@pytest.mark.parametrize(
    ("low", "high"), [(3.0, np.inf), (-np.inf, -3.0), (3.0, 9.0), (-3.0, 3.0), (40.0, np.inf)]
)
def test_a_reading_that_says_as_much_leaves_the_same_mean_and_variance(low: float, high: float) -> None:
    heard = Heard(low=low, high=high, spread=4.0)
    middle, spread = 5.0, 11.0
    told, error = heard.about(middle, spread)
    variance = 1.0 / (1.0 / spread**2 + 1.0 / error**2)
    mean = variance * (middle / spread**2 + told / error**2)

    def moment(power: int) -> float:
        def density(x: float) -> float:
            likelihood = norm.cdf((high - x) / 4.0) - norm.cdf((low - x) / 4.0)
            return float(x**power * likelihood * norm.pdf(x, middle, spread))

        return float(quad(density, middle - 9.0 * spread, middle + 9.0 * spread, limit=200)[0])

    expected = moment(1) / moment(0)
    # The grid's step is a twentieth of the spread: its sum is exact far beyond this.
    assert mean == pytest.approx(expected, rel=1e-4, abs=1e-3)
    assert variance == pytest.approx(moment(2) / moment(0) - expected**2, rel=1e-3)
