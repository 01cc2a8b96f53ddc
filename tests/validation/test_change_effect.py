"""Did it help, against a published regression and against days whose truth is known.

Sources: stack loss data of Brownlee, Statistical Theory and Methodology in Science and Engineering, 1965, as
kept in statsmodels; their robust coefficients by Tukey's biweight as printed in the manuals of R's MASS and
of statsmodels (from memory): -42.2853, 0.9275, 0.6507, -0.1123.
"""

import numpy as np
import pytest
from numpy.testing import assert_allclose
from scipy.stats import linregress
from statsmodels.datasets import stackloss

from fourpatch.advice.change_effect import DAY, change_effect
from fourpatch.advice.robust_line import robust_line
from fourpatch.recording.timed_laps import TimedLap


def test_stack_loss() -> None:
    data = stackloss.load_pandas()
    columns = np.column_stack([np.ones(21), data.exog.to_numpy()])
    found = robust_line(data.endog.to_numpy(), columns, resolution=1e-3)
    # A unit of the last printed digit: there the fit stops when residuals change by less than 1e-4.
    assert_allclose(found.values, [-42.2853, 0.9275, 0.6507, -0.1123], atol=1e-4)


def test_clean_data_tend_to_least_squares() -> None:
    rng = np.random.default_rng(3)
    count = 4000
    x = rng.normal(size=count)
    y = 2.0 + 0.5 * x + rng.normal(0.0, 0.3, count)
    found = robust_line(y, np.column_stack([np.ones(count), x]), resolution=1e-3)
    plain = linregress(x, y)
    # Tukey's biweight at 4.685 has 95 % of the efficiency of least squares on normal data (textbook).
    assert_allclose(found.errors[1], plain.stderr / np.sqrt(0.95), rtol=0.03)  # scatter of a scale of 4000
    assert_allclose(found.values[1], plain.slope, atol=plain.stderr)
    assert_allclose(found.scatter, 0.3, rtol=0.04)  # three standard errors of a median deviation of 4000


@pytest.mark.parametrize("order", ["ABA", "ABAB", "ABABAB"])
def test_a_straight_trend_cancels(order: str) -> None:
    laps = [
        TimedLap(
            run=run,
            setup=setup,
            lap=lap,
            time=95.0 - 0.25 * (setup == "B") - 0.02 * (6 * run + lap) + 0.03 * lap,
        )
        for run, setup in enumerate(order)
        for lap in range(1, 7)
    ]
    found = change_effect(laps)
    assert_allclose(found.lap.change, -0.25, atol=1e-9)  # rounding
    rates = {one.name: one.rate for one in found.trends}
    assert_allclose(rates["per lap of the day"], -0.02, atol=1e-9)
    assert_allclose(rates["per lap of a run"], 0.03, atol=1e-9)
    assert found.allowance == 0.0


def drawn_day(rng: np.random.Generator) -> tuple[list[TimedLap], float]:
    """Return laps of a day with trends, of which one in ten is spoiled, and the true effect."""
    order = str(rng.choice(["ABA", "ABAB", "BAAB", "AB"]))
    effect, scatter = rng.normal(0.0, 0.3), rng.uniform(0.1, 0.5)
    per_day, per_run = rng.normal(0.0, DAY * 95.0), rng.normal(0.02, 0.03)
    laps: list[TimedLap] = []
    for run, setup in enumerate(order, start=1):
        for lap in range(1, int(rng.integers(5, 10))):
            time = (
                95.0
                + effect * (setup == "B")
                + per_day * len(laps)
                + per_run * lap
                + rng.normal(0.0, scatter)
            )
            time += rng.uniform(0.5, 5.0) if rng.random() < 0.1 else 0.0
            laps.append(TimedLap(run=run, setup=setup, lap=lap, time=round(time, 2)))
    return laps, effect


def test_intervals_hold_what_they_say() -> None:
    held = []
    for seed in range(500):
        laps, effect = drawn_day(np.random.default_rng(seed))
        found = change_effect(laps, before="A", after="B").lap
        held.append(found.low <= effect <= found.high)
    # What is promised of 90 % intervals; the share of 500 cases scatters by 1.3 %.
    assert 0.85 <= np.mean(held) <= 0.95


def test_so_do_intervals_of_a_few_laps() -> None:
    held = []
    for seed in range(300):
        laps = driven([("A", 3), ("B", 3), ("A", 3)], effect=0.3, scatter=0.3, seed=seed)
        found = change_effect(laps).lap
        held.append(found.low <= 0.3 <= found.high)
    # As above; the share of 300 cases scatters by 1.7 %, and nine laps have four numbers to tell.
    assert 0.87 <= np.mean(held) <= 0.97


def test_laps_that_are_asked_for_tell_as_often_as_promised() -> None:
    first = [("A", 5), ("B", 5), ("A", 5)]
    unsure = (change_effect(driven(first, effect=0.3, scatter=0.35, seed=seed)) for seed in range(50))
    asked = next(one for one in unsure if one.more)
    (more,) = asked.more
    runs = [*first, *((one.setup, one.laps) for one in more.runs)]
    # Had the true change been what the first laps made it.
    told = [
        change_effect(driven(runs, effect=more.tells, scatter=asked.lap.scatter, seed=seed)).lap.low > 0.0
        for seed in range(150)
    ]
    # 80 %; three standard errors of 150 days are 10 %, and whole runs are driven, which may be laps too many.
    assert 0.70 <= np.mean(told) <= 0.95


def driven(runs: list[tuple[str, int]], *, effect: float, scatter: float, seed: int) -> list[TimedLap]:
    """Return laps of runs, set-up and length of each, without trend."""
    rng = np.random.default_rng(seed)
    return [
        TimedLap(
            run=run, setup=setup, lap=lap, time=95.0 + effect * (setup == "B") + rng.normal(0.0, scatter)
        )
        for run, (setup, length) in enumerate(runs, start=1)
        for lap in range(1, length + 1)
    ]
