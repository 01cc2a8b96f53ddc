"""A straight law fitted to lap times of which some are spoiled, with an interval that holds for few laps."""

import math
import warnings
from dataclasses import dataclass
from typing import Final

import numpy as np
from numpy.typing import NDArray

Array = NDArray[np.float64]

SPOILED: Final = 0.3
"""Weight below which a time is called spoiled. A choice of this project."""

_STEPS = 200
_HALF = 0.5  # of the degrees of freedom that squares would have


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class RobustLine:
    """What was fitted."""

    values: Array
    """Coefficient of each column."""
    errors: Array
    """Standard error of each."""
    scatter: float
    """Standard deviation of one time about the law, spoiled ones apart."""
    freedom: float
    """Degrees of freedom left."""
    weights: Array
    """Of each time: 1 counts in full, 0 not at all."""

    def half_width(self, column: int, confidence: float, *, besides: float = 0.0) -> float:
        """Return half the width of the two-sided interval of a coefficient.

        Parameters
        ----------
        confidence : chance that the interval holds the truth. [1]
        besides : standard deviation of what no time tells, independent and normal.
        """
        from scipy.stats import norm, t

        tail = 0.5 * (1.0 + confidence)
        fitted = float(t.ppf(tail, self.freedom)) * float(self.errors[column])
        return math.hypot(fitted, float(norm.ppf(tail)) * besides)

    def chance(self, column: int, *, besides: float = 0.0) -> float:
        """Return the two-sided chance of a coefficient this far from 0 if it were 0. [1]"""
        from scipy.stats import t

        error = math.hypot(float(self.errors[column]), besides)
        return float(2.0 * t.sf(abs(float(self.values[column])) / error, self.freedom)) if error else 0.0


def robust_line(times: Array, columns: Array, *, resolution: float) -> RobustLine:
    """Fit times by a sum of columns, spoiled times counting little or nothing.

    Parameters
    ----------
    times : (n,).
    columns : (n, p), of full rank, n > p.
    resolution : last digit of the times: below it nothing is told.

    Notes
    -----
    M-estimation: Huber's weights first, then from there Tukey's biweight, which leaves out what is far off
    altogether; scatter by the median absolute deviation, covariance H1 of Huber, Robust Statistics, 1981,
    as statsmodels' RLM computes them (from memory; compared in tests/validation/test_change_effect.py). The
    median of n residuals of a law with p coefficients is small by about sqrt((n - p) / n), and a scatter
    told by a median is told half as well as by squares (0.37 times at large n), so the interval is Student's
    with half of the sum of the weights less p as degrees of freedom. That half is a choice, made so that
    intervals of few laps hold what they say: measured in docs/did-it-help.md.
    """
    from statsmodels.robust.norms import HuberT, TukeyBiweight
    from statsmodels.robust.robust_linear_model import RLM

    count, free = columns.shape
    least = resolution / math.sqrt(12.0)
    plain = np.linalg.lstsq(columns, times, rcond=None)[0]
    if float(np.median(np.abs(times - columns @ plain))) <= least / 100.0:
        return _exact(np.asarray(plain, dtype=np.float64), columns, least)
    with warnings.catch_warnings():
        warnings.simplefilter("ignore")  # it stops after so many steps: the last one is as good as the next
        first = RLM(times, columns, M=HuberT()).fit(maxiter=_STEPS)
        if first.scale <= least / 100.0:
            return _exact(np.asarray(first.params), columns, least)
        fit = RLM(times, columns, M=TukeyBiweight()).fit(maxiter=_STEPS, start_params=first.params)
    if not np.all(np.isfinite(fit.bse)) or fit.scale <= least / 100.0:
        fit = first
    small = math.sqrt(count / (count - free))
    scatter = max(float(fit.scale) * small, least)
    return RobustLine(
        values=np.asarray(fit.params),
        errors=np.asarray(fit.bse) * scatter / float(fit.scale),
        scatter=scatter,
        freedom=max(_HALF * (float(np.sum(fit.weights)) - free), 1.0),
        weights=np.asarray(fit.weights),
    )


def _exact(values: Array, columns: Array, scatter: float) -> RobustLine:
    """Return a law that times follow to their last digit, which is what is left of scatter."""
    count, free = columns.shape
    errors = scatter * np.sqrt(np.diag(np.linalg.inv(columns.T @ columns)))
    return RobustLine(
        values=values,
        errors=errors,
        scatter=scatter,
        freedom=float(max(count - free, 1)),
        weights=np.ones(count),
    )
