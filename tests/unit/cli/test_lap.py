"""`analyse lap` and `analyse corners`: the analysis's numbers, readable, and refusals that say why."""

import math
from collections.abc import Callable
from typing import Any

import numpy as np
import pytest
from click.testing import Result
from numpy.testing import assert_allclose

from fourpatch.analysis.lap_summary import study_lap
from fourpatch.analysis.limits_map import Margins
from fourpatch.analysis.quantity import json_ready
from fourpatch.car.demo import demo_car
from fourpatch.track.demo import demo_track

Command = Callable[..., Result]
Answered = Callable[..., Any]
LAP = ("analyse", "lap", "hatchback", "--track", "chicanes")
CORNERS = ("analyse", "corners", "hatchback", "--track", "chicanes")


@pytest.mark.parametrize("command", [LAP, CORNERS], ids=["lap", "corners"])
def test_tables_fit_a_hundred_columns(command: tuple[str, ...], fourpatch: Command) -> None:
    result = fourpatch(*command)
    assert result.exit_code == 0, result.stderr
    assert max(map(len, result.stdout.splitlines())) <= 100
    assert "computed quasi-steadily" in result.stdout.replace("\n", " ")
    assert "What this means: " in result.stdout


def test_a_lap_is_that_of_the_analysis(answered: Answered, fourpatch: Command) -> None:
    margins = Margins(braking=0.9, lateral=0.9, driving=0.9)
    study = study_lap(demo_car("hatchback"), demo_track("chicanes"), use=margins)
    said = answered(*LAP, "--use", "90%")
    assert said["mode"] == "quasi-steady"
    assert said["use"] == {"value": 0.9, "unit": "1"}
    assert said["lap"] == json_ready(study.summary)
    assert said["profile"]["speed"]["value"] == study.profile.speed.tolist()
    shown = fourpatch(*LAP, "--use", "90%").stdout
    minutes, seconds = divmod(study.summary.lap_time, 60.0)
    assert f"{minutes:.0f} min {seconds:05.2f} s" in shown
    for corner in study.summary.corners:
        assert f"{corner.slowest_speed * 3.6:.0f}" in shown


def test_sectors_and_shares_add_up(answered: Answered) -> None:
    lap = answered(*LAP)["lap"]
    total = sum(sector["time"]["value"] for sector in lap["sectors"])
    assert_allclose(total, lap["lap_time"]["value"], rtol=1e-12)
    doing = [lap[name]["value"] for name in ("braking", "cornering", "driving")]
    assert_allclose(sum(doing), 1.0, rtol=1e-12)
    limits = [lap[f"{name}_limited"]["value"] for name in ("front", "rear", "engine", "brakes")]
    assert_allclose(sum(limits), 1.0, rtol=1e-12)


def test_less_grip_used_is_a_slower_lap(answered: Answered) -> None:
    full, less = (answered(*LAP, *use)["lap"]["lap_time"]["value"] for use in ((), ("--use", "80%")))
    assert less > full


def test_phases_of_the_corners(answered: Answered) -> None:
    said = answered(*CORNERS)
    balance, use = said["phases"]["balance"]["value"], said["phases"]["use"]["value"]
    assert list(balance) == [corner["corner"] for corner in said["corners"]]
    for corner, phases in balance.items():
        assert list(phases) == ["braking", "entry", "mid", "exit"]
        for phase, value in phases.items():
            if value is not None:
                both = use[corner][phase]
                assert_allclose(value, 100.0 * (both["front"] - both["rear"]), atol=1e-9)
    reserve, doubling = (said["phases"][name]["value"] for name in ("stability_reserve", "time_to_double"))
    for corner, phases in reserve.items():
        for phase, value in phases.items():
            if value is not None and value > 0.0:
                assert_allclose(doubling[corner][phase], math.log(2.0) / value, rtol=1e-12)
            else:
                assert doubling[corner][phase] is None


@pytest.mark.parametrize("command", ["lap", "corners"])
def test_figures(command: str, fourpatch: Command, tmp_path: Any) -> None:
    result = fourpatch("analyse", command, "gt", "--track", "chicanes", "--figure", "drawn.svg", "--json")
    assert result.exit_code == 0, result.stderr
    assert "Drew drawn.svg" in result.stderr
    assert (tmp_path / "drawn.svg").exists()


@pytest.mark.parametrize(
    ("arguments", "said"),
    [
        (("lap", "gt", "--track", "chicane"), "Did you mean chicanes?"),
        (("lap", "gt", "--track", "chicanes", "--use", "130%"), "outside 5 to 100 %"),
        (("lap", "gt", "--track", "chicanes", "--start-speed", "50 km/h"), "the line is a lap"),
        (("corners", "gt"), "--track"),
    ],
)
def test_refusals(arguments: tuple[str, ...], said: str, refused: Callable[..., str]) -> None:
    assert said in refused("analyse", *arguments)


def test_an_open_track(answered: Answered, refused: Callable[..., str], tmp_path: Any) -> None:
    (tmp_path / "hill.toml").write_text(
        """name = "straight, invented"
[centre_line]
kind = "sections"
closed = false
[[centre_line.sections]]
kind = "straight"
length = "300 m"
[road]
[[road.width]]
distance = "0 m"
left = "5 m"
right = "5 m"
[[road.surface]]
kind = "road-class"
start = "0 m"
road_class = "A"
""",
        encoding="utf-8",
    )
    said = answered("analyse", "lap", "gt", "--track", "hill.toml", "--start-speed", "36 km/h")
    speed = np.array(said["profile"]["speed"]["value"])
    assert_allclose(speed[0], 10.0, rtol=1e-12)
    assert np.all(np.diff(speed) > 0.0)
    assert said["lap"]["corners"] == []
    assert "nothing on this track counts as a corner" in refused(
        "analyse", "corners", "gt", "--track", "hill.toml"
    )
