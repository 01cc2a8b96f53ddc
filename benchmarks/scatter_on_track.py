"""Do scatter and tyre work rank set-ups as driven laps do? The table of docs/base-setup.md.

python benchmarks/scatter_on_track.py [--smallest]
"""

import argparse

import numpy as np
from scipy.stats import spearmanr

from fourpatch.advice.grip_cost import Judge
from fourpatch.advice.occasion import track_occasion
from fourpatch.advice.trade_drive import same_course
from fourpatch.analysis.lap_duty import lap_duty
from fourpatch.car.demo import demo_car
from fourpatch.car.setup import Setup, apply_setup, baseline_setup
from fourpatch.track.demo import demo_track

CASES = (
    ("gt", "chicanes", 0.89),
    ("gt", "long-corners", 0.87),
    ("coupe", "chicanes", 0.87),
    ("coupe", "long-corners", 0.88),
    ("hatchback", "chicanes", 0.85),
)
"""Car, track, and a pace that most of its set-ups bear."""

TURNED = ("bar", "brake bias", "spring", "wing", "ramp", "toe", "rear ride")
"""What stands in the names of the adjusters that are drawn, four at a time."""


def main() -> None:
    """Write the table."""
    parser = argparse.ArgumentParser(description=__doc__)
    parser.add_argument("--smallest", action="store_true", help="one car, four set-ups, four laps")
    smallest = parser.parse_args().smallest
    heads = "car, track", "set-ups", "scatter: use", "scatter: lap time", "tyre work", "calmness: use"
    print(f"| {' | '.join(heads)} |\n|{' --- |' * len(heads)}")
    for name, track, pace in CASES[:1] if smallest else CASES:
        print(row(name, track, pace, setups=4 if smallest else 16, laps=4 if smallest else 16), flush=True)


def row(name: str, track_name: str, pace: float, *, setups: int, laps: int) -> str:
    """Return a line of the table."""
    car, track = demo_car(name), demo_track(track_name)
    base = baseline_setup(car)
    reference = apply_setup(car, base)
    occasion = track_occasion(reference, track)
    assert occasion.study is not None
    judge = Judge(car=car, reference=reference, occasion=occasion, balance=0.0, wear=True)
    course = same_course(reference, track, pace=pace, seed=1)
    weights = np.array(list(occasion.weights.values()))
    rng, rows = np.random.default_rng(5), []
    adjusters = [one for one in car.adjusters if any(part in one.name for part in TURNED)]
    for k in range(setups):
        drawn = rng.choice(len(adjusters), 4, replace=False) if k else ()
        moved = {adjusters[n].name: float(rng.choice(adjusters[n].positions())) for n in drawn}
        setup = Setup.model_validate({**base.model_dump(), "values": {**base.values, **moved}})
        found = course.drive(apply_setup(car, setup), laps=laps)
        if found.good.sum() < 2:
            continue
        cost = judge.cost([setup])
        work = lap_duty(apply_setup(car, setup), occasion.study.profile).sliding
        held = cost.balance[0][:, [1, 2]].min(axis=1)
        rows.append(
            (
                (weights @ cost.use_scatter[0]).max(),
                work.max(),
                -float(weights @ held),
                found.use_spread.max(),
                found.time_spread,
                found.tyre_work[found.good].mean(axis=0).max(),
            )
        )
    scatter, tyres, lively, use, time, driven = np.array(rows).T
    pairs = ((scatter, use), (scatter, time), (tyres, driven), (lively, use))
    ranks = [f"{spearmanr(*pair).statistic:+.2f}" for pair in pairs]
    return f"| {name}, {track_name} | {len(rows)} | {' | '.join(ranks)} |"


if __name__ == "__main__":
    main()
