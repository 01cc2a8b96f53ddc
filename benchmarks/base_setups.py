"""What a base set-up gains on the demo cars, against their baseline, and what each of its targets does alone.

The tables of docs/base-setup.md.

python benchmarks/base_setups.py [--smallest]
"""

import argparse
import time

from fourpatch.advice.base_setup import BaseSetup, base_setup
from fourpatch.advice.grip_cost import PARTS, Judge
from fourpatch.analysis.lap_profile import lap_profile
from fourpatch.analysis.limits_map import limits_map
from fourpatch.car.car import Car
from fourpatch.car.demo import demo_car, demo_names
from fourpatch.car.setup import apply_setup, baseline_setup
from fourpatch.track.demo import demo_track, demo_track_names


def main() -> None:
    """Write the table."""
    parser = argparse.ArgumentParser(description=__doc__)
    parser.add_argument("--smallest", action="store_true", help="one car, few adjusters, no track")
    smallest = parser.parse_args().smallest
    heads = (
        "car", "for", *(f"{part}: baseline → found" for part in PARTS[:3]), "total gained", "targets alone",
        "quasi-steady lap", "driven lap", "put back by the drive", "worse in", "set-ups", "time",
    )  # fmt: skip
    write(heads)
    alone: dict[str, list[float]] = {}
    for track_name in (None,) if smallest else (None, *demo_track_names()):
        for name in ("gt",) if smallest else demo_names():
            car = demo_car(name)
            if smallest:
                few = [one for one in car.adjusters if one.name == "rear bar"]
                car = car.model_copy(update={"adjusters": few})
            found = row(car, name, track_name)
            for system, cost in targets_alone(car, found).items():
                alone.setdefault(system, []).append(cost)
    write(("target of", "costs alone, least", "most", "cases in which it costs", "cases"))
    for system, costs in alone.items():
        line = (
            system,
            f"{min(costs):+.2f}",
            f"{max(costs):+.2f}",
            f"{sum(one > 0.005 for one in costs)}",
            f"{len(costs)}",
        )
        print(f"| {' | '.join(line)} |")


def write(heads: tuple[str, ...]) -> None:
    """Print the heads of a table."""
    print(f"\n| {' | '.join(heads)} |\n|{' --- |' * len(heads)}", flush=True)


def targets_alone(car: Car, found: BaseSetup) -> dict[str, float]:
    """Return what the targets of each system cost against the baseline, all else left at it. [points]"""
    given = baseline_setup(car)
    judge = Judge(
        car=car,
        reference=apply_setup(car, given),
        occasion=found.occasion,
        balance=found.targets.style.balance,
    )
    systems = list(dict.fromkeys(one.adjuster.system for one in found.values if one.target != one.before))
    setups = [
        given.model_copy(
            update={
                "values": {
                    one.adjuster.name: one.target if one.adjuster.system == system else one.before
                    for one in found.values
                }
            }
        )
        for system in systems
    ]
    totals = judge.cost([given, *setups]).total
    return {system: float(total - totals[0]) for system, total in zip(systems, totals[1:], strict=True)}


def row(car: Car, name: str, track_name: str | None) -> BaseSetup:
    """Print a line of the table and return what it is of."""
    began = time.perf_counter()
    track = demo_track(track_name) if track_name else None
    found = base_setup(car, baseline_setup(car), track=track)
    took = time.perf_counter() - began
    given, end = found.given.parts[0], found.found.parts[0]
    cells = (
        name,
        track_name or "standard corners",
        *(f"{given[k]:.2f} → {end[k]:.2f}" for k in range(3)),
        f"{float(found.given.total[0] - found.found.total[0]):+.2f}",
        f"{float(found.given.total[0] - found.start.total[0]):+.2f}",
        laps(car, found),
        *driven(found),
        ", ".join(found.worse_parts) or "-",
        f"{found.tried}",
        f"{took:.0f} s",
    )
    print(f"| {' | '.join(cells)} |", flush=True)
    return found


def driven(found: BaseSetup) -> tuple[str, str]:
    """Return the driven laps of baseline and base set-up, and how many adjusters they took back."""
    word = found.drive
    if word.laps is None:
        return f"none: {word.why_no_laps}", "-"
    times = (f"{one:.2f}" if one else "none" for one in (word.laps.given, word.laps.found))
    back = "all" if word.given_back else str(len(word.put_back) or "-")
    return f"{' → '.join(times)} ± {word.laps.uncertainty:.2f} s", back


def laps(car: Car, found: BaseSetup) -> str:
    """Return the quasi-steady lap times of baseline and base set-up along the same line."""
    if found.occasion.study is None:
        return "-"
    line = found.occasion.study.line
    times = [
        lap_profile(limits_map(apply_setup(car, one)), line).lap_time
        for one in (baseline_setup(car), found.setup)
    ]
    return f"{times[0]:.2f} → {times[1]:.2f} s"


if __name__ == "__main__":
    main()
