"""A corner of a lap on the rig: the phases are where they are by definition, the motion is one motion."""

from typing import Any

import numpy as np
import pytest
from numpy.testing import assert_allclose
from scipy.integrate import cumulative_trapezoid

from fourpatch.errors import EventError
from fourpatch.events.phase import corner_phases
from fourpatch.events.track_corner import CornerOnLap, Pace
from fourpatch.physics.layout import I


def lap_piece(way: float = 1.0) -> CornerOnLap:
    """Drive at 2 m/s^2 for 2 s, brake at 8 for 2 s, release over 1 s turning in, hold 1 s, drive out."""
    time = np.linspace(0.0, 9.0, 901)
    along = np.interp(time, [0.0, 2.0, 2.001, 4.0, 5.0, 6.0, 7.5, 9.0], [2, 2, -8, -8, 0, 0, 3, 3])
    wound = np.interp(time, [4.0, 5.0, 6.0, 7.5], [0.0, 1.0, 1.0, 0.0])
    speed = 45.0 + cumulative_trapezoid(along, time, initial=0.0)
    curvature = way * wound / 60.0
    return CornerOnLap(
        name="corner 1",
        time=time,
        speed=speed,
        curvature=curvature,
        tyre_longitudinal=along,
        tyre_lateral=speed**2 * curvature,
        start=4.0,
        slowest=5.5,
        end=7.5,
    )


@pytest.mark.parametrize("way", [1.0, -1.0])
def test_phases_are_where_pedals_and_steering_say(car_with: Any, way: float) -> None:
    phases = {one.name: one for one in lap_piece(way).motion(car_with({}), 1e-3).phases}
    assert list(phases) == ["braking", "entry", "mid", "exit"]
    # Smoothing moves a tenth of a jump by up to half its build-up, 0.15 s, and that of a ramp by less.
    assert_allclose(phases["braking"].start, 2.0, atol=0.15)
    assert_allclose(phases["entry"].start, 4.1, atol=0.1)
    assert_allclose(phases["mid"].start, 4.9, atol=0.15)
    assert_allclose(phases["exit"].start, 6.15, atol=0.15)
    assert_allclose(phases["exit"].end, 7.35, atol=0.1)
    for before, after in zip(list(phases.values())[:-1], list(phases.values())[1:], strict=True):
        assert before.end == after.start


def test_speed_follows_from_acceleration(car_with: Any) -> None:
    inputs = lap_piece().motion(car_with({}), 1e-3).inputs
    speed, along = inputs[:, I.speed], inputs[:, I.longitudinal_acceleration]
    # Smoothing commutes with the derivative but for the held ends, half a build-up long each.
    inside = slice(400, -400)
    gained = cumulative_trapezoid(along[inside], dx=5e-4, initial=0.0)
    # The row given is linear between places 10 ms apart, so its sum is off by 8 x 0.01^2 a jump at most.
    assert_allclose(speed[inside] - speed[inside][0], gained, atol=2e-2)
    # A jump of 10 m/s^2 becomes half a cosine over 0.3 s: steepest 10 pi / (2 x 0.3).
    assert np.max(np.abs(np.gradient(along, 5e-4))) < 1.01 * 10.0 * np.pi / 0.6


def test_a_corner_without_brake_or_lift_has_no_braking() -> None:
    time = np.linspace(0.0, 6.0, 1201)
    wound = np.interp(time, [1.0, 2.0, 4.0, 5.0], [0.0, 1.0, 1.0, 0.0]) / 200.0
    phases = corner_phases(time, along=np.full(time.size, 2.0), curvature=wound, marks=(1.0, 2.5, 5.0))
    found = {one.name: (one.start, one.end) for one in phases}
    assert "braking" not in found
    # A tenth and nine tenths of the ramps, to a step of 5 ms.
    assert_allclose(found["entry"], (1.1, 1.9), atol=0.011)
    assert_allclose(found["mid"], (1.9, 4.1), atol=0.011)
    assert_allclose(found["exit"], (4.1, 4.9), atol=0.011)


def test_brake_straight_into_throttle_still_has_a_mid() -> None:
    time = np.linspace(0.0, 6.0, 1201)
    along = np.where(time < 3.0, -6.0, 4.0)
    wound = np.interp(time, [1.5, 3.0, 4.5], [0.0, 1.0, 0.0]) / 40.0
    phases = {
        one.name: one for one in corner_phases(time, along=along, curvature=wound, marks=(1.5, 3.0, 4.5))
    }
    assert_allclose(phases["mid"].end - phases["mid"].start, 0.1, atol=0.006)


@pytest.mark.parametrize("name", ["pedals", "steering"])
def test_a_pace_no_driver_has(name: str) -> None:
    with pytest.raises(EventError, match=rf"build-up, {name}: 0 s; a driver takes 0.05 to 2 s"):
        Pace(**{name: 0.0})
