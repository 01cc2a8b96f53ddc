"""Straight acceleration: a constant force in closed form, which wheels spin, what is refused."""

from collections.abc import Callable, Mapping
from typing import Any

import numpy as np
import pytest
from numpy.testing import assert_allclose

from fourpatch.analysis.straight_acceleration import acceleration_values
from fourpatch.car.car import Car
from fourpatch.errors import EventError
from fourpatch.events.straight_acceleration import StraightAcceleration, accelerate
from fourpatch.physics.layout import X

CarWith = Callable[[Mapping[str, Any]], Car]

ONE_GEAR = {"driveline.gear_ratios": [1.4], "driveline.overrun_torque": 0.0}
"""300 N m from 100 to 700 rad/s, on 1.4 x 3.5 and 93 %: the same pull from 6 to 42 m/s."""


def test_a_constant_pull_gives_a_constant_acceleration(car_with: CarWith) -> None:
    event = StraightAcceleration(speed=20.0, to_speed=30.0, rise_time=0.02, duration=4.0)
    run = accelerate([car_with(ONE_GEAR)], event)
    values = acceleration_values(run, event)[0]
    # Four wheels of 1 kg m^2 turn with the car.
    pull = 300.0 * 1.4 * 3.5 * 0.93 / 0.3 / (1200.0 + 4.0 * 1.0 / 0.3**2)
    # The driven wheels slip by 3 %, which their inertia, 2 % of the mass, has to be spun up to: 6e-4; the
    # tyre takes 0.1 m, 5 ms, to build the slip up, and the pedal 10 ms on the mean.
    assert_allclose(values.acceleration, pull, rtol=2e-3)
    assert values.reached_after is not None
    assert values.reached_within is not None
    assert_allclose(values.reached_after, 10.0 / pull, rtol=0.0, atol=0.06)
    assert_allclose(values.reached_within, (30.0**2 - 20.0**2) / (2.0 * pull), rtol=0.0, atol=60.0 * 0.02)
    assert_allclose(values.final_speed, run.history.states[0, -1, X.forward_velocity])
    assert all(wheel.first is None for wheel in values.wheel_spin.values())


def test_half_the_pedal_is_half_the_pull(car_with: CarWith) -> None:
    def mean(pedal: float) -> float:
        event = StraightAcceleration(speed=20.0, pedal=pedal, duration=2.0)
        return acceleration_values(accelerate([car_with(ONE_GEAR)], event), event)[0].acceleration

    assert_allclose(mean(0.5), 0.5 * mean(1.0), rtol=4e-3)  # the slips, as above


def test_driven_wheels_spin_and_time_is_lost(car_with: CarWith) -> None:
    strong = {"driveline.engine_torque": [900.0, 900.0], "driveline.front_drive_share": 1.0}
    event = StraightAcceleration(speed=10.0, to_speed=20.0, duration=3.0)
    weak = {**strong, "driveline.engine_torque": [150.0, 150.0]}
    run = accelerate([car_with(strong), car_with(weak)], event)
    spinning, gripping = acceleration_values(run, event)
    assert {name for name, wheel in spinning.wheel_spin.items() if wheel.first is not None} == {"FL", "FR"}
    assert spinning.wheel_spin["FL"].share > 0.5
    assert all(wheel.share == 0.0 for wheel in gripping.wheel_spin.values())
    # Sliding friction of the front axle's load at the most: under half the weight at its peak of 1.47.
    assert spinning.acceleration < 0.5 * 1.47 * 9.81


def test_a_speed_that_is_not_reached_has_no_time(car_with: CarWith) -> None:
    event = StraightAcceleration(speed=20.0, to_speed=100.0, duration=1.0)
    values = acceleration_values(accelerate([car_with(ONE_GEAR)], event), event)[0]
    assert values.reached_after is None
    assert values.reached_within is None
    assert np.isfinite(values.largest_acceleration)


def test_a_speed_below_the_start_is_refused(car_with: CarWith) -> None:
    with pytest.raises(EventError, match=r"to_speed 36 km/h is not above speed 72 km/h"):
        accelerate([car_with({})], StraightAcceleration(speed=20.0, to_speed=10.0))
