"""Listing, checking, exporting, estimating: what comes out goes in again."""

import json
from collections.abc import Callable
from pathlib import Path
from typing import Any

import pytest
from click.testing import Result

from fourpatch.car.demo import demo_car, demo_names
from fourpatch.car.files import load_car, load_setup
from fourpatch.car.paths import parameters
from fourpatch.car.setup import baseline_setup

Command = Callable[..., Result]
Answered = Callable[..., Any]


def test_all_demo_cars_are_listed(fourpatch: Command, answered: Answered) -> None:
    assert [one["name"] for one in answered("list", "cars")["cars"]] == list(demo_names())
    shown = fourpatch("list", "cars").stdout
    assert all(name in shown for name in demo_names())
    assert "nvented" in shown


def test_all_adjusters_are_listed(fourpatch: Command, answered: Answered) -> None:
    car = demo_car("gt")
    listed = answered("list", "adjusters", "gt")["adjusters"]
    assert [(one["name"], one["lowest"], one["highest"]) for one in listed] == [
        (one.name, one.lowest, one.highest) for one in car.adjusters
    ]
    shown = fourpatch("list", "adjusters", "gt").stdout
    assert all(one.name in shown for one in car.adjusters)


@pytest.mark.parametrize("name", demo_names())
def test_an_exported_car_is_the_same_car(name: str, fourpatch: Command) -> None:
    assert fourpatch("export", "car", name, "mine.toml").exit_code == 0
    assert load_car("mine.toml") == demo_car(name)


def test_an_exported_setup_is_the_baseline(fourpatch: Command) -> None:
    assert fourpatch("export", "setup", "coupe", "base.toml").exit_code == 0
    car = demo_car("coupe")
    assert load_setup("base.toml", car) == baseline_setup(car)
    assert (
        "Every adjuster is at its baseline"
        in fourpatch("check", "setup", "base.toml", "--car", "coupe").stdout
    )


def test_checking_a_setup_shows_what_was_moved(fourpatch: Command, answered: Answered) -> None:
    fourpatch("export", "setup", "gt", "wet.toml")
    path = Path("wet.toml")
    text = path.read_text(encoding="utf-8")
    path.write_text(text.replace('"rear bar" = 4', '"rear bar" = 2'), encoding="utf-8")
    assert answered("check", "setup", "wet.toml", "--car", "gt")["moved"] == {"rear bar": 2.0}
    assert "rear bar" in fourpatch("check", "setup", "wet.toml", "--car", "gt").stdout


def test_checking_a_car_counts_where_its_numbers_came_from(answered: Answered, fourpatch: Command) -> None:
    counted = answered("check", "car", "hatchback")["origins"]
    assert counted["demo"] == len(list(parameters(demo_car("hatchback"))))
    assert "100" in fourpatch("check", "car", "hatchback").stdout


def test_checking_a_car_names_what_is_odd(car_file: Callable[..., Path], fourpatch: Command) -> None:
    # A knee where hardly any damper works: possible, so it is said and not refused.
    path = car_file(('knee_speed = "', 'knee_speed = "9'))
    result = fourpatch("check", "car", str(path))
    assert result.exit_code == 0
    assert "Odd, but possible: front.damper.bump knee speed is 970 mm/s" in result.stdout


def test_a_brief_becomes_a_car_that_can_be_checked(fourpatch: Command, answered: Answered) -> None:
    example = fourpatch("estimate", "car", "--example")
    assert example.exit_code == 0
    Path("brief.toml").write_text(example.stdout, encoding="utf-8")
    made = fourpatch("estimate", "car", "brief.toml", "--output", "car.toml")
    assert made.exit_code == 0, made.stderr
    counted = answered("check", "car", "car.toml")["origins"]
    assert counted["estimated"] > 10 * counted["given"] > 0
    assert load_car("car.toml").chassis.mass == 1180.0


def test_an_event_file_shows_all_its_settings(fourpatch: Command, answered: Answered) -> None:
    Path("kerb.toml").write_text('kind = "kerb-strike"\nheight = "3 in"\n', encoding="utf-8")
    settings = answered("check", "event", "kerb.toml")["settings"]
    # 3 in is 76.2 mm by the definition of the inch; rounding of one multiplication.
    assert settings["height"]["unit"] == "m"
    assert settings["height"]["value"] == pytest.approx(0.0762, rel=1e-12)
    assert "76.2 mm" in fourpatch("check", "event", "kerb.toml").stdout


def test_json_is_all_that_goes_to_standard_output(fourpatch: Command) -> None:
    result = fourpatch("check", "car", "gt", "--json")
    assert json.loads(result.stdout)["command"] == "check car"
