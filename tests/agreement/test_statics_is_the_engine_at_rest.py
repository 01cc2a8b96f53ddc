"""What statics computes from the packed car is what the engine does at rest and near it."""

from collections.abc import Callable, Mapping
from typing import Any

import numpy as np
import pytest
from numpy.testing import assert_allclose
from numpy.typing import NDArray

from fourpatch.analysis.load_transfer import SETTLED_ACCELERATION, lateral_transfer, settled_lateral_transfer
from fourpatch.analysis.statics import corner_loads, statics
from fourpatch.analysis.wheel_rates import bar_rates, spring_rates, wheel_damping, wheel_rates
from fourpatch.car.car import Car
from fourpatch.car.pack import pack
from fourpatch.events.run import rig_instant
from fourpatch.physics.layout import N_INPUT, N_POSITION, N_RIG, O, P, Y

Array = NDArray[np.float64]


def outputs_at(vector: Array, state: Array) -> Array:
    return np.asarray(rig_instant(vector[None], state[None], np.zeros(N_INPUT)).outputs[0, 0])


def wheels(pattern: list[float], size: float, *, rates: bool = False) -> Array:
    state = np.zeros(N_RIG)
    first = Y.wheel + (N_POSITION if rates else 0)
    state[first : first + 4] = size * np.array(pattern)
    return state


def slope(vector: Array, slot: int, pattern: list[float], size: float, *, rates: bool = False) -> Array:
    """Central difference of a force at the wheels as the wheels move in a pattern."""
    up, down = (outputs_at(vector, wheels(pattern, s, rates=rates)) for s in (size, -size))
    return np.asarray((up[slot : slot + 4] - down[slot : slot + 4]) / (2.0 * size))


def test_corner_loads_and_their_sum(full_car: Car) -> None:
    vector = pack(full_car)
    loads = outputs_at(vector, np.zeros(N_RIG))[O.tyre_load : O.tyre_load + 4]
    # Rounding.
    assert_allclose(corner_loads(vector), loads, rtol=1e-12)
    found = statics(full_car).weights
    assert_allclose(sum(found.corner_load), 9.81 * (1250.0 + 40.0), rtol=1e-12)
    assert_allclose(sum(found.corner_sprung_mass), found.sprung_mass, rtol=1e-12)


def test_wheel_rates_are_slopes_of_the_elastic_force(full_car: Car) -> None:
    vector = pack(full_car)
    together = slope(vector, O.elastic_force, [1.0, 1.0, 1.0, 1.0], 1e-5)
    apart = slope(vector, O.elastic_force, [1.0, -1.0, 1.0, -1.0], 1e-5) * [1.0, -1.0, 1.0, -1.0]
    # Rounding of a difference of forces over 20 um, and curves of third order.
    assert_allclose(together, np.repeat(wheel_rates(vector), 2), rtol=1e-8)
    assert_allclose(apart, spring_rates(vector) + 2.0 * np.repeat(bar_rates(vector), 2), rtol=1e-8)


@pytest.mark.parametrize("block_force", [1000.0, 6000.0], ids=["closed", "open"])
def test_helper_spring(block_force: float, car_with: Callable[[Mapping[str, Any]], Car]) -> None:
    vector = pack(
        car_with(
            {
                "front.spring": {"rate": 50e3, "helper_rate": 25e3, "helper_block_force": block_force},
                "front.geometry.spring_motion_ratio": {"value": 0.9, "slope": 0.7},
            }
        )
    )
    found = slope(vector, O.elastic_force, [1.0, 1.0, 1.0, 1.0], 1e-5)
    # Rounding of a difference of forces over 20 um.
    assert_allclose(found, spring_rates(vector), rtol=1e-8)


@pytest.mark.parametrize(("side", "sign"), [("bump", 1.0), ("rebound", -1.0)])
@pytest.mark.parametrize(("speed", "step"), [(0.01, 1e-3), (0.3, 1e-3)])
def test_wheel_damping_is_the_slope_of_the_damper_force(
    side: Any, sign: float, speed: float, step: float, full_car: Car
) -> None:
    vector = pack(full_car)
    ratio = [0.95 + 0.3 * 0.01, 0.90]  # at static travel: the front stands 10 mm below its design height
    together = [1.0, 1.0, 1.0, 1.0]

    def force(wheel_speed: float) -> Array:
        found = outputs_at(vector, wheels(together, sign * wheel_speed, rates=True))
        # A heave damper's force is counted among the elastic ones.
        both = found[O.damper_force : O.damper_force + 4] + found[O.elastic_force : O.elastic_force + 4]
        return np.asarray(sign * both)[[0, 2]]

    fast = np.array([speed / r for r in ratio])
    found = np.array([(force(v + step) - force(v - step))[k] / (2.0 * step) for k, v in enumerate(fast)])

    # Sliding friction, which damping leaves out: F v / sqrt(v^2 + w^2), w = 5 mm/s, in front only.
    def friction(damper_speed: float) -> float:
        return 40.0 * damper_speed / np.sqrt(damper_speed**2 + 0.005**2)

    at_damper = ratio[0] * np.array([fast[0] + step, fast[0] - step])
    found[0] -= ratio[0] * (friction(at_damper[0]) - friction(at_damper[1])) / (2.0 * step)
    # Rounding of a difference of forces.
    assert_allclose(found, wheel_damping(vector, side=side, speed=speed), rtol=1e-9)


PARTS = ("elastic", "geometric", "unsprung", "total")


def gap(vector: Array, acceleration: float) -> Array:
    """Settled less closed form of each part of the load transfer, (4, 2). [N s^2/m]"""
    closed = lateral_transfer(vector)
    settled = settled_lateral_transfer(vector, lateral_acceleration=acceleration)
    return np.array([np.subtract(getattr(settled, part), getattr(closed, part)) for part in PARTS])


def test_load_transfer_in_closed_form_is_the_limit_of_the_settled_car(full_car: Car) -> None:
    vector = pack(full_car)
    small, twice, usual = (gap(vector, acceleration) for acceleration in (0.5, 1.0, SETTLED_ACCELERATION))
    whole = sum(lateral_transfer(vector).total)
    # What the closed form leaves out grows with a_y^2: roll centres that move, springs that stiffen.
    # At 0.5 m/s^2 it is below 1e-4 of the whole transfer, at twice that four times it.
    assert np.abs(small).max() < 1e-4 * whole
    assert_allclose(twice[:2], 4.0 * small[:2], rtol=0.01)
    # At 0.3 g by the same law; the next order, a_y^4, adds less than a tenth of it.
    expected = (SETTLED_ACCELERATION / 0.5) ** 2 * small
    assert_allclose(usual, expected, rtol=0.1, atol=1e-6 * whole)


def test_settled_transfer_takes_what_crosses_the_car(full_car: Car) -> None:
    """Moments about the road: sum of T t = a_y sum of m h + what the leaning body adds.

    At any acceleration.
    """
    vector = pack(full_car)
    for acceleration in (0.5, 3.0, 6.0):
        found = settled_lateral_transfer(vector, lateral_acceleration=acceleration)
        crossing = found.total.front * 1.58 + found.total.rear * 1.55
        height = vector[P.sprung_mass] * vector[P.sprung_cg_height] + vector[P.unsprung_moment]
        # Rounding of the settled state.
        expected = height + vector[P.gravity_roll_moment] * found.roll_gradient
        assert_allclose(crossing, expected, rtol=1e-8)
