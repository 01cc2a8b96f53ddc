"""What one step does, on the command line: the numbers of the advice, sorted and complete."""

import json
import re
from pathlib import Path
from typing import Any

import numpy as np
import pytest
from click.testing import CliRunner, Result
from numpy.testing import assert_allclose

from fourpatch.advice.sensitivity import sensitivity
from fourpatch.analysis.standard_events import standard_corners
from fourpatch.car.demo import demo_car
from fourpatch.car.files import save_car
from fourpatch.car.setup import baseline_setup
from fourpatch.cli.root import root
from fourpatch.picture.sensitivity_words import load_meaning

KEPT = ("front bar", "rear bar", "rear rebound, low speed", "brake bias", "rear tyre pressure")


@pytest.fixture(scope="module")
def small_car(tmp_path_factory: pytest.TempPathFactory) -> Path:
    """A GT with few adjusters, so that the answer comes fast."""
    car = demo_car("gt")
    adjusters = [one for one in car.adjusters if one.name in KEPT]
    path = tmp_path_factory.mktemp("car") / "small.toml"
    save_car(car.model_copy(update={"adjusters": adjusters}), path)
    return path


def advised(*arguments: str) -> Result:
    result = CliRunner().invoke(root, ["advise", "sensitivity", *arguments])
    assert result.exit_code == 0, result.stderr
    return result


@pytest.fixture(scope="module")
def shown(small_car: Path) -> str:
    return advised(str(small_car)).stdout


@pytest.fixture(scope="module")
def said(small_car: Path) -> Any:
    return json.loads(advised(str(small_car), "--json").stdout)


def order_in(text: str) -> list[str]:
    """Adjusters in the order of the first table."""
    found = [(text.index(f"\n {name}, "), name) for name in KEPT if f"\n {name}, " in text]
    return [name for _, name in sorted(found)]


def test_it_fits_a_hundred_columns(shown: str) -> None:
    assert max(map(len, shown.splitlines())) <= 100
    assert "\x1b" not in shown


def test_it_says_what_the_numbers_are_and_are_not(shown: str) -> None:
    assert "computed on the rig" in shown
    assert "A change above 0 is towards understeer" in " ".join(shown.split())
    assert "the maker's limits" in " ".join(shown.split())
    assert "is invented" in shown


def test_json_is_the_table_of_the_advice(said: Any) -> None:
    car = demo_car("gt")
    small = car.model_copy(update={"adjusters": [one for one in car.adjusters if one.name in KEPT]})
    table = sensitivity(small, baseline_setup(small))
    for k, one in enumerate(table.adjusters):
        for column, name in enumerate(("step_down", "step_up")):
            found = np.array(list(said["effects"][one.name][name].values()), dtype=float)
            # The same computation twice; JSON keeps all digits.
            assert_allclose(found, table.effects[k, column], rtol=1e-12, atol=1e-15)
    assert said["measures"]["medium corner.mid.balance"]["unit"] == "points"


def test_the_table_shows_the_rounded_numbers(said: Any, shown: str) -> None:
    for name in ("front bar", "brake bias"):
        line = next(line for line in shown.splitlines() if line.startswith(f" {name}, "))
        for phase in ("braking", "entry", "mid", "exit"):
            for step in ("step_down", "step_up"):
                value = said["effects"][name][step][f"medium corner.{phase}.balance"]
                assert (f"{value:+.2f}" if abs(value) >= 0.005 else "0") in line.split()


def test_the_largest_effect_comes_first(said: Any, shown: str) -> None:
    largest = {
        name: max(
            abs(value)
            for step in said["effects"][name].values()
            for measure, value in step.items()
            if measure.startswith("medium corner.") and measure.endswith(".balance")
        )
        for name in KEPT
    }
    listed = order_in(shown)
    assert len(listed) == len(KEPT)
    assert listed == sorted(listed, key=lambda name: -largest[name])


def test_sorting_by_another_measure(small_car: Path, said: Any) -> None:
    listed = order_in(advised(str(small_car), "--sort-by", "braking.balance").stdout)
    assert listed[0] == "brake bias"
    listed = order_in(advised(str(small_car), "--sort-by", "rough road.grip_lost.rear").stdout)
    assert listed[0] == "rear tyre pressure"


def test_sorting_by_what_there_is_not(small_car: Path) -> None:
    result = CliRunner().invoke(root, ["advise", "sensitivity", str(small_car), "--sort-by", "grip_last"])
    assert result.exit_code == 2
    assert "Did you mean grip_lost" in result.stderr


def test_another_corner_and_every_corner(small_car: Path, shown: str) -> None:
    assert "slow corner" not in shown
    assert "slow corner: change of balance" in advised(str(small_car), "--corner", "slow corner").stdout
    every = advised(str(small_car), "--corner", "all").stdout
    assert all(f"{speed} corner: change of balance" in every for speed in ("slow", "medium", "fast"))
    result = CliRunner().invoke(root, ["advise", "sensitivity", str(small_car), "--corner", "hairpin"])
    assert result.exit_code == 2
    assert "slow corner, medium corner, fast corner" in result.stderr


def test_every_measure_of_every_adjuster(small_car: Path, said: Any) -> None:
    text = advised(str(small_car), "--all").stdout
    # What moves by more than any last digit that is shown is there.
    for steps in said["effects"].values():
        for name, up in steps["step_up"].items():
            if up is not None and said["measures"][name]["unit"] in ("points", "N"):
                assert abs(up) < 1.0 or f" {name} " in text


def test_own_events_and_a_figure(small_car: Path, tmp_path: Path) -> None:
    corner, kerb = tmp_path / "hairpin.toml", tmp_path / "chicane-kerb.toml"
    corner.write_text(
        'kind = "corner"\nradius = "12 m"\nspeed = "40 km/h"\ndeceleration = "6 m/s**2"\n', encoding="utf-8"
    )
    kerb.write_text('kind = "kerb-strike"\nheight = "30 mm"\n', encoding="utf-8")
    figure = tmp_path / "steps.svg"
    text = advised(
        str(small_car), "--event", str(corner), "--event", str(kerb), "--figure", str(figure)
    ).stdout
    assert "hairpin: change of balance" in text
    assert "chicane-kerb: change for one step" in text
    assert figure.exists()


def test_an_event_without_a_step_table_is_refused(small_car: Path, tmp_path: Path) -> None:
    braking = tmp_path / "stop.toml"
    braking.write_text('kind = "braking"\n', encoding="utf-8")
    result = CliRunner().invoke(root, ["advise", "sensitivity", str(small_car), "--event", str(braking)])
    assert result.exit_code == 2
    assert (
        "events of the kinds corner, kerb-strike, rough-road, measured-road, and this one is braking"
        in result.stderr
    )


def test_a_step_beyond_the_stop_is_left_out(small_car: Path, tmp_path: Path) -> None:
    setup = tmp_path / "end.toml"
    setup.write_text('name = "end"\ncar = "Demo GT"\n[values]\n"rear bar" = 7\n', encoding="utf-8")
    result = advised(str(small_car), "--setup", str(setup), "--json")
    effects = json.loads(result.stdout)["effects"]["rear bar"]
    assert set(effects["step_up"].values()) == {None}
    balance = effects["step_down"]["medium corner.mid.balance"]
    assert balance is not None
    assert balance > 0.0  # a softer rear bar, less load transfer there


def test_words_on_swings_and_bumps(shown: str) -> None:
    said = " ".join(shown.split())
    assert "saves most" not in said
    assert re.search(r"\b1 (clicks|turns|shims)\b", said) is None
    assert re.search(r"[+-]0(\.0+)?\b(?![.\d])", said) is None


def test_a_swing_is_placed_in_time_and_its_peak_stands_beside_it() -> None:
    car = demo_car("coupe")
    only = car.model_copy(update={"adjusters": [one for one in car.adjusters if one.name == "front spring"]})
    table = sensitivity(
        only, baseline_setup(only), events={"corner": standard_corners(only)["medium corner"]}
    )
    assert re.match(
        r"braking: front spring down \+\d+ N at 0\.\d\d s of the phase, which is mostly the same load \d+ ms "
        r"later \(largest load of the phase \+\d+ N\); entry: ",
        load_meaning(table, "corner"),
    )


def test_a_corner_beyond_grip_is_said_to_be(small_car: Path, tmp_path: Path) -> None:
    corner = tmp_path / "fast.toml"
    corner.write_text('kind = "corner"\nradius = "60 m"\nspeed = "125 km/h"\n', encoding="utf-8")
    said = " ".join(advised(str(small_car), "--event", str(corner)).stdout.split())
    found = re.search(
        r"What this means: this car cannot follow this motion, whose mid asks for (\d+) %", said
    )
    assert found
    assert int(found[1]) > 100
