"""Limits sought on the rig beside the steady turns in which a drive stays: how fast, and what they cost."""

import numpy as np
import pytest
from numpy.testing import assert_allclose

from fourpatch.analysis.limits_map import Along, limits_map
from fourpatch.analysis.steady_limits import corner_speed
from fourpatch.car.demo import demo_car, demo_names
from fourpatch.car.gravity import GRAVITY
from fourpatch.events.steady_circle import SteadyCircle, steady_circle
from fourpatch.physics.layout import O, P

RADIUS = 40.0


@pytest.mark.parametrize("name", demo_names())
def test_a_steady_turn_is_as_fast_and_takes_as_much_force_as_the_limits_say(name: str) -> None:
    car = demo_car(name)
    turns, limits = steady_circle(car, SteadyCircle(radius=RADIUS)), limits_map(car)
    assert turns.ended_by == "grip"
    fastest = corner_speed(car, radius=RADIUS)
    # Where a tyre passes its peak the use of its axle leaps by a few hundredths, a per cent of the speed; a
    # hatchback's front wheels drive too, and turned there they end the drive before the axle's sum is spent.
    assert_allclose(turns.speed.max(), fastest, rtol=0.02 if name == "hatchback" else 0.01)
    outputs = turns.history.outputs[0]
    force = outputs[:, O.front_drive_force] + outputs[:, O.rear_drive_force] - outputs[:, O.drag]
    left = np.ones(turns.speed.size, dtype=np.bool_)
    gravity = np.full(turns.speed.size, GRAVITY)
    most, _ = limits.lateral(speed=turns.speed, gravity=gravity, left=left)
    share = turns.lateral_acceleration / most
    there = Along(speed=turns.speed, gravity=gravity, share=share, left=left)
    below = share < 0.96
    drag = force / turns.driven.parameters[0, P.total_mass]
    # Read between eight shares along straight lines, and at speeds of other radii.
    assert_allclose(limits.drag_in_turn(there)[below], drag[below], rtol=0.08, atol=0.02)
    assert drag[below].max() > 0.5  # no little thing: half a metre per second squared and more
