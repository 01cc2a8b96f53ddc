"""What a lap asks of tyres and engine."""

from types import SimpleNamespace
from typing import Any

import numpy as np
from numpy.testing import assert_allclose

from fourpatch.analysis.lap_duty import lap_duty
from fourpatch.analysis.steady_limits import SteadyCar
from fourpatch.car.demo import demo_car
from fourpatch.car.gravity import GRAVITY


def straight(speed: float, along: float = 0.0) -> Any:
    both = np.ones(2)
    return SimpleNamespace(
        lap_time=30.0,
        time=np.array([0.0, 30.0]),
        speed=speed * both,
        tyre_lateral=0.0 * both,
        tyre_longitudinal=along * both,
    )


def test_straight_ahead_the_engine_works_against_drag_and_slip_alone() -> None:
    car = demo_car("gt")
    found = lap_duty(car, straight(50.0), share=1.0)
    # Work over distance is the force; what the tyres lose is in it. Toe and the wheels' own place cost the
    # drag of the whole 0.3 %, which the rig's forces along the body do not show.
    assert_allclose(found.engine, SteadyCar(car).drag(50.0) + found.sliding.sum(), rtol=5e-3)
    weight = (car.chassis.mass + car.fuel.mass) * GRAVITY
    assert found.load.sum() > weight  # downforce
    assert np.isnan(found.balance) or abs(found.balance) < 100.0


def test_the_brakes_are_no_engine() -> None:
    assert lap_duty(demo_car("gt"), straight(50.0, along=-6.0), share=1.0).engine == 0.0
