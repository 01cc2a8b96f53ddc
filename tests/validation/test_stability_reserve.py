"""The stability reserve against the single-track model's eigenvalues and critical speed.

Source: the linear single-track model, m (v' + u r) = ..., I r' = ... with cornering stiffnesses C_f, C_r, as
in Gillespie, Fundamentals of Vehicle Dynamics, 1992, chapter 6 (from memory); worked out here.
"""

import numpy as np
import pytest
from numpy.testing import assert_allclose

from fourpatch.analysis.stability_reserve import stability_reserve
from fourpatch.analysis.statics import statics
from fourpatch.car.pack import mass_properties, pack
from fourpatch.events.motion import steady_rows
from fourpatch.events.run import settled_rows
from fourpatch.events.steady_states import steady_outputs


def reserve_of(car, *, speed, lateral=0.0, along=0.0):
    """Settle the car in each motion and return its reserve there."""
    speeds = np.atleast_1d(np.asarray(speed, dtype=float))
    rows = steady_rows(
        car,
        speed=speeds,
        lateral_acceleration=np.full(speeds.size, lateral),
        longitudinal_acceleration=np.full(speeds.size, along),
    )
    parameters = np.repeat(pack(car)[None], speeds.size, axis=0)
    positions, settled = settled_rows(parameters, rows, np.zeros((speeds.size, 7)))
    assert settled.all()
    history = steady_outputs(parameters, rows, positions)
    return stability_reserve(parameters, history.states[0], history.outputs[0], rows)


def single_track_reserve(car, speed):
    """Larger real part of the single-track model's two eigenvalues."""
    masses, found = mass_properties(car), statics(car).handling.cornering_stiffness
    a, b, m, inertia = masses.cg_to_front, masses.cg_to_rear, masses.total, masses.yaw_inertia
    front, rear = found
    system = np.array(
        [
            [-(front + rear) / (m * speed), (b * rear - a * front) / (m * speed) - speed],
            [(b * rear - a * front) / (inertia * speed), -(a * a * front + b * b * rear) / (inertia * speed)],
        ]
    )
    return np.linalg.eigvals(system).real.max()


@pytest.mark.parametrize("front_share", [0.5, 0.4, 0.6])
def test_straight_ahead_it_is_the_single_track_model(car_with, front_share):
    car = car_with({"chassis.front_weight_share": front_share})
    for speed in (15.0, 30.0, 50.0):
        # No drag, so no slip: the same stiffnesses, differenced over 1e-5 of slip.
        assert_allclose(reserve_of(car, speed=speed)[0], single_track_reserve(car, speed), rtol=1e-4)


def test_it_changes_sign_at_the_critical_speed(car_with):
    """u^2 = L^2 C_f C_r / (m (a C_f - b C_r))."""
    soft = {"kind": "compact", "nominal_load": 3000.0, "peak_friction": 1.4, "load_sensitivity": 0.1}
    stiffer = {**soft, "peak_slip_angle": 0.12, "cornering_stiffness": 26.0}
    softer = {**soft, "peak_slip_angle": 0.12, "cornering_stiffness": 20.0}
    car = car_with({"front.tyre.grip": stiffer, "rear.tyre.grip": softer})
    front, rear = statics(car).handling.cornering_stiffness
    length, half = 2.6, 1.3
    critical = np.sqrt(length**2 * front * rear / (1200.0 * half * (front - rear)))
    below, above = reserve_of(car, speed=[0.99 * critical, 1.01 * critical])
    assert below < 0.0 < above
    # Straight between them, and there it is zero.
    assert_allclose(np.interp(0.0, [below, above], [0.99, 1.01]), 1.0, atol=2e-4)


def test_braking_and_cornering_take_stability(car_with):
    car = car_with({"brakes.front_share": 0.5})
    straight = reserve_of(car, speed=40.0)[0]
    braked = reserve_of(car, speed=40.0, along=-8.0)[0]
    trailed = reserve_of(car, speed=40.0, along=-6.0, lateral=7.0)[0]
    assert straight < braked < trailed


def test_more_than_the_tyres_can_do_is_said(car_with):
    assert np.isnan(reserve_of(car_with({}), speed=30.0, along=-20.0)[0])


def test_left_and_right_are_alike(car_with):
    car = car_with({})
    left, right = (reserve_of(car, speed=30.0, lateral=side * 9.0)[0] for side in (1.0, -1.0))
    assert_allclose(left, right, rtol=1e-5)  # differences over 1e-5 of slip
