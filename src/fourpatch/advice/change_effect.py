"""Did a change help: what laps before and after it tell, with how much they leave open."""

import math
from collections.abc import Sequence
from typing import Annotated, Final, Literal

import numpy as np

from fourpatch.advice.change_design import (
    CHANGE,
    TREND_NAMES,
    Design,
    continued,
    design,
    places_of,
    runs_of,
    there_and_back,
)
from fourpatch.advice.laps_needed import POWER, laps_needed
from fourpatch.advice.robust_line import SPOILED, RobustLine, robust_line
from fourpatch.analysis.quantity import RATIO, TIME, Findings
from fourpatch.errors import AdviceError
from fourpatch.recording.timed_laps import TimedLap

CONFIDENCE: Final = 0.9
"""Chance that an interval holds the truth."""

DAY: Final = 2e-4
"""By how much the track's own trend may change a lap time from one lap of the day to the next, as a share of
it: one standard deviation, 0.02 s on a lap of 100 s. Common practice, no published source. Counts where laps
cannot tell the trend."""

NOTHING: Final = 5e-4
"""Change that nobody would turn a spanner for, as a share of the lap time: 0.05 s on a lap of 100 s. A choice
of this project."""

FEWEST: Final = 3
"""Laps with each set-up below which nothing is said."""

MOST_MORE: Final = 60
"""Laps beyond which more are not proposed."""

Verdict = Literal["quicker", "slower", "alike", "open"]


class PartEffect(Findings):
    """What a change did to a lap, or to a part of it."""

    name: str
    """lap, or the name of the sector or corner."""
    verdict: str
    """quicker, slower, alike (no change that matters), or open (not told by these laps)."""
    change: Annotated[float, TIME]
    """Most likely change of the time; below 0 it got quicker."""
    low: Annotated[float, TIME]
    """Lower end of the interval that holds the change in nine of ten cases."""
    high: Annotated[float, TIME]
    """Its upper end."""
    scatter: Annotated[float, TIME]
    """Standard deviation of one time about the trend, spoiled ones apart."""
    chance: Annotated[float, RATIO]
    """Of a difference as large as this one or larger if there were none (parts: by Holm over all)."""


class Spoiled(Findings):
    """A lap that counts little or nothing, because it is far from the others."""

    run: Annotated[int, RATIO]
    """Number of the run."""
    lap: Annotated[int, RATIO]
    """Number within the run."""
    time: Annotated[float, TIME]
    """As driven."""
    off: Annotated[float, TIME]
    """How much longer it took than the others say it should have."""
    weight: Annotated[float, RATIO]
    """How much it counts: 0 is nothing, 1 in full."""


class TrendFound(Findings):
    """What else changed the lap time meanwhile."""

    name: str
    """Per lap of a run (fuel, tyres), per lap of the day (track), per kilogram of fuel."""
    rate: Annotated[float, TIME]
    """Change of the lap time."""
    error: Annotated[float, TIME]
    """Its standard error."""


class RunDriven(Findings):
    """Laps driven with one set-up without a change between."""

    setup: str
    """As the driver calls it."""
    laps: Annotated[int, RATIO]
    """That count."""


class MoreLaps(Findings):
    """What it would take to tell."""

    laps: Annotated[int, RATIO]
    """All together."""
    runs: tuple[RunDriven, ...]
    """In which order."""
    tells: Annotated[float, TIME]
    """Change that they would tell with a chance of 80 %."""


class ChangeEffect(Findings):
    """What laps before and after a change tell."""

    before: str
    """The first set-up driven."""
    after: str
    """The other."""
    lap: PartEffect
    """Of the whole lap."""
    parts: tuple[PartEffect, ...]
    """Of sectors or corners, where they were timed."""
    usual: Annotated[float, TIME]
    """Usual lap time before."""
    runs: tuple[RunDriven, ...]
    """As they were driven."""
    marked: Annotated[int, RATIO]
    """Laps that the driver said do not count."""
    spoiled: tuple[Spoiled, ...]
    """Laps that count little, being far from the others."""
    trends: tuple[TrendFound, ...]
    """What else changed meanwhile, as far as these laps tell it."""
    allowance: Annotated[float, TIME]
    """Standard deviation put in for what the track may have done meanwhile, which these laps do not tell."""
    back: str
    """Whether the first set-up was driven again after the change: yes or no."""
    more: tuple[MoreLaps, ...]
    """What would settle it; empty if it is settled, or if `MOST_MORE` laps would not."""
    finest: Annotated[float, TIME]
    """Change that `MOST_MORE` laps more, half with each, would tell with a chance of 80 %."""


def change_effect(laps: Sequence[TimedLap], *, before: str = "", after: str = "") -> ChangeEffect:
    """Return what laps tell of a change.

    Parameters
    ----------
    laps : in the order they were driven.
    before, after : set-ups that are compared; the only two there are if left out, the first driven being
        the one before.

    Raises
    ------
    AdviceError
        If there are not two set-ups, or fewer than three laps that count with one of them.

    Notes
    -----
    lap time = level + change (after) + trends + scatter, by `robust_line`: a trend per lap of a run for what
    fuel and tyres do, one per lap of the day for the track where the order of runs tells it (`design`). Where
    it does not (A, then B), the track may have given or taken `DAY` per lap: that is added to the interval.
    Limits: trends are straight; each lap's scatter is its own. What a wrong straightness costs is measured in
    docs/did-it-help.md.
    """
    first, second = _compared(laps, before, after)
    places = dict(zip(map(id, laps), places_of(laps), strict=True))
    counted = [one for one in laps if one.setup in (first, second) and not one.left_out]
    for setup in (first, second):
        count = sum(one.setup == setup for one in counted)
        if count < FEWEST:
            raise AdviceError(
                f"set-up {setup}: {count} laps count, and it takes {FEWEST} with each to say anything. Drive "
                "more, or do not mark so many as left out."
            )
    plan = design(counted, second, places=[places[id(one)] for one in counted])
    resolution = _resolution([one.time for one in counted])
    fit = robust_line(np.array([one.time for one in counted]), plan.columns, resolution=resolution)
    usual = float(fit.values[0])
    allowance = DAY * usual * abs(plan.apart)
    lap = _effect("lap", fit, allowance, usual, chance=fit.chance(CHANGE, besides=allowance))
    return ChangeEffect(
        before=first,
        after=second,
        lap=lap,
        parts=_parts(counted, second, places, usual),
        usual=usual,
        runs=tuple(RunDriven(setup=setup, laps=count) for setup, count in runs_of(counted)),
        marked=sum(one.left_out and one.setup in (first, second) for one in laps),
        spoiled=_spoiled(counted, plan, fit),
        trends=tuple(
            TrendFound(name=TREND_NAMES[name], rate=float(fit.values[k]), error=float(fit.errors[k]))
            for k, name in enumerate(plan.trends, start=2)
        ),
        allowance=allowance,
        back="yes" if there_and_back(counted) else "no",
        more=_more(counted, first, second, lap, fit, places) if lap.verdict == "open" else (),
        finest=_finest(fit.scatter, len(counted)),
    )


def _compared(laps: Sequence[TimedLap], before: str, after: str) -> tuple[str, str]:
    there = list(dict.fromkeys(one.setup for one in laps))
    for name in (before, after):
        if name and name not in there:
            raise AdviceError(f'set-up "{name}": no lap was driven with it. There are {", ".join(there)}.')
    first = before or next((one for one in there if one != after), "")
    others = [one for one in there if one != first]
    if after == first or not others:
        raise AdviceError(
            f"all laps are with one set-up, {there[0] if there else 'none'}. Give laps before and after the "
            "change: A and B."
        )
    if not after and len(others) > 1:
        raise AdviceError(
            f"there are {len(there)} set-ups: {', '.join(there)}. Say which two are compared: --before "
            f'"{there[0]}" --after "{there[1]}".'
        )
    return first, after or others[0]


def _resolution(times: Sequence[float]) -> float:
    """Return the last digit that times are given to. [s]"""
    for digits in (0, 1, 2):
        if all(abs(round(one, digits) - one) < 1e-7 for one in times):
            return float(10.0**-digits)
    return 1e-3


def _effect(name: str, fit: RobustLine, allowance: float, usual: float, *, chance: float) -> PartEffect:
    change = float(fit.values[CHANGE])
    half = fit.half_width(CHANGE, CONFIDENCE, besides=allowance)
    return PartEffect(
        name=name,
        verdict=_verdict(change - half, change + half, NOTHING * usual),
        change=change,
        low=change - half,
        high=change + half,
        scatter=fit.scatter,
        chance=chance,
    )


def _verdict(low: float, high: float, nothing: float) -> Verdict:
    if max(-low, high) < nothing:
        return "alike"
    return "quicker" if high < 0.0 else "slower" if low > 0.0 else "open"


def _parts(
    laps: Sequence[TimedLap], after: str, places: dict[int, int], usual: float
) -> tuple[PartEffect, ...]:
    """Return what changed in each sector or corner.

    Notes
    -----
    Of many parts one in ten would seem to have changed by chance alone: `verdict` says so only where the
    chance, by Holm's step-down over all parts (Scandinavian Journal of Statistics 6, 1979, from memory), is
    below one in ten. A lap that was spoiled in one corner counts in full in the others.
    """
    from statsmodels.stats.multitest import multipletests

    names = list(dict.fromkeys(name for one in laps for name in one.parts))
    found: list[tuple[str, RobustLine, float, float]] = []
    for name in names:
        own = [one for one in laps if name in one.parts]
        if min(sum((one.setup == after) == it for one in own) for it in (True, False)) < FEWEST:
            continue
        times = [one.parts[name] for one in own]
        plan = design(own, after, places=[places[id(one)] for one in own])
        fit = robust_line(np.array(times), plan.columns, resolution=_resolution(times))
        allowance = DAY * float(fit.values[0]) * abs(plan.apart)
        found.append((name, fit, allowance, fit.chance(CHANGE, besides=allowance)))
    if not found:
        return ()
    chances = multipletests([one[3] for one in found], method="holm")[1]
    effects = [
        _effect(name, fit, allowance, usual, chance=float(chance))
        for (name, fit, allowance, _), chance in zip(found, chances, strict=True)
    ]
    return tuple(
        one.model_copy(update={"verdict": "open"})
        if one.verdict in ("quicker", "slower") and one.chance > 1.0 - CONFIDENCE
        else one
        for one in effects
    )


def _spoiled(laps: Sequence[TimedLap], plan: Design, fit: RobustLine) -> tuple[Spoiled, ...]:
    off = np.array([one.time for one in laps]) - plan.columns @ fit.values
    return tuple(
        Spoiled(run=one.run, lap=one.lap, time=one.time, off=float(by), weight=float(weight))
        for one, by, weight in zip(laps, off, fit.weights, strict=True)
        if weight < SPOILED
    )


def _more(
    laps: Sequence[TimedLap],
    before: str,
    after: str,
    lap: PartEffect,
    fit: RobustLine,
    places: dict[int, int],
) -> tuple[MoreLaps, ...]:
    """Return how many laps more would tell the change that is most likely; none if `MOST_MORE` would not.

    Notes
    -----
    `laps_needed` of two set-ups without trend, at the confidence of the intervals; a plan is worth as many of
    those as its standard error says, 2 (scatter / error)^2, less the share of laps that were spoiled. Runs
    are as long as those driven, the set-ups in turn.
    """
    needed = laps_needed(effect=lap.change, scatter=fit.scatter, significance=1.0 - CONFIDENCE)
    length = max(int(np.median([count for _, count in runs_of(laps)])), FEWEST)
    kept = float(np.mean(fit.weights >= SPOILED))
    turn = [after, before] if laps[-1].setup == before else [before, after]
    for count in range(1, MOST_MORE // length + 1):
        runs = [(turn[k % 2], length) for k in range(count)]
        all_laps = continued(laps, runs)
        after_these = max(places.values()) + 1
        driven = [places[id(one)] for one in laps]
        driven += range(after_these, after_these + length * count)
        plan = design(all_laps, after, places=driven)
        worth = kept * 2.0 / plan.spread**2
        unsure = DAY * float(fit.values[0]) * abs(plan.apart)
        if needed is not None and worth >= needed and unsure < abs(lap.change) / 3.0:
            order = tuple(RunDriven(setup=setup, laps=laps_of_it) for setup, laps_of_it in runs)
            return (MoreLaps(laps=length * count, runs=order, tells=abs(lap.change)),)
    return ()


def _finest(scatter: float, driven: int) -> float:
    """Return the change that `MOST_MORE` laps more would tell, half with each, the day's trend told. [s]

    Notes
    -----
    The normal approximation of `laps_needed`, read the other way round.
    """
    from scipy.stats import norm

    z = float(norm.ppf(0.5 * (1.0 + CONFIDENCE)) + norm.ppf(POWER))
    return z * scatter * math.sqrt(4.0 / (driven + MOST_MORE))
