"""How many laps, against printed sample sizes and against trials.

Sources: Cohen, Statistical Power Analysis for the Behavioral Sciences, 2nd ed. 1988, table 2.4.1 (from
memory): 64 and 26 per group for differences of 0.5 and 0.8 standard deviations, two-sided 5 %, power 80 %;
trials with `scipy.stats.ttest_ind`.
"""

import numpy as np
import pytest
from numpy.testing import assert_allclose
from scipy.stats import norm, ttest_ind

from fourpatch.advice.laps_needed import laps_needed, power_of

TRIALS = 20_000


@pytest.mark.parametrize(("difference", "printed"), [(0.5, 64), (0.8, 26)])
def test_printed_sample_sizes(difference: float, printed: int) -> None:
    assert laps_needed(effect=-difference, scatter=1.0) == printed


@pytest.mark.parametrize(("laps", "effect"), [(5, 0.5), (12, 0.35), (20, 0.1)])
def test_power_against_trials(laps: int, effect: float) -> None:
    rng = np.random.default_rng(5)
    one = rng.normal(90.0, 0.3, (TRIALS, laps))
    other = rng.normal(90.0 + effect, 0.3, (TRIALS, laps))
    seen = float(np.mean(ttest_ind(one, other, axis=1).pvalue < 0.05))
    # Four standard deviations of a share over so many trials.
    power = power_of(laps, effect=effect, scatter=0.3)
    assert_allclose(seen, power, atol=4.0 * np.sqrt(power * (1.0 - power) / TRIALS))


def test_many_laps_follow_the_normal_closed_form() -> None:
    z = norm.ppf(0.975) + norm.ppf(0.8)
    # One or two laps of a thousand are the t distribution's wider tails.
    assert_allclose(laps_needed(effect=0.02, scatter=0.2), 2.0 * (z * 10.0) ** 2, rtol=2e-3)


def test_a_lap_less_is_too_few() -> None:
    laps = laps_needed(effect=0.2, scatter=0.25)
    assert laps is not None
    assert power_of(laps, effect=0.2, scatter=0.25) >= 0.8 > power_of(laps - 1, effect=0.2, scatter=0.25)


def test_no_difference_needs_no_end_of_laps() -> None:
    assert laps_needed(effect=0.0, scatter=0.3) is None
    assert laps_needed(effect=1e-5, scatter=0.3) is None
    assert laps_needed(effect=0.1, scatter=0.0) == 2
