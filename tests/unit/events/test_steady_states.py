"""Many steady motions at once: the same places as one by one, and no error for a motion without one."""

from typing import Any

import numpy as np
from numpy.testing import assert_allclose

from fourpatch.car.pack import pack
from fourpatch.events.motion import steady_inputs, steady_rows
from fourpatch.events.run import rig_instant, settle, settled_rows
from fourpatch.events.steady_states import steady_outputs, under_gravity
from fourpatch.physics.layout import N_POSITION, O

SPEED, LATERAL, ALONG = np.array([20.0, 30.0, 45.0]), np.array([8.0, -6.0, 0.0]), np.array([0.0, -4.0, 2.0])


def test_rows_settle_where_each_settles_alone(full_car: Any) -> None:
    vector = pack(full_car)
    rows = steady_rows(full_car, speed=SPEED, lateral_acceleration=LATERAL, longitudinal_acceleration=ALONG)
    parameters = np.repeat(vector[None], 3, axis=0)
    positions, settled = settled_rows(parameters, rows, np.zeros((3, N_POSITION)))
    assert settled.all()
    found = steady_outputs(parameters, rows, positions).outputs[0]
    for n in range(3):
        inputs = steady_inputs(
            full_car, speed=SPEED[n], lateral_acceleration=LATERAL[n], longitudinal_acceleration=ALONG[n]
        )
        assert_allclose(rows[n], inputs, rtol=1e-15)
        alone = settle(vector[None], inputs, name="alone")
        # Newton's last step is under 1e-7 and quadratic: rounding of forces of 1e4 N in tyres of 2e5 N/m.
        assert_allclose(positions[n], alone[0, :N_POSITION], atol=1e-9)
        assert_allclose(found[n], rig_instant(vector[None], alone, inputs).outputs[0, 0], atol=1e-3)


def test_a_motion_without_a_place_is_only_reported(car_with: Any) -> None:
    car = car_with({"chassis.cg_height": 1.1})
    rows = steady_rows(
        car,
        speed=np.full(2, 30.0),
        lateral_acceleration=np.array([3.0, 30.0]),
        longitudinal_acceleration=np.zeros(2),
    )
    _, settled = settled_rows(np.repeat(pack(car)[None], 2, axis=0), rows, np.zeros((2, N_POSITION)))
    assert settled.tolist() == [True, False]


def test_more_gravity_presses_the_car_on_its_springs(full_car: Any) -> None:
    parameters = under_gravity(pack(full_car), np.array([5.0, 9.81, 15.0]))
    still = np.zeros(3)
    rows = steady_rows(full_car, speed=still, lateral_acceleration=still, longitudinal_acceleration=still)
    positions, settled = settled_rows(parameters, rows, np.zeros((3, N_POSITION)))
    assert settled.all()
    loads = (
        steady_outputs(parameters, rows, positions).outputs[0, :, O.tyre_load : O.tyre_load + 4].sum(axis=1)
    )
    # In balance to a Newton step squared; the car's mass with fuel is its load at 9.81 over 9.81.
    assert_allclose(loads, loads[1] / 9.81 * np.array([5.0, 9.81, 15.0]), rtol=1e-9)
    assert positions[0, 0] > positions[1, 0] > positions[2, 0]
