"""What only several numbers together can tell: cars that cannot be, and cars that are odd."""

import math
from collections.abc import Callable

import pytest

from fourpatch.car.car import Car
from fourpatch.car.checks import FAULT_CHECKS, ODDITY_CHECKS, car_faults, oddities
from fourpatch.car.paths import replace_parameters


def test_the_car_of_the_documentation_is_possible_and_not_odd(saloon: Car) -> None:
    assert car_faults(saloon) == []
    assert oddities(saloon) == []


IMPOSSIBLE = [
    (
        {"front.spring.rate": 10e3, "front.geometry.spring_motion_ratio.slope": -3.0},
        "front.geometry.spring_motion_ratio",
        "gives way faster than it is pressed",
    ),
    ({"fuel.distance_behind_front_axle": 4.0}, "fuel.distance_behind_front_axle", "its wheelbase is 2600 mm"),
    ({"fuel.distance_behind_front_axle": -1.5}, "fuel.distance_behind_front_axle", "off the car"),
    (
        {"chassis.cg_height": 0.1, "front.design_ride_height": 0.3, "rear.design_ride_height": 0.3},
        "chassis.cg_height",
        "not above the underside, 300 mm there",
    ),
    ({"chassis.cg_height": 0.1}, "chassis.cg_height", "not above the underside, 105 mm there"),
    (
        {"chassis.cg_lateral_offset": 0.3, "front.track_width": 1.0},
        "chassis.cg_lateral_offset",
        "more than half way from the middle to a wheel (500 mm)",
    ),
    (
        {"front.unsprung_mass": 200.0, "rear.unsprung_mass": 200.0, "chassis.mass": 850.0},
        "front.unsprung_mass",
        "30 %",
    ),
    (
        {
            "chassis.front_weight_share": 0.7,
            "chassis.cross_weight_share": 0.6,
            "chassis.cg_lateral_offset": 0.25,
            "front.track_width": 1.2,
            "rear.track_width": 1.2,
        },
        "chassis.cross_weight_share",
        "tyre RR",
    ),
    (
        {"front.bump_stop.gap": 0.0, "front.droop_stop.gap": 0.0},
        "front.bump_stop.gap",
        "less than 1 mm of travel",
    ),
    (
        {"front.geometry.spring_motion_ratio.value": 0.0},
        "front.geometry.spring_motion_ratio.value",
        "is 0, below 0.1. It is spring travel over wheel travel",
    ),
    (
        {"rear.geometry.damper_motion_ratio.value": -0.92},
        "rear.geometry.damper_motion_ratio.value",
        "Did you mean 0.92?",
    ),
    (
        {"rear.geometry.damper_motion_ratio.slope": 14.0},
        "rear.geometry.damper_motion_ratio",
        # at full droop, 70 mm: 0.92 - 14 * 0.07 = -0.06
        "falls to -0.06 at -70 mm of wheel travel",
    ),
    (
        {
            "front.geometry.spring_motion_ratio.slope": 0.0,
            "front.geometry.spring_motion_ratio.curvature": -500.0,
        },
        "front.geometry.spring_motion_ratio",
        "falls to -0.85 at -60 mm",  # 0.95 - 500 * 0.06^2
    ),
    (
        {
            "front.geometry.spring_motion_ratio.value": 0.15,
            "front.geometry.spring_motion_ratio.slope": 10.0,
            "front.geometry.spring_motion_ratio.curvature": 500.0,
        },
        "front.geometry.spring_motion_ratio",
        "falls to 0.10 at -10 mm",  # in between the stops: 0.15 - 10^2 / (4 * 500) = 0.1, at -10 / (2 * 500)
    ),
    (
        {"front.tyre.grip.cornering_stiffness": 8.0},
        "front.tyre.grip.cornering_stiffness",
        "short of the peak friction 1.45",  # 8 / rad * 7 deg = 0.98
    ),
    (
        {"rear.tyre.grip.slip_stiffness": 12.0},
        "rear.tyre.grip.slip_stiffness",
        "that is 1.20, short of the peak",
    ),
    (
        {"aero.map.highest_front_height": 0.04},
        "aero.map.highest_front_height",
        "not above lowest_front_height, 50 mm",
    ),
    ({"aero.map.drag.constant": -0.85}, "aero.map.drag.constant", "drag pushes rearward"),
    ({"front.ride_height": 0.17}, "front.ride_height", "so its spring carries nothing"),
]


@pytest.mark.parametrize(("changes", "key", "says"), IMPOSSIBLE)
def test_impossible_car_is_refused_with_place_and_reason(
    saloon: Car, changes: dict[str, float], key: str, says: str
) -> None:
    faults: dict[str, str] = {}
    for fault in car_faults(replace_parameters(saloon, changes)):
        faults.setdefault(".".join(map(str, fault.key)), fault.text)  # of each key the reader sees the first
    assert key in faults
    assert says in faults[key]


@pytest.mark.parametrize("check", [check for check in FAULT_CHECKS if check.__module__.endswith("checks")])
def test_every_fault_check_is_triggered(saloon: Car, check: Callable[[Car], object]) -> None:
    assert any(list(check(replace_parameters(saloon, changes))) for changes, _, _ in IMPOSSIBLE)  # type: ignore[call-overload]


ODD = [
    ({"front.spring.rate": 2e6}, ["front ride frequency is", "within 0.8 to 8 Hz"]),
    ({"front.spring.rate": 5e3}, ["front ride frequency is", "within 0.8 to 8 Hz. Check"]),
    (
        {"front.damper.bump.low_speed": 100.0},
        ["front low-speed bump damping ratio is 0.0", "within 0.05 to 2.5"],
    ),
    ({"rear.damper.rebound_factor": 10.0}, ["rear low-speed rebound damping ratio"]),
    ({"front.unsprung_mass": 4.0}, ["front wheel-hop frequency"]),
    ({"front.tyre.vertical_rate": 6e4}, ["front tyre deflection at rest is", "15 % of its radius"]),
    ({"front.tyre.pressure": 5e5}, ["front grip lost by pressure"]),
    ({"front.tyre.temperature": 233.15}, ["front grip lost by temperature"]),
    ({"front.unsprung_mass": 120.0, "rear.unsprung_mass": 120.0}, ["unsprung share of the mass is 36.4 %"]),
    ({"chassis.yaw_inertia": 8000.0}, ["yaw inertia over mass x", "more than any body can have"]),
    ({"chassis.cg_height": 1.2}, ["lateral acceleration at which it tips is 0.648 g"]),
    ({"front.ride_height": 0.06}, ["the front stands on its bump stops, 5 mm into them"]),
    ({"front.bump_stop.gap": 0.3}, ["the front touches the road (95 mm) before its bump stops (295 mm)"]),
    (
        {"aero.map.lowest_front_height": 0.1},
        ["front.ride_height 95 mm is outside the aerodynamic map, 100 to 150 mm"],
    ),
    ({"front.damper.bump.knee_speed": 1.9}, ["front.damper.bump knee speed is 1900 mm/s"]),
    ({f"rear.damper.speed.{n}": 0.01 * n for n in range(1, 6)}, ["rear.damper is measured only to 50 mm/s"]),
    ({"rear.damper.rebound_force.5": 600.0}, ["rear.damper.rebound_force falls at a higher speed"]),
    ({"brakes.full_pedal_torque": 900.0}, ["deceleration at full pedal"]),
    ({"front.camber": 0.05}, ["front camber is 2.86 deg", "its sign"]),
    ({"rear.toe": 0.05}, ["rear toe is 2.86 deg", "of one wheel"]),
    ({"fuel.distance_behind_front_axle": 3.0}, ["the tank is 3000 mm behind the front axle"]),
]


@pytest.mark.parametrize(("changes", "parts"), ODD)
def test_odd_car_is_possible_and_told(saloon: Car, changes: dict[str, float], parts: list[str]) -> None:
    car = replace_parameters(saloon, changes)
    assert [
        f for f in car_faults(car) if f.key[0] != "adjusters"
    ] == []  # their baselines miss the changed value
    said = " ".join(oddities(car))
    for part in parts:
        assert part in said


@pytest.mark.parametrize("check", ODDITY_CHECKS)
def test_every_oddity_check_is_triggered(saloon: Car, check: Callable[[Car], list[str]]) -> None:
    assert any(list(check(replace_parameters(saloon, changes))) for changes, _ in ODD)


def test_ride_frequency_and_damping_ratio_are_the_closed_forms(saloon: Car) -> None:
    # By hand, front: 1320 kg at 54 %, 40 kg of fuel at 2.1 m of 2.6 m, 38 kg unsprung a wheel; ride height
    # 5 mm below design, so the motion ratio is 0.95 + 0.4 * 0.005.
    sprung = (1320 * 0.54 + 40 * (1 - 2.1 / 2.6)) / 2 - 38
    ratio = 0.952
    softest = (2 * math.pi * 0.8) ** 2 * sprung / ratio**2  # spring of 0.8 Hz
    for rate, odd in ((softest * 1.001, False), (softest * 0.999, True)):
        told = oddities(replace_parameters(saloon, {"front.spring.rate": rate}))
        assert any("front ride frequency" in sentence for sentence in told) is odd
    critical = 2 * math.sqrt(90e3 * ratio**2 * sprung)
    least = 0.05 * critical / 0.95**2
    for slope, odd in ((least * 1.001, False), (least * 0.999, True)):
        told = oddities(replace_parameters(saloon, {"front.damper.bump.low_speed": slope}))
        assert any("front low-speed bump damping ratio" in sentence for sentence in told) is odd
