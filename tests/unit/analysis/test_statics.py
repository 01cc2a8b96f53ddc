"""Numbers of a car at rest, worked out by hand beside each."""

from collections.abc import Callable, Mapping
from typing import Any

import numpy as np
import pytest
from numpy.testing import assert_allclose

from fourpatch.analysis.quantity import quantities
from fourpatch.analysis.statics import statics
from fourpatch.car.car import Car
from fourpatch.car.pack import pack
from fourpatch.physics.layout import CORNER_BASE, C

CarWith = Callable[[Mapping[str, Any]], Car]

# By hand means in double precision: only rounding.
ROUNDING = 1e-12


def test_loads_of_a_car_set_up_off_centre(car_with: CarWith) -> None:
    found = statics(
        car_with(
            {
                "chassis.front_weight_share": 0.55,
                "chassis.cg_lateral_offset": 0.03,
                "chassis.cross_weight_share": 0.52,
            }
        )
    ).weights
    assert_allclose(found.axle_share, [0.55, 0.45], rtol=ROUNDING)
    assert_allclose(found.cross_weight, 0.52, rtol=ROUNDING)
    assert_allclose(found.left_share, 0.5 + 0.03 / 1.5, rtol=ROUNDING)  # equal tracks of 1.5 m
    assert_allclose(sum(found.corner_load), 1200.0 * 9.81, rtol=ROUNDING)
    assert_allclose(found.sprung_mass, 1200.0 - 4 * 30.0, rtol=ROUNDING)
    assert_allclose(found.sprung_cg_height, (1200.0 * 0.5 - 120.0 * 0.3) / 1080.0, rtol=ROUNDING)


def test_rates_and_frequencies(car_with: CarWith) -> None:
    found = statics(
        car_with(
            {
                "front.geometry.spring_motion_ratio": {"value": 0.8},
                "front.bar": {"rate": 20e3, "motion_ratio": 0.5},
                "front.heave": {"rate": 10e3, "preload": 100.0, "motion_ratio": 2.0},
            }
        )
    )
    wheel = 50e3 * 0.8**2
    assert_allclose(found.ride.spring_wheel_rate, [wheel, 50e3], rtol=ROUNDING)
    assert_allclose(found.ride.heave_wheel_rate, [10e3 * 2.0**2 / 2.0, 0.0], rtol=ROUNDING)
    assert_allclose(found.ride.bar_wheel_rate, [20e3 * 0.5**2, 0.0], rtol=ROUNDING)
    together = wheel + 20e3
    ride = together * 250e3 / (together + 250e3)
    assert_allclose(found.ride.ride_rate.front, ride, rtol=ROUNDING)
    assert_allclose(found.ride.ride_frequency.front, np.sqrt(ride / 270.0) / (2.0 * np.pi), rtol=ROUNDING)
    hop = np.sqrt((together + 250e3) / 30.0) / (2.0 * np.pi)
    assert_allclose(found.ride.wheel_hop_frequency.front, hop, rtol=ROUNDING)
    assert_allclose(found.roll.springs.front, wheel * 1.5**2 / 2.0, rtol=ROUNDING)
    assert_allclose(found.roll.bar.front, 20e3 * 0.5**2 * 1.5**2, rtol=ROUNDING)
    assert_allclose(found.roll.tyres.front, 250e3 * 1.5**2 / 2.0, rtol=ROUNDING)


OPEN_HELPER = {"helper_rate": 25e3, "helper_block_force": 9000.0}


def test_closed_helper_spring_and_moving_ratio(car_with: CarWith) -> None:
    changes = {
        "front.spring": {"rate": 50e3, "helper_rate": 25e3, "helper_block_force": 1000.0},
        "front.geometry.spring_motion_ratio": {"value": 0.9, "slope": 0.7},
    }
    carried = (1200.0 / 4 - 30.0) * 9.81 / 0.9
    closed = statics(car_with(changes)).ride.spring_wheel_rate.front
    assert_allclose(closed, 50e3 * 0.9**2 + carried * 0.7, rtol=ROUNDING)


@pytest.mark.parametrize("helper", [{}, {"helper_rate": 25e3, "helper_block_force": 1000.0}, OPEN_HELPER])
def test_springs_carry_what_is_sprung(car_with: CarWith, helper: dict[str, float]) -> None:
    """At the spring: the corner's sprung weight less the heave spring's part, over the motion ratio."""
    changes = {
        "front.spring": {"rate": 50e3, **helper},
        "front.geometry.spring_motion_ratio": {"value": 0.9, "slope": 0.7},
        "front.heave": {"rate": 20e3, "preload": 400.0, "motion_ratio": 0.8},
        "chassis.cg_lateral_offset": 0.01,
    }
    found = statics(car_with(changes))
    at_wheel = np.array(found.weights.corner_load) - 30.0 * 9.81 - np.array([160.0, 160.0, 0.0, 0.0])
    assert_allclose(found.weights.spring_force, at_wheel / np.array([0.9, 0.9, 1.0, 1.0]), rtol=ROUNDING)


def test_damping_of_each_side_below_and_above_the_knee(car_with: CarWith) -> None:
    found = statics(
        car_with(
            {
                "front.damper.bump": {"low_speed": 3000.0, "knee_speed": 0.1, "high_speed": 1000.0},
                "front.damper.rebound": {"low_speed": 6000.0, "knee_speed": 0.1, "high_speed": 2500.0},
                "front.geometry.damper_motion_ratio": {"value": 0.7},
            }
        )
    )
    critical = 2.0 * np.sqrt(50e3 * 270.0)
    for side, low, high in (("bump", 3000.0, 1000.0), ("rebound", 6000.0, 2500.0), ("mean", 4500.0, 1750.0)):
        for damping, slope in ((found.low_speed_damping, low), (found.high_speed_damping, high)):
            ratio = getattr(damping, f"{side}_ratio").front
            assert_allclose(ratio, slope * 0.7**2 / critical, rtol=ROUNDING)
            if side != "mean":
                assert_allclose(getattr(damping, f"{side}_rate").front, slope * 0.49, rtol=ROUNDING)


def test_travel_left_follows_the_ride_height(car_with: CarWith) -> None:
    found = statics(
        car_with(
            {
                "front.ride_height": 0.09,
                "front.bump_stop": {"gap": 0.04, "rate": 60e3},
                "front.droop_stop": {"gap": 0.06, "rate": 60e3},
                "rear.ride_height": 0.13,
                "rear.bump_stop": {"gap": 0.05, "rate": 60e3},
                "rear.droop_stop": {"gap": 0.07, "rate": 60e3},
            }
        )
    ).travel
    assert_allclose(found.to_bump_stop, [0.04 - 0.01, 0.05 + 0.03], rtol=ROUNDING)
    assert_allclose(found.to_droop_stop, [0.06 + 0.01, 0.07 - 0.03], rtol=ROUNDING)


def test_a_stop_that_carries_at_rest_stiffens_the_corner(car_with: CarWith) -> None:
    found = statics(
        car_with(
            {"front.ride_height": 0.09, "front.bump_stop": {"gap": 0.0, "rate": 60e3, "progression": 1e6}}
        )
    )
    assert_allclose(found.travel.to_bump_stop.front, -0.01, rtol=ROUNDING)
    stop = 60e3 + 2.0 * 1e6 * 0.01
    ride = (50e3 + stop) * 250e3 / (50e3 + stop + 250e3)
    assert_allclose(found.ride.ride_rate.front, ride, rtol=1e-10)  # the gap is a difference of heights


def test_stops_at_the_damper_are_those_at_the_wheel(car_with: CarWith) -> None:
    """A stop of ratio r with travel x and force k x + p x^2: at the wheel x / r, and r times the force."""
    ratio, packer = 0.8, 0.005
    at_damper = {
        "front.ride_height": 0.09,
        "front.bump_stop": {"gap": 0.012 - packer, "rate": 60e3, "progression": 1e6, "motion_ratio": ratio},
        "front.droop_stop": {"gap": 0.04, "rate": 300e3, "motion_ratio": ratio},
    }
    found = statics(car_with(at_damper))
    # 10 mm lower than designed.
    assert_allclose(found.travel.to_bump_stop.front, 0.007 / ratio - 0.01, rtol=1e-10)
    assert_allclose(found.travel.to_droop_stop.front, 0.04 / ratio + 0.01, rtol=1e-10)
    into = 0.01 * ratio - 0.007
    force = ratio * (60e3 * into + 1e6 * into**2)
    carried = (1200.0 / 4.0 - 30.0) * 9.81 - force
    assert_allclose(found.weights.spring_force.FL, carried, rtol=1e-10)
    stiff = 50e3 + ratio**2 * (60e3 + 2.0 * 1e6 * into)
    assert_allclose(found.ride.ride_rate.front, stiff * 250e3 / (stiff + 250e3), rtol=1e-10)
    vector = pack(car_with(at_damper))
    assert_allclose(vector[CORNER_BASE + C.droop_rate], 300e3 * ratio**2, rtol=ROUNDING)


def test_cornering_stiffness_is_that_of_the_tyre_at_its_load(car_with: CarWith) -> None:
    # Weight on all tyres at nominal load, upright: stiffness = 22 /rad x load, two tyres.
    found = statics(car_with({"chassis.mass": 4 * 3000.0 / 9.81})).handling
    # The kernel's arctangent and sine are polynomials good to about 1e-7.
    assert_allclose(found.cornering_stiffness, [2.0 * 22.0 * 3000.0] * 2, rtol=1e-6)
    # Equal tyres, centre of gravity in the middle: neutral, to rounding of K's terms.
    assert abs(found.static_margin) < 1e-12


def test_mirrored_car_has_mirrored_loads_and_equal_rest(car_with: CarWith) -> None:
    one, other = (
        statics(car_with({"chassis.cg_lateral_offset": offset, "chassis.cross_weight_share": share}))
        for offset, share in ((0.02, 0.53), (-0.02, 0.47))
    )
    assert_allclose(one.weights.corner_load, np.array(other.weights.corner_load)[[1, 0, 3, 2]], rtol=ROUNDING)
    for here, there in zip(quantities(one.ride), quantities(other.ride), strict=True):
        assert_allclose(here.values, there.values, rtol=ROUNDING)


def test_axles_exchanged(car_with: CarWith) -> None:
    """Front and rear exchanged, the roll stiffness shares change places."""
    stiff = {"rate": 30e3}
    one, other = (statics(car_with({f"{end}.bar": stiff})) for end in ("front", "rear"))
    assert_allclose(one.cornering.front_share, 1.0 - other.cornering.front_share, rtol=ROUNDING)
    assert_allclose(one.roll.front_share, 1.0 - other.roll.front_share, rtol=ROUNDING)
    assert one.cornering.front_share > 0.5
