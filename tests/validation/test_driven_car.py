"""The drive against a car written a second time: steady turns and step steers, also with a wheel in the air.

The second car, what is in it and where its equations come from: tests/models/second_car.py. Cars are
invented.
"""

from typing import Any

import numpy as np
import pytest
from numpy.testing import assert_allclose
from numpy.typing import NDArray
from second_car import SecondCar, SteadyState

from fourpatch.car.car import Car
from fourpatch.car.demo import demo_car, demo_names
from fourpatch.car.estimate import CarBrief, estimate_car
from fourpatch.events.drive import drive
from fourpatch.events.steady_circle import SteadyCircle, SteadyTurns, steady_circle, steady_turn
from fourpatch.events.step_steer import StepSteer
from fourpatch.physics.full_car import SLIDING
from fourpatch.physics.layout import O, X, Y

Vector = NDArray[np.float64]

# Cars


BRIEF = {
    "name": "estimated saloon, invented",
    "mass": 1500.0,
    "front_weight_share": 0.55,
    "wheelbase": 2.75,
    "driven": "all",
    "power": 150e3,
    "front_tyre": "205/50R16",
    "rear_tyre": "205/50R16",
    "grip": "road",
    "body": "saloon",
}
SPORTS = {
    **BRIEF,
    "name": "estimated sports car, invented",
    "mass": 1320.0,
    "front_weight_share": 0.43,
    "wheelbase": 2.5,
    "driven": "rear",
    "power": 400e3,
    "front_tyre": "300/680R18",
    "rear_tyre": "325/705R18",
    "grip": "slick",
    "body": "sports",
    "downforce": "moderate",
}
ESTIMATED = {"estimated saloon": BRIEF, "estimated sports": SPORTS}
NAMES = [*demo_names(), *ESTIMATED]


def car_called(name: str, changes: dict[str, Any] | None = None) -> Car:
    car = estimate_car(CarBrief.model_validate(ESTIMATED[name])) if name in ESTIMATED else demo_car(name)
    data = car.model_dump()
    for path, value in (changes or {}).items():
        *above, last = path.split(".")
        table = data
        for part in above:
            table = table[part]
        table[last] = value
    return Car.model_validate(data)


DIFFERENTIALS: list[dict[str, Any]] = [
    {"kind": "open"},
    {"kind": "locked"},
    {"kind": "viscous", "rate": 60.0},
    {"kind": "torque-biasing", "bias_ratio": 2.2, "preload": 20.0},
]
LIFTING: dict[str, tuple[str, dict[str, Any], int, float]] = {
    "free rear wheel": (
        "hatchback",
        {"rear.bar.rate": 200e3, "rear.droop_stop.gap": 0.006, "front.bump_stop.gap": 0.012},
        2,
        0.055,
    ),
    "free front wheel": (
        "coupe",
        {"front.bar.rate": 400e3, "rear.bar.rate": 0.0, "chassis.cg_height": 0.7},
        0,
        0.075,
    ),
    "locked rear wheel": (
        "coupe",
        {
            "front.bar.rate": 0.0,
            "rear.bar.rate": 400e3,
            "chassis.cg_height": 0.6,
            "driveline.rear_differential": {"kind": "locked"},
        },
        2,
        0.04,
    ),
}


# Steady turns


# The polynomials of physics/trig.py miss a force by 2e-9 of the load; near the limit a tyre's force grows by
# as little as half a load per slip.
SLIP = 1e-8


def assert_steady_turns_agree(turn: SteadyTurns, second: SteadyState) -> None:
    states, outputs = turn.start.states[0], turn.history.outputs[0, 0]
    speed = second.planar[0]
    assert_allclose(states[X.slip : X.slip + 4], second.slip, rtol=0.0, atol=SLIP)
    assert_allclose(states[X.slip_angle : X.slip_angle + 4], second.tan_slip_angle, rtol=0.0, atol=SLIP)
    # Steer is a difference of two slip angles; velocities are slips times speed.
    assert_allclose(turn.start.steer[0], second.steer, rtol=0.0, atol=2.0 * SLIP)
    assert_allclose(states[X.forward_velocity : X.yaw_rate + 1], second.planar, rtol=0.0, atol=SLIP * speed)
    assert_allclose(states[X.spin : X.spin + 4], second.spin, rtol=2.0 * SLIP)
    # 2e-9 of four loads, and a height and a length of the car for a moment's arm
    weight = second.contact.load.sum()
    for slot, force in (
        (O.tyre_load, second.contact.load),
        (O.lateral_force, second.contact.sideways),
        (O.longitudinal_force, second.contact.forward),
    ):
        assert_allclose(outputs[slot : slot + 4], force, rtol=0.0, atol=1e-8 * weight)
    assert_allclose(outputs[O.drag], second.contact.drag, rtol=1e-8)
    # forces of that size on four springs of 25 N/mm
    assert_allclose(states[Y.heave : Y.wheel + 4], second.q, rtol=0.0, atol=1e-8 * weight / 1e5)


def both_ways(car: Car, lateral_acceleration: float, radius: float) -> tuple[SteadyTurns, SteadyState]:
    turn = steady_turn(car, lateral_acceleration=lateral_acceleration, radius=radius)
    return turn, SecondCar(car).steady(lateral_acceleration, radius)


@pytest.mark.parametrize("name", NAMES)
def test_steady_turns(name: str) -> None:
    """From half of the limit to 97 % of it, in tight turns and wide ones, to both sides."""
    car = car_called(name)
    for radius in (40.0, 150.0):
        limit = steady_circle(car, SteadyCircle(radius=radius)).lateral_acceleration[-1]
        for share in (0.5, -0.97):
            assert_steady_turns_agree(*both_ways(car, share * limit, radius))


def test_a_steady_turn_of_a_car_in_which_every_part_does_something(full_car: Car) -> None:
    assert_steady_turns_agree(*both_ways(full_car, 9.0, 80.0))


@pytest.mark.parametrize("differential", DIFFERENTIALS, ids=lambda given: str(given["kind"]))
def test_steady_turns_on_other_differentials(differential: dict[str, Any]) -> None:
    car = car_called("coupe", {"driveline.rear_differential": differential})
    for lateral_acceleration in (4.0, 10.5):
        assert_steady_turns_agree(*both_ways(car, lateral_acceleration, 40.0))


@pytest.mark.parametrize("case", LIFTING)
def test_steady_turns_with_a_wheel_in_the_air(case: str) -> None:
    name, changes, lifted, _ = LIFTING[case]
    car = car_called(name, changes)
    limit = steady_circle(car, SteadyCircle(radius=50.0)).lateral_acceleration[-1]
    turn, second = both_ways(car, 0.97 * limit, 50.0)
    assert second.contact.load[lifted] == 0.0
    assert_steady_turns_agree(turn, second)


# Step steers


TIMED = {"ramp_time": 0.1, "hold": 1.0}
TIMES = np.array([0.1, 0.15, 0.2, 0.3, 0.45, 0.7, 1.1])  # s, from the beginning of the steer


def assert_step_steers_agree(car: Car, event: StepSteer) -> Vector:
    """Compare, and return the loads of the drive."""
    run = drive([car], event)
    full, second = run.steer_factors[0], SecondCar(car)
    states = second.answer(second.steady(0.0, None, event.speed), lambda t: full * min(t / 0.1, 1.0), TIMES)
    stored = np.rint((0.2 + TIMES) / run.controls.interval).astype(int)
    driven = run.history.states[0, stored]
    for mine, theirs in (
        (slice(0, 7), slice(Y.heave, Y.wheel + 4)),
        (slice(14, 15), slice(X.forward_velocity, X.forward_velocity + 1)),
        (slice(15, 16), slice(X.lateral_velocity, X.lateral_velocity + 1)),
        (slice(16, 17), slice(X.yaw_rate, X.yaw_rate + 1)),
        (slice(25, 29), slice(X.slip_angle, X.slip_angle + 4)),
    ):
        # LSODA keeps to 1e-7 step by step, some ten of them while the car remembers
        size = np.abs(driven[:, theirs]).max()
        assert_allclose(states[:, mine], driven[:, theirs], rtol=0.0, atol=1e-6 * size)
    # A clutch that lets go within a step of the drive, 1 ms, is noticed at the step's stages alone: up to
    # half of it late, of the tenth of a second in which slips grow, and forgotten by half since: 1e-5 or so.
    slips = driven[:, X.slip : X.slip + 4]
    atol = 3e-5 * np.abs(slips).max()
    assert_allclose(states[:, 21:25], slips, rtol=0.0, atol=atol)
    assert_allclose(states[:, 17:21], driven[:, X.spin : X.spin + 4], rtol=atol)
    # Beyond, the drive's tyres may forget slip faster, which is not in the second car.
    slip_angles = driven[:, X.slip_angle : X.slip_angle + 4]
    assert max(np.abs(slips).max(), np.abs(slip_angles).max()) < SLIDING
    return run.history.outputs[0, :, O.tyre_load : O.tyre_load + 4]


@pytest.mark.parametrize("name", NAMES)
def test_step_steers(name: str) -> None:
    assert_step_steers_agree(car_called(name), StepSteer(speed=30.0, lateral_acceleration=6.0, **TIMED))


def test_a_step_steer_of_a_car_in_which_every_part_does_something(full_car: Car) -> None:
    assert_step_steers_agree(full_car, StepSteer(speed=35.0, lateral_acceleration=9.0, **TIMED))


@pytest.mark.parametrize("differential", DIFFERENTIALS, ids=lambda given: str(given["kind"]))
def test_step_steers_on_other_differentials(differential: dict[str, Any]) -> None:
    car = car_called("coupe", {"driveline.rear_differential": differential})
    assert_step_steers_agree(car, StepSteer(speed=25.0, lateral_acceleration=7.0, **TIMED))


@pytest.mark.parametrize("case", LIFTING)
def test_a_step_steer_lifts_a_wheel(case: str) -> None:
    name, changes, lifted, angle = LIFTING[case]
    loads = assert_step_steers_agree(
        car_called(name, changes), StepSteer(speed=25.0, road_wheel_angle=angle, **TIMED)
    )
    assert loads[:, lifted].min() == 0.0
