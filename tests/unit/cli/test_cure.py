"""A complaint on the command line: what is read, what is answered, what is refused."""

import json
from collections.abc import Callable
from pathlib import Path
from typing import Any

import pytest
from click.testing import CliRunner, Result

from fourpatch.advice.set_search import AdvisedSets
from fourpatch.car.car import Car
from fourpatch.car.demo import demo_car
from fourpatch.car.files import save_car, save_setup
from fourpatch.car.provenance import Provenance
from fourpatch.car.setup import Setup
from fourpatch.cli.root import root

KEPT = ("front bar", "rear bar", "rear rebound, low speed", "brake bias", "cross weight")
COMPLAINT = "pushes at mid-corner in medium corners"


def small(car: Car) -> Car:
    """A car with few adjusters, so that the answer comes fast, one of its numbers estimated."""
    spread = Provenance(source="estimated", method="for this test", spread="20 %")
    return car.model_copy(
        update={
            "adjusters": [one for one in car.adjusters if one.name in KEPT],
            "provenance": {**car.provenance, "front.bar.rate": spread, "chassis.cg_height": spread},
        }
    )


@pytest.fixture(scope="module")
def car_file(tmp_path_factory: pytest.TempPathFactory) -> str:
    path = tmp_path_factory.mktemp("car") / "small.toml"
    save_car(small(demo_car("gt")), path)
    return str(path)


def advised(*arguments: str) -> Result:
    result = CliRunner().invoke(root, ["advise", "cure", *arguments])
    assert result.exit_code == 0, result.stderr
    return result


@pytest.fixture(scope="module")
def shown(car_file: str) -> str:
    return advised(car_file, COMPLAINT, "--draws", "4").stdout


@pytest.fixture(scope="module")
def said(car_file: str) -> Any:
    return json.loads(advised(car_file, COMPLAINT, "--draws", "4", "--json").stdout)


def test_it_fits_a_hundred_columns(shown: str) -> None:
    assert max(map(len, shown.splitlines())) <= 100
    assert "\x1b" not in shown


def test_it_says_how_it_was_read_and_what_it_rests_on(shown: str) -> None:
    flat = " ".join(shown.split())
    assert "Read as: understeer at mid-corner in medium corners." in flat
    assert "A first change brings it down by" in flat
    assert "computed on the rig" in flat.lower()
    assert "the maker's limits" in " ".join(flat.split())
    assert "hurts those of the other" in flat
    assert "4 plausible cars" in flat
    assert "Dampers do not cure" in flat


def test_table_and_json_say_the_same(shown: str, said: Any) -> None:
    for lever in said["levers"]:
        line = next(line for line in shown.splitlines() if line.startswith(f" {lever['adjuster']}, "))
        assert f"{lever['cures'][0]['value']:+.2f}" in line
        assert line.split()[-1] == str(lever["holds"])
    first = said["sets"][0]
    assert f"{100.0 * first['share_of_wanted'][0]:.0f} % of a first change" in " ".join(shown.split())
    assert said["complaints"][0]["present"]["unit"] == "points"


def test_json_and_numbers_do_not_change_between_runs(car_file: str, said: Any) -> None:
    assert json.loads(advised(car_file, COMPLAINT, "--draws", "4", "--json").stdout) == said


def test_that_there_is_no_set_is_said(car_file: str, monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setattr("fourpatch.advice.cure.advised_sets", lambda *_: AdvisedSets())
    shown = " ".join(advised(car_file, COMPLAINT, "--draws", "0").stdout.split())
    assert "There is no set of changes to advise" in shown
    assert "Adjusters that help" in shown


def test_a_good_set_up_is_gone_back_to(car_file: str, tmp_path: Path) -> None:
    bar = {"front bar": 5.0}
    asked = Setup(name="now", car="Demo GT", values=bar)
    good = Setup(name="before", car="Demo GT", values={})
    files = []
    for one in (asked, good):
        save_setup(one, tmp_path / f"{one.name}.toml")
        files.append(str(tmp_path / f"{one.name}.toml"))
    options = ("--setup", files[0], "--good", files[1], "--draws", "0")
    said = json.loads(advised(car_file, COMPLAINT, *options, "--json").stdout)
    assert [(c["adjuster"], c["to"]) for c in said["sets"][0]["changes"]] == [("front bar", 4.0)]
    assert said["complaints"][0]["sized_by"] == "good"
    assert said["good"]["is_the_way"] is True
    shown = " ".join(advised(car_file, COMPLAINT, *options).stdout.split())
    assert "With before, which was good, it was" in shown


def test_by_sets_what_is_wanted(car_file: str) -> None:
    said = json.loads(advised(car_file, COMPLAINT, "--by", "0.4", "--draws", "0", "--json").stdout)
    assert said["complaints"][0]["wanted"]["value"] == -0.4
    assert said["sureness"] is None


def test_the_figure_is_drawn(car_file: str, tmp_path: Path) -> None:
    path = tmp_path / "cure.svg"
    advised(car_file, COMPLAINT, "--draws", "0", "--figure", str(path))
    assert (
        "What cures: understeer at mid-corner" in path.read_text(encoding="utf-8")
        or path.stat().st_size > 1e4
    )


@pytest.mark.parametrize(
    ("complaint", "expected"),
    [
        ("blah", ("blah", "Nearest readings", "Choose one")),
        ("slides on exit", ("slides on exit", "Which end", '"understeer on exit"', '"oversteer on exit"')),
        (
            "loose and pushes on entry",
            ("oversteer", "understeer on entry", "contradict", "in which phase"),
        ),
        ("overheats the rear tyres", ("tyres have no temperature", "What may be meant instead")),
        ("steering is heavy", ("weight and feel of the steering", "slow to answer")),
        ("pushes on the straight", ("neither axle is near its limit", "name a phase")),
        ("it does not push", ("only what the car does not do", "Say what it does")),
    ],
)
def test_what_cannot_be_answered_is_refused(
    refused: Callable[..., str], complaint: str, expected: tuple[str, ...]
) -> None:
    text = refused("advise", "cure", "gt", complaint)
    for part in expected:
        assert part in text


def test_an_amount_is_for_one_complaint(refused: Callable[..., str]) -> None:
    text = refused("advise", "cure", "gt", "pushes on entry and loose on exit", "--by", "1")
    assert "2 were read" in text


def test_a_car_without_adjusters_says_so(refused: Callable[..., str], tmp_path: Path) -> None:
    path = tmp_path / "bare.toml"
    save_car(demo_car("gt").model_copy(update={"adjusters": []}), path)
    assert "has no adjusters" in refused("advise", "cure", str(path), "pushes on entry")
