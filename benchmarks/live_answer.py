#!/usr/bin/env python3
"""How long from a moved slider to its numbers: one set-up in all standard events, and in each alone?

Beside it stands the same set-up put to `measured` with the reference, which makes the motions and runs the
reference again each time: the same numbers, as is checked first. A third row is what a new reference costs.
"""

import argparse
import os
import platform
import statistics
import time
from collections.abc import Callable
from functools import partial
from importlib.metadata import version

import numpy as np
from numpy.testing import assert_allclose

from fourpatch.advice.sensitivity import measured
from fourpatch.analysis.standard_events import standard_events
from fourpatch.analysis.workout import Workout, workout
from fourpatch.car.car import Car
from fourpatch.car.demo import demo_car, demo_names
from fourpatch.car.setup import apply_setup, baseline_setup, step


def moved(car: Car) -> Car:
    """Return the car with its first adjuster a step away."""
    setup, one = baseline_setup(car), car.adjusters[0]
    return apply_setup(car, step(setup, one, 1) or step(setup, one, -1) or setup)


def checked(ready: Workout, car: Car) -> None:
    """Refuse to time numbers that are not those of `measured`."""
    _, values = measured([ready.car, car], ready.events)
    ours = np.concatenate([outcome.values for outcome in ready.measure(car).outcomes.values()])
    assert_allclose(ours, values[1], rtol=1e-12, atol=1e-12)


def ways_to_ask(ready: Workout, car: Car) -> dict[str, Callable[[], object]]:
    """Return what is timed, by what it is called."""
    alone: dict[str, Callable[[], object]] = {
        f"  {event}": partial(ready.measure, car, only=[event]) for event in ready.events
    }
    return {
        "all events, ready": partial(ready.measure, car),
        **alone,
        "all events, measured": partial(measured, [ready.car, car], ready.events),
        "standard events": partial(standard_events, ready.car),
        "made ready": partial(workout, ready.car, ready.events),
    }


def main() -> None:
    """Measure and print."""
    parser = argparse.ArgumentParser(description=__doc__.splitlines()[0])
    parser.add_argument("--smallest", action="store_true", help="one car, once: to see that it runs")
    smallest = parser.parse_args().smallest
    names, rounds = (["gt"], 1) if smallest else (demo_names(), 15)
    print(
        f"{platform.machine()}, {os.cpu_count()} cores, Python {platform.python_version()}, "
        + ", ".join(f"{name} {version(name)}" for name in ("numba", "numpy", "scipy"))
    )
    print(f"median of {rounds} (least to most); processor: of all cores, median\n")
    for name in names:
        reference = demo_car(name)
        car, ready = moved(reference), workout(reference)
        checked(ready, car)
        ways = ways_to_ask(ready, car)
        walls: dict[str, list[float]] = {way: [] for way in ways}
        busy: dict[str, list[float]] = {way: [] for way in ways}
        for _ in range(rounds):
            for way, call in ways.items():
                began, worked = time.perf_counter(), time.process_time()
                call()
                walls[way].append(1e3 * (time.perf_counter() - began))
                busy[way].append(1e3 * (time.process_time() - worked))
        print(f"{name:24}{'wall [ms]':>12}{'spread [ms]':>18}{'processor [ms]':>18}")
        for way, found in walls.items():
            spread = f"{min(found):.1f} to {max(found):.1f}"
            processor = statistics.median(busy[way])
            print(f"{way:24}{statistics.median(found):12.1f}{spread:>18}{processor:18.1f}")
        print()


if __name__ == "__main__":
    main()
