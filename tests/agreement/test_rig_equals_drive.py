"""The two ways of driving one car meet: the rig, given the motion of a drive, finds the drive's loads."""

from collections.abc import Callable, Mapping
from typing import Any

import numpy as np
import pytest
from numpy.testing import assert_allclose
from numpy.typing import NDArray
from scipy.interpolate import CubicSpline

from fourpatch.car.car import Car
from fourpatch.events.drive import made_ready, run_drive
from fourpatch.events.drive_inputs import (
    LEVEL_ROAD,
    DriveControls,
    DriveRoad,
    controls_in_time,
    lay_drive_road,
)
from fourpatch.events.drive_start import drive_instant, settle_drive
from fourpatch.events.motion import RigMotion, half_steps, lay_road
from fourpatch.events.run import rig_instant, run_rig
from fourpatch.physics.integrate import History
from fourpatch.physics.layout import N_INPUT, N_RIG, I, O, P, X
from fourpatch.track.kerb import HalfSineKerb, Side, kerbed_straight
from fourpatch.track.road import RoadProfile

Array = NDArray[np.float64]
CarWith = Callable[[Mapping[str, Any]], Car]

STEP, EVERY = 0.5e-3, 1


def planar_inputs_of(history: History) -> Array:
    """What the rig must do to move as the car was driven, one row per stored instant."""
    states, rates, outputs = history.states[0], history.rates[0], history.outputs[0]
    inputs = np.zeros((states.shape[0], N_INPUT))
    inputs[:, I.speed] = np.hypot(states[:, X.forward_velocity], states[:, X.lateral_velocity])
    inputs[:, I.longitudinal_acceleration] = outputs[:, O.longitudinal_acceleration]
    inputs[:, I.lateral_acceleration] = outputs[:, O.lateral_acceleration]
    inputs[:, I.yaw_acceleration] = rates[:, X.yaw_rate]
    return inputs


def braking_turn(time: Array, step: float) -> DriveControls:
    return controls_in_time(
        time,
        name="turn",
        step=step,
        store_every=EVERY,
        road_wheel_angle=0.02 * np.clip((time - 0.2) / 0.3, 0.0, 1.0),
        brake=0.3 * np.clip((time - 0.6) / 0.3, 0.0, 1.0),
        holding=np.clip((0.6 - time) / 0.2, 0.0, 1.0),
    )


@pytest.mark.parametrize("lateral_acceleration", [0.0, 5.0, -5.0])
def test_steady_turn(car_with: CarWith, lateral_acceleration: float) -> None:
    # Without jacking the split of tyre forces between the sides, which the rig has to guess, moves no load.
    car = car_with({"aero.map.front_downforce": {"constant": 0.8}, "aero.map.drag": {"constant": 0.9}})
    driven = made_ready([car])
    start = settle_drive(
        driven.parameters, driven.engines, speed=40.0, lateral_acceleration=lateral_acceleration
    )
    drivers = np.array([[start.steer[0], 1.0, start.throttle[0]]])
    there = drive_instant(driven.parameters, start.states, driven.engines, drivers)
    # The rig heads along its path, so it takes the whole of the drag; a car at a sideslip angle the part that
    # is along it.
    along = driven.parameters.copy()
    sideslip = np.arctan2(start.states[0, X.lateral_velocity], start.states[0, X.forward_velocity])
    along[:, P.drag : P.drag_rr + 1] *= np.cos(sideslip)
    on_rig = rig_instant(along, start.states[:, :N_RIG], planar_inputs_of(there)[0])
    # The rig finds the same car at rest: rates of Newton's last step, 1e-9.
    assert_allclose(on_rig.rates[0, 0, 7:], 0.0, atol=1e-7)
    assert_allclose(on_rig.outputs[0, 0, :4], there.outputs[0, 0, :4], rtol=1e-12)


def _kerb_road(car: Car) -> tuple[RoadProfile, DriveRoad]:
    profile = kerbed_straight(
        kerb=HalfSineKerb(height=0.03, length=1.0), start=8.0, side=Side.RIGHT, length=60.0, spacing=0.01
    )
    return profile, lay_drive_road(car, profile)


@pytest.mark.parametrize("kerb", [False, True], ids=["level road", "kerb"])
def test_braking_turn(car_with: CarWith, kerb: bool) -> None:
    # Drag on the road pitches no car, so that it does not matter that the rig takes the whole of it.
    aero = {"aero.map.rear_downforce": {"constant": 1.0}, "aero.map.drag": {"constant": 0.9}}
    car = car_with({**aero, "aero.drag_height": 0.0})
    driven = made_ready([car])
    profile, road = _kerb_road(car) if kerb else (None, LEVEL_ROAD)
    start = settle_drive(driven.parameters, driven.engines, speed=30.0)
    time = np.arange(0.0, 1.5, 0.01)
    drive = run_drive(driven.parameters, driven.engines, braking_turn(time, STEP), start, road=road)
    at_steps = planar_inputs_of(drive)
    instants = np.arange(at_steps.shape[0]) * STEP
    halves = half_steps(float(instants[-1]), STEP)
    inputs = CubicSpline(instants, at_steps)(halves)
    inputs[0] = at_steps[0]
    if profile is not None:
        states, rates = drive.states[0], drive.rates[0]
        front = CubicSpline(instants, states[:, X.distance])(halves) - start.states[0, X.distance]
        along = CubicSpline(instants, rates[:, X.distance])(halves)
        lay_road(inputs, car, profile, distance=front, speed=along)
    rig = run_rig(driven.parameters, RigMotion(name="as driven", step=STEP, inputs=inputs, store_every=EVERY))
    static = 3000.0
    # Corners of the controls between half steps cost the splines that carry the motion over 1e-5 of the load.
    assert_allclose(rig.outputs[0, :, :4], drive.outputs[0, :, :4], rtol=0.0, atol=1e-4 * static)
    assert_allclose(rig.states[0, :, :7], drive.states[0, :, :7], rtol=0.0, atol=1e-6)
    if kerb:
        assert np.ptp(drive.outputs[0, :, 1]) > 0.5 * static  # the kerb was met


def test_jacking_differs_by_what_the_rig_must_guess(full_car: Car) -> None:
    """With roll centres above the road, loads differ by the jacking of the force that is split otherwise."""
    driven = made_ready([full_car])
    start = settle_drive(driven.parameters, driven.engines, speed=30.0, lateral_acceleration=7.0)
    drivers = np.array([[start.steer[0], 1.0, start.throttle[0]]])
    there = drive_instant(driven.parameters, start.states, driven.engines, drivers)
    on_rig = rig_instant(driven.parameters, start.states[:, :N_RIG], planar_inputs_of(there)[0])
    split = slice(O.lateral_force, O.lateral_force + 4)
    otherwise = np.max(np.abs(on_rig.outputs[0, 0, split] - there.outputs[0, 0, split]))
    jacking = slice(O.jacking_force, O.jacking_force + 4)
    moved = np.abs(on_rig.outputs[0, 0, jacking] - there.outputs[0, 0, jacking])
    # The rig shares by load; at one slip angle stiffness per load falls by a fifth from inner to outer
    # tyre. The force lines of the wheels rise by up to 0.2 (2 h_rc / t, and its change with travel).
    assert otherwise < 0.2 * np.max(np.abs(there.outputs[0, 0, split]))
    assert np.max(moved) < 0.2 * otherwise
