"""How many laps tell a difference from a driver's scatter: the two-sample t test, in closed form."""

from math import sqrt

import numpy as np

SIGNIFICANCE = 0.05
"""Chance of seeing a difference where there is none, either way."""

POWER = 0.8
"""Chance of seeing the difference where there is one."""

MOST_LAPS = 100_000
"""More is never."""


def power_of(laps: int, *, effect: float, scatter: float, significance: float = SIGNIFICANCE) -> float:
    """Return the chance that a two-sided two-sample t test sees a difference. [1]

    Parameters
    ----------
    laps : with each set-up, two or more.
    effect, scatter : difference of the means; standard deviation of one lap, alike with both. [s]
    significance : of the test. [1]

    Notes
    -----
    With equal normal scatter the statistic follows a noncentral t distribution with 2 n - 2 degrees of
    freedom and noncentrality (effect / scatter) sqrt(n / 2). Source: textbook; checked in
    tests/validation/test_laps_needed.py against trials and printed sample sizes.
    """
    freedom = 2 * laps - 2
    offset = abs(effect) / scatter * sqrt(0.5 * laps)
    from scipy.stats import nct, t

    edge = float(t.ppf(1.0 - 0.5 * significance, freedom))
    return float(nct.sf(edge, freedom, offset) + nct.cdf(-edge, freedom, offset))


def laps_needed(
    *, effect: float, scatter: float, significance: float = SIGNIFICANCE, power: float = POWER
) -> int | None:
    """Return how many laps with each set-up tell a difference from scatter; None beyond `MOST_LAPS`.

    Notes
    -----
    From the normal approximation 2 ((z_(1-a/2) + z_power) scatter / effect)^2, then up by the exact power;
    the approximation is a lap or two short.
    """
    if effect == 0.0:
        return None
    if scatter <= 0.0:
        return 2
    from scipy.stats import norm

    z = float(norm.ppf(1.0 - 0.5 * significance) + norm.ppf(power))
    about = 2.0 * (z * scatter / abs(effect)) ** 2
    if about > MOST_LAPS:
        return None
    laps = max(2, int(np.floor(about)) - 1)
    while power_of(laps, effect=effect, scatter=scatter, significance=significance) < power:
        laps += 1
    return laps
