#!/usr/bin/env python3
"""What does a damper map cost, 21 x 21 pairs of bump and rebound over the standard road and kerb?

Beside it stands the same map one set-up after another, with each run's whole history measured as a single
run is: what one would write first. It is timed over a few set-ups and scaled by their number, and said so.
"""

import argparse
import os
import platform
import statistics
import time
from importlib.metadata import version

from fourpatch.analysis.contact_patch_load import contact_patch_load
from fourpatch.analysis.damper_map import damped, damper_map
from fourpatch.analysis.standard_events import standard_kerb, standard_road
from fourpatch.car.car import Car
from fourpatch.car.demo import demo_car
from fourpatch.car.pack import pack
from fourpatch.events.bumps import BumpEvent
from fourpatch.events.run import run_rig, stable_step, stacked


def mapped(car: Car, event: BumpEvent, size: int) -> tuple[float, float]:
    """Return the wall time of one map and the processor time of all cores. [s]"""
    began, busy = time.perf_counter(), time.process_time()
    damper_map(car, event, axle="front", size=size)
    return time.perf_counter() - began, time.process_time() - busy


def one_by_one(car: Car, event: BumpEvent, setups: int) -> float:
    """Return the wall time of one set-up run and measured by itself, the mean of some. [s]"""
    began = time.perf_counter()
    for k in range(setups):
        vectors = stacked([damped(pack(car), axle="front", bump=1.0 + 0.01 * k, rebound=1.0)])
        motion = event.motion(car, stable_step(vectors))
        history = run_rig(vectors, motion)
        contact_patch_load(vectors, history, motion, ["one"], since=motion.phases[1].start)
    return (time.perf_counter() - began) / setups


def main() -> None:
    """Measure and print."""
    parser = argparse.ArgumentParser(description=__doc__.splitlines()[0])
    parser.add_argument("--smallest", action="store_true", help="a map of 3 x 3, once: to see that it runs")
    smallest = parser.parse_args().smallest
    size, rounds, setups = (3, 1, 1) if smallest else (21, 5, 10)
    car = demo_car("gt")
    events: dict[str, BumpEvent] = {"road": standard_road(car), "kerb": standard_kerb(car)}
    print(
        f"{platform.machine()}, {os.cpu_count()} cores, Python {platform.python_version()}, "
        + ", ".join(f"{name} {version(name)}" for name in ("numba", "numpy", "scipy"))
    )
    first = sum(mapped(car, event, 3)[0] for event in events.values())
    print(f"first call, 3 x 3, compilation or its cache included: {first:.2f} s\n")
    spans: dict[str, list[float]] = {name: [] for name in events}
    busy: dict[str, list[float]] = {name: [] for name in events}
    single: dict[str, list[float]] = {name: [] for name in events}
    for _ in range(rounds):
        for name, event in events.items():
            wall, processor = mapped(car, event, size)
            spans[name].append(wall)
            busy[name].append(processor)
            single[name].append(one_by_one(car, event, setups))
    head = f"map of {size} x {size}"
    heads = f"{'median [s]':>12}{'spread [s]':>18}{'processor [s]':>16}{'one by one [s]':>18}"
    print(f"{head:16}{heads}{'ratio':>8}")
    for name, found in spans.items():
        median = statistics.median(found)
        apart = statistics.median(single[name]) * size**2
        spread = f"{min(found):.2f} to {max(found):.2f}"
        processor = statistics.median(busy[name])
        print(f"{name:16}{median:12.2f}{spread:>18}{processor:16.2f}{apart:18.1f}{apart / median:8.1f}")
    total = sum(statistics.median(found) for found in spans.values())
    print(f"both: {total:.2f} s (one by one: extrapolated from {setups} set-ups)")


if __name__ == "__main__":
    main()
