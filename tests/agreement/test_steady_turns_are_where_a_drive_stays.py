"""Steady turns found at once, and what else knows of them: statics, long drives, their neighbours."""

from collections.abc import Callable, Mapping
from typing import Any

import numpy as np
import pytest
from numpy.testing import assert_allclose

from fourpatch.analysis.statics import statics
from fourpatch.analysis.steady_cornering import steady_cornering
from fourpatch.analysis.step_steer import step_steer_values
from fourpatch.car.car import Car
from fourpatch.car.demo import demo_car, demo_names
from fourpatch.errors import SolveError
from fourpatch.events.braking_in_a_turn import BrakingInATurn, brake_in_a_turn
from fourpatch.events.drive import drive, drive_from
from fourpatch.events.drive_inputs import controls_in_time
from fourpatch.events.drive_start import settle_drive
from fourpatch.events.steady_circle import SteadyCircle, steady_circle, steady_turn
from fourpatch.events.step_steer import StepSteer
from fourpatch.physics.layout import N_DRIVE, O, X, Y

CarWith = Callable[[Mapping[str, Any]], Car]

PLACE = (X.distance, X.offset, X.heading)


@pytest.mark.parametrize(
    "changes",
    [
        {},
        {"front.bar": {"rate": 20e3}, "rear.bar": {"rate": 8e3}},
        {"chassis.cg_height": 0.35, "front.spring.rate": 90e3},
    ],
    ids=["plain", "bars", "low"],
)
def test_roll_gradient_is_that_of_statics(car_with: CarWith, changes: dict[str, Any]) -> None:
    car = car_with(changes)
    turn = steady_turn(car, lateral_acceleration=0.05, speed=30.0)
    # Camber thrust and load sensitivity change forces, not their sum; slopes by differences of 1e-7: 1e-5.
    assert_allclose(turn.state_slopes[0, Y.roll], statics(car).roll.gradient, rtol=2e-5)


@pytest.mark.parametrize("lateral_acceleration", [6.0, -6.0])
def test_a_car_put_into_a_steady_turn_stays_in_it(full_car: Car, lateral_acceleration: float) -> None:
    turn = steady_turn(full_car, lateral_acceleration=lateral_acceleration, radius=80.0)
    controls = controls_in_time(np.array([0.0, 3.0]), name="stay", step=1e-3, holding=np.ones(2))
    states = drive_from(turn.start, turn.driven, controls).history.states[0]
    kept = [k for k in range(N_DRIVE) if k not in PLACE]
    # Newton's last step, 1e-10, times the rates that lead away from it
    assert_allclose(states[-1, kept], turn.start.states[0, kept], rtol=0.0, atol=1e-6)
    place = states[:, [X.distance, X.offset]]
    course = turn.sideslip[0]
    centre = place[0] + 80.0 * np.sign(lateral_acceleration) * np.array([-np.sin(course), np.cos(course)])
    assert_allclose(np.linalg.norm(place - centre, axis=1), 80.0, rtol=1e-7)


def test_a_long_step_steer_ends_in_the_steady_turn(car_with: CarWith) -> None:
    """The throttle is held, so the car slows until drag and tyres leave as much as before: minutes."""
    car = car_with({"aero.map.drag": {"constant": 1.0}, "aero.map.front_downforce": {"constant": 0.5}})
    run = drive([car], StepSteer(speed=30.0, lateral_acceleration=4.0, hold=30.0))
    end, outputs = run.history.states[0, -1], run.history.outputs[0, -1]
    speed = float(np.hypot(end[X.forward_velocity], end[X.lateral_velocity]))
    lateral = float(end[X.forward_velocity] * end[X.yaw_rate])
    turn = steady_turn(car, lateral_acceleration=lateral, speed=speed)
    # What the car still slows by, in parts of what it corners with
    slowing = abs(run.history.rates[0, -1, X.forward_velocity]) / lateral
    assert 1e-9 < slowing < 1e-2
    assert_allclose(turn.start.steer[0], run.steer[0, -1], rtol=slowing)
    for slot in (X.yaw_rate, Y.roll, X.spin, X.spin + 3):
        assert_allclose(turn.start.states[0, slot], end[slot], rtol=slowing)
    assert_allclose(turn.sideslip[0], np.arctan2(end[X.lateral_velocity], end[X.forward_velocity]), rtol=0.02)
    force = car.chassis.mass * abs(run.history.rates[0, -1, X.forward_velocity])
    pull = turn.history.outputs[0, 0, O.rear_drive_force] - outputs[O.rear_drive_force]
    assert_allclose(pull, force, rtol=0.05)
    values = step_steer_values(run)[0]
    assert_allclose(values.understeer_gradient, turn.understeer_gradient[0], rtol=1e-2)


@pytest.mark.parametrize("held", [{"radius": 60.0}, {"speed": 25.0}], ids=["radius", "speed"])
def test_slopes_are_those_of_neighbouring_turns(full_car: Car, held: dict[str, float]) -> None:
    turns = steady_circle(full_car, SteadyCircle(**held, step=0.1, largest_lateral_acceleration=6.0))
    series, at = steady_cornering(turns), turns.lateral_acceleration
    inner = slice(1, -1)
    beyond = (series.road_wheel_angle - series.ackermann_angle).values
    for values, slopes in (
        (beyond, series.understeer_gradient.values),
        (series["roll"].values, series.roll_gradient.values),
        (turns.curvature, turns.curvature_slopes),
        (turns.sideslip, turns.sideslip_slopes),
    ):
        # Central differences of 0.1 m/s^2 err by a sixth of the third slope: 1e-4 of the largest here. Slopes
        # come from differences of 1e-7 of rates rounded at 1e-15: 1e-8.
        differences = np.gradient(values, at)[inner]
        assert_allclose(slopes[inner], differences, rtol=2e-3, atol=2e-4 * np.max(np.abs(slopes)) + 1e-8)
    if "radius" in held:
        assert_allclose(turns.curvature, 1.0 / 60.0, rtol=1e-9)
    else:
        assert_allclose(turns.speed, 25.0, rtol=1e-9)
    # a turn is a state without rates
    rates = np.delete(turns.history.rates[0], PLACE, axis=1)
    assert_allclose(rates, 0.0, atol=1e-6)


@pytest.mark.parametrize("radius", [25.0, 100.0])
@pytest.mark.parametrize("name", demo_names())
def test_what_a_steady_circle_holds_is_found_alone(name: str, radius: float) -> None:
    """Every turn up to the last, and none past it: the same one, not one in which an axle slides."""
    car = demo_car(name)
    circle = steady_circle(car, SteadyCircle(radius=radius))
    last = circle.lateral_acceleration.size - 1
    for place in (last // 2, int(0.85 * last), last):
        lateral = float(circle.lateral_acceleration[place])
        turn = steady_turn(car, lateral_acceleration=lateral, radius=radius)
        # Both are Newton's: its last step, 1e-10, over the slope at the limit
        assert_allclose(turn.start.steer, circle.start.steer[place], rtol=1e-6)
        assert_allclose(turn.sideslip, circle.sideslip[place], rtol=1e-6)
        start = settle_drive(
            circle.driven.parameters,
            circle.driven.engines,
            speed=float(circle.start.states[place, X.forward_velocity]),
            lateral_acceleration=lateral,
        )
        assert_allclose(start.steer, circle.start.steer[place], rtol=1e-5)
    beyond = float(circle.lateral_acceleration[-1]) + 0.1
    with pytest.raises(SolveError, match=r"cannot stay on a circle of \d+ m at .*: its tyres hold up to"):
        steady_turn(car, lateral_acceleration=beyond, radius=radius)


def test_braking_begins_in_any_turn_a_steady_circle_holds() -> None:
    """Where a driver trail-brakes: at 97 % of what the car can do."""
    car = demo_car("gt")
    most = steady_circle(car, SteadyCircle(radius=60.0)).lateral_acceleration[-1]
    event = BrakingInATurn(
        radius=60.0, lateral_acceleration=0.97 * float(most), largest_deceleration=1.0, duration=1.0
    )
    braked = brake_in_a_turn(car, event)
    assert_allclose(braked.circle.lateral_acceleration, 0.97 * most, rtol=1e-9)
    assert len(braked.runs) == 2
