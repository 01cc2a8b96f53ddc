#!/usr/bin/env python3
"""What does a 5-second event of the driven full car cost, ours against scipy's solvers on the same equations?

One car brakes and turns from 35 m/s, all degrees of freedom free. Every way is timed in turn, round after
round, in one process, and beside its time stands its error: the largest tyre-load difference, RMS over the
event and over static load, from a solution at rtol 1e-9. The solvers call the same compiled right-hand side
from Python; the uncompiled one is timed over a few calls and scaled by the number of calls, and said so.
"""

import argparse
import json
import os
import platform
import statistics
import subprocess
import sys
import time
from collections.abc import Callable
from importlib.metadata import version

import numpy as np
from numpy.typing import NDArray
from scipy.integrate import solve_ivp

from fourpatch.car.demo import demo_car
from fourpatch.events.drive import made_ready, run_drive
from fourpatch.events.drive_inputs import DriveControls, Engines
from fourpatch.events.drive_start import DriveStart, drive_instant, settle_drive
from fourpatch.events.motion import half_steps, ramp
from fourpatch.physics.integrate import LANES
from fourpatch.physics.layout import O

Array = NDArray[np.float64]

PUBLISHED = 2000.0
"""Times real time of a 17-degree-of-freedom model at 1 ms on one core.

Source: Unjhawala et al., IEEE Access 12, 2024 (quoted second hand; the paper was not opened).
"""

UNCOMPILED = "--uncompiled-call"


def pedals(instants: Array) -> dict[str, Array]:
    """Brake, turn in on the released brake, hold; half-cosine ramps."""
    pressed = ramp(instants, start=0.5, duration=0.4)
    released = ramp(instants, start=1.5, duration=0.8)
    return {
        "steer": 0.03 * ramp(instants, start=1.2, duration=0.6),
        "throttle": np.zeros(instants.size),
        "brake": 0.35 * pressed * (1.0 - 0.95 * released),
        "holding": 1.0 - pressed,
    }


class Event:
    """The car, settled, and its event."""

    def __init__(self, duration: float) -> None:
        self.duration = duration
        ready = made_ready([demo_car("gt")])
        self.parameters: Array = ready.parameters
        self.engines: Engines = ready.engines
        self.start: DriveStart = settle_drive(self.parameters, self.engines, speed=35.0)
        self.drivers = np.array([[self.start.steer[0], 1.0, self.start.throttle[0]]])
        self.controls = DriveControls(
            name="brake and turn", step=1e-3, store_every=5, **pedals(half_steps(duration, 1e-3))
        )
        self.instants = np.arange(self.controls.steps // 5 + 1) * 5e-3
        self.calls = 0

    def rates(self, instant: float, state: Array) -> Array:
        """Return the right-hand side, as a solver asks for it."""
        self.calls += 1
        row = np.column_stack(list(pedals(np.array([instant])).values()))
        history = drive_instant(self.parameters, state[None], self.engines, self.drivers, row)
        return np.asarray(history.rates[0, 0])

    def ours(self) -> Array:
        """States of our run."""
        history = run_drive(self.parameters, self.engines, self.controls, self.start, threads=1)
        return np.asarray(history.states[0])

    def solved(self, method: str, **tolerances: float) -> Array:
        """States by one of scipy's solvers."""
        found = solve_ivp(
            self.rates,
            (0.0, float(self.instants[-1])),
            self.start.states[0],
            method=method,
            t_eval=self.instants,
            **tolerances,
        )
        return np.asarray(found.y.T)

    def loads(self, states: Array) -> Array:
        """Tyre loads of states, (instants, 4). [N]"""
        rows = [
            drive_instant(
                self.parameters,
                state[None],
                self.engines,
                self.drivers,
                np.column_stack(list(pedals(np.array([instant])).values())),
            ).outputs[0, 0, O.tyre_load : O.tyre_load + 4]
            for instant, state in zip(self.instants, states, strict=True)
        ]
        return np.array(rows)

    def batch(self, cars: int, threads: int) -> float:
        """Time of so many cars at once. [s]"""
        parameters = np.repeat(self.parameters, cars, axis=0)
        engines = Engines(torque=np.repeat(self.engines.torque, cars, axis=0), spacing=self.engines.spacing)
        start = DriveStart(
            states=np.repeat(self.start.states, cars, axis=0),
            steer=np.repeat(self.start.steer, cars),
            throttle=np.repeat(self.start.throttle, cars),
        )
        began = time.perf_counter()
        run_drive(parameters, engines, self.controls, start, threads=threads)
        return time.perf_counter() - began


def timed(work: Callable[[], Array]) -> tuple[float, Array]:
    """Return the wall time of one call [s] and its answer."""
    began = time.perf_counter()
    answer = work()
    return time.perf_counter() - began, answer


def uncompiled_call() -> float:
    """Return the time of one call of the same right-hand side as plain Python, in its own process. [s]"""
    answer = subprocess.run(
        [sys.executable, __file__, UNCOMPILED],
        check=True,
        capture_output=True,
        text=True,
        env={**os.environ, "NUMBA_DISABLE_JIT": "1"},
    )
    return float(json.loads(answer.stdout))


def time_uncompiled() -> None:
    """Print the median time of a call; meant for the process without compilation."""
    event = Event(0.01)
    spans = [timed(lambda: event.rates(0.0, event.start.states[0]))[0] for _ in range(5)]
    print(json.dumps(statistics.median(spans)))


def main() -> None:
    """Measure and print."""
    parser = argparse.ArgumentParser(description=__doc__.splitlines()[0])
    parser.add_argument("--smallest", action="store_true", help="a short event, once: to see that it runs")
    parser.add_argument(UNCOMPILED, action="store_true", help=argparse.SUPPRESS)
    given = parser.parse_args()
    if given.uncompiled_call:
        time_uncompiled()
        return
    event = Event(0.2 if given.smallest else 5.0)
    rounds = 1 if given.smallest else 5
    print(
        f"{platform.machine()}, {os.cpu_count()} cores, Python {platform.python_version()}, "
        + ", ".join(f"{name} {version(name)}" for name in ("numba", "numpy", "scipy"))
    )
    first, _ = timed(event.ours)
    print(f"first call, compilation or its cache included: {first:.2f} s\n")
    compare(event, rounds)
    throughput(event, 2 * LANES if given.smallest else 16 * LANES, rounds)


def compare(event: Event, rounds: int) -> None:
    """Print times, errors and ratios of one event."""
    exact = event.loads(event.solved("DOP853", rtol=1e-9, atol=1e-10))
    ways: dict[str, Callable[[], Array]] = {
        "ours, 1 ms": event.ours,
        "RK45, rtol 1e-4": lambda: event.solved("RK45", rtol=1e-4, atol=1e-7),
        "LSODA, rtol 1e-4": lambda: event.solved("LSODA", rtol=1e-4, atol=1e-7),
    }
    spans: dict[str, list[float]] = {name: [] for name in ways}
    answers, calls = {}, {}
    for _ in range(rounds):
        for name, work in ways.items():
            event.calls = 0
            span, answers[name] = timed(work)
            spans[name].append(span)
            calls[name] = event.calls
    ours = statistics.median(spans["ours, 1 ms"])
    head = f"one event of {event.duration:g} s"
    print(f"{head:22}{'median [ms]':>12}{'spread [ms]':>18}{'x ours':>8}{'error':>10}")
    for name, found in spans.items():
        median = statistics.median(found)
        error = np.sqrt(np.mean((event.loads(answers[name]) - exact) ** 2, axis=0)) / exact[0]
        spread = f"{1e3 * min(found):.1f} to {1e3 * max(found):.1f}"
        print(f"{name:22}{1e3 * median:12.2f}{spread:>18}{median / ours:8.1f}{error.max():10.1e}")
    plain, needed = uncompiled_call(), calls["RK45, rtol 1e-4"]
    print(
        f"{'RK45, uncompiled':22}{1e3 * plain * needed:12.0f}{'(extrapolated)':>18}"
        f"{plain * needed / ours:8.0f}   {needed} calls of {1e3 * plain:.1f} ms"
    )
    times = event.duration / ours
    print(f"ours: {times:.0f} x real time, {times / PUBLISHED:.2f} of the published 2000")


def throughput(event: Event, cars: int, rounds: int) -> None:
    """Print how many events a second a batch of set-ups runs."""
    event.batch(cars, 1)
    print()
    for threads in (1, os.cpu_count() or 1):
        span = statistics.median(event.batch(cars, threads) for _ in range(rounds))
        print(
            f"batch of {cars} on {threads} core(s): {cars / span:.0f} events/s, "
            f"{cars * event.duration / span / threads:.0f} x real time per core, "
            f"{cars * event.duration / span / threads / PUBLISHED:.2f} of the published 2000"
        )


if __name__ == "__main__":
    main()
