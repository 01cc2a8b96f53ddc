"""Prescribed motions: what they promise of speed, acceleration, road and phases."""

import numpy as np
import pytest
from numpy.testing import assert_allclose
from scipy.integrate import cumulative_trapezoid

from fourpatch.errors import EventError
from fourpatch.events.braking import Braking
from fourpatch.events.corner import Corner
from fourpatch.events.kerb_strike import KerbStrike
from fourpatch.events.motion import half_steps
from fourpatch.events.rough_road import RoughRoad
from fourpatch.physics.layout import I

STEP = 1e-3
EVENTS = [KerbStrike(), RoughRoad(), Braking(), Corner()]


def _column(motion, slot):
    return motion.inputs[:, slot]


@pytest.mark.parametrize("event", EVENTS, ids=lambda event: event.kind)
def test_phases_cover_the_event_without_gap(car_with, event):
    motion = event.motion(car_with({}), STEP)
    assert motion.phases[0].start == 0.0
    for before, after in zip(motion.phases, motion.phases[1:], strict=False):
        assert before.end == after.start
    assert motion.phases[-1].end > motion.duration
    assert motion.inputs.shape[0] == 2 * motion.steps + 1


@pytest.mark.parametrize("event", EVENTS, ids=lambda event: event.kind)
def test_acceleration_is_the_rate_of_speed(car_with, event):
    motion = event.motion(car_with({}), STEP)
    time = half_steps(motion.duration, STEP)
    gained = cumulative_trapezoid(_column(motion, I.longitudinal_acceleration), time, initial=0)
    # Both are sums over half steps of 0.5 ms of the same ramp: rounding.
    assert_allclose(_column(motion, I.speed), motion.inputs[0, I.speed] + gained, rtol=1e-9)


@pytest.mark.parametrize("direction", ["left", "right"])
def test_corner_holds_speed_and_radius_in_the_middle(car_with, direction):
    corner = Corner(radius=80.0, speed=28.0, direction=direction)
    motion = corner.motion(car_with({}), STEP)
    time = half_steps(motion.duration, STEP)
    mid = next(phase for phase in motion.phases if phase.name == "mid")
    inside = (time >= mid.start) & (time <= mid.end)
    turn = 1.0 if direction == "left" else -1.0
    # The middle is steady by construction; the speed is integrated over 4e3 half steps.
    assert_allclose(_column(motion, I.speed)[inside], 28.0, rtol=1e-6)
    assert_allclose(_column(motion, I.lateral_acceleration)[inside], turn * 28.0**2 / 80.0, rtol=1e-6)
    assert _column(motion, I.path_curvature)[0] == 0.0
    assert_allclose(_column(motion, I.path_curvature)[-1], 0.0, atol=1e-12)


def test_right_corner_mirrors_left(car_with):
    car = car_with({})
    left, right = (Corner(direction=way).motion(car, STEP).inputs for way in ("left", "right"))
    mirrored = [I.lateral_acceleration, I.yaw_acceleration, I.path_curvature, I.steer]
    assert_allclose(right[:, mirrored], -left[:, mirrored], rtol=0.0, atol=0.0)
    same = np.delete(np.arange(left.shape[1]), mirrored)
    assert_allclose(right[:, same], left[:, same], rtol=0.0, atol=0.0)


def test_rear_wheels_meet_the_kerb_a_wheelbase_later(car_with):
    strike = KerbStrike(speed=26.0, side="left", shape="half-sine", length=2.0)
    motion = strike.motion(car_with({}), STEP)
    road = motion.inputs[:, I.road : I.road + 4]
    late = round(2.6 / 26.0 / (STEP / 2.0))  # wheelbase over speed, in half steps
    # The same spline read at times that fall on the same half steps.
    assert_allclose(road[late:, 2], road[:-late, 0], atol=1e-12)
    assert np.all(road[:, [1, 3]] == 0.0)
    assert road[:, 0].max() <= 0.05 + 1e-6
    assert road[:, 0].max() > 0.045  # a 2 m hump is far longer than wheel and patch


def test_kerb_slope_is_the_rate_of_its_height(car_with):
    motion = KerbStrike(shape="sausage", length=1.0).motion(car_with({}), STEP)
    height, rate = motion.inputs[:, I.road], motion.inputs[:, I.road_speed]
    # Central differences of a spline with knots 10 mm apart, half steps 15 mm apart: second order.
    assert_allclose(np.gradient(height, STEP / 2.0), rate, atol=0.12 * np.abs(rate).max())
    assert_allclose(np.sum(rate) * STEP / 2.0, 0.0, atol=1e-3)  # up again what it came down


def test_same_seed_same_road(car_with):
    car = car_with({})
    one, again, other = (RoughRoad(seed=seed).motion(car, STEP).inputs for seed in (3, 3, 4))
    assert np.array_equal(one, again)
    assert not np.allclose(one[:, I.road], other[:, I.road])


def test_braking_to_a_stop_is_refused_with_the_numbers(car_with):
    # 22 m/s^2 for half of 0.3 s, 1.2 s and half of 0.4 s.
    with pytest.raises(
        EventError, match=r"100 km/h .* stop before the brake is released .* loses 123 km/h"
    ) as error:
        Braking(speed=100 / 3.6, deceleration=22.0).motion(car_with({}), STEP)
    assert "shorter time" in str(error.value)


def test_corner_that_begins_too_fast_is_refused(car_with):
    with pytest.raises(EventError, match=r"begin at \d+ km/h"):
        Corner(speed=60.0, deceleration=50.0, braking=5.0).motion(car_with({}), STEP)
