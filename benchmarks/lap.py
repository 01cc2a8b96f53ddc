#!/usr/bin/env python3
"""What does a lap of the transient car under a driver cost, alone and as one of many?

One demo car drives a demo track: a single lap on one core, then laps with a driver's scatter on all cores.
Printed is the time on the clock and its ratio to the time that was driven.
"""

import argparse
import os
import platform
import statistics
import time
from importlib.metadata import version

import numpy as np

from fourpatch.analysis.driver_plan import driver_plan
from fourpatch.analysis.driver_scatter import scattered_laps
from fourpatch.car.demo import demo_car
from fourpatch.events.drive import made_ready
from fourpatch.events.driver_style import DriverScatter
from fourpatch.events.lap import LapRun, drive_lap, lay_lap_road
from fourpatch.track.corners import find_corners
from fourpatch.track.demo import demo_track
from fourpatch.track.layout import lay_out
from fourpatch.track.racing_line import DEFAULT_CAR_WIDTH, least_curvature_line
from fourpatch.track.track_road import track_road

PACE = 0.85


def main() -> None:
    """Measure and print."""
    parser = argparse.ArgumentParser(description=__doc__.splitlines()[0])
    parser.add_argument("--smallest", action="store_true", help="one round, few laps: to see that it runs")
    parser.add_argument("--car", default="coupe")
    parser.add_argument("--track", default="long-corners")
    given = parser.parse_args()
    rounds, laps = (1, 4) if given.smallest else (5, 200)
    print(
        f"{platform.machine()}, {os.cpu_count()} cores, Python {platform.python_version()}, "
        + ", ".join(f"{name} {version(name)}" for name in ("numba", "numpy"))
    )
    car, track = demo_car(given.car), demo_track(given.track)
    line = least_curvature_line(track, margin=0.6)
    plan = driver_plan(car, line)
    profile = track_road(track, line, seed=1, track_width=car.front.track_width)
    road = lay_lap_road(car, profile, closed=line.closed)

    def lap() -> LapRun:
        return drive_lap(
            made_ready([car]),
            line,
            plan.at_pace(np.array([PACE])),
            habits=plan.habits,
            handling=plan.handling,
            road=road,
            threads=1,
        )

    began = time.perf_counter()
    run = lap()
    print(f"first lap, compilation or its cache included: {time.perf_counter() - began:.2f} s\n")
    spans = []
    for _ in range(rounds):
        began = time.perf_counter()
        run = lap()
        spans.append(time.perf_counter() - began)
    driven, span = float(run.time[-1]), statistics.median(spans)
    print(
        f"one lap of {run.lap_time[0]:.1f} s and its run-up, {driven:.1f} s, start included: {span:.3f} s "
        f"({min(spans):.3f} to {max(spans):.3f}), {driven / span:.0f} x real time on one core"
    )
    layout = lay_out(track)
    began = time.perf_counter()
    found = scattered_laps(
        plan,
        PACE,
        DriverScatter(),
        road,
        layout,
        tuple(find_corners(layout)),
        laps=laps,
        seed=1,
        car_width=DEFAULT_CAR_WIDTH,
    )
    span = time.perf_counter() - began
    print(
        f"{laps} laps with scatter, measured: {span:.1f} s, {laps * driven / span:.0f} x real time; lap time "
        f"spread {found.time_spread:.3f} s, {found.good.sum()} of {laps} good"
    )


if __name__ == "__main__":
    main()
