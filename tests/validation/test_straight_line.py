"""Straight running against closed forms: constant power, top speed, ideal brake distribution.

Source: closed forms of elementary mechanics, with examples computed apart from this project's code. The load
transfer m a h / L is in Gillespie, Fundamentals of Vehicle Dynamics, 1992, chapters 1 and 3 (from memory).
"""

from collections.abc import Callable, Mapping
from typing import Any

import numpy as np
import pytest
from numpy.testing import assert_allclose
from numpy.typing import NDArray

from fourpatch.car.car import Car
from fourpatch.car.pack import pack
from fourpatch.events.drive import run_drive
from fourpatch.events.drive_inputs import Engines, controls_in_time
from fourpatch.events.drive_start import settle_drive, stable_drive_step
from fourpatch.physics.integrate import History
from fourpatch.physics.layout import CORNER_BASE, C, O, X

Array = NDArray[np.float64]
CarWith = Callable[[Mapping[str, Any]], Car]

POWER, MASS, RADIUS, SPIN_INERTIA = 200e3, 1000.0, 0.3, 0.5
SPACING = 0.5  # of the engine table, rad/s


def constant_power() -> Engines:
    """200 kW at the wheels at any speed, nothing with the throttle closed."""
    speed = np.arange(0.0, 420.0, SPACING)
    pull = POWER / np.maximum(speed, SPACING)
    return Engines(torque=np.column_stack([pull, np.zeros_like(pull)])[None], spacing=SPACING)


def stiff_grip(stiffness: float) -> dict[str, Any]:
    """A tyre of much grip whose slip stiffness is in proportion to load."""
    coefficients = {"pCx1": 1.6, "pDx1": 3.0, "pKx1": stiffness, "pCy1": 1.3, "pDy1": -3.0, "pKy1": -30.0, "pKy2": 2.0, "pKy4": 2.0}  # fmt: skip # noqa: E501
    return {"kind": "magic-formula", "nominal_load": 3000.0, "coefficients": coefficients}


def straight_car(car_with: CarWith, *, drag_area: float = 0.0) -> Car:
    """Driven by all four wheels and low, so that all carry and slip alike."""
    changes: dict[str, Any] = {
        "chassis.mass": MASS,
        "chassis.cg_height": 0.1,
        "aero.drag_height": 0.1,
        "driveline.front_drive_share": 0.5,
        "aero.map.drag": {"constant": drag_area},
    }
    for end in ("front", "rear"):
        changes |= {
            f"{end}.unsprung_cg_height": 0.1,
            f"{end}.wheel_spin_inertia": SPIN_INERTIA,
            f"{end}.tyre.radius": RADIUS,
            f"{end}.tyre.grip": stiff_grip(60.0),
            f"{end}.tyre.relaxation_length_longitudinal": 0.05,
        }
    return car_with(changes)


STIFFNESS = 60.0 * MASS * 9.81  # of all tyres together, N per slip


def full_throttle(car: Car, start: float, end: float) -> History:
    parameters = pack(car)[None]
    engines = constant_power()
    step = stable_drive_step(parameters, fastest=70.0)
    time = np.array([0.0, end])
    controls = controls_in_time(time, name="full throttle", step=step, throttle=np.ones(2))
    rolling = settle_drive(parameters, engines, speed=start)
    return run_drive(parameters, engines, controls, rolling)


def test_constant_power_without_drag(car_with: CarWith) -> None:
    """From 30 to 60 m/s: t = m (v^2 - v0^2) / 2P = 6.75 s, s = m (v^3 - v0^3) / 3P = 315 m."""
    assert MASS * (60.0**2 - 30.0**2) / (2.0 * POWER) == 6.75
    assert_allclose(MASS * (60.0**3 - 30.0**3) / (3.0 * POWER), 315.0, rtol=1e-15)
    car = straight_car(car_with)
    # The wheels turn too, and slip F / K takes F^2 v / K = P^2 / (K v) of the power, so that
    # m v v' = P / (1 + P / (K v)): both integrate in closed form.
    mass = MASS + 4.0 * SPIN_INERTIA / RADIUS**2
    time = mass * (60.0**2 - 30.0**2) / (2.0 * POWER) + mass * 30.0 / STIFFNESS
    way = mass * (60.0**3 - 30.0**3) / (3.0 * POWER) + mass * (60.0**2 - 30.0**2) / (2.0 * STIFFNESS)
    history = full_throttle(car, 30.0, 8.0)
    speed, distance = history.states[0, :, X.forward_velocity], history.states[0, :, X.distance]
    instants = np.arange(speed.size) * 8.0 / (speed.size - 1)
    reached = float(np.interp(60.0, speed, instants))
    # Left out of the closed form, as parts of a slip of 1 %: the tyre's curve, up to (F / F_peak)^2 / 3,
    # which is 1.5 %,
    # and load transfer squared, 0.3 %. And at the start the spin-up, half a wheel's 10 ms of slip.
    assert_allclose(reached, time, rtol=2e-4)
    assert_allclose(np.interp(reached, instants, distance) - distance[0], way, rtol=2e-4)


def test_top_speed(car_with: CarWith) -> None:
    """P = k v^3: 69.336127 m/s for 200 kW and k = 0.6; by all four tyres' slip, a little less."""
    k = 0.6
    ideal = (POWER / k) ** (1.0 / 3.0)
    assert_allclose(ideal, 69.336127, rtol=1e-8)
    car = straight_car(car_with, drag_area=k / (0.5 * 1.2))
    throttle = settle_drive(pack(car)[None], constant_power(), speed=69.0).throttle[0]
    drag = k * 69.0**2
    # As parts of a slip of 0.5 %: load transfer squared, 5e-4; the tyre's curve, 3e-3. The table, 6e-7.
    assert_allclose(throttle, drag * 69.0 / POWER * (1.0 + drag / STIFFNESS), rtol=2e-5)
    speed = full_throttle(car, 68.0, 90.0).states[0, :, X.forward_velocity]
    drags = k * speed[-1] ** 2  # approached as exp(-3 k v t / m): 1e-5 of the last 1.3 m/s is left
    assert_allclose(speed[-1], ideal * (1.0 + drags / STIFFNESS) ** (-1.0 / 3.0), rtol=2e-5)


def test_ideal_brake_distribution(car_with: CarWith) -> None:
    """Braking at 9 m/s^2 with the ideal share, all four tyres use the same part of their load.

    m 1200 kg, L 2.60 m, centre of gravity 1.25 m behind the front axle and 0.50 m high.
    """
    light = 0.1  # kg m^2
    car = car_with(
        {
            "chassis.mass": 1200.0,
            "chassis.wheelbase": 2.6,
            "chassis.front_weight_share": 1.35 / 2.6,
            "chassis.cg_height": 0.5,
            "driveline.overrun_torque": 0.0,
            **{f"{end}.wheel_spin_inertia": light for end in ("front", "rear")},
            **{f"{end}.tyre.radius": RADIUS for end in ("front", "rear")},
            **{f"{end}.tyre.grip": stiff_grip(30.0) for end in ("front", "rear")},
        }
    )
    share, slowing = 0.695660, 9.0
    # the brakes slow the wheels' spin too, on each by I a / R^2 as a force at the ground
    spins = 2.0 * light * slowing / RADIUS**2
    force = 1200.0 * slowing
    front, rear = share * force + spins, (1.0 - share) * force + spins
    brakes = {"full_pedal_torque": 2.0 * (front + rear) * RADIUS, "front_share": front / (front + rear)}
    car = car.model_copy(update={"brakes": car.brakes.model_copy(update=brakes)})
    parameters = pack(car)[None]
    engines = Engines(torque=np.zeros((1, 2, 2)), spacing=100.0)
    engines.torque[:, :, 0] = 1e3  # something for the settled throttle to act on
    time = np.array([0.0, 0.1, 0.3, 2.0])
    step = stable_drive_step(parameters, fastest=40.0)
    controls = controls_in_time(time, name="braking", step=step, brake=np.array([0.0, 0.0, 0.5, 0.5]))
    history = run_drive(parameters, engines, controls, settle_drive(parameters, engines, speed=40.0))
    outputs, states = history.outputs[0, -1], history.states[0, -1]
    # By a slip of 3 % the wheels turn, and so slow, less than the car: 3 % of the 40 N of their spin-down.
    assert_allclose(outputs[O.longitudinal_acceleration], -slowing, rtol=3e-4)
    loads = outputs[O.tyre_load : O.tyre_load + 4]
    assert_allclose(loads[:2].sum(), 8189.3077, rtol=3e-4)
    assert_allclose(loads[2:].sum(), 3582.6923, rtol=6e-4)
    used = outputs[O.longitudinal_force : O.longitudinal_force + 4] / loads
    assert_allclose(used, -slowing / 9.81, rtol=1e-3)
    assert_allclose(states[X.slip : X.slip + 4], states[X.slip], rtol=2e-3)


@pytest.mark.parametrize("front_share", [0.55, 0.85])
def test_the_overbraked_axle_locks_first(car_with: CarWith, front_share: float) -> None:
    """More rear brake than ideal locks the rear axle first, more front brake the front."""
    car = car_with({"brakes.front_share": front_share, "brakes.full_pedal_torque": 7000.0})
    parameters = pack(car)[None]
    engines = Engines(torque=np.ones((1, 2, 2)) * np.array([1e3, 0.0]), spacing=100.0)
    time = np.array([0.0, 3.0])
    step = stable_drive_step(parameters, fastest=40.0)
    controls = controls_in_time(time, name="braking", step=step, brake=np.array([0.0, 1.0]))
    history = run_drive(parameters, engines, controls, settle_drive(parameters, engines, speed=40.0))
    radius = parameters[0, CORNER_BASE + C.tyre_radius]
    rim = history.states[0, :, X.spin : X.spin + 4] * radius
    locked = rim < 0.1 * history.states[0, :, [X.forward_velocity]].T
    first = [int(np.argmax(locked[:, axle])) or locked.shape[0] for axle in (0, 2)]
    # the ideal share at the peak friction of this tyre, 1.47 along, is (b + mu h) / L = 0.78
    assert (first[1] < first[0]) == (front_share < 0.78)
