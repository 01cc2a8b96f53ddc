"""What must hold of any linear car; its values are checked in tests/validation and tests/agreement."""

from collections.abc import Callable, Mapping
from typing import Any

import numpy as np
from hypothesis import given
from hypothesis import strategies as st
from numpy.testing import assert_allclose

from fourpatch.analysis.linear_model import (
    INPUT_SLOTS,
    OUTPUT_SLOTS,
    STATES,
    LinearDampers,
    linearise,
    with_linear_dampers,
)
from fourpatch.car.car import Car
from fourpatch.car.pack import pack
from fourpatch.events.motion import steady_inputs
from fourpatch.physics.layout import CORNER_BASE, N_CORNER, N_INPUT, N_POSITION, C, I

CarWith = Callable[[Mapping[str, Any]], Car]


def test_shapes_and_places(full_car: Car) -> None:
    model = linearise(pack(full_car), np.zeros(N_INPUT))
    assert model.A.shape == (len(STATES), len(STATES))
    assert model.B.shape == (len(STATES), len(INPUT_SLOTS))
    assert model.C.shape == (len(OUTPUT_SLOTS), len(STATES))
    assert model.D.shape == (len(OUTPUT_SLOTS), len(INPUT_SLOTS))
    assert model.columns_of("road") == [0, 1, 2, 3]
    assert model.columns_of("road speed") == [4, 5, 6, 7]
    assert model.columns_of("lateral acceleration") == [9]
    assert model.rows_of("travel") == [4, 5, 6, 7]
    assert model.rows_of("tyre_load RL") == [2]
    # Positions change by their rates.
    assert_allclose(model.A[:N_POSITION], np.eye(N_POSITION, 2 * N_POSITION, N_POSITION), atol=1e-12)


def test_the_given_car_is_left_as_it_is(full_car: Car) -> None:
    vector = pack(full_car)
    before = vector.copy()
    straight = with_linear_dampers(vector, LinearDampers(side="rebound", speed=0.2))
    assert np.array_equal(vector, before)
    front = straight[CORNER_BASE : CORNER_BASE + N_CORNER]
    assert front[C.bump_slope] == front[C.rebound_slope] == 2600.0
    assert front[C.damper_friction] == 0.0
    rear = straight[CORNER_BASE + 2 * N_CORNER : CORNER_BASE + 3 * N_CORNER]
    # 680 to 1150 N over 0.2 to 0.4 m/s; at the knot the slope beyond it counts.
    assert_allclose(rear[C.rebound_slope], (1150.0 - 680.0) / 0.2, rtol=1e-12)


@given(
    mass=st.floats(600.0, 2500.0),
    front=st.floats(0.35, 0.65),
    offset=st.floats(-0.05, 0.05),
    cross=st.floats(0.46, 0.54),
    rates=st.tuples(st.floats(15e3, 300e3), st.floats(15e3, 300e3)),
    bars=st.tuples(st.floats(0.0, 100e3), st.floats(0.0, 100e3)),
    slopes=st.tuples(st.floats(0.0, 20e3), st.floats(0.0, 20e3)),
)
def test_no_passive_car_swings_up(
    mass: float,
    front: float,
    offset: float,
    cross: float,
    rates: tuple[float, float],
    bars: tuple[float, float],
    slopes: tuple[float, float],
    car_with: CarWith,
    straight_damper: Callable[[float], dict[str, Any]],
) -> None:
    car = car_with(
        {
            "chassis.mass": mass,
            "chassis.front_weight_share": front,
            "chassis.cg_lateral_offset": offset,
            "chassis.cross_weight_share": cross,
            "front.spring.rate": rates[0],
            "rear.spring.rate": rates[1],
            "front.bar.rate": bars[0],
            "rear.bar.rate": bars[1],
            "front.damper": straight_damper(slopes[0]),
            "rear.damper": straight_damper(slopes[1]),
        }
    )
    model = linearise(pack(car), np.zeros(N_INPUT))
    values = np.linalg.eigvals(model.A)
    # Rounding of the differences, against the fastest eigenvalue.
    assert values.real.max() < 1e-8 * np.abs(values).max()


def test_steady_answer_of_the_linear_car_is_the_change_of_the_settled_one(full_car: Car) -> None:
    vector = pack(full_car)
    inputs = steady_inputs(full_car, speed=40.0, lateral_acceleration=3.0)
    more = inputs.copy()
    more[I.lateral_acceleration] += 0.01  # on the same path, as the linear car's input is
    here, there = linearise(vector, inputs), linearise(vector, more)
    change = -np.linalg.solve(here.A, here.B[:, list(INPUT_SLOTS).index("lateral acceleration")]) * 0.01
    settled = there.state - here.state
    # Second order in the change, 0.01 of 3 m/s^2.
    assert_allclose(settled[:N_POSITION], change[:N_POSITION], rtol=3e-3, atol=1e-9)
