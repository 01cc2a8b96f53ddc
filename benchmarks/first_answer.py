#!/usr/bin/env python3
"""How long from a fresh process to the first number, with a cold and with a warm cache of compiled kernels?

Each command runs in a process of its own, its time measured from outside. Cold: the cache folder is new
and empty, as on the first day and after an update. Beside them stands Python with the libraries alone,
which no program over them can beat.
"""

import argparse
import os
import platform
import statistics
import subprocess
import sys
import tempfile
import time
from importlib.metadata import version

START = "from fourpatch.cli import main; main()"
LIBRARIES = "import numba, numpy, scipy, xarray"

COMMANDS = {
    "Python and the libraries": [sys.executable, "-c", LIBRARIES],
    "fourpatch --help": [sys.executable, "-c", START, "--help"],
    "fourpatch analyse statics": [sys.executable, "-c", START, "analyse", "statics", "hatchback"],
    "fourpatch run kerb-strike": [sys.executable, "-c", START, "run", "kerb-strike", "hatchback"],
    "fourpatch advise sensitivity": [sys.executable, "-c", START, "advise", "sensitivity", "hatchback"],
    "fourpatch advise cure": [sys.executable, "-c", START, "advise", "cure", "hatchback", "pushes on entry"],
}


def seconds(command: list[str], cache: str) -> float:
    """Return the wall time of one process. [s]"""
    began = time.perf_counter()
    subprocess.run(
        command,
        check=True,
        env={**os.environ, "FOURPATCH_CACHE": cache},
        stdout=subprocess.DEVNULL,
        stderr=subprocess.DEVNULL,
    )
    return time.perf_counter() - began


def main() -> None:
    """Measure and print."""
    parser = argparse.ArgumentParser(description=__doc__.splitlines()[0])
    parser.add_argument(
        "--smallest", action="store_true", help="one short command, once: to see that it runs"
    )
    smallest = parser.parse_args().smallest
    names = ["fourpatch analyse statics"] if smallest else list(COMMANDS)
    repeats = 1 if smallest else 5
    print(
        f"{platform.processor() or platform.machine()}, {os.cpu_count()} cores, Python "
        f"{platform.python_version()}, ",
        end="",
    )
    print(", ".join(f"{name} {version(name)}" for name in ("numba", "numpy")))
    print(f"warm: median of {repeats} (least to most); cold: once, its excess is compilation\n")
    print(f"{'command':32}{'cold [s]':>10}{'warm [s]':>10}   spread [s]")
    for name in names:
        with tempfile.TemporaryDirectory() as cache:
            cold = seconds(COMMANDS[name], cache)
            warm = [seconds(COMMANDS[name], cache) for _ in range(repeats)]
        spread = f"{min(warm):.2f} to {max(warm):.2f}"
        print(f"{name:32}{cold:10.2f}{statistics.median(warm):10.2f}   {spread}")


if __name__ == "__main__":
    main()
