#!/usr/bin/env python3
"""What do a car's limits and a lap under them cost: all points at once, against a root finder for each?

The alternative is what an engineer would write first: scipy's brentq around one settled motion of the same
car after the other, to the same tolerance. It is timed on the points of one speed and normal acceleration,
round after round in the same process, and its time counted up to all of them. Beside the times stands the
largest difference of the limits found.
"""

import argparse
import os
import platform
import statistics
import time
from importlib.metadata import version

import numpy as np
from scipy.optimize import brentq

from fourpatch.analysis.lap_profile import lap_profile
from fourpatch.analysis.lap_summary import driven_line
from fourpatch.analysis.limits_map import GRAVITIES, LimitsMap, limits_map
from fourpatch.analysis.steady_limits import SteadyCar
from fourpatch.car.demo import demo_car
from fourpatch.errors import SolveError
from fourpatch.track.demo import demo_track

AT = 4  # of the speeds of the map
BEYOND = 80.0  # m/s^2, past any limit of these cars


def one_by_one(steady: SteadyCar, limits: LimitsMap) -> np.ndarray:
    """Return the sizes of all directions at one speed on a flat road. [m/s^2]"""

    def excess(size: float, direction: float) -> float:
        try:
            use = steady.use(
                speed=float(limits.speed[AT]),
                lateral_acceleration=size * float(np.cos(direction)),
                longitudinal_acceleration=size * float(np.sin(direction)),
            )
        except SolveError:
            return 1.0
        return max(use) - 1.0

    return np.array([brentq(excess, 1.0, BEYOND, args=(m,), rtol=3e-4) for m in limits.direction])


def timed(work, *arguments):
    """Return what a call returns and its wall time. [s]"""
    began = time.perf_counter()
    found = work(*arguments)
    return found, time.perf_counter() - began


def main() -> None:
    """Measure and print."""
    parser = argparse.ArgumentParser(description=__doc__.splitlines()[0])
    parser.add_argument("--smallest", action="store_true", help="one car, once: to see that it runs")
    smallest = parser.parse_args().smallest
    names, rounds = (("hatchback",), 1) if smallest else (("hatchback", "gt", "single-seater"), 5)
    line = driven_line(demo_car("gt"), demo_track("long-corners"))
    limits_map(demo_car("hatchback"))  # compiles
    print(
        f"{platform.processor() or platform.machine()}, {os.cpu_count()} cores, Python "
        f"{platform.python_version()}, numba {version('numba')}, scipy {version('scipy')}; "
        f"medians of {rounds}, [s]\n"
    )
    print(f"{'car':16}{'all at once':>12}{'one by one':>12}{'ratio':>8}{'largest difference':>20}{'lap':>8}")
    for name in names:
        car = demo_car(name)
        steady, ours, theirs, laps = SteadyCar(car), [], [], []
        for _ in range(rounds):
            limits, seconds = timed(limits_map, car)
            ours.append(seconds)
            sizes, seconds = timed(one_by_one, steady, limits)
            theirs.append(seconds * limits.speed.size * len(GRAVITIES))
            laps.append(timed(lap_profile, limits, line)[1])
        difference = np.max(np.abs(sizes / limits.size[0, GRAVITIES.index(9.81), AT] - 1.0))
        mine, other = statistics.median(ours), statistics.median(theirs)
        print(
            f"{name:16}{mine:12.2f}{other:12.2f}{other / mine:8.1f}{100.0 * difference:18.3f} %"
            f"{statistics.median(laps):8.2f}"
        )
    print(f"\n{limits.size[0].size} limits a car; the lap has {line.distance.size} places")


if __name__ == "__main__":
    main()
