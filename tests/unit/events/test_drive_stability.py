"""How near a driven car is to swinging round: the same on any height of road, and of its turning alone."""

from typing import Any

import numpy as np
import pytest
from numpy.testing import assert_allclose

from fourpatch.car.car import Car
from fourpatch.events.drive_inputs import LEVEL_ROAD, DriveRoad
from fourpatch.events.drive_stability import drive_reserve
from fourpatch.events.steady_circle import SteadyCircle, SteadyTurns, steady_circle
from fourpatch.physics.layout import N_POSITION, Y

HEIGHT = 0.05  # of a road above level [m]


@pytest.fixture(scope="module")
def turns(full_car: Car) -> SteadyTurns:
    return steady_circle(full_car, SteadyCircle(radius=80.0))


def reserves(turns: SteadyTurns, states: Any, road: DriveRoad = LEVEL_ROAD) -> Any:
    controls = np.column_stack([turns.start.steer, turns.start.throttle, np.zeros_like(turns.start.steer)])
    return drive_reserve(turns.driven.parameters, turns.driven.engines, states, controls, road=road)


def test_a_higher_road_changes_nothing(turns: SteadyTurns) -> None:
    raised = turns.start.states.copy()
    raised[:, Y.heave] += HEIGHT
    raised[:, Y.wheel : N_POSITION] += HEIGHT
    stretches = LEVEL_ROAD.stretches.copy()
    stretches[..., 0] = HEIGHT
    road = DriveRoad(stretches=stretches, spacing=1.0, origin=0.0)
    # Differences of 1e-5 in numbers of order 1e5 are known to 1e-16 x 1e5 / 1e-5 of rates of order 1 to 10.
    assert_allclose(reserves(turns, raised, road), reserves(turns, turns.start.states), atol=1e-4, rtol=1e-5)
    # On a level road the same wheels would hang in the air, and nothing would hold the car.
    assert np.all(np.abs(reserves(turns, raised)[1:] - reserves(turns, turns.start.states)[1:]) > 0.1)


def test_a_wheel_in_the_air_does_not_turn_the_car(turns: SteadyTurns) -> None:
    """Nothing acts on its spin: that motion stays as it is, of real part 0, and does not count."""
    state = turns.start.states[:1].copy()
    state[0, Y.wheel] += 0.03  # front left, tyre and all
    held = np.array([[0.0, turns.start.throttle[0], 0.0]])
    found = float(drive_reserve(turns.driven.parameters, turns.driven.engines, state, held)[0])
    # With one front tyre less the rear is the more stable end, if anything.
    assert found < -1.0
