from dataclasses import replace

import numpy as np
import pytest
from numpy.testing import assert_allclose

from fourpatch.analysis.braking_in_a_turn import turn_braked_values
from fourpatch.car.car import Car
from fourpatch.errors import SolveError
from fourpatch.events.braking_in_a_turn import BrakingInATurn, TurnBraked, brake_in_a_turn
from fourpatch.events.drive import drive_from
from fourpatch.physics.layout import O, X
from fourpatch.runs.history import turn_braked_dataset


@pytest.fixture(scope="module")
def braked(full_car: Car) -> TurnBraked:
    return brake_in_a_turn(full_car, BrakingInATurn(step=3.0, largest_deceleration=6.0))


def test_without_a_brake_it_stays_on_the_circle(braked: TurnBraked) -> None:
    """The throttle held as well: the steady circle goes on."""
    controls = braked.event.controls(1e-3, pedal=0.0)
    held = replace(controls, holding=np.ones_like(controls.holding))
    run = drive_from(braked.circle.start, braked.circle.driven, held)
    values = turn_braked_values(replace(braked, asked=(0.0,), runs=(run,)))[0]
    # Newton's last step, 1e-10, times the rates that lead away from it; over 45 m of path
    assert_allclose(values.yaw_rate_ratio, 1.0, rtol=1e-7)
    assert_allclose(values.largest_yaw_rate_ratio, 1.0, rtol=1e-7)
    assert_allclose(values.mean_deceleration, 0.0, atol=1e-6)
    assert_allclose(values.sideslip_change, 0.0, atol=1e-7)
    assert_allclose(values.path_deviation, 0.0, atol=1e-5)
    # u r over v^2 / R: the cosine of the sideslip angle
    assert_allclose(values.lateral_acceleration_ratio, np.cos(braked.circle.sideslip[0]), rtol=1e-7)


def test_right_is_the_mirror_of_left(full_car: Car, braked: TurnBraked) -> None:
    right = brake_in_a_turn(full_car, BrakingInATurn(step=3.0, largest_deceleration=6.0, direction="right"))
    for one, other in zip(turn_braked_values(braked), turn_braked_values(right), strict=True):
        # two steady starts by Newton's method and two seconds of drive: rounding
        assert_allclose(one.yaw_rate_ratio, other.yaw_rate_ratio, rtol=1e-7)
        assert_allclose(one.sideslip_change, -other.sideslip_change, rtol=1e-6, atol=1e-9)
        assert_allclose(one.path_deviation, other.path_deviation, rtol=1e-5)
        swapped = {"FL": "FR", "FR": "FL", "RL": "RR", "RR": "RL"}
        assert one.lock_up == {name: other.lock_up[swapped[name]] for name in one.lock_up}


def test_the_brakes_add_what_is_asked_for(full_car: Car) -> None:
    """Brake force over mass is the pedal's torque over the wheels' radii, beside drag; no engine here."""
    line = full_car.driveline.model_copy(update={"overrun_torque": 0.0})
    event = BrakingInATurn(step=1.0, largest_deceleration=3.0, lateral_acceleration=1.0)
    slowing = []
    for run in brake_in_a_turn(full_car.model_copy(update={"driveline": line}), event).runs:
        now = int(np.searchsorted(run.time, 0.2 + event.rise_time + 0.2))
        slowing.append(-run.history.outputs[0, now, O.longitudinal_acceleration])
    # The brakes slow the wheels too: 4 x 1 kg m^2 / R^2 of the car's 1290 kg.
    assert_allclose(np.diff(slowing), 1.0 / (1.0 + 4.0 / 0.3**2 / 1290.0), rtol=0.02)


def test_a_hard_brake_shifts_load_to_the_front_and_turns_the_car_in(braked: TurnBraked) -> None:
    values = turn_braked_values(braked)
    means = [one.mean_deceleration for one in values]
    assert means == sorted(means)
    assert all(one.largest_yaw_rate_ratio >= one.yaw_rate_ratio for one in values)
    for one, run in zip(values, braked.runs, strict=True):
        states, then = run.history.states[0], int(np.searchsorted(run.time, 1.2 - 1e-9))
        speed = np.hypot(states[:, X.forward_velocity], states[:, X.lateral_velocity])
        assert_allclose(one.mean_deceleration, speed[0] - speed[then], rtol=1e-4)
        assert_allclose(one.yaw_rate_ratio, states[then, X.yaw_rate] * 100.0 / speed[then], rtol=1e-6)
        # the circle's centre is where the perpendiculars on two chords of the first 0.2 s meet; 1e-7 of 100 m
        first, middle, last = states[[0, 50, 99]][:, [X.distance, X.offset]]
        chords = np.array([middle - first, last - middle])
        sums = np.array([middle @ middle - first @ first, last @ last - middle @ middle])
        centre = np.linalg.solve(2.0 * chords, sums)
        away = np.linalg.norm(states[then, [X.distance, X.offset]] - centre)
        assert_allclose(one.path_deviation, 100.0 - away, rtol=0.0, atol=1e-4)


def test_the_series_ends_at_the_full_pedal(full_car: Car) -> None:
    weak = full_car.model_copy(
        update={"brakes": full_car.brakes.model_copy(update={"full_pedal_torque": 1500.0})}
    )
    braked = brake_in_a_turn(weak, BrakingInATurn(step=1.0))
    mass = full_car.chassis.mass + full_car.fuel.mass
    assert_allclose(braked.asked[-1], 1500.0 / full_car.front.tyre.radius / mass, rtol=1e-12)
    assert braked.asked[:-1] == (0.0, 1.0, 2.0, 3.0)
    assert braked.runs[-1].controls.brake.max() == 1.0


def test_wheels_that_lock_and_cars_that_spin_are_told(full_car: Car) -> None:
    tail = full_car.model_copy(
        update={
            "brakes": full_car.brakes.model_copy(update={"full_pedal_torque": 9000.0, "front_share": 0.1})
        }
    )
    event = BrakingInATurn(lateral_acceleration=9.0, step=8.0, duration=4.0)
    values = turn_braked_values(brake_in_a_turn(tail, event))
    assert all(wheel.share == 0.0 for wheel in values[0].lock_up.values())
    assert values[1].lock_up["RL"].share > 0.0
    assert values[1].lock_up["FR"].share == 0.0
    assert values[1].spun
    assert not values[0].spun
    assert values[1].largest_yaw_rate_ratio > 1.5


def test_what_is_not_there_after_a_second_is_not_a_number(full_car: Car) -> None:
    event = BrakingInATurn(radius=10.0, lateral_acceleration=2.0, step=8.0)
    values = turn_braked_values(brake_in_a_turn(full_car, event))[1]
    assert np.isnan(values.yaw_rate_ratio)  # from 4.5 m/s it stands
    assert np.isfinite(values.largest_yaw_rate_ratio)


def test_a_circle_the_car_cannot_do_is_refused(full_car: Car) -> None:
    with pytest.raises(
        SolveError, match=r"^braking in a turn: the car cannot stay on a circle of 100 m at 18 m/s²"
    ):
        brake_in_a_turn(full_car, BrakingInATurn(lateral_acceleration=18.0))


def test_histories_stand_one_after_another(braked: TurnBraked) -> None:
    dataset = turn_braked_dataset(braked, "base")
    assert list(dataset.setup.values) == [f"base, brakes {force} m/s²" for force in ("0.0", "3.0", "6.0")]
    assert dataset.brake.dims == ("setup", "time")
    assert dataset.brake.attrs["units"] == "1"
    assert list(np.unique(dataset.phase.values)) == ["brake build-up", "braking", "steady circle"]
    assert_allclose(dataset.brake[0], 0.0, atol=0.0)
    # the throttle closes in every run, in the first one alone
    assert_allclose(dataset.throttle[:, 0], braked.circle.start.throttle[0])
    assert_allclose(dataset.throttle[:, -1], 0.0, atol=1e-12)
