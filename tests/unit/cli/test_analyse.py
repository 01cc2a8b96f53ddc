"""Each analysis on the command line: the numbers are those of the parts below, with units, and readable."""

from collections.abc import Callable
from typing import Any

import numpy as np
import pytest
from click.testing import Result
from numpy.testing import assert_allclose

from fourpatch.analysis.frequency_response import frequency_response
from fourpatch.analysis.linear_model import linearise
from fourpatch.analysis.modes import car_modes
from fourpatch.analysis.quantity import json_ready, quantities
from fourpatch.analysis.speed_sweep import speed_sweep
from fourpatch.analysis.statics import statics
from fourpatch.car.demo import demo_car
from fourpatch.car.pack import pack
from fourpatch.events.motion import steady_inputs

Command = Callable[..., Result]
Answered = Callable[..., Any]

COMMANDS = (
    "statics",
    "modes",
    "frequency-response",
    "speed-sweep",
    "phase-balance",
    "contact-patch-load",
    "damper-speed",
    "damper-map",
)
NEEDED = {"damper-map": ("--axle", "front", "--kerb-height", "20 mm")}


@pytest.mark.parametrize("command", COMMANDS)
def test_tables_fit_a_hundred_columns_without_colour(command: str, fourpatch: Command) -> None:
    result = fourpatch("analyse", command, "hatchback", *NEEDED.get(command, ()))
    assert result.exit_code == 0, result.stderr
    assert "\x1b" not in result.stdout
    assert max(map(len, result.stdout.splitlines())) <= 100
    assert "What this means: " in result.stdout
    assert not any(line != line.rstrip() for line in result.stdout.splitlines())


def test_statics_are_those_of_the_analysis(fourpatch: Command, answered: Answered) -> None:
    found = statics(demo_car("gt"))
    said = answered("analyse", "statics", "gt")
    assert said["car"] == "Demo GT"
    assert said["setup"] == "baseline"
    assert said["statics"] == json_ready(found)
    shown = fourpatch("analyse", "statics", "gt").stdout
    for quantity in quantities(found):
        assert all(quantity.measure.text(value) in shown for value in quantity.values)


def test_a_setup_changes_the_answer(fourpatch: Command, answered: Answered, tmp_path: Any) -> None:
    (tmp_path / "stiff.toml").write_text(
        'name = "stiff"\ncar = "Demo GT"\n[values]\n"front spring" = 200\n', encoding="utf-8"
    )
    rates = [
        answered("analyse", "statics", "gt", *setup)["statics"]["ride"]["spring_wheel_rate"]["value"]["front"]
        for setup in ((), ("--setup", "stiff.toml"))
    ]
    # The wheel rate is the spring rate, 170 and 200 N/mm, times one motion ratio squared; rounding.
    assert_allclose(rates[1] / rates[0], 200.0 / 170.0, rtol=1e-12)


def test_modes_are_those_of_the_analysis(answered: Answered) -> None:
    said = answered("analyse", "modes", "coupe", "--speed", "180 km/h")
    assert said["modes"] == json_ready(car_modes(demo_car("coupe"), speed=50.0))
    assert said["speed"] == {"value": 50.0, "unit": "m/s"}


def test_the_tables_show_the_numbers_of_json(answered: Answered, fourpatch: Command) -> None:
    modes = answered("analyse", "modes", "coupe")["modes"]
    rows = [line.split() for line in fourpatch("analyse", "modes", "coupe").stdout.splitlines()]
    for slow, fast in zip(modes["low_speed"], modes["high_speed"], strict=True):
        shown = next(row for row in rows if row[: len(slow["name"].split())] == slow["name"].split())
        for number in (slow["undamped_frequency"], slow["damped_frequency"], slow["decay_rate"]):
            assert f"{number['value']:.2f}" in shown
        assert f"{fast['damping_ratio']['value']:.4g}"[:5] in " ".join(shown)
    sweep = answered("analyse", "speed-sweep", "coupe")["sweep"]
    text = fourpatch("analyse", "speed-sweep", "coupe").stdout
    fastest = next(
        line.split() for line in text.splitlines() if f"{3.6 * sweep[-1]['speed']['value']:.0f}" in line
    )
    assert fastest[1:3] == [f"{1e3 * height:.1f}" for height in sweep[-1]["ride_height"]["value"].values()]


def test_frequency_response_is_that_of_the_analysis(answered: Answered) -> None:
    car = demo_car("hatchback")
    said = answered("analyse", "frequency-response", "hatchback", "--road", "left against right")["response"]
    frequency = np.array(said["frequency"]["value"])
    model = linearise(pack(car), steady_inputs(car, speed=0.0))
    found = frequency_response(model, frequency, pattern="left against right")
    load = found.tyre_load.sel(corner="RL").values
    assert said["tyre_load"]["magnitude"]["unit"] == "N/m"
    # The same numbers through JSON, which keeps all digits.
    assert_allclose(said["tyre_load"]["magnitude"]["value"]["RL"], np.abs(load), rtol=1e-15)
    assert_allclose(said["tyre_load"]["phase"]["value"]["RL"], np.angle(load), rtol=1e-15)


def test_speed_sweep_is_that_of_the_analysis(answered: Answered) -> None:
    said = answered("analyse", "speed-sweep", "single-seater")
    assert said["sweep"] == json_ready(speed_sweep(demo_car("single-seater")))


def test_axle_loads_add_up_to_weight_and_downforce(answered: Answered) -> None:
    car = demo_car("gt")
    said = answered("analyse", "phase-balance", "gt")["phases"]
    weight = (car.chassis.mass + car.fuel.mass) * 9.81
    for corner in said.values():
        # Averages over 1 s with the body at rest on its springs but for a last settling: 0.1 % of the weight.
        mid = {name: corner[name]["value"]["mid"] for name in ("axle_load", "downforce")}
        assert_allclose(sum(mid["axle_load"].values()), weight + sum(mid["downforce"].values()), rtol=1e-3)


def test_transfer_parts_add_up(answered: Answered) -> None:
    for corner in answered("analyse", "phase-balance", "gt")["phases"].values():
        for phase in ("entry", "mid", "exit"):
            for axle in ("front", "rear"):
                parts = [
                    corner[f"{part}_transfer"]["value"][phase][axle]
                    for part in ("elastic", "damper", "geometric", "unsprung")
                ]
                total = corner["lateral_transfer"]["value"][phase][axle]
                # By construction of the unsprung part; rounding.
                assert_allclose(sum(parts), total, rtol=1e-12, atol=1e-9)


def test_bumps_name_every_corner_and_unit(answered: Answered, fourpatch: Command) -> None:
    said = answered("analyse", "contact-patch-load", "hatchback")
    shown = fourpatch("analyse", "contact-patch-load", "hatchback").stdout
    for corner in ("FL", "FR", "RL", "RR"):
        assert f"{said['bumps']['kerb']['largest_load']['value'][corner]:.0f}" in shown
    assert f"{1e3 * said['bumps']['kerb']['body_throw']['value']:.1f}  mm" in shown
    assert set(said["bumps"]) == {"rough road", "kerb"}
    for found in said["bumps"].values():
        assert set(found["grip_lost"]["value"]) == {"FL", "FR", "RL", "RR"}
        assert found["body_acceleration_rms"]["unit"] == "m/s**2"


def test_damper_map_says_what_the_map_holds(answered: Answered, fourpatch: Command) -> None:
    words = ("analyse", "damper-map", "gt", "--axle", "rear", "--road-class", "A", "--kerb-height", "30 mm")
    said, shown = answered(*words), fourpatch(*words).stdout
    assert set(said["maps"]) == {"class A road", "kerb of 30 mm"}
    assert said["events"]["kerb of 30 mm"]["height"] == {"value": 0.03, "unit": "m"}
    for name, one in said["maps"].items():
        values = np.array(one["map"]["grip_lost"]["value"])
        assert values.shape == (21, 21)
        assert one["present"]["value"] == values[10, 10]
        assert one["least"]["value"] == values.min()
        row = next(line for line in shown.splitlines() if line.startswith(f" {name} "))
        off = 100.0 * (values[10, 10] - values.min())
        assert f"{100.0 * values[10, 10]:.2f}" in row
        assert f"{off:.2f}" in row


def test_damper_speeds_by_another_split(answered: Answered) -> None:
    shares = [
        answered("analyse", "damper-speed", "gt", "--split", split)["damper_speeds"]["kerb"]["low_bump"][
            "value"
        ]["FL"]
        for split in ("25 mm/s", "50 mm/s")
    ]
    assert shares[1] > shares[0]


@pytest.mark.parametrize(
    "command", ["modes", "frequency-response", "speed-sweep", "damper-speed", "damper-map"]
)
def test_a_figure_is_written_and_said_on_standard_error(
    command: str, fourpatch: Command, tmp_path: Any
) -> None:
    result = fourpatch(
        "analyse", command, "hatchback", *NEEDED.get(command, ()), "--figure", "drawn.svg", "--json"
    )
    assert result.exit_code == 0, result.stderr
    assert "Drew drawn.svg" in result.stderr
    assert (tmp_path / "drawn.svg").read_text(encoding="utf-8").startswith("<?xml")


def test_statics_says_how_the_body_is_damped_on_its_tyres(fourpatch: Command, answered: Answered) -> None:
    modes = answered("analyse", "modes", "single-seater")["modes"]["low_speed"]
    ratios = [100.0 * m["damping_ratio"]["value"] for m in modes if m["name"] in ("heave", "pitch", "roll")]
    said = " ".join(fourpatch("analyse", "statics", "single-seater").stdout.split())
    share = f"{min(ratios):.0f} to {max(ratios):.0f} %"
    assert f"on its tyres the body's heave, pitch and roll are damped at {share}" in said
    assert "Settled cornering: from the car settled in a left turn at about 0.3 g" in said
