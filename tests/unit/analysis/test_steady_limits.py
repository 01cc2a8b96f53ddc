"""Searches for limits: asking for several motions at once changes nothing but the time."""

import numpy as np
import pytest
from numpy.testing import assert_allclose

from fourpatch.analysis.steady_limits import SteadyCar, first_reach
from fourpatch.car.demo import demo_car, demo_names


def _with_a_hole(values):
    """Use that passes 1 at 20, grips again at 25 and is for ever lost beyond 40."""
    use = np.where(values < 25.0, values / 20.0, 0.5 + values / 100.0)
    return np.where(values > 40.0, np.inf, use)


@pytest.mark.parametrize("end", [15.0, 20.0, 24.0, 200.0])
def test_looking_ahead_does_not_change_what_is_found(end):
    def hesitant(values):
        found = _with_a_hole(values)
        # What is not quickly found when several are asked for: every other one.
        return found if values.size == 1 else np.where(np.arange(values.size) % 2 == 0, np.nan, found)

    alone = first_reach(1.0, _with_a_hole, start=3.0, end=end)
    for at_once in (2, 3, 7, 15):
        for uses in (_with_a_hole, hesitant):
            assert first_reach(1.0, uses, start=3.0, end=end, at_once=at_once) == alone
    # To a part in two thousand.
    assert_allclose(alone, min(end, 20.0), rtol=5e-4)


@pytest.mark.parametrize("name", demo_names())
def test_motions_asked_for_together_are_those_asked_for_alone(name):
    steady = SteadyCar(demo_car(name))
    speed = np.array([12.0, 20.0, 30.0])
    lateral, along = np.array([3.0, -6.0, 0.0]), np.array([1.0, 0.0, -5.0])
    together = steady.worst_uses(speed=speed, lateral_acceleration=lateral, longitudinal_acceleration=along)
    alone = [
        max(steady.use(speed=v, lateral_acceleration=a, longitudinal_acceleration=b))
        for v, a, b in zip(speed, lateral, along, strict=True)
    ]
    # Two ways of placing the car: what is left below a movement of 1e-7, against one of 1e-10.
    assert_allclose(together, alone, rtol=1e-7)
    assert_allclose(steady.drags(speed), [steady.drag(v) for v in speed], rtol=1e-9)
