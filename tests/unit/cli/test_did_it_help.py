import json
from collections.abc import Callable
from pathlib import Path
from typing import Any

import pytest
from click.testing import CliRunner, Result

from fourpatch.cli.root import root

Command = Callable[..., Result]

LAPS = """A: 1:38.2x 1:35.41 1:35.18 1:35.6 1:35.22 1:35.3
B: 1:37.9x 1:34.9 1:34.81 1:37.2 (traffic) 1:34.98 1:34.77 1:38.9
A: 1:37.0x 1:35.2 1:35.31 1:35.01 1:35.25
"""


@pytest.fixture
def laps(tmp_path: Path) -> str:
    (tmp_path / "laps.txt").write_text(LAPS, encoding="utf-8")
    return "laps.txt"


def test_the_first_sentence_is_the_answer(fourpatch: Command, laps: str) -> None:
    result = fourpatch("advise", "did-it-help", laps, "--figure", "laps.svg")
    assert result.exit_code == 0, result.stderr
    assert result.stdout.startswith("B is probably ")
    assert "a lap quicker than A." in result.stdout
    assert "run 2, lap 7" in result.stdout
    assert Path("laps.svg").read_text(encoding="utf-8").startswith("<?xml")


def test_pasted_laps_answer_as_those_of_a_file(answered: Callable[..., Any], laps: str) -> None:
    pasted = CliRunner().invoke(root, ["advise", "did-it-help", "-", "--json"], input=LAPS)
    content = answered("advise", "did-it-help", laps)
    assert pasted.exit_code == 0, pasted.stderr
    assert content["effect"]["lap"]["verdict"] == "quicker"
    assert json.loads(pasted.stdout) == content


def test_what_was_computed_stands_beside_it(answered: Callable[..., Any], laps: str) -> None:
    asked = ("advise", "did-it-help", laps, "--car", "gt", "--change", "front bar=+1")
    computed = answered(*asked)["computed"]
    scatter = answered(*asked)["effect"]["lap"]["scatter"]["value"]
    assert computed["plan"]["scatter"]["value"] == scatter
    planned = answered("advise", "test-plan", "gt", "--change", "front bar=+1")["plan"]
    assert computed["plan"]["changes"] == planned["changes"]


@pytest.mark.parametrize(
    ("arguments", "said"),
    [
        ((), "either a file of lap times, or recordings"),
        (("laps.txt", "--run", "A=a.csv"), "either a file of lap times, or recordings"),
        (("laps.txt", "--car", "gt"), "both --car and --change"),
        (("none.txt",), "there is no such file"),
        (("laps.txt", "--after", "C"), 'set-up "C"'),
        (("--run", "a.csv"), "write SETUP=FILE"),
    ],
)
def test_what_cannot_be_asked_is_refused(
    refused: Callable[..., str], laps: str, arguments: tuple[str, ...], said: str
) -> None:
    assert said in refused("advise", "did-it-help", *arguments)
