"""Weights of drawn cars: importance sampling that draws again where the evidence says the cars are.

Scores are standard normal before anything is known. Cars are first drawn from there. Where too few of them
explain what was observed, a straight law from scores to observed numbers is fitted to all cars run so far;
with it the scores given the observations are normal in closed form (a linear Gauss-Newton step, as of an
iterated ensemble smoother); more cars are drawn from that, run, and weighed by what the law got wrong. The
draws of all rounds count together, each over the mixture it could have come from (deterministic mixture,
adaptive multiple importance sampling: Cornuet et al. 2012, from memory), so the law may be as wrong as it
likes: it costs cars, not truth. Directions that no observation sees stay as they were.
"""

from collections.abc import Callable, Sequence
from dataclasses import dataclass, replace
from typing import Final

import numpy as np
from numpy.typing import NDArray

from fourpatch.errors import AdviceError
from fourpatch.evidence.heard import Heard
from fourpatch.long_work import Cancelled, Progress, go_on, never, unwatched

Array = NDArray[np.float64]
Forward = Callable[[Array], Array]
"""From scores (cars, scores) to the numbers that would be observed (cars, items), not a number where none."""

FIRST, MORE, ROUNDS = 256, 128, 6
"""Cars drawn first, in each further round, and most further rounds."""
ENOUGH: Final = 100.0
"""Effective number of cars from which on no more are drawn."""
FEW: Final = 24.0
"""... below which what they say is not to be relied on."""

_SEEN = 3.5  # standard errors from which on a score counts as seen in a number
_PURSUITS = 8  # times that more scores are looked for
_ROBUST = 4.0  # standard deviations of the middle half beyond which a number is cut for a law
_CONFLICT = 0.01  # chance below which what was observed is not put down to chance


@dataclass(frozen=True, kw_only=True, eq=False)
class Law:
    """Observed numbers as a straight law of scores: constant + slope @ score, give or take `error`."""

    constant: Array
    """(items,)"""
    slope: Array
    """(items, scores); 0 where nothing is seen."""
    error: Array
    """Standard deviation of what the law leaves, (items,)."""

    def only(self, kept: Sequence[int]) -> "Law":
        """Return the law of some of the numbers."""
        rows = list(kept)
        return Law(constant=self.constant[rows], slope=self.slope[rows], error=self.error[rows])

    def given(self, heard: Sequence[Heard], *, wider: float = 1.0) -> "Given":
        """Return the scores given what was heard."""
        before = np.sqrt((self.slope**2).sum(axis=1) + self.error**2)
        middles = np.array(
            [
                one.about(middle, spread, wider=wider)
                for one, middle, spread in zip(heard, self.constant, before, strict=True)
            ]
        ).reshape(-1, 2)
        noise = middles[:, 1] ** 2 + self.error**2
        total = self.slope @ self.slope.T + np.diag(noise)
        return Given(law=self, middle=middles[:, 0], noise=noise, total=total)


@dataclass(frozen=True, kw_only=True, eq=False)
class Given:
    """Scores given observations by a straight law: normal."""

    law: Law
    middle: Array
    noise: Array
    """Variances, (items,)."""
    total: Array
    """Covariance of what would be observed, (items, items)."""

    def drawn(self, count: int, generator: np.random.Generator) -> Array:
        """Return scores, (count, scores), by Matheron's rule: drawn before, then moved by what is missing."""
        slope = self.law.slope
        before = generator.standard_normal((count, slope.shape[1]))
        error = np.sqrt(self.noise) * generator.standard_normal((count, slope.shape[0]))
        missing = self.middle - self.law.constant - before @ slope.T - error
        return np.asarray(before + np.linalg.solve(self.total, missing.T).T @ slope)

    def log_ratio(self, scores: Array) -> Array:
        """Return the logarithm of their density over that of the scores before, (cars,)."""
        left = self.middle - self.law.constant
        each = (left - scores @ self.law.slope.T) ** 2 / self.noise
        own = each.sum(axis=1) + np.log(self.noise).sum()
        whole = left @ np.linalg.solve(self.total, left) + np.linalg.slogdet(self.total)[1]
        return np.asarray(0.5 * (whole - own))

    def mean(self) -> Array:
        """Return the expected scores."""
        left = self.middle - self.law.constant
        return np.asarray(np.linalg.solve(self.total, left) @ self.law.slope)

    def spread(self) -> Array:
        """Return the standard deviation of each score; 1 for one of which nothing was seen."""
        slope = self.law.slope
        shrunk = (slope * np.linalg.solve(self.total, slope)).sum(axis=0)
        return np.asarray(np.sqrt(np.clip(1.0 - shrunk, 0.0, 1.0)))


@dataclass(frozen=True, kw_only=True, eq=False)
class Weighed:
    """Drawn cars with what each would show, and how much each is believed."""

    scores: Array
    """(cars, scores)"""
    numbers: Array
    """What each would show, (cars, items)."""
    log_base: Array
    """Logarithm of the density before over that of the mixture it was drawn from, (cars,)."""
    weights: Array
    """(cars,), sum 1."""
    law: Law
    wider: float
    """Factor on all spreads of what was observed: above 1 where no plausible car explains it together."""
    rounds: int
    """Further rounds of draws."""

    @property
    def effective(self) -> float:
        """How many cars of equal weight would say as much."""
        return effective(self.weights)

    def with_only(self, heard: Sequence[Heard], kept: Sequence[int]) -> Array:
        """Return the weights if only some items had been observed, (cars,)."""
        return _weights(self.log_base, self.numbers, heard, self.wider, kept)


def effective(weights: Array) -> float:
    """Return how many cars of equal weight would say as much as these: 1 / sum of squares (Kish)."""
    total = float(np.sum(weights**2))
    return 1.0 / total if total > 0.0 else 0.0


def weigh(
    forward: Forward,
    scores: int,
    heard: Sequence[Heard],
    *,
    seed: int = 1,
    first: int = FIRST,
    more: int = MORE,
    enough: float = ENOUGH,
    pool: tuple[Array, Array] | None = None,
    progress: Progress = unwatched,
    cancelled: Cancelled = never,
) -> Weighed:
    """Return cars drawn and weighed by what was observed.

    Parameters
    ----------
    forward : what cars would show.
    scores : how many unknowns there are.
    heard : what was observed, in the order of what ``forward`` returns.
    enough : cars of equal weight from which on no more are drawn.
    pool : scores of the first cars and what they show, if that is known already.

    Raises
    ------
    AdviceError
        If no drawn car can be put where it was observed.
    """
    generator = np.random.default_rng(seed)
    progress(0.0, f"{first} plausible cars")
    drawn = generator.standard_normal((first, scores))
    known = (drawn, forward(drawn)) if pool is None else pool
    made = _Draws(*known)
    made.weights(heard, 1.0)  # raises where no car can be put there
    law = fitted(made.scores, made.numbers)
    wider = _conflict(law, heard)
    for number in range(ROUNDS):
        weights = made.weights(heard, wider)
        if effective(weights) >= enough:
            break
        go_on(cancelled, "plausible cars are not weighed yet")
        progress(0.3 + 0.7 * number / ROUNDS, f"{more} more where they explain what was observed")
        law = fitted(made.scores, made.numbers, _near(made, heard, wider), before=law)
        proposal = law.given(heard, wider=wider)
        again = proposal.drawn(more, generator)
        made = made.and_more(again, forward(again), proposal)
    weights = made.weights(heard, wider)
    return Weighed(
        scores=made.scores,
        numbers=made.numbers,
        log_base=made.log_base(),
        weights=weights,
        law=fitted(made.scores, made.numbers, _near(made, heard, wider), before=law),
        wider=wider,
        rounds=len(made.proposals),
    )


@dataclass(frozen=True, eq=False)
class _Draws:
    scores: Array
    numbers: Array
    proposals: tuple[Given, ...] = ()
    counts: tuple[int, ...] = ()

    def and_more(self, scores: Array, numbers: Array, of: Given) -> "_Draws":
        return replace(
            self,
            scores=np.concatenate([self.scores, scores]),
            numbers=np.concatenate([self.numbers, numbers]),
            proposals=(*self.proposals, of),
            counts=(*self.counts, len(scores)),
        )

    def log_base(self) -> Array:
        """Minus the logarithm of the mixture's density over that before."""
        whole = len(self.scores)
        first = whole - sum(self.counts)
        parts = [np.full(whole, np.log(first / whole))]
        parts += [
            np.log(count / whole) + one.log_ratio(self.scores)
            for one, count in zip(self.proposals, self.counts, strict=True)
        ]
        return -np.asarray(np.logaddexp.reduce(parts, axis=0))

    def weights(self, heard: Sequence[Heard], wider: float) -> Array:
        return _weights(self.log_base(), self.numbers, heard, wider, range(len(heard)))


def _weights(
    log_base: Array, numbers: Array, heard: Sequence[Heard], wider: float, kept: Sequence[int]
) -> Array:
    found = log_base.copy()
    found[~np.isfinite(numbers).all(axis=1)] = -np.inf
    for k in kept:
        found += heard[k].log_likelihood(numbers[:, k], wider=wider)
    return _normal(found)


def _normal(logarithms: Array) -> Array:
    top = float(logarithms.max()) if logarithms.size else -np.inf
    if not np.isfinite(top):
        raise AdviceError(
            "None of the plausible cars can be put where this was observed. Look at the spreads of the car: "
            "they make cars that cannot stand, or cannot be driven so."
        )
    raised = np.exp(logarithms - top)
    return np.asarray(raised / raised.sum())


def _near(made: _Draws, heard: Sequence[Heard], wider: float) -> Array:
    """Return how much each car counts where a law is fitted: those that explain more, but never too few.

    Notes
    -----
    Weights to a power between 0 and 1, the largest with which at least a third of the cars count.
    """
    logs = np.log(np.maximum(made.weights(heard, wider), 1e-300))
    usable = np.isfinite(made.numbers).all(axis=1)
    least = usable.sum() / 3.0
    low, high = 0.0, 1.0
    for _ in range(20):
        middle = 0.5 * (low + high)
        raised = np.where(usable, np.exp(middle * (logs - logs.max())), 0.0)
        low, high = (middle, high) if effective(raised / raised.sum()) >= least else (low, middle)
    return np.where(usable, np.exp(low * (logs - logs.max())), 0.0)


def fitted(scores: Array, numbers: Array, counts: Array | None = None, *, before: Law | None = None) -> Law:
    """Return the straight law that cars follow.

    Parameters
    ----------
    counts : how much each car counts, (cars,); alike if left out.
    before : a law whose scores stay in it: among cars that all explain what was observed none shows alone.

    Notes
    -----
    Matching pursuit: the scores whose correlation with what is left is more than 3.5 standard errors from 0
    are fitted together by least squares, then those that show in what that leaves, and so on. With 150
    scores one in ten laws takes in a score that nothing hangs on; that costs a little sharpness of what is
    drawn, no more.
    Numbers are cut at 4 standard deviations of the middle half, so that one wild car does not bend the law.
    """
    usable = np.isfinite(numbers).all(axis=1)
    weight = np.where(usable, 1.0 if counts is None else counts, 0.0)[usable]
    total = weight.sum()
    there = scores[usable]
    size = effective(weight / total)
    centre = weight @ there / total
    moved = there - centre
    variance = weight @ moved**2 / total
    scaled = moved / np.sqrt(np.maximum(variance, 1e-12))
    constants, slopes, errors = [], [], []
    for k in range(numbers.shape[1]):
        number = _cut(numbers[usable, k])
        middle = float(weight @ number / total)
        known = np.flatnonzero(before.slope[k]) if before else np.empty(0, dtype=np.intp)
        slope, left = _pursued(scaled, number - middle, weight, known)
        slope = slope / np.sqrt(np.maximum(variance, 1e-12))
        free = max(size - np.count_nonzero(slope) - 1.0, 1.0)
        errors.append(np.sqrt(weight @ left**2 / total * size / free))
        constants.append(middle - slope @ centre)
        slopes.append(slope)
    items = numbers.shape[1]
    return Law(
        constant=np.array(constants),
        slope=np.array(slopes).reshape(items, there.shape[1]),
        error=np.array(errors),
    )


def _pursued(scores: Array, numbers: Array, weight: Array, seen: NDArray[np.intp]) -> tuple[Array, Array]:
    """Return the slope on the scores seen before or now in numbers, and what it leaves."""
    total = weight.sum()
    size = effective(weight / total)
    most = int(size / 3.0)
    seen = seen[:most]
    root = np.sqrt(weight)[:, None]
    fit: NDArray[np.floating] = np.empty(0)
    left = numbers
    if seen.size:
        fit = np.linalg.lstsq(root * scores[:, seen], root[:, 0] * numbers, rcond=None)[0]
        left = numbers - scores[:, seen] @ fit
    for _ in range(_PURSUITS):
        spread = np.sqrt(weight @ left**2 / total)
        if not spread > 0.0:
            break
        correlation = np.abs((weight * left) @ scores / total / spread)
        correlation[seen] = 0.0
        new = np.flatnonzero(correlation > _SEEN / np.sqrt(max(size - seen.size, 1.0)))
        new = new[np.argsort(-correlation[new])][: max(most - seen.size, 0)]
        if not new.size:
            break
        seen = np.concatenate([seen, new])
        fit = np.linalg.lstsq(root * scores[:, seen], root[:, 0] * numbers, rcond=None)[0]
        left = numbers - scores[:, seen] @ fit
    slope = np.zeros(scores.shape[1])
    slope[seen] = fit
    return slope, left


def _cut(numbers: Array) -> Array:
    low, middle, high = np.percentile(numbers, [25.0, 50.0, 75.0])
    spread = (high - low) / 1.349  # of a normal distribution
    return np.clip(numbers, middle - _ROBUST * spread, middle + _ROBUST * spread)


def _conflict(law: Law, heard: Sequence[Heard]) -> float:
    """Return the factor on all spreads with which plausible cars explain what was observed; at least 1.

    Notes
    -----
    D^2 = d' S^-1 d, d from what the cars show to the nearest point of what was observed, S the covariance of
    what they show and of the errors, is chi-squared with as many degrees of freedom as items if the car is
    one of the plausible ones. Beyond its 99th percentile the errors were stated too small or the car is none
    of them; they are widened, all alike as by Birge's ratio (from memory), until D^2 is as far below that
    percentile as it was above, but not below its mean: what only just does not fit changes next to nothing,
    what is far off leaves little that is sure.
    """
    from scipy.stats import chi2

    count = len(heard)
    if not count:
        return 1.0
    nearest = np.array([np.clip(c, one.low, one.high) for c, one in zip(law.constant, heard, strict=True)])
    away = nearest - law.constant
    spread = np.array([one.spread for one in heard])
    shown = law.slope @ law.slope.T + np.diag(law.error**2)

    def distance(wider: float) -> float:
        return float(away @ np.linalg.solve(shown + np.diag((wider * spread) ** 2), away))

    most = float(chi2.ppf(1.0 - _CONFLICT, count))
    if distance(1.0) <= most:
        return 1.0
    most = max(most**2 / distance(1.0), float(count))
    low, high = 1.0, 2.0
    while distance(high) > most and high < 1e6:
        low, high = high, 2.0 * high
    for _ in range(40):
        middle = 0.5 * (low + high)
        low, high = (middle, high) if distance(middle) > most else (low, middle)
    return high
