"""What an axle uses of its grip is one number, whether a motion is prescribed or driven."""

import numpy as np
import pytest
from numpy.testing import assert_allclose, assert_array_equal

from fourpatch.analysis.axle_use import driven_use
from fourpatch.analysis.steady_limits import SteadyCar
from fourpatch.car.demo import demo_car, demo_names
from fourpatch.events.steady_circle import SteadyCircle, steady_circle
from fourpatch.physics.layout import P


@pytest.mark.parametrize("name", demo_names())
def test_a_steady_circle_uses_what_the_rig_says_and_never_more_than_there_is(name: str) -> None:
    car = demo_car(name)
    turns = steady_circle(car, SteadyCircle(radius=60.0))
    use = driven_use(turns.driven.parameters[0], turns.history.outputs[0])
    # The tyres of a car in equilibrium cannot give more than they have; the ellipse is exact to a per mille.
    assert use.max() < 1.001
    rig = SteadyCar(car)
    # Up to about half of the grip: beyond it the rig's tyres lack the drag of slip angles, and the car's
    # sideslip turns forces that the rig leaves along its axes (both below 1 % here, and growing).
    gentle = np.flatnonzero(use.max(axis=1) < 0.5)[::3]
    prescribed = [
        rig.use(speed=float(turns.speed[n]), lateral_acceleration=float(turns.lateral_acceleration[n]))
        for n in gentle
    ]
    assert_allclose(use[gentle], prescribed, rtol=0.015)


def test_a_ramp_that_changes_no_force_changes_no_use() -> None:
    """The same forces of the same tyres, whatever differential is between them."""
    turns = steady_circle(demo_car("coupe"), SteadyCircle(radius=60.0))
    found = []
    for power_share, preload in ((0.0, 0.0), (0.3, 60.0), (0.9, 500.0)):
        vector = turns.driven.parameters[0].copy()
        vector[P.rear_lock_power], vector[P.rear_lock_preload] = power_share, preload
        found.append(driven_use(vector, turns.history.outputs[0]))
    assert_array_equal(found[0], found[1])
    assert_array_equal(found[0], found[2])
