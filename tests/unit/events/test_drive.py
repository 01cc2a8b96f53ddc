from collections.abc import Callable, Mapping
from pathlib import Path
from typing import Any

import numpy as np
import pytest
from numpy.testing import assert_allclose, assert_array_equal
from numpy.typing import NDArray
from pydantic import ValidationError

from fourpatch.analysis.steady_limits import top_speed
from fourpatch.analysis.step_steer import step_steer_values
from fourpatch.analysis.straight_braking import braking_values
from fourpatch.car.car import Car
from fourpatch.car.gravity import GRAVITY
from fourpatch.car.pack import pack
from fourpatch.errors import EventError, SolveError
from fourpatch.events.drive import DriveRun, drive, made_ready, run_drive
from fourpatch.events.drive_inputs import (
    LEVEL_ROAD,
    DriveRoad,
    Engines,
    controls_in_time,
    engines_of,
    lay_drive_road,
)
from fourpatch.events.drive_start import DriveStart, drive_instant, settle_drive, stable_drive_step
from fourpatch.events.run import stable_step
from fourpatch.events.steady_circle import steady_turn
from fourpatch.events.step_steer import StepSteer
from fourpatch.events.straight_braking import StraightBraking
from fourpatch.physics.integrate import LANES, History
from fourpatch.physics.layout import CORNER_BASE, N_CORNER, N_DRIVE, C, O, P, X, Y
from fourpatch.runs.channels import CHANNELS
from fourpatch.runs.history import drive_dataset, write_history
from fourpatch.track.kerb import FlatToppedKerb, HalfSineKerb, Side, kerbed_straight

Array = NDArray[np.float64]
CarWith = Callable[[Mapping[str, Any]], Car]

SPINS = slice(X.spin, X.spin + 4)
SLIPS = slice(X.slip, X.slip + 4)


def driven(
    car: Car,
    speed: float,
    time: Array,
    *,
    start: DriveStart | None = None,
    road: DriveRoad = LEVEL_ROAD,
    **series: Array,
) -> tuple[Array, History]:
    """Instants and history of one car, stored every step."""
    parameters, engines = pack(car)[None], engines_of([car])
    step = stable_drive_step(parameters, fastest=max(speed, 60.0))
    controls = controls_in_time(time, name="test", step=step, **series)
    start = start or settle_drive(parameters, engines, speed=speed)
    history = run_drive(parameters, engines, controls, start, road=road)
    return np.arange(history.states.shape[1]) * step, history


def radii(car: Car) -> Array:
    return np.array([pack(car)[CORNER_BASE + k * N_CORNER + C.tyre_radius] for k in range(4)])


# The controls


def test_controls_from_the_steering_wheel() -> None:
    time = np.array([0.0, 1.0])
    controls = controls_in_time(
        time, name="turn", step=0.01, steering_wheel_angle=np.array([0.0, 1.2]), steering_ratio=12.0
    )
    assert controls.steps == 100
    assert_allclose(controls.steer[[0, 100, 200]], [0.0, 0.05, 0.1], rtol=1e-14)
    assert_array_equal(controls.brake, 0.0)


@pytest.mark.parametrize(
    ("wrong", "said"),
    [
        pytest.param({"time": np.array([0.0, 0.0])}, "must begin at 0 s and rise", id="times"),
        pytest.param({"brake": np.array([0.0, 60.0])}, "brake runs from 0 to 60", id="brake in percent"),
        pytest.param({"throttle": np.array([-0.1, 0.0])}, "throttle runs from -0.1 to 0", id="throttle"),
        pytest.param({"steering_wheel_angle": np.zeros(2)}, "steering_ratio", id="ratio missing"),
    ],
)
def test_controls_that_cannot_be_meant(wrong: dict[str, Array], said: str) -> None:
    given = {"time": np.array([0.0, 1.0]), "name": "turn", "step": 1e-3, **wrong}
    with pytest.raises(EventError, match=said) as error:
        controls_in_time(**given)
    assert str(error.value).startswith("turn: ")


# The start


@pytest.mark.parametrize("lateral_acceleration", [0.0, 6.0, -6.0])
def test_a_settled_start_stays_as_it_is(full_car: Car, lateral_acceleration: float) -> None:
    parameters, engines = pack(full_car)[None], engines_of([full_car])
    start = settle_drive(parameters, engines, speed=30.0, lateral_acceleration=lateral_acceleration)
    time = np.array([0.0, 1.0])
    _, history = driven(full_car, 30.0, time, start=start, holding=np.ones(2))
    moving = [k for k in range(N_DRIVE) if k not in (X.distance, X.offset, X.heading)]
    # Newton's last step, 1e-10, times the rates that lead away from it
    assert_allclose(history.states[0, -1, moving], start.states[0, moving], rtol=0.0, atol=1e-6)
    assert 0.0 < start.throttle[0] < 1.0
    assert_allclose(history.states[0, -1, X.yaw_rate] * 30.0, lateral_acceleration, rtol=0.0, atol=1e-6)


def test_a_lopsided_car_is_held_straight(full_car: Car) -> None:
    chassis = full_car.chassis.model_copy(update={"cross_weight_share": 0.53, "cg_lateral_offset": 0.02})
    car = full_car.model_copy(update={"chassis": chassis})
    parameters, engines = pack(car)[None], engines_of([car])
    start = settle_drive(parameters, engines, speed=40.0)
    assert abs(start.steer[0]) > 1e-5
    _, history = driven(car, 40.0, np.array([0.0, 1.0]), start=start, holding=np.ones(2))
    assert abs(history.states[0, -1, X.yaw_rate]) < 1e-7


def test_no_steady_start_beyond_what_the_engine_holds(car_with: CarWith) -> None:
    car = car_with({"aero.map.drag": {"constant": 3.0}})
    with pytest.raises(
        SolveError, match=r"set-up 1 of 1 has no steady start: it would need \d+% throttle"
    ) as error:
        settle_drive(pack(car)[None], engines_of([car]), speed=50.0, name="step steer")
    assert str(error.value).startswith("step steer: ")
    assert "180 km/h" in str(error.value)


def test_no_steady_start_beyond_the_last_gear(car_with: CarWith) -> None:
    car = car_with({"aero.map.drag": {"constant": 0.5}})
    with pytest.raises(SolveError, match="at 252 km/h its engine is past its highest speed in top gear"):
        settle_drive(pack(car)[None], engines_of([car]), speed=70.0)


def test_no_steady_start_beyond_the_grip(car_with: CarWith) -> None:
    car = car_with({"chassis.cg_height": 0.3})
    with pytest.raises(SolveError, match=r"cannot roll steadily at 108 km/h and 16.0 m/s²"):
        settle_drive(pack(car)[None], engines_of([car]), speed=30.0, lateral_acceleration=16.0)


# The step


def test_the_step_is_a_millisecond_or_a_whole_part_of_it(car_with: CarWith) -> None:
    usual = pack(car_with({}))[None]
    assert stable_drive_step(usual, fastest=60.0) == 1e-3
    short = pack(car_with({"front.tyre.relaxation_length_lateral": 0.02}))[None]
    # 60 m/s over 20 mm and the letting go: 3500 1/s, of which 2500 fit into a millisecond
    assert stable_drive_step(short, fastest=60.0) == 0.5e-3
    light = pack(
        car_with({"front.wheel_spin_inertia": 0.1, "front.tyre.relaxation_length_longitudinal": 0.02})
    )
    assert stable_drive_step(light[None], fastest=20.0) < 1e-3
    assert stable_step(light[None]) == 1e-3


def test_the_step_follows_what_it_was_chosen_for(car_with: CarWith) -> None:
    """At the step chosen, light wheels on short tyres brake without swinging from step to step."""
    car = car_with({f"{end}.{name}": value for end in ("front", "rear") for name, value in LIGHT.items()})
    time = np.array([0.0, 0.2, 0.3, 1.0])
    _, history = driven(car, 60.0, time, brake=np.array([0.0, 0.0, 0.4, 0.4]))
    late = history.states[0, -200:, SPINS]
    assert np.max(np.abs(np.diff(late, n=2, axis=0))) < 1e-3


LIGHT = {
    "wheel_spin_inertia": 0.3,
    "tyre.relaxation_length_longitudinal": 0.03,
    "tyre.relaxation_length_lateral": 0.03,
}


# Low speed, standstill, lock-up, lift-off


def test_full_pedal_locks_all_wheels_and_stops_the_car(full_car: Car) -> None:
    car = full_car.model_copy(
        update={"brakes": full_car.brakes.model_copy(update={"full_pedal_torque": 14e3})}
    )
    time = np.array([0.0, 0.2, 0.25, 5.0])
    instants, history = driven(car, 25.0, time, brake=np.array([0.0, 0.0, 1.0, 1.0]))
    speed, spins = history.states[0, :, X.forward_velocity], history.states[0, :, SPINS]
    sliding = (speed < 15.0) & (speed > 3.0)
    assert_allclose(spins[sliding], 0.0, atol=1e-9)
    assert_allclose(history.states[0, sliding][:, SLIPS], -1.0, rtol=1e-2)
    stopped = instants[np.argmax(speed < 0.05)]
    # rebound on the tyres, then rest
    assert np.min(speed) > -0.5
    rest = instants > stopped + 1.0
    assert np.max(np.abs(speed[rest])) < 1e-2
    assert np.max(np.abs(speed[-200:])) < 1e-4
    assert_allclose(history.states[0, -1, Y.pitch], history.states[0, 0, Y.pitch], rtol=0.0, atol=2e-3)


def test_a_car_at_rest_stays_at_rest(car_with: CarWith) -> None:
    for brake in (0.0, 1.0):
        _, history = driven(car_with({}), 0.0, np.array([0.0, 2.0]), brake=np.full(2, brake))
        assert_allclose(history.states[0, -1], history.states[0, 0], rtol=0.0, atol=1e-9)


def test_brakes_hold_a_pulling_engine(car_with: CarWith) -> None:
    time = np.array([0.0, 0.5, 0.6, 3.0])
    both = np.array([0.0, 0.0, 0.4, 0.4])
    car = car_with({"brakes.full_pedal_torque": 12e3, "driveline.front_drive_share": 0.5})
    _, history = driven(car, 0.0, time, brake=np.ones(4), throttle=both)
    assert_allclose(history.states[0, :, SPINS], 0.0, atol=1e-9)
    assert abs(history.states[0, -1, X.forward_velocity]) < 1e-6


@pytest.mark.parametrize("share", [0.0, 0.5, 1.0], ids=["rear", "all", "front"])
def test_standing_start_with_full_throttle(full_car: Car, share: float) -> None:
    line = full_car.driveline.model_copy(update={"front_drive_share": share})
    car = full_car.model_copy(update={"driveline": line})
    time = np.array([0.0, 0.1, 0.15, 4.0])
    _, history = driven(car, 0.0, time, throttle=np.array([0.0, 0.0, 1.0, 1.0]))
    speed = history.states[0, :, X.forward_velocity]
    assert np.min(np.diff(speed)) > -1e-3
    assert 10.0 < speed[-1] < 80.0
    # never more than all tyres' friction
    assert np.max(history.outputs[0, :, O.longitudinal_acceleration]) < 1.6 * 9.81
    assert abs(history.states[0, -1, X.offset]) < 0.1


def test_kerb_under_a_braked_wheel(full_car: Car) -> None:
    profile = kerbed_straight(
        kerb=FlatToppedKerb(height=0.05, length=2.0), start=10.0, side=Side.LEFT, length=60.0, spacing=0.01
    )
    time = np.array([0.0, 0.1, 0.2, 1.5])
    brake = np.array([0.0, 0.0, 0.55, 0.55])
    _, history = driven(full_car, 30.0, time, road=lay_drive_road(full_car, profile), brake=brake)
    loads, spins = history.outputs[0, :, :4], history.states[0, :, SPINS]
    assert np.min(loads[:, 0]) == 0.0  # the front left wheel flies
    assert np.all(np.isfinite(history.states))
    # brakes never turn a wheel backwards
    assert np.min(spins) > -1e-6
    flying = loads[:, 0] == 0.0
    assert_allclose(history.outputs[0, flying, O.longitudinal_force], 0.0, atol=1e-12)


def test_a_lifted_driven_wheel_spins_up_and_comes_back(full_car: Car) -> None:
    profile = kerbed_straight(
        kerb=HalfSineKerb(height=0.12, length=1.2), start=6.0, side=Side.RIGHT, length=80.0, spacing=0.01
    )
    time = np.array([0.0, 0.1, 0.2, 2.0])
    throttle = np.array([0.0, 0.0, 0.6, 0.6])
    _, history = driven(full_car, 15.0, time, road=lay_drive_road(full_car, profile), throttle=throttle)
    flying = history.outputs[0, :, 3] == 0.0
    assert np.count_nonzero(flying) > 20
    rim = history.states[0, :, X.spin + 3] * radii(full_car)[3]
    assert np.max(rim[flying] - history.states[0, flying, X.forward_velocity]) > 0.5
    assert abs(rim[-1] / history.states[0, -1, X.forward_velocity] - 1.0) < 0.1


@pytest.mark.parametrize("brake", [0.0, 1.0], ids=["free", "braked"])
@pytest.mark.parametrize("angle", [90.0, 135.0, 180.0])
def test_a_car_sliding_sideways_or_backwards(full_car: Car, angle: float, brake: float) -> None:
    """A spun car: wheels locked or rolling backwards; friction slows it, nothing throws it."""
    parameters, engines = pack(full_car)[None], engines_of([full_car])
    start = settle_drive(parameters, engines, speed=0.0)
    states = start.states.copy()
    heading = np.radians(angle)
    states[0, [X.forward_velocity, X.lateral_velocity]] = 20.0 * np.cos(heading), 20.0 * np.sin(heading)
    if brake == 0.0:
        states[0, SPINS] = states[0, X.forward_velocity] / radii(full_car)
    start = DriveStart(states=states, steer=start.steer, throttle=start.throttle)
    instants, history = driven(full_car, 20.0, np.array([0.0, 6.0]), start=start, brake=np.full(2, brake))
    speed = np.hypot(history.states[0, :, X.forward_velocity], history.states[0, :, X.lateral_velocity])
    assert np.all(np.isfinite(history.states))
    # it swings on its tyres by no more than it does when it stops
    assert np.max(speed[instants > 0.1]) < 20.0
    assert np.max(np.diff(speed[::100])) < 0.6
    slowing = np.hypot(
        history.outputs[0, :, O.longitudinal_acceleration], history.outputs[0, :, O.lateral_acceleration]
    )
    loads = history.outputs[0, :, :4].sum(axis=1) / parameters[0, P.total_mass]
    assert np.all(slowing < 2.0 * loads)
    if brake > 0.0:
        assert speed[-1] < 0.01


# Batches


def test_lanes_answer_as_single_cars_do(full_car: Car) -> None:
    """A batch that is no whole number of blocks: each car as if it were alone, in any order."""
    rates = np.linspace(60e3, 120e3, LANES + 3)
    front = [full_car.front.model_copy(update={"spring": full_car.front.spring.model_copy(update={"rate": r})}) for r in rates]  # fmt: skip # noqa: E501
    cars = [full_car.model_copy(update={"front": one}) for one in front]
    event = StepSteer(speed=25.0, road_wheel_angle=0.03, hold=1.0)
    together = drive(cars, event, threads=2)
    backwards = drive(cars[::-1], event, threads=1)
    # Start and run are the same arithmetic, fused alike or not: rounding, carried for a second.
    assert_allclose(together.history.states, backwards.history.states[::-1], rtol=1e-9, atol=1e-9)
    alone = drive(cars[4:5], event)
    assert_allclose(together.history.states[4], alone.history.states[0], rtol=1e-9, atol=1e-9)
    assert np.ptp(together.history.states[:, -1, Y.roll]) > 1e-4


def test_a_run_that_leaves_the_numbers_says_where(full_car: Car) -> None:
    made = made_ready([full_car, full_car])
    start = settle_drive(made.parameters, made.engines, speed=20.0)
    parameters = made.parameters.copy()
    parameters[1, CORNER_BASE + 2 * N_CORNER + np.array([C.bump_slope, C.rebound_slope])] = 4e5
    time = np.array([0.0, 0.1, 0.2])
    controls = controls_in_time(
        time, name="swerve", step=1e-3, road_wheel_angle=np.array([0.0, 0.1, 0.1]), holding=np.ones(3)
    )
    with pytest.raises(SolveError, match=r"swerve: set-up 2 .* at 0\.\d+ s, first at corner R[LR]"):
        run_drive(parameters, made.engines, controls, start)


def test_a_driven_car_that_tips_over_is_refused(full_car: Car) -> None:
    """On rigid tyres a car tips at a_y = g t / (2 h): well below it goes round, well above it turns over."""
    speed, steer = 20.0, 0.06
    half_track = 0.25 * (full_car.front.track_width + full_car.rear.track_width)

    def swerve(cg_height: float) -> DriveRun:
        chassis = full_car.chassis.model_copy(update={"cg_height": cg_height})
        high = full_car.model_copy(update={"chassis": chassis})
        return drive([high], StepSteer(speed=speed, road_wheel_angle=steer, hold=2.0))

    low = swerve(0.5)
    across = float(np.abs(low.history.outputs[0, :, O.lateral_acceleration]).max())
    tips_at = GRAVITY * half_track / across
    # The body leans and jacks, and a step overshoots: a third of the height either way is beyond all that.
    swerve(tips_at / 1.35)
    with pytest.raises(SolveError, match=r"step steer: from \d\.\d\d s on set-up 1 stands .* turns over"):
        swerve(tips_at * 1.35)


# What is reported


@pytest.fixture(scope="module")
def braked(full_car: Car) -> DriveRun:
    gentle = full_car.model_copy(
        update={"brakes": full_car.brakes.model_copy(update={"full_pedal_torque": 3000.0})}
    )
    rear = full_car.model_copy(
        update={
            "brakes": full_car.brakes.model_copy(update={"full_pedal_torque": 9000.0, "front_share": 0.3})
        }
    )
    return drive([gentle, rear], StraightBraking(speed=30.0, pedal=1.0, duration=2.0))


def test_lock_up_is_reported_per_wheel(braked: DriveRun) -> None:
    gentle, rear = braking_values(braked)
    assert not gentle.stopped
    assert all(wheel.first is None and wheel.share == 0.0 for wheel in gentle.lock_up.values())
    assert rear.lock_up["FL"].first is None
    first = rear.lock_up["RL"].first
    assert first is not None
    assert 0.05 < first < 0.5
    assert 0.5 < rear.lock_up["RR"].share < 1.0
    # the mean deceleration is the speed lost over the time
    speed = braked.history.states[0, :, X.forward_velocity]
    full = np.searchsorted(braked.time, 0.4)
    assert_allclose(gentle.deceleration, (speed[full] - speed[-1]) / (braked.time[-1] - braked.time[full]))


def test_a_dataset_names_everything_with_its_unit(braked: DriveRun, tmp_path: Path) -> None:
    dataset = drive_dataset(braked, ["gentle", "rear"])
    assert {name: dataset[name].attrs["units"] for name in map(str, dataset.data_vars)} == {
        name: CHANNELS[name][0] for name in map(str, dataset.data_vars)
    }
    assert dataset.attrs["computed_on"] == "drive"
    assert dataset.slip.dims == ("setup", "time", "corner")
    assert_allclose(dataset.speed, dataset.forward_velocity, rtol=1e-9)
    assert_allclose(dataset.throttle[:, -1], 0.0, atol=1e-12)
    assert list(dataset.phase.values[[0, -1]]) == ["straight", "braking"]
    for name in ("history.csv", "history.nc"):
        write_history(dataset, tmp_path / name)
    header = (tmp_path / "history.csv").read_text(encoding="utf-8").splitlines()[0]
    assert '"wheel_speed RL [rad/s]"' in header


def test_the_road_under_each_wheel_is_in_the_dataset(full_car: Car) -> None:
    profile = kerbed_straight(
        kerb=FlatToppedKerb(height=0.03, length=1.0), start=2.0, side=Side.RIGHT, length=60.0, spacing=0.01
    )
    run = drive([full_car], StraightBraking(speed=20.0, pedal=0.1, duration=0.1), road=lay_drive_road(full_car, profile))  # fmt: skip # noqa: E501
    heights = drive_dataset(run, ["one"]).road_height[0]
    assert_allclose(heights.sel(corner="FL"), 0.0, atol=1e-9)
    top = 0.03 + 1e-6
    assert 0.029 < heights.sel(corner="FR").max() < top
    assert 0.029 < heights.sel(corner="RR").max() < top
    front, rear = (int(heights.sel(corner=corner).argmax("time")) for corner in ("FR", "RR"))
    wheelbase = full_car.chassis.wheelbase
    assert_allclose(run.time[rear] - run.time[front], wheelbase / 20.0, rtol=0.05)


# The step steer


def test_a_step_steer_reaches_the_lateral_acceleration_asked_for(car_with: CarWith) -> None:
    cars = [car_with({}), car_with({"chassis.front_weight_share": 0.56})]
    run = drive(cars, StepSteer(speed=20.0, lateral_acceleration=3.0, hold=3.0, direction="right"))
    for car, values in enumerate(step_steer_values(run)):
        # held throttle: the car slows a little in the turn
        assert_allclose(values.lateral_acceleration.steady, -3.0, rtol=0.03)
        assert_allclose(values.yaw_rate.steady * 20.0, -3.0, rtol=0.03)
        assert_allclose(values.yaw_rate.gain * run.steer[car, -1], values.yaw_rate.steady)
        assert 0.0 < values.yaw_rate.response_time < values.lateral_acceleration.response_time < 1.0
    assert run.steer[1, -1] < run.steer[0, -1] < 0.0  # the nose-heavy car must be steered more


def test_the_steering_wheel_turns_each_car_by_its_own_ratio(car_with: CarWith) -> None:
    cars = [car_with({"steering": {"ratio": ratio}}) for ratio in (10.0, 20.0)]
    run = drive(cars, StepSteer(speed=20.0, steering_wheel_angle=0.3, hold=1.0))
    assert_allclose(run.steer[:, -1] - run.start.steer, [0.03, 0.015], rtol=1e-12)


def test_a_step_steer_is_steered_once() -> None:
    with pytest.raises(ValidationError, match="road_wheel_angle and steering_wheel_angle each say how much"):
        StepSteer(road_wheel_angle=0.02, steering_wheel_angle=0.3)


def test_a_step_steer_that_ends_in_a_spin_is_refused(car_with: CarWith) -> None:
    tail_heavy = car_with({"chassis.front_weight_share": 0.35})
    run = drive([tail_heavy], StepSteer(speed=45.0, road_wheel_angle=0.08, hold=1.0))
    with pytest.raises(SolveError, match="set-up 1 is not in a steady turn at the end"):
        step_steer_values(run)


def test_at_its_tangent_speed_a_car_has_no_steady_sideslip(car_with: CarWith) -> None:
    """Where b / R is the rear slip angle the car ends as straight to its path as it began."""
    car = car_with({})
    slow, fast = 10.0, 30.0
    while fast - slow > 0.01:
        speed = 0.5 * (slow + fast)
        turn = steady_turn(car, lateral_acceleration=2.0, speed=speed)
        slow, fast = (speed, fast) if turn.sideslip[0] > 0.0 else (slow, speed)
    run = drive([car], StepSteer(speed=slow, lateral_acceleration=2.0))
    values = step_steer_values(run)[0]
    assert abs(values.sideslip.steady) < 2e-4
    assert np.isnan(values.sideslip.response_time)
    assert np.isfinite(values.yaw_rate.response_time)


# The differential


def outer_over_inner(car_with: CarWith, kind: dict[str, Any]) -> float:
    car = car_with({"driveline.rear_differential": kind})
    parameters, engines = pack(car)[None], engines_of([car])
    start = settle_drive(parameters, engines, speed=15.0, lateral_acceleration=4.0)
    return float(start.states[0, X.spin + 3] / start.states[0, X.spin + 2])


def test_differentials_in_a_turn(car_with: CarWith) -> None:
    radius, track = 15.0**2 / 4.0, 1.5
    free = (radius + track / 2) / (radius - track / 2)
    # tyres that pull aside of their rolling direction roll a little slower: cos of 1 degree
    assert_allclose(outer_over_inner(car_with, {"kind": "open"}), free, rtol=1e-3)
    assert_allclose(outer_over_inner(car_with, {"kind": "locked"}), 1.0, rtol=1e-9)
    viscous = outer_over_inner(car_with, {"kind": "viscous", "rate": 100.0})
    assert 1.001 < viscous < free - 0.001
    held = {"kind": "plate", "preload": 1000.0, "power_lock": 0.3, "coast_lock": 0.3}
    assert_allclose(outer_over_inner(car_with, held), 1.0, rtol=1e-9)


def test_instant_of_a_locked_wheel_balances(full_car: Car) -> None:
    """A brake that holds carries exactly the tyre's moment."""
    parameters, engines = pack(full_car)[None], engines_of([full_car])
    states = settle_drive(parameters, engines, speed=20.0).states
    states[:, SPINS], states[:, SLIPS] = 0.0, -1.0
    drivers = np.array([[0.0, 1.0, 0.0]])
    there = drive_instant(parameters, states, engines, drivers, np.array([[0.0, 0.0, 1.0, 0.0]]))
    assert_allclose(there.rates[0, 0, SPINS], 0.0, atol=1e-9)
    assert isinstance(engines, Engines)


@pytest.mark.parametrize(("forward", "sideways"), [(40.0, 0.0), (40.0, -9.0), (-5.0, 2.0), (0.0, 0.0)])
def test_the_air_presses_by_the_speed_along_the_path(
    car_with: CarWith, forward: float, sideways: float
) -> None:
    """q A of the speed through still air; of the drag, against the path, what is along the car."""
    areas = {"front_downforce": 0.8, "rear_downforce": 1.3, "drag": 0.9}
    car = car_with({f"aero.map.{name}": {"constant": area} for name, area in areas.items()})
    made = made_ready([car])
    states = np.zeros((1, N_DRIVE))
    states[0, [X.forward_velocity, X.lateral_velocity]] = forward, sideways
    outputs = drive_instant(made.parameters, states, made.engines, np.zeros((1, 3))).outputs[0, 0]
    pressure = 0.5 * made.parameters[0, P.air_density] * (forward**2 + sideways**2)
    assert_allclose(outputs[O.front_downforce], pressure * 0.8, rtol=1e-12)
    assert_allclose(outputs[O.rear_downforce], pressure * 1.3, rtol=1e-12)
    along = np.cos(np.arctan2(sideways, forward))
    assert_allclose(outputs[O.drag], pressure * 0.9 * along, rtol=1e-12)


def test_a_step_steer_at_full_throttle_is_summed_up(car_with: CarWith) -> None:
    """To hold that speed in the turn as well would take more than the engine has: no understeer gradient."""
    car = car_with({"aero.map.drag": {"constant": 2.5}})
    speed = top_speed(car)
    run = drive([car], StepSteer(speed=0.985 * speed, road_wheel_angle=0.007, hold=1.4))
    values = step_steer_values(run)[0]
    assert np.isnan(values.understeer_gradient)
    assert 0.0 < values.yaw_rate.response_time < 1.0
