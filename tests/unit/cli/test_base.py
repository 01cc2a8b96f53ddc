"""Base set-up, trade-off and test plan on the command line."""

import re
from collections.abc import Callable
from pathlib import Path
from typing import Any

import pytest
from click.testing import Result

from fourpatch.answers.trade_off import read_names
from fourpatch.car.demo import demo_car
from fourpatch.car.files import load_setup, save_car

Command = Callable[..., Result]
KEPT = ("rear bar", "front bar", "front rebound, low speed", "fuel")


@pytest.fixture
def few(tmp_path: Path) -> Path:
    """A GT with few adjusters, so that the answer comes fast."""
    car = demo_car("gt")
    path = tmp_path / "few.toml"
    save_car(car.model_copy(update={"adjusters": [one for one in car.adjusters if one.name in KEPT]}), path)
    return path


def one_line(text: str) -> str:
    return " ".join(text.split())


def test_a_base_set_up_is_written_and_reads_back(fourpatch: Command, few: Path, tmp_path: Path) -> None:
    result = fourpatch("advise", "base", str(few), "--style", "calm", "--output", "base.toml")
    assert result.exit_code == 0, result.stderr
    assert max(map(len, result.stdout.splitlines())) <= 100
    text = one_line(result.stdout)
    assert "What this means" in text
    assert "balance +3 points" in text
    assert "maker's limits" in text
    car = demo_car("gt")
    kept = car.model_copy(update={"adjusters": [one for one in car.adjusters if one.name in KEPT]})
    assert set(load_setup(tmp_path / "base.toml", kept).values) == set(KEPT)
    assert fourpatch("check", "setup", "base.toml", "--car", str(few)).exit_code == 0


def test_a_file_is_not_written_over(fourpatch: Command, few: Path, tmp_path: Path) -> None:
    (tmp_path / "base.toml").write_text("mine", encoding="utf-8")
    result = fourpatch("advise", "base", str(few), "--output", "base.toml")
    assert result.exit_code == 2
    assert (tmp_path / "base.toml").read_text(encoding="utf-8") == "mine"


def test_a_trade_off_on_a_track_has_lap_times(answered: Callable[..., Any], few: Path) -> None:
    arguments = ("--adjusters", "rear bar", "--track", "chicanes")
    said = answered("advise", "trade-off", str(few), *arguments)["trade_off"]
    assert said["present"]["pace"]["unit"] == "s"
    assert said["exhaustive"]
    assert len(said["points"]) == 7
    assert said["objectives"] == ["pace", "bumps", "calmness", "scatter", "tyre work"]
    assert said["present"]["tyre_work"]["unit"] == "J/m"
    assert said["present"]["most_worked"] in ("FL", "FR", "RL", "RR")


def test_a_trade_off_says_what_it_means(fourpatch: Command, few: Path) -> None:
    result = fourpatch("advise", "trade-off", str(few), "--adjusters", "rear bar")
    assert result.exit_code == 0, result.stderr
    text = one_line(result.stdout)
    for part in ("the quickest of all differs by", "Scatter:"):
        assert part in text
    # In the standard corners, left-handers, the tyres on the right carry the load.
    assert re.search(r"Most worked tyre at present: (FR|RR), \d+ kJ/km", text)
    assert max(map(len, result.stdout.splitlines())) <= 100
    less = fourpatch(
        "advise", "trade-off", str(few), "--adjusters", "rear bar", "--objectives", "pace, tyre work"
    )
    assert "Bumps, calmness, scatter do not count." in one_line(less.stdout)


def test_a_plan_says_what_to_do(fourpatch: Command, few: Path) -> None:
    result = fourpatch("advise", "test-plan", str(few), "--change", "rear bar=-3", "--scatter", "0.05 s")
    assert result.exit_code == 0, result.stderr
    text = one_line(result.stdout)
    for part in (
        "Change rear bar from position 4 to 1",
        "What this means",
        "A-B-A",
        "Watch",
        "Stop",
        "maker's limits",
    ):
        assert part in text


@pytest.mark.parametrize(
    ("arguments", "said"),
    [
        (("base", "gtt"), "Did you mean gt"),
        (("trade-off", "gt", "--adjusters", "front bra"), "front bar"),
        (("trade-off", "gt", "--adjusters", ","), "names none"),
        (("trade-off", "gt", "--adjusters", "front bar", "--objectives", "comfort"), "none of that name"),
        (("test-plan", "gt", "--change", "front bar"), "must say an adjuster and a number"),
        (("test-plan", "gt", "--change", "front bar=+9"), "not left"),
        (("test-plan", "gt", "--change", "front bar=+1", "--scatter", "0.3"), "0.3 s"),
        (("base", "gt", "--track", "chicane"), "chicanes"),
    ],
)
def test_what_is_refused(refused: Callable[..., str], arguments: tuple[str, ...], said: str) -> None:
    assert said in one_line(refused("advise", *arguments))


def test_a_car_without_adjusters_is_refused(refused: Callable[..., str], tmp_path: Path) -> None:
    save_car(demo_car("gt").model_copy(update={"adjusters": []}), tmp_path / "none.toml")
    assert "has no adjusters" in refused("advise", "base", "none.toml")


@pytest.mark.parametrize(
    ("text", "names"),
    [
        ("front bar, rear bar", ["front bar", "rear bar"]),
        ("front bar; rear bar", ["front bar", "rear bar"]),
        ("front rebound, low speed", ["front rebound, low speed"]),
        ("front rebound, low speed, rear bar", ["front rebound, low speed", "rear bar"]),
        ("rear bar; front rebound, low speed", ["rear bar", "front rebound, low speed"]),
        ("front bra, rear bar", ["front bra", "rear bar"]),
    ],
)
def test_names_may_have_commas(text: str, names: list[str]) -> None:
    assert read_names(text, list(KEPT)) == names
