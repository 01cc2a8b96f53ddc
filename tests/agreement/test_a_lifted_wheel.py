"""A steady turn goes on where an undriven inner wheel leaves the road: free drives and closed forms."""

from collections.abc import Callable, Mapping
from typing import Any

import numpy as np
import pytest
from numpy.testing import assert_allclose

from fourpatch.analysis.step_steer import step_steer_values
from fourpatch.car.car import Car
from fourpatch.events.drive import drive, drive_from
from fourpatch.events.drive_inputs import controls_in_time
from fourpatch.events.steady_circle import SteadyCircle, SteadyTurns, steady_circle, steady_turn
from fourpatch.events.step_steer import StepSteer
from fourpatch.physics.layout import N_DRIVE, O, P, X, Y

CarWith = Callable[[Mapping[str, Any]], Car]

RADIUS = 60.0
PLACE = (X.distance, X.offset, X.heading)


def stiff_tailed(car_with: CarWith, bar: float) -> Car:
    """Driven in front, heavy there and stiff behind: the inner rear wheel lifts well before the limit."""
    return car_with(
        {
            "driveline.front_drive_share": 1.0,
            "driveline.front_differential": {
                "kind": "plate",
                "preload": 60.0,
                "power_lock": 0.3,
                "coast_lock": 0.2,
            },
            "chassis.front_weight_share": 0.62,
            "rear.spring.rate": 90e3,
            "rear.bar": {"rate": bar},
            "rear.droop_stop": {"gap": 0.06, "rate": 200e3},
        }
    )


@pytest.fixture(scope="module")
def turns(car_with: CarWith) -> SteadyTurns:
    return steady_circle(stiff_tailed(car_with, 80e3), SteadyCircle(radius=RADIUS))


def lifted(turns: SteadyTurns) -> np.ndarray[Any, np.dtype[np.bool_]]:
    in_the_air = turns.history.outputs[0, :, O.tyre_load + 2] == 0.0
    assert in_the_air.any()
    return np.asarray(in_the_air)


def test_it_goes_on_with_a_wheel_in_the_air(turns: SteadyTurns) -> None:
    in_the_air = lifted(turns)
    assert 3 <= np.count_nonzero(in_the_air)
    assert np.all(np.diff(in_the_air.astype(int)) >= 0)
    # and further, by what the front still had
    assert turns.lateral_acceleration[-1] > turns.lateral_acceleration[in_the_air][0] + 1.0
    assert turns.understeer_gradient[-1] > 10.0 * turns.understeer_gradient[0]


def test_it_rolls_with_the_road(turns: SteadyTurns) -> None:
    """The wheel's spin is its hub's speed over its radius: forward less half a track times yaw rate."""
    states = turns.start.states[lifted(turns)]
    hub = states[:, X.forward_velocity] - 0.75 * states[:, X.yaw_rate]
    # What Newton's method leaves of rates of 100 1/s^2 per slip
    assert_allclose(states[:, X.spin + 2] * 0.3, hub, rtol=1e-8)
    assert_allclose(states[:, X.slip + 2], 0.0, atol=1e-8)


def test_all_further_load_is_moved_in_front(turns: SteadyTurns) -> None:
    """Balance of moments: the outer rear tyre carries its axle, so what grows is the front's."""
    outputs = turns.history.outputs[0][lifted(turns)]
    loads, side, along = (
        outputs[:, slot : slot + 4] for slot in (O.tyre_load, O.lateral_force, O.longitudinal_force)
    )
    half, height, mass = 0.75, 0.5, 1200.0
    tilting = (loads[:, 1] + loads[:, 3] - loads[:, 0] - loads[:, 2]) * half
    # The weight leans over by the roll of the sprung mass about the road, at height d in it.
    lean = turns.driven.parameters[0, P.gravity_roll_moment] * turns.start.states[lifted(turns), Y.roll]
    assert_allclose(tilting, height * side.sum(axis=1) + lean, rtol=1e-6)
    rear = mass * 9.81 * 0.38 + along.sum(axis=1) * height / 2.6
    assert_allclose(loads[:, 3], rear, rtol=1e-6)


def test_once_it_is_lifted_a_stiffer_bar_changes_nothing(car_with: CarWith) -> None:
    limits = [
        steady_circle(stiff_tailed(car_with, bar), SteadyCircle(radius=RADIUS)).lateral_acceleration[-1]
        for bar in (80e3, 160e3, 320e3)
    ]
    # The limit is found to 0.005 m/s^2, and a stiffer bar holds the lifted wheel a little higher.
    assert_allclose(limits, limits[0], rtol=0.0, atol=0.01)


def test_a_free_drive_stays_there(turns: SteadyTurns) -> None:
    where = int(np.flatnonzero(lifted(turns))[1])
    turn = steady_turn(
        turns.car, lateral_acceleration=float(turns.lateral_acceleration[where]), radius=RADIUS
    )
    controls = controls_in_time(np.array([0.0, 3.0]), name="stay", step=1e-3, holding=np.ones(2))
    history = drive_from(turn.start, turn.driven, controls).history
    assert np.all(history.outputs[0, :, O.tyre_load + 2] == 0.0)
    kept = [k for k in range(N_DRIVE) if k not in PLACE]
    # Newton's last step, 1e-10, times the rates that lead away from it
    assert_allclose(history.states[0, -1, kept], turn.start.states[0, kept], rtol=0.0, atol=1e-6)


def test_its_step_steer_is_summed_up(turns: SteadyTurns) -> None:
    hard = float(turns.lateral_acceleration[lifted(turns)][1])
    event = StepSteer(speed=float(np.sqrt(hard * RADIUS)), lateral_acceleration=hard, hold=2.0)
    run = drive([turns.car], event)
    assert run.history.outputs[0, -1, O.tyre_load + 2] == 0.0
    values = step_steer_values(run)[0]
    assert values.understeer_gradient > 0.0
    # The throttle of straight running is held, so the car slows: by 8 % of its speed in two seconds
    assert_allclose(values.lateral_acceleration.steady, hard, rtol=0.15)
