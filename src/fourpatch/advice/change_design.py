"""Which trends laps can tell apart from a change, and what more laps would tell."""

import math
from collections.abc import Sequence
from dataclasses import dataclass
from itertools import pairwise
from typing import Final

import numpy as np
from numpy.typing import NDArray

from fourpatch.recording.timed_laps import TimedLap

Array = NDArray[np.float64]

CHANGE: Final = 1
"""Column of the change: 0 before, 1 after."""

_TOLD = 0.05
"""Share of a trend's own size that must be left of it when the others are taken away, for laps to tell it."""

_ROUNDING = 1e-9  # of laps that are counted

TREND_NAMES: Final = {"run": "per lap of a run", "day": "per lap of the day", "fuel": "per kilogram of fuel"}


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class Design:
    """What laps are taken to follow: a level, the change, and the trends that they can tell."""

    columns: Array
    """(n, 2 + trends): 1, change, trends about their means."""
    trends: tuple[str, ...]
    """Of run, day, fuel, in the order of the columns."""
    apart: float
    """Laps by which the day's trend shifts the change, if the laps cannot tell it; else 0."""

    @property
    def spread(self) -> float:
        """Standard error of the change for a scatter of 1."""
        covariance = np.linalg.inv(self.columns.T @ self.columns)
        return math.sqrt(float(covariance[CHANGE, CHANGE]))


def design(laps: Sequence[TimedLap], after: str, *, places: Sequence[int]) -> Design:
    """Return what laps can tell.

    Parameters
    ----------
    after : set-up that the change led to.
    places : how many laps of the day were driven before each, the ones that do not count included.

    Notes
    -----
    Laps of one run tell what fuel and tyres do in it; the day's trend shows where a set-up was driven in two
    runs with others between. A trend that hardly differs from the others together is left out, and what the
    day's would then have added to the change is `apart`.
    """
    changed = np.array([1.0 if one.setup == after else 0.0 for one in laps])
    columns = [np.ones(len(laps)), changed]
    wanted: dict[str, list[float]] = {"run": [float(one.lap) for one in laps]}
    fuel = [one.fuel for one in laps if one.fuel is not None]
    if len(fuel) == len(laps):
        wanted["fuel"] = fuel
    wanted["day"] = [float(one) for one in places]
    trends: list[str] = []
    apart = 0.0
    for name, numbers in wanted.items():
        row = np.array(numbers)
        row = row - row.mean()
        known = np.column_stack(columns)
        shares = np.linalg.lstsq(known, row, rcond=None)[0]
        left = row - known @ shares
        if np.linalg.norm(left) > _TOLD * np.linalg.norm(row) and len(laps) > known.shape[1] + 2:
            columns.append(row)
            trends.append(name)
        elif name == "day":
            apart = float(shares[CHANGE]) if abs(shares[CHANGE]) > _ROUNDING else 0.0
    return Design(columns=np.column_stack(columns), trends=tuple(trends), apart=apart)


def places_of(laps: Sequence[TimedLap]) -> list[int]:
    """Return how many laps of the day were driven before each; laps of a run that are not listed count."""
    behind: dict[int, int] = {}
    for one in laps:
        behind[one.run] = max(behind.get(one.run, 0), one.lap)
    before = {run: sum(behind[other] for other in behind if other < run) for run in behind}
    return [before[one.run] + one.lap - 1 for one in laps]


def runs_of(laps: Sequence[TimedLap]) -> tuple[tuple[str, int], ...]:
    """Return the stretches driven with one set-up, in their order: set-up and laps that count."""
    found: list[tuple[int, str, int]] = []
    for one in laps:
        if found and found[-1][:2] == (one.run, one.setup):
            found[-1] = (one.run, one.setup, found[-1][2] + 1)
        else:
            found.append((one.run, one.setup, 1))
    return tuple((setup, count) for _, setup, count in found)


def there_and_back(laps: Sequence[TimedLap]) -> bool:
    """Say whether the first set-up was driven again after the other: A-B-A."""
    order = [setup for setup, _ in runs_of(laps)]
    changes = sum(one != other for one, other in pairwise(order))
    return changes >= 2


def continued(laps: Sequence[TimedLap], runs: Sequence[tuple[str, int]]) -> list[TimedLap]:
    """Return laps with further runs behind them: set-up and laps of each; times are of no meaning."""
    last = max(one.run for one in laps)
    added = [
        TimedLap(run=last + place, setup=setup, lap=lap, time=1.0)
        for place, (setup, count) in enumerate(runs, start=1)
        for lap in range(1, count + 1)
    ]
    return [*laps, *added]
