"""A process killed at any moment loses nothing that it had been told was kept."""

import os
import random
import signal
import sqlite3
import subprocess
import sys
import time
from collections.abc import Iterable
from contextlib import closing
from itertools import pairwise
from pathlib import Path
from typing import NamedTuple

import pytest

from fourpatch.car.demo import demo_names
from fourpatch.notebook.notebook import Notebook, open_notebook

KILLS = 200

pytestmark = pytest.mark.skipif(
    not hasattr(os, "fork"), reason="a new interpreter for each kill would take too long"
)


class Kill(NamedTuple):
    """A process and its end."""

    line: str
    """What it is given."""
    answers: int
    """What it says before the kill."""
    wait: float
    """From there to the kill. [s]"""


def killed(kills: Iterable[Kill], *arguments: str) -> list[str]:
    """Have killed.py make processes, and kill them; return what all of them said."""
    command = [sys.executable, str(Path(__file__).with_name("killed.py")), *arguments]
    said: list[str] = []
    with subprocess.Popen(command, stdin=subprocess.PIPE, stdout=subprocess.PIPE, text=True) as worker:
        assert worker.stdin is not None
        assert worker.stdout is not None
        for line, answers, wait in kills:
            worker.stdin.write(f"{line}\n")
            worker.stdin.flush()
            child = int(worker.stdout.readline().removeprefix("pid "))
            said += [worker.stdout.readline().rstrip("\n") for _ in range(answers)]
            time.sleep(wait)
            os.kill(child, signal.SIGKILL)
            while (answer := worker.stdout.readline()) != "killed\n":
                assert answer, "killed.py ended before its time"
                said.append(answer.rstrip("\n"))
        worker.stdin.close()
        assert worker.wait(30) == 0
    return said


def test_two_hundred_kills_lose_nothing_committed(notebook: Notebook, file: Path) -> None:
    (setup,) = notebook.setups.listed(notebook.cars.listed()[0].id)
    notebook.close()
    chance = random.Random(5)
    # Every fourth falls somewhere in the opening and the first change, the others a version or a part of one
    # after a few versions; a version takes 5 ms on an idle machine.
    kills = (
        Kill("", 0, chance.uniform(0.0, 0.2))
        if not number % 4
        else Kill("", number % 3, chance.uniform(0.0, 0.01))
        for number in range(KILLS)
    )
    said = killed(kills, "change", str(file), str(setup.id))
    reported = [int(one) for one in said]
    with closing(sqlite3.connect(file)) as connection:
        assert connection.execute("PRAGMA integrity_check").fetchall() == [("ok",)]
        assert connection.execute("PRAGMA foreign_key_check").fetchall() == []
    with open_notebook(file) as survived:
        history = survived.setups.history(setup.id)
    assert len(reported) > KILLS // 2  # they were at work when they were killed
    assert set(reported) <= {one.id for one in history}
    for later, earlier in pairwise(history):
        assert later.parent_id == earlier.id
        assert later.note == str(earlier.id)
        assert later.values == setup.head.values
    # What a kill may add is a version that was kept and not yet said: at most one each.
    assert len(history) - 1 - len(reported) <= KILLS


def test_killed_while_it_makes_a_notebook_it_leaves_none_or_a_whole_one(tmp_path: Path) -> None:
    chance = random.Random(6)
    files = [tmp_path / f"{number}.sqlite" for number in range(12)]
    # Making one takes about half a second.
    said = killed((Kill(str(file), 0, chance.uniform(0.0, 0.4)) for file in files), "make")
    assert len(said) < len(files)  # some were killed at work
    for file in files:
        with open_notebook(file) as found:
            assert len(found.cars.listed()) == len(demo_names())
            assert all(found.setups.listed(car.id) for car in found.cars.listed())
