"""What an observation says of a number: that it lies in an interval, or at a point, and how surely."""

from dataclasses import dataclass
from typing import Final

import numpy as np
from numpy.typing import NDArray

from fourpatch.advice.target import COMPLAINED
from fourpatch.errors import AdviceError

Array = NDArray[np.float64]

NOTHING: Final = COMPLAINED
"""Points of balance up to which a driver has nothing to complain of."""
LITTLE: Final = 9.0
"""... and up to which the car does it a little."""
BADLY: Final = 18.0
"""... and from which on badly."""
VAGUE: Final = 4.0
"""Standard deviation of what a driver makes of a balance, in points. A choice, no published source."""

FELT: Final = 0.5
"""Points by which a change must move a balance to be felt. A choice, no published source."""
FELT_VAGUE: Final = 1.0
"""Standard deviation of what a driver feels of a change, in points."""

_GRID: Final = np.linspace(-12.0, 12.0, 481)
_FLOOR = 50.0  # added to a logarithm, so that what is far off is still a number


@dataclass(frozen=True, slots=True, kw_only=True)
class Heard:
    """The number lies between two limits, each as sure as `spread`; or, if they are one, at that point."""

    low: float
    high: float
    spread: float
    """One standard deviation, in the number's unit."""

    def __post_init__(self) -> None:
        """Refuse limits that no number lies between."""
        if not self.low <= self.high or not self.spread > 0.0:
            raise AdviceError(
                f"nothing lies between {self.low:g} and {self.high:g}, give or take {self.spread:g}"
            )

    def log_likelihood(self, numbers: Array, *, wider: float = 1.0) -> Array:
        """Return how well numbers explain it, natural logarithm; minus infinity for what is no number.

        Parameters
        ----------
        wider : factor on the spread.

        Notes
        -----
        A point is normal; an interval is the ordered probit's P = Phi((high - x) / s) - Phi((low - x) / s)
        (McCullagh 1980, from memory).
        """
        from scipy.stats import norm

        size = wider * self.spread
        with np.errstate(invalid="ignore"):
            if self.low == self.high:
                found = norm.logpdf(numbers, self.low, size)
            else:
                above, below = (self.low - numbers) / size, (self.high - numbers) / size
                # From the nearer tail, where the difference of two numbers next to 1 would say nothing.
                far = above > 0.0
                first = np.where(far, norm.logsf(above), norm.logcdf(below))
                second = np.where(far, norm.logsf(below), norm.logcdf(above))
                found = first + np.log1p(-np.exp(np.minimum(second - first, -1e-12)))
        return np.where(np.isfinite(numbers), found, -np.inf)

    def about(self, middle: float, spread: float, *, wider: float = 1.0) -> tuple[float, float]:
        """Return a reading, and its standard deviation, that would say as much of a normal number.

        Parameters
        ----------
        middle, spread : of the number before.
        wider : factor on the own spread.

        Notes
        -----
        Of an interval that reading leaves the number's mean and variance as the interval leaves them: as in
        a step of expectation propagation (Minka 2001, from memory), by a sum over a grid.
        """
        if self.low == self.high or not spread > 0.0:
            return float(np.clip(middle, self.low, self.high)), wider * self.spread
        number = middle + spread * _GRID
        density = np.exp(self.log_likelihood(number, wider=wider) - 0.5 * _GRID**2 + _FLOOR)
        total = density.sum()
        if not total > 0.0:
            return float(np.clip(middle, self.low, self.high)), wider * self.spread
        mean = float(density @ number / total)
        variance = float(density @ (number - mean) ** 2 / total)
        told = max(1.0 / variance - 1.0 / spread**2, 1e-6 / spread**2)
        return (mean / variance - middle / spread**2) / told, told**-0.5

    def beyond(self, number: float) -> float:
        """Return by how many standard deviations a number lies outside, signed; 0 inside."""
        nearest = float(np.clip(number, self.low, self.high))
        return (number - nearest) / self.spread

    def told(self, number: float, generator: np.random.Generator) -> float:
        """Return the number as it would be observed, error included."""
        return float(number + self.spread * generator.standard_normal())


def words_heard(size: str, *, nothing: bool) -> Heard:
    """Return what words say of a balance, in points toward what they name."""
    if nothing:
        return Heard(low=-NOTHING, high=NOTHING, spread=VAGUE)
    low, high = {
        "": (NOTHING, np.inf),
        "a little": (NOTHING, LITTLE),
        "clearly": (LITTLE, BADLY),
        "badly": (BADLY, np.inf),
    }[size]
    return Heard(low=low, high=high, spread=VAGUE)


def outcome_heard(outcome: str) -> Heard:
    """Return what an outcome says of by how many points a change moved a balance the right way."""
    low, high = {"better": (FELT, np.inf), "no difference": (-FELT, FELT), "worse": (-np.inf, -FELT)}[outcome]
    return Heard(low=low, high=high, spread=FELT_VAGUE)
