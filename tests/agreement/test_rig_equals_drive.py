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
from fourpatch.physics.layout import N_INPUT, N_RIG, I, O, X
from fourpatch.track.kerb import HalfSineKerb, Side, kerbed_straight
from fourpatch.track.road import RoadProfile

Array = NDArray[np.float64]
CarWith = Callable[[Mapping[str, Any]], Car]

STEP, EVERY = 0.5e-3, 1


def planar_inputs_of(history: History) -> Array:
    """What the rig must do to move as the car was driven, along its path, one row per stored instant."""
    states, rates, outputs = history.states[0], history.rates[0], history.outputs[0]
    forward, sideways = states[:, X.forward_velocity], states[:, X.lateral_velocity]
    speed = np.hypot(forward, sideways)
    along, aside = outputs[:, O.longitudinal_acceleration], outputs[:, O.lateral_acceleration]
    inputs = np.zeros((states.shape[0], N_INPUT))
    inputs[:, I.speed] = speed
    inputs[:, I.longitudinal_acceleration] = (along * forward + aside * sideways) / speed
    inputs[:, I.lateral_acceleration] = (aside * forward - along * sideways) / speed
    inputs[:, I.yaw_acceleration] = rates[:, X.yaw_rate]
    inputs[:, I.path_curvature] = states[:, X.yaw_rate] / speed
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


@pytest.mark.parametrize("lateral_acceleration", [0.0, 5.0, -5.0, 9.0])
def test_steady_turn(full_car: Car, lateral_acceleration: float) -> None:
    """The rig, told nothing but the motion, finds the drive's slips, forces, loads and place."""
    driven = made_ready([full_car])
    start = settle_drive(
        driven.parameters, driven.engines, speed=40.0, lateral_acceleration=lateral_acceleration
    )
    drivers = np.array([[start.steer[0], 1.0, start.throttle[0]]])
    there = drive_instant(driven.parameters, start.states, driven.engines, drivers)
    on_rig = rig_instant(driven.parameters, start.states[:, :N_RIG], planar_inputs_of(there)[0])
    if lateral_acceleration == 0.0:
        # Straight ahead the rig does not look for the slip that holds speed, nor at what toe takes back.
        assert_allclose(on_rig.rates[0, 0, 7:], 0.0, atol=0.02)
        return
    # The rates of Newton's last step in the drive, 1e-9, and the search for slips, 1e-11 of a tangent whose
    # force rises by 1e5 N.
    assert_allclose(on_rig.rates[0, 0, 7:], 0.0, atol=1e-4)
    for slot in (O.tyre_load, O.lateral_force, O.longitudinal_force):
        found, driven_ = on_rig.outputs[0, 0, slot : slot + 4], there.outputs[0, 0, slot : slot + 4]
        assert_allclose(found, driven_, rtol=0.0, atol=0.05)
    for slot in (O.slip, O.slip_angle, O.steer, O.inclination):
        found, driven_ = on_rig.outputs[0, 0, slot : slot + 4], there.outputs[0, 0, slot : slot + 4]
        assert_allclose(found, driven_, rtol=0.0, atol=1e-5)


def _kerb_road(car: Car) -> tuple[RoadProfile, DriveRoad]:
    profile = kerbed_straight(
        kerb=HalfSineKerb(height=0.03, length=1.0), start=8.0, side=Side.RIGHT, length=60.0, spacing=0.01
    )
    return profile, lay_drive_road(car, profile)


@pytest.mark.parametrize("kerb", [False, True], ids=["level road", "kerb"])
def test_braking_turn(car_with: CarWith, kerb: bool) -> None:
    car = car_with({"aero.map.rear_downforce": {"constant": 1.0}, "aero.map.drag": {"constant": 0.9}})
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
    # The rig's tyres do not lag: sideslip comes up to 30 ms early, and so does what it moves of the load.
    assert_allclose(rig.outputs[0, :, :4], drive.outputs[0, :, :4], rtol=0.0, atol=0.02 * static)
    assert_allclose(rig.states[0, :, :7], drive.states[0, :, :7], rtol=0.0, atol=6e-4)
    if kerb:
        assert np.ptp(drive.outputs[0, :, 1]) > 0.5 * static  # the kerb was met
