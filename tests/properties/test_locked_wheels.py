"""What holds for any car whose wheels are locked: it goes on the way it goes, however it steers."""

from collections.abc import Callable, Mapping
from math import radians
from typing import Any

import numpy as np
from hypothesis import example, given
from hypothesis import strategies as st

from fourpatch.car.car import Car
from fourpatch.car.pack import pack
from fourpatch.events.drive import run_drive
from fourpatch.events.drive_inputs import controls_in_time, engines_of
from fourpatch.events.drive_start import settle_drive, stable_drive_step
from fourpatch.physics.layout import P, X

CarWith = Callable[[Mapping[str, Any]], Car]


def grip(friction: float, peak: float, ratio: float) -> dict[str, Any]:
    return {
        "kind": "compact",
        "nominal_load": 3000.0,
        "peak_friction": friction,
        "load_sensitivity": 0.1,
        "peak_slip_angle": peak,
        "cornering_stiffness": 1.9 * friction / peak,
        "peak_slip_ratio": ratio,
        "slip_stiffness": 2.3 * friction / ratio,
    }


@given(
    friction=st.floats(0.8, 1.9),
    peak=st.floats(0.08, 0.2),
    ratio=st.floats(0.06, 0.14),
    degrees=st.floats(1.0, 8.0) | st.floats(-8.0, -1.0),
    front_alone=st.booleans(),
)
@example(friction=1.9, peak=0.08, ratio=0.06, degrees=3.0, front_alone=True)
@example(friction=1.5, peak=0.1, ratio=0.09, degrees=-3.0, front_alone=False)
def test_locked_steered_wheels_do_not_turn_the_car(
    car_with: CarWith, friction: float, peak: float, ratio: float, degrees: float, front_alone: bool
) -> None:
    """Yaw rate over what rolling wheels would give without slip, speed x angle / wheelbase."""
    tyre = grip(friction, peak, ratio)
    car = car_with({"front.tyre.grip": tyre, "rear.tyre.grip": tyre, "brakes.full_pedal_torque": 3e4})
    parameters, engines = pack(car)[None], engines_of([car])
    parameters[0, P.brake_front_share] = 1.0 if front_alone else 0.5
    step = stable_drive_step(parameters, fastest=40.0)
    time, angle = np.array([0.0, 0.1, 0.3, 0.6, 0.7, 1.2]), radians(degrees)
    controls = controls_in_time(
        time,
        name="locked wheels",
        step=step,
        brake=np.array([0.0, 0.0, 1.0, 1.0, 1.0, 1.0]),
        road_wheel_angle=np.array([0.0, 0.0, 0.0, 0.0, angle, angle]),
    )
    history = run_drive(parameters, engines, controls, settle_drive(parameters, engines, speed=35.0))
    states = history.states[0]
    assert np.all(np.abs(states[-1, X.spin : X.spin + 2]) < 1e-6)
    ratio_of_yaw = states[-1, X.yaw_rate] * car.chassis.wheelbase / (states[-1, X.forward_velocity] * angle)
    # Friction along is not friction across, so a wheel that stands at an angle brakes a few per mille
    # differently; with nothing that guides it a car of four locked wheels keeps what yaw that gave.
    assert abs(ratio_of_yaw) < 0.02
