#!/usr/bin/env python3
"""What do many driven laps cost, as histories, as sums, in single precision, on a GPU?

Set-ups of one demo car, springs, dampers, bars and brake share varied, drive one demo track. Every way is
timed in turn, round after round, on one core in one process; beside the ratios stands how well single
precision ranks the set-ups. A GPU, if there is one, is compared with the lanes over 1,000 set-ups, then
drives them over and over, up to 200,000 laps at once, on the clock.
"""

import argparse
import os
import platform
import statistics
import time
from collections.abc import Callable
from dataclasses import replace
from importlib.metadata import version

import numpy as np

from fourpatch.analysis.driver_plan import driver_plan
from fourpatch.car.demo import demo_car
from fourpatch.compute.gpu import Gpu, LapDriver
from fourpatch.compute.lap_task import LapSums, LapTask
from fourpatch.events.drive import made_ready
from fourpatch.events.drive_inputs import Engines
from fourpatch.events.lap import drive_lap, lay_lap_road
from fourpatch.events.lap_sums import (
    Gates,
    SummedLaps,
    lane_sums,
    lap_gates,
    lay_summed_laps,
    room_beside,
    summed,
)
from fourpatch.events.many_laps import drive_many, usable_gpu
from fourpatch.physics.layout import CORNER_BASE, N_CORNER, C, P
from fourpatch.track.corners import find_corners
from fourpatch.track.demo import demo_track
from fourpatch.track.layout import lay_out
from fourpatch.track.racing_line import DEFAULT_CAR_WIDTH, least_curvature_line
from fourpatch.track.track_road import track_road

PACE = 0.82


def varied(parameters: np.ndarray, seed: int) -> None:
    """Change what set-ups change, in place; left and right alike."""
    some, cars = np.random.default_rng(seed), parameters.shape[0]
    for left in (0, 2):
        for slot in (C.spring_rate, C.bump_slope, C.rebound_slope, C.tyre_rate):
            columns = [CORNER_BASE + (left + side) * N_CORNER + slot for side in (0, 1)]
            parameters[:, columns] *= some.uniform(0.8, 1.2, (cars, 1))
    for slot in (P.front_bar_rate, P.rear_bar_rate):
        parameters[:, slot] *= some.uniform(0.7, 1.3, cars)
    parameters[:, P.brake_front_share] *= some.uniform(0.97, 1.03, cars)


def main() -> None:
    """Measure and print."""
    parser = argparse.ArgumentParser(description=__doc__.splitlines()[0])
    parser.add_argument("--smallest", action="store_true", help="one round, few laps: to see that it runs")
    parser.add_argument("--car", default="coupe")
    parser.add_argument("--track", default="long-corners")
    parser.add_argument("--set-ups", type=int, default=64)
    parser.add_argument("--pace", type=float, default=PACE, help="on the quasi-steady speeds")
    given = parser.parse_args()
    rounds, cars = (1, 4) if given.smallest else (5, given.set_ups)
    print(
        f"{platform.machine()}, {os.cpu_count()} cores, Python {platform.python_version()}, "
        + ", ".join(f"{name} {version(name)}" for name in ("numba", "numpy"))
    )
    car, track = demo_car(given.car), demo_track(given.track)
    line, layout = least_curvature_line(track, margin=0.6), lay_out(track)
    plan = driver_plan(car, line)
    road = lay_lap_road(
        car, track_road(track, line, seed=1, track_width=car.front.track_width), closed=line.closed
    )
    gates = lap_gates(line, find_corners(layout))

    def laid(count: int) -> LapTask:
        driven = made_ready([car])
        task = lay_summed_laps(
            replace(
                driven,
                cars=(car,) * count,
                parameters=np.repeat(driven.parameters, count, axis=0),
                engines=Engines(
                    torque=np.repeat(driven.engines.torque, count, axis=0), spacing=driven.engines.spacing
                ),
            ),
            line,
            plan.at_pace(np.array([given.pace])),
            habits=plan.habits,
            handling=plan.handling,
            road=road,
            gates=gates,
            room=room_beside(line, layout, car_width=DEFAULT_CAR_WIDTH),
            rows=np.zeros(count, dtype=np.intp),
        )
        varied(task.parameters, seed=1)
        return task

    task = laid(cars)
    driven = made_ready([car] * cars)

    def histories() -> object:
        return drive_lap(
            replace(driven, parameters=task.parameters),
            line,
            plan.at_pace(np.full(cars, given.pace)),
            habits=plan.habits,
            handling=plan.handling,
            road=road,
            interval=0.05,
            threads=1,
        )

    ways: dict[str, Callable[[], object]] = {
        "double, histories": histories,
        "double, sums": lambda: lane_sums(task, single=False, threads=1),
        "single, sums": lambda: lane_sums(task, single=True, threads=1),
    }
    for way in ways.values():
        way()  # compiles
    spans: dict[str, list[float]] = {name: [] for name in ways}
    found: dict[str, object] = {}
    for _ in range(rounds):
        for name, way in ways.items():
            began = time.process_time()
            found[name] = way()
            spans[name].append(time.process_time() - began)
    double, single = found["double, sums"], found["single, sums"]
    assert isinstance(double, LapSums)
    assert isinstance(single, LapSums)
    driven_time = float(double.ended.sum()) * task.clock.step
    first = statistics.median(spans["double, histories"])
    for name, span in spans.items():
        took = statistics.median(span)
        print(
            f"{name:18} {cars} laps and run-ups, {driven_time:.0f} s driven, in {took:.2f} s of one core "
            f"({min(span):.2f} to {max(span):.2f}): {driven_time / took:.0f} x real time, "
            f"{first / took:.2f} x histories"
        )
    told("lanes of single precision", summed(double, gates), summed(single, gates))
    gpu = usable_gpu()
    if isinstance(gpu, str):
        print(f"no GPU is used: {gpu}")
        return
    on_gpu(gpu, laid(8 if given.smallest else 1_000), gates, (8,) if given.smallest else SIZES)


SIZES = (1_000, 10_000, 100_000, 200_000)
"""Laps at once on a GPU."""


def on_gpu(gpu: Gpu, task: LapTask, gates: Gates, sizes: tuple[int, ...]) -> None:
    """Compare a GPU with the lanes, then time it."""
    sure = lane_sums(task, single=False)
    double, single = (
        LapDriver(gpu, task, precision=precision).drive(task) for precision in ("double", "float")
    )
    apart = [
        float(np.nanmax(np.abs(one - other) / np.maximum(np.abs(other), 1e-3)))
        for one, other in ((double.gates, sure.gates), (double.lap, sure.lap))
    ]
    print(
        f"{gpu.name}, {task.cars} laps in double precision against the lanes: apart by {apart[0]:.1e} of "
        f"times and speeds, by {apart[1]:.1e} of extremes and work; "
        f"{int((double.ended != sure.ended).sum())} end at another step"
    )
    told(f"{gpu.name} in single precision", summed(sure, gates), summed(single, gates))
    for size in sizes:
        many, spans = task.chosen(np.arange(size) % task.cars), []
        drive_many(many)
        for _ in range(3):
            began = time.perf_counter()
            laps = drive_many(many)
            spans.append(time.perf_counter() - began)
        took = statistics.median(spans)
        driven = float(laps.sums.ended.sum()) * many.clock.step
        print(
            f"{laps.where} {took:.2f} s ({min(spans):.2f} to {max(spans):.2f}), a few driven again included: "
            f"{size / took:.0f} laps/s, {driven / took:.0f} x real time"
        )
    began = time.perf_counter()
    LapDriver(gpu, many, precision="double").drive(many)
    took = time.perf_counter() - began
    print(f"the same in double precision: {took:.2f} s, {many.cars / took:.0f} laps/s")


def told(who: str, double: SummedLaps, single: SummedLaps) -> None:
    """Print how single precision ranks set-ups, and which differ."""
    good = double.finished & single.finished
    ranks = [np.argsort(np.argsort(one.lap_time[good])) for one in (double, single)]
    apart = np.where(good, np.abs(single.lap_time - double.lap_time), np.inf)
    apart[~double.finished & ~single.finished] = 0.0
    print(
        f"{who} against lanes of double, {good.sum()} of {good.size} laps finished by both: rank correlation "
        f"{np.corrcoef(*ranks)[0, 1]:.7f}, apart by {1e3 * apart[good].max():.3f} ms at most, "
        f"{1e3 * float(np.median(apart[good])):.3f} ms in the middle; the laps by "
        f"{np.ptp(double.lap_time[good]):.3f} s"
    )
    for lap in np.flatnonzero(apart > DIFFERS)[:10].tolist():
        said = [
            f"{one.lap_time[lap]:.3f} s, sideslip {np.degrees(one.largest_sideslip[lap]):.1f} deg, room "
            f"{one.least_room[lap]:.2f} m"
            for one in (double, single)
        ]
        print(f"    set-up {lap} differs: {said[0]} in double, {said[1]} in single precision")


DIFFERS = 0.01
"""Lap times that differ by more are named. [s]"""


if __name__ == "__main__":
    main()
