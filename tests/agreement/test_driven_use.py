"""What an axle uses of its grip is one number, whether a motion is prescribed or driven."""

import numpy as np
import pytest
from numpy.testing import assert_allclose

from fourpatch.analysis.axle_use import driven_use
from fourpatch.analysis.steady_limits import SteadyCar
from fourpatch.car.demo import demo_car, demo_names
from fourpatch.events.steady_circle import SteadyCircle, steady_circle


@pytest.mark.parametrize("name", demo_names())
def test_a_steady_circle_uses_what_the_rig_says_and_never_more_than_there_is(name: str) -> None:
    car = demo_car(name)
    turns = steady_circle(car, SteadyCircle(radius=60.0))
    use = driven_use(
        turns.driven.parameters[0], turns.history.outputs[0], curvature=turns.curvature, speed=turns.speed
    )
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
