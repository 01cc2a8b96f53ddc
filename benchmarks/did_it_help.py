"""Do intervals of 90 % hold the truth, on invented days with trends? The table of docs/did-it-help.md.

python benchmarks/did_it_help.py [--smallest]
"""

import argparse
from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np
from scipy.stats import ttest_ind

from fourpatch.advice.change_effect import DAY, change_effect
from fourpatch.recording.timed_laps import TimedLap

LAP = 95.0


@dataclass(frozen=True, kw_only=True)
class Day:
    """How days of one kind are drawn."""

    name: str
    order: str
    length: int
    spoiled: float = 0.1
    """Share of laps that lose half a second to five."""
    like_the_last: float = 0.0
    """Correlation of a lap's scatter with that of the lap before."""
    cold: float = 0.0
    """By which the first lap of a run is slower, halving from lap to lap. [s]"""

    def draw(self, rng: np.random.Generator) -> tuple[list[TimedLap], float]:
        """Return laps and the true effect of the change."""
        effect, scatter = rng.normal(0.0, 0.3), rng.uniform(0.1, 0.5)
        per_day, per_run = rng.normal(0.0, DAY * LAP), rng.normal(0.02, 0.03)
        laps: list[TimedLap] = []
        last = rng.normal(0.0, scatter)
        for run, setup in enumerate(self.order, start=1):
            for lap in range(1, self.length + 1):
                part = self.like_the_last
                last = part * last + np.sqrt(1.0 - part**2) * rng.normal(0.0, scatter)
                time = LAP + effect * (setup == "B") + per_day * len(laps) + per_run * lap + last
                time += self.cold * 0.5 ** (lap - 1)
                if rng.random() < self.spoiled:
                    time += rng.uniform(0.5, 5.0)
                laps.append(TimedLap(run=run, setup=setup, lap=lap, time=round(time, 2)))
        return laps, effect


DAYS = (
    Day(name="A-B-A, no lap spoiled", order="ABA", length=6, spoiled=0.0),
    Day(name="A-B-A, short", order="ABA", length=4),
    Day(name="A-B-A", order="ABA", length=6),
    Day(name="A-B-A, long", order="ABA", length=12),
    Day(name="A-B-A, a quarter spoiled", order="ABA", length=6, spoiled=0.25),
    Day(name="alternating", order="ABABAB", length=4),
    Day(name="A-B, not back", order="AB", length=8),
    Day(name="A-B-A, a lap like the last one (0.3)", order="ABA", length=6, like_the_last=0.3),
    Day(name="A-B-A, first lap 1 s slow, then half", order="ABA", length=6, cold=1.0),
)


def main() -> None:
    """Write the table."""
    parser = argparse.ArgumentParser(description=__doc__)
    parser.add_argument("--smallest", action="store_true", help="five days of each kind")
    count = 5 if parser.parse_args().smallest else 500
    print(
        "| day | laps | interval holds the truth | its width | t test of the two means holds it | its width |"
    )
    print("|---|---|---|---|---|---|")
    for day in DAYS:
        print(row(day, count), flush=True)


def row(day: Day, count: int) -> str:
    """Return a line of the table."""
    ours, plain, widths, wide = [], [], [], []
    for seed in range(count):
        laps, effect = day.draw(np.random.default_rng(seed))
        found = change_effect(laps).lap
        ours.append(found.low <= effect <= found.high)
        widths.append(found.high - found.low)
        low, high = plain_interval(laps)
        plain.append(low <= effect <= high)
        wide.append(high - low)
    shares = f"{100.0 * np.mean(ours):.0f} %", f"{100.0 * np.mean(plain):.0f} %"
    return (
        f"| {day.name} | {' '.join(f'{one} {day.length}' for one in day.order)} | {shares[0]} | "
        f"{np.median(widths):.2f} s | {shares[1]} | {np.median(wide):.2f} s |"
    )


def plain_interval(laps: Sequence[TimedLap]) -> tuple[float, float]:
    """Return what a t test of all laps says, which knows no trend and no spoiled lap. [s]"""
    before, after = ([one.time for one in laps if one.setup == name] for name in "AB")
    interval = ttest_ind(after, before).confidence_interval(0.9)
    return float(interval.low), float(interval.high)


if __name__ == "__main__":
    main()
