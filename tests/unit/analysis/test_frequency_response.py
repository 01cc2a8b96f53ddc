"""Road patterns, limits and refusals; values are checked in tests/validation."""

import numpy as np
import pytest
from numpy.testing import assert_allclose

from fourpatch.analysis.frequency_response import frequency_response, road_pattern
from fourpatch.analysis.linear_model import LinearModel, linearise
from fourpatch.car.car import Car
from fourpatch.car.pack import pack
from fourpatch.errors import EventError
from fourpatch.physics.layout import N_INPUT


@pytest.fixture(scope="module")
def model(full_car: Car) -> LinearModel:
    return linearise(pack(full_car), np.zeros(N_INPUT))


def test_a_slowly_rising_road_lifts_the_whole_car(model: LinearModel) -> None:
    frequency = np.array([1e-3])
    found = frequency_response(model, frequency)
    # At 1 mHz inertia is (f / f_ride)^2 = 2e-7 of a spring force.
    lift = found["heave_acceleration"].values / (2j * np.pi * frequency) ** 2
    assert_allclose(lift, 1.0, atol=1e-4)
    assert_allclose(found["travel"].values, 0.0, atol=1e-4)
    assert_allclose(found["tyre_load"].values, 0.0, atol=1.0)  # of 250 kN/m


def test_far_above_wheel_hop_the_wheels_stand_still(model: LinearModel) -> None:
    found = frequency_response(model, np.array([1000.0]))
    # The tyre takes the whole height of the road on its rate and damping: k + i w c.
    rate = 1.0 + 0.8 * (1.9 / 2.0 - 1.0)
    expected = np.hypot(250e3 * rate, 2000.0 * np.pi * 100.0)
    # The wheel still moves by (k + i w c) / (m_u w^2), 5e-4.
    assert_allclose(np.abs(found["tyre_load"].values[0, :2]), expected, rtol=2e-3)


def test_units_and_labels(model: LinearModel) -> None:
    found = frequency_response(model, np.array([1.0, 2.0]), pattern="driven over", speed=20.0)
    assert found["tyre_load"].dims == ("frequency", "corner")
    assert found["tyre_load"].attrs["units"] == "N/m"
    assert found["frequency"].attrs["units"] == "Hz"
    assert list(found.corner.values) == ["FL", "FR", "RL", "RR"]
    assert found.attrs["speed [m/s]"] == 20.0
    assert np.iscomplexobj(found["heave_acceleration"])


def test_rear_wheels_follow_a_wheelbase_later() -> None:
    # Wheelbase / speed = half a period: exactly against the front.
    found = road_pattern("driven over", np.array([4.0]), wheelbase=2.5, speed=20.0)
    assert_allclose(found, [[1.0, 1.0, -1.0, -1.0]], atol=1e-12)


def test_a_shift_of_whole_waves_is_driving_in_phase(model: LinearModel) -> None:
    frequency = np.array([8.0])
    over = frequency_response(model, frequency, pattern="driven over", speed=8.0 * 2.6)
    together = frequency_response(model, frequency, pattern="in phase")
    # Rounding of the phase.
    assert_allclose(over["tyre_load"].values, together["tyre_load"].values, rtol=1e-9)


@pytest.mark.parametrize(("speed", "said"), [(None, "no speed is given"), (0.0, "the speed is 0 m/s")])
def test_driving_over_needs_a_speed(speed: float | None, said: str, model: LinearModel) -> None:
    with pytest.raises(EventError, match=said) as caught:
        frequency_response(model, np.array([1.0]), pattern="driven over", speed=speed)
    assert "Give a speed above 0 m/s" in str(caught.value)
    assert "{" not in str(caught.value)
