"""How quick is a full notebook? 5,000 set-ups and 20,000 runs: the table of docs/notebook.md.

python benchmarks/notebook.py [--smallest]
"""

import argparse
import tempfile
import time
from collections.abc import Callable
from pathlib import Path
from statistics import median

import numpy as np

from fourpatch.car.setup import baseline_setup
from fourpatch.notebook.notebook import Notebook, open_notebook
from fourpatch.recording.meeting import Meeting, Remark, RunNotes, SessionNotes, differing

WORDS = "pushes loose nervous kerb entry exit calm quick cold hot damp front rear waits snaps floats".split()


def main() -> None:
    """Write the table."""
    parser = argparse.ArgumentParser(description=__doc__)
    parser.add_argument("--smallest", action="store_true", help="ten set-ups, two meetings")
    setups, meetings = (10, 2) if parser.parse_args().smallest else (5000, 1000)
    with tempfile.TemporaryDirectory() as folder:
        path = Path(folder) / "notebook.sqlite"
        fill(path, setups=setups, meetings=meetings)
        print(f"{setups} set-ups, {20 * meetings} runs, {path.stat().st_size / 1e6:.0f} MB")
        print("| what | time, median of 20 | of the processor |\n|---|---|---|")
        measure("open", lambda: open_notebook(path).close())
        with open_notebook(path) as opened:
            car = opened.cars.listed()[0].id
            line = opened.logbook.timeline()[0]
            before, after = (one.run for one in list(opened.meetings.read(line.id).runs())[:2])
            heads = [one.head.id for one in opened.setups.listed(car)[:2]]
            measure("timeline", opened.logbook.timeline)
            measure("search, a word that is in one meeting", lambda: opened.logbook.search("unicorn"))
            measure("search, words that are in all of them", lambda: opened.logbook.search("pushes entry"))
            measure("what carries over", lambda: opened.logbook.take_along(track="Track 3"))
            measure("one meeting", lambda: opened.meetings.get(line.id))
            measure("difference of two runs", lambda: differing(before, after))
            measure("difference of two set-ups", lambda: [opened.setups.version(one).values for one in heads])


def fill(path: Path, *, setups: int, meetings: int) -> None:
    """Make a notebook of invented meetings, twenty runs each."""
    rng = np.random.default_rng(4)
    with open_notebook(path) as opened:
        add_setups(opened, setups, rng)
        car = opened.cars.listed()[0]
        values = baseline_setup(opened.cars.read(car.id)).values
        for number in range(meetings):
            note = "unicorn" if number == meetings // 2 else ""
            runs = [a_run(rng, values) for _ in range(20)]
            opened.meetings.add(
                Meeting(
                    name=f"Meeting {number}",
                    date=f"{2000 + number // 300}-{number // 28 % 12 + 1:02d}-{number % 28 + 1:02d}",
                    track=f"Track {number % 40}",
                    car=car.name,
                    note=note,
                    sessions=[
                        SessionNotes(name="morning", runs=runs[:10]),
                        SessionNotes(name="noon", runs=runs[10:]),
                    ],
                ),
                by="benchmark",
            )


def add_setups(opened: Notebook, count: int, rng: np.random.Generator) -> None:
    """Add set-ups, spread over the demo cars."""
    cars = opened.cars.listed()
    for number in range(count):
        car = cars[number % len(cars)]
        setup = baseline_setup(opened.cars.read(car.id)).model_copy(
            update={"name": f"set-up {number}", "note": " ".join(rng.choice(WORDS, 6))}
        )
        opened.setups.add(car.id, setup, by="benchmark")


def a_run(rng: np.random.Generator, values: dict[str, float]) -> RunNotes:
    """Return an invented run of eight laps."""
    return RunNotes(
        setup=f"set-up {rng.integers(50)}",
        values=values,
        tyres=f"set {rng.integers(9)}",
        fuel=40.0,
        laps=" ".join(f"1:{35.0 + rng.normal(0.0, 0.3):05.2f}" for _ in range(8)),
        remarks=[Remark(corner=str(rng.integers(12)), phase="entry", text=" ".join(rng.choice(WORDS, 5)))],
        tried=" ".join(rng.choice(WORDS, 4)),
    )


def measure(what: str, act: Callable[[], object]) -> None:
    """Write how long something takes."""
    act()
    took, worked = [], []
    for _ in range(20):
        begun, used = time.perf_counter(), time.process_time()
        act()
        took.append(1e3 * (time.perf_counter() - begun))
        worked.append(1e3 * (time.process_time() - used))
    print(f"| {what} | {median(took):.1f} ms | {median(worked):.1f} ms |", flush=True)


if __name__ == "__main__":
    main()
