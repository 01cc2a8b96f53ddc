"""The settled car against speed: balances of force, and closed forms without ride-height effects."""

from collections.abc import Callable, Mapping
from typing import Any

import numpy as np
import pytest
from numpy.testing import assert_allclose

from fourpatch.analysis.speed_sweep import speed_sweep
from fourpatch.analysis.steady_limits import top_speed
from fourpatch.car.car import Car
from fourpatch.errors import EventError, SolveError

CarWith = Callable[[Mapping[str, Any]], Car]

WINGS = {
    "aero.map.front_downforce": {"constant": 1.0},
    "aero.map.rear_downforce": {"constant": 1.5},
    "aero.map.drag": {"constant": 0.9},
    "aero.drag_height": 0.4,
}


def test_downforce_drag_and_heights_of_a_fixed_map(car_with: CarWith) -> None:
    for point in speed_sweep(car_with(WINGS), fastest=60.0, speeds=4):
        q = 0.5 * 1.2 * point.speed**2
        # Only rounding: the map does not depend on height.
        assert_allclose(point.downforce, [1.0 * q, 1.5 * q], rtol=1e-12)
        assert_allclose(point.drag, 0.9 * q, rtol=1e-12)
        if point.speed == 0.0:
            assert point.aero_balance is None
        else:
            assert point.aero_balance == pytest.approx(0.4, rel=1e-12)
        # Downforce at the axles, and the engine's push at the road against drag at its height: q 0.9 x 0.4 /
        # L.
        moved = 0.9 * q * 0.4 / 2.6
        push = np.array([1.0 * q - moved, 1.5 * q + moved])
        loads = np.array(point.tyre_load)
        assert_allclose(loads.sum(), 1200.0 * 9.81 + 2.5 * q, rtol=1e-9)
        assert_allclose([loads[:2].sum(), loads[2:].sum()], 0.5 * 1200.0 * 9.81 + push, rtol=1e-9)
        # Springs of 50 kN/m on tyres of 250 kN/m at each corner; no supports.
        ride = 50e3 * 250e3 / 300e3
        assert_allclose(0.1 - np.array(point.ride_height), push / (2.0 * ride), rtol=1e-9, atol=1e-12)
        travel = push / (2.0 * 50e3)
        assert_allclose(0.5 - np.array(point.to_bump_stop), travel, rtol=1e-9, atol=1e-12)
        assert_allclose(np.array(point.to_droop_stop) - 0.5, travel, rtol=1e-9, atol=1e-12)


def test_handling_is_that_of_the_tyres_at_their_loads(car_with: CarWith) -> None:
    """Tyres whose cornering stiffness is C (Fz) = Fz K sin(2 arctan(Fz / (1.8 Fz0))) Fz0 / Fz / sin(...)."""

    def stiffness(load: float) -> float:
        at_nominal = np.sin(2.0 * np.arctan(1.0 / 1.8))
        return float(22.0 * 3000.0 * np.sin(2.0 * np.arctan(load / (1.8 * 3000.0))) / at_nominal)

    car = car_with(WINGS)
    for point in speed_sweep(car, fastest=60.0, speeds=3):
        front, rear = (2.0 * stiffness(load) for load in (point.tyre_load.FL, point.tyre_load.RL))
        gradient = 1200.0 * 1.3 * (rear - front) / (2.6 * front * rear)
        assert_allclose(point.understeer_gradient, gradient, rtol=1e-6, atol=1e-15)  # polynomials of trig.py
        if point.speed == 0.0:
            assert (point.yaw_frequency, point.yaw_damping_ratio) == (None, None)
            continue
        square = front * rear * 2.6**2 / (1200.0 * 1800.0 * point.speed**2) + 1.3 * (rear - front) / 1800.0
        assert_allclose(2.0 * np.pi * point.yaw_frequency, np.sqrt(square), rtol=1e-6)


def test_loads_sum_to_weight_and_downforce(full_car: Car) -> None:
    for point in speed_sweep(full_car, fastest=70.0, speeds=5):
        # Rounding of the settled state.
        assert_allclose(sum(point.tyre_load), (1250.0 + 40.0) * 9.81 + sum(point.downforce), rtol=1e-9)


def test_top_speed_is_where_pull_meets_drag(car_with: CarWith) -> None:
    # 300 N m at any speed, in top gear 1.0 x 3.5, 93 %, on 0.3 m: pull 3255 N.
    car = car_with({**WINGS, "aero.map.drag": {"constant": 1.7}})
    # The limiter stands at 700 rad/s x 0.3 / 3.5 = 60 m/s in top gear and 43 m/s in third: only top will do.
    expected = np.sqrt(300.0 * 3.5 * 0.93 / 0.3 / (0.5 * 1.2 * 1.7))
    # The root is sought to 1 mm/s.
    assert_allclose(top_speed(car), expected, atol=2e-3)
    last = speed_sweep(car, speeds=2)[-1]
    assert_allclose(last.speed, expected, atol=2e-3)


def test_top_speed_at_the_limiter(car_with: CarWith) -> None:
    limited = 100.0 * 0.3 / 3.5
    car = car_with({**WINGS, "driveline.engine_speed": [10.0, 100.0], "driveline.gear_ratios": [1.0]})
    assert_allclose(top_speed(car), limited, rtol=1e-6)


@pytest.mark.parametrize(("asked", "said"), [({"speeds": 1}, "1 speeds"), ({"fastest": -3.0}, "-3 m/s")])
def test_what_cannot_be_swept(asked: dict[str, Any], said: str, car_with: CarWith) -> None:
    with pytest.raises(EventError, match=said) as caught:
        speed_sweep(car_with(WINGS), **asked)
    assert "Change what is asked for" in str(caught.value)
    assert "{" not in str(caught.value)


def test_a_car_pulled_into_the_air_says_at_which_speed(car_with: CarWith) -> None:
    lifted = car_with({"aero.map.front_downforce": {"constant": -5.0}, "aero.map.drag": {"constant": 0.5}})
    with pytest.raises(SolveError, match=r"speed sweep at \d+ km/h"):
        speed_sweep(lifted, fastest=100.0, speeds=3)
