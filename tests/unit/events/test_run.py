"""Running cars on the rig: settling, batches, failures."""

import numpy as np
import pytest
from numpy.testing import assert_allclose

from fourpatch.car.gravity import GRAVITY
from fourpatch.car.pack import pack, static_tyre_loads
from fourpatch.errors import SolveError
from fourpatch.events.corner import Corner
from fourpatch.events.kerb_strike import KerbStrike
from fourpatch.events.motion import RigMotion, half_steps, planar_inputs, ramp, steady_inputs
from fourpatch.events.rough_road import RoughRoad
from fourpatch.events.run import (
    failure_text,
    rig_instant,
    run_rig,
    settle,
    share_out,
    stable_step,
    stacked,
)
from fourpatch.events.tumbling import LARGEST_LEAN
from fourpatch.physics.layout import CORNER_BASE, N_CORNER, N_OUTPUT, C, O, Y


def test_a_car_at_rest_stays_at_rest(full_car):
    vector = pack(full_car)[None, :]
    inputs = steady_inputs(full_car, speed=0.0)
    state = settle(vector, inputs, name="rest")
    # Set ride heights are where it stands: nothing moves by more than rounding of N over N/m.
    assert_allclose(state, 0.0, atol=1e-9)
    loads = rig_instant(vector, state, inputs).outputs[0, 0, O.tyre_load : O.tyre_load + 4]
    assert_allclose(loads, static_tyre_loads(full_car), rtol=1e-9)


def test_settled_car_has_no_acceleration(full_car):
    vector = pack(full_car)[None, :]
    inputs = steady_inputs(full_car, speed=50.0, lateral_acceleration=9.0, longitudinal_acceleration=-3.0)
    rates = rig_instant(vector, settle(vector, inputs, name="turn"), inputs).rates[0, 0]
    # Newton stops at steps of 1e-10 m on tyres of 250 kN/m under 30 kg: 1e-6 m/s^2.
    assert_allclose(rates, 0.0, atol=1e-5)


def test_loads_carry_weight_and_downforce(full_car):
    vector = pack(full_car)[None, :]
    inputs = steady_inputs(full_car, speed=60.0, lateral_acceleration=-8.0)
    out = rig_instant(vector, settle(vector, inputs, name="turn"), inputs).outputs[0, 0]
    mass = full_car.chassis.mass + full_car.fuel.mass
    expected = mass * 9.81 + out[O.front_downforce] + out[O.rear_downforce]
    assert_allclose(out[O.tyre_load : O.tyre_load + 4].sum(), expected, rtol=1e-8)


def test_batches_and_single_runs_agree(full_car, car_with):
    cars = [full_car, car_with({}), *[car_with({"front.spring.rate": rate}) for rate in (40e3, 60e3, 80e3)]]
    vectors = stacked([pack(car) for car in cars])
    motion = KerbStrike(speed=25.0).motion(full_car, stable_step(vectors))
    together = run_rig(vectors, motion).outputs
    reversed_order = run_rig(vectors[::-1].copy(), motion).outputs[::-1]
    # The same arithmetic in lanes; only fused multiply-adds may differ: rounding grown over 3e3 steps.
    assert_allclose(reversed_order, together, rtol=1e-7, atol=1e-6)
    for k in range(len(cars)):
        alone = run_rig(vectors[k : k + 1], motion).outputs[0]
        assert_allclose(alone, together[k], rtol=1e-7, atol=1e-6)


def test_threads_change_nothing(car_with):
    vectors = stacked([pack(car_with({"rear.spring.rate": 1e3 * rate})) for rate in range(40, 60)])
    motion = Corner().motion(car_with({}), 1e-3)
    one, three = (run_rig(vectors, motion, threads=count).outputs for count in (1, 3))
    assert np.array_equal(one, three)


@pytest.mark.parametrize(("cars", "block", "threads"), [(1, 8, 4), (17, 8, 2), (64, 8, 3), (5, 1, 8)])
def test_shared_work_covers_every_car_once(cars, block, threads):
    done = np.zeros(cars, dtype=int)

    def work(part):
        done[part] += 1
        assert part.start % block == 0

    share_out(cars, work, block=block, threads=threads)
    assert np.all(done == 1)


def test_stiff_damper_shortens_the_step(car_with, straight_damper):
    soft = stable_step(pack(car_with({}))[None, :])
    stiff = stable_step(pack(car_with({"front.damper": straight_damper(90e3)}))[None, :])
    assert soft == 1e-3
    # 90 kN s/m on 30 kg is 3000 1/s: RK4 needs steps below 2.78 / 3000 s = 0.93 ms; a whole part of 1 ms.
    assert stiff == 0.5e-3
    motion = KerbStrike().motion(car_with({}), stiff)
    run_rig(pack(car_with({"front.damper": straight_damper(90e3)}))[None, :], motion)


def test_too_long_a_step_is_an_error_that_names_event_time_and_corner(car_with, straight_damper):
    stiff = car_with({"front.damper": straight_damper(100e3), "front.unsprung_mass": 10.0})
    motion = KerbStrike(side="left").motion(stiff, 1e-3)
    with pytest.raises(SolveError) as error:
        run_rig(pack(stiff)[None, :], motion)
    text = str(error.value)
    assert "ramped kerb" in text
    assert "set-up 1" in text
    assert "corner F" in text
    assert " s, " in text
    assert "check its damper" in text


def test_failure_names_the_corner_that_works_hardest():
    outputs = np.zeros((3, N_OUTPUT))
    outputs[1, O.damper_force + 2] = 5e4
    outputs[2] = np.nan
    assert "at 0.020 s, first at corner RL" in failure_text(outputs, 2, "kerb", 0, 0.01)


def test_a_car_that_tips_over_finds_no_place(car_with):
    tall = car_with({"chassis.cg_height": 1.2})
    with pytest.raises(SolveError, match="finds no steady place"):
        settle(pack(tall)[None, :], steady_inputs(tall, speed=20.0, lateral_acceleration=12.0), name="turn")


def test_a_lifted_inner_wheel_still_settles(car_with):
    car = car_with({"rear.bar.rate": 400e3})
    inputs = steady_inputs(car, speed=20.0, lateral_acceleration=11.0)
    vector = pack(car)[None, :]
    loads = rig_instant(vector, settle(vector, inputs, name="turn"), inputs).outputs[0, 0, O.tyre_load :][:4]
    assert loads[2] == 0.0
    assert_allclose(loads.sum(), car.chassis.mass * 9.81, rtol=1e-8)


def test_bump_stop_carries_what_the_spring_does_not(car_with):
    car = car_with({"front.bump_stop": {"gap": 0.005, "rate": 400e3}})
    vector = pack(car)[None, :]
    inputs = steady_inputs(car, speed=30.0, longitudinal_acceleration=-8.0)
    out = rig_instant(vector, settle(vector, inputs, name="stop"), inputs).outputs[0, 0]
    travel = out[O.travel]
    block = vector[0, CORNER_BASE : CORNER_BASE + N_CORNER]
    assert travel > 0.005
    expected = block[C.spring_static_force] + 50e3 * travel + 400e3 * (travel - 0.005)
    assert_allclose(out[O.elastic_force], expected, rtol=1e-9)


@pytest.mark.parametrize("block_force", [1000.0, 4000.0], ids=["closed", "open"])
def test_a_car_on_helper_springs_stands_where_it_is_set(car_with, block_force):
    spring = {"rate": 50e3, "helper_rate": 25e3, "helper_block_force": block_force}
    car = car_with({"front.spring": spring})
    state = settle(pack(car)[None, :], steady_inputs(car, speed=0.0), name="rest")
    # Rounding of N over N/m, whether the helper is closed under the 2649 N it carries or not.
    assert_allclose(state, 0.0, atol=1e-9)


def test_a_body_that_tumbles_is_refused_with_event_time_and_place(full_car):
    def on_hard_stops(axle):
        close = {"gap": 0.05}
        return axle.model_copy(
            update={
                "spring": axle.spring.model_copy(update={"rate": 8e3}),
                "bump_stop": axle.bump_stop.model_copy(update=close),
                "droop_stop": axle.droop_stop.model_copy(update=close),
            }
        )

    chassis = full_car.chassis
    light = chassis.model_copy(update={"roll_inertia": 0.02 * chassis.roll_inertia})
    car = full_car.model_copy(
        update={
            "chassis": light,
            "front": on_hard_stops(full_car.front),
            "rear": on_hard_stops(full_car.rear),
        }
    )
    vectors = stacked([pack(full_car), pack(car)])
    motion = RoughRoad(road_class="E", speed=60.0).motion(car, stable_step(vectors))
    leant = np.abs(run_rig(vectors, motion, upright=False).states[:, :, Y.roll]).max(axis=1)
    assert leant[0] < LARGEST_LEAN < leant[1]
    said = r"class E road .*: at \d+\.\d\d s \(road\) the body of set-up 2 rolls by more than 20 deg"
    with pytest.raises(SolveError, match=said):
        run_rig(vectors, motion)


def test_a_car_that_tips_over_is_refused(full_car):
    """On rigid tyres a car tips at a_y = g t / (2 h); nothing turns over well short of it."""
    half_track = 0.25 * (full_car.front.track_width + full_car.rear.track_width)

    def turn(height, asked):
        chassis = full_car.chassis.model_copy(update={"cg_height": height})
        vectors = stacked([pack(full_car.model_copy(update={"chassis": chassis}))])
        step = stable_step(vectors)
        time = half_steps(4.0, step)
        across = asked * ramp(time, start=0.5, duration=1.0)
        inputs = planar_inputs(
            full_car,
            time,
            speed=np.full(time.size, 30.0),
            longitudinal_acceleration=np.zeros(time.size),
            lateral_acceleration=across,
            curvature=across / 30.0**2,
        )
        run_rig(vectors, RigMotion(name="turn", step=step, inputs=inputs, store_every=4))

    height = 0.6
    tips_at = GRAVITY * half_track / height
    # The body leans outward and jacks up or down, so it is not just there: 15 % less is borne, more is not.
    turn(height, 0.85 * tips_at)
    with pytest.raises(SolveError, match=r"wheels of one side alone for 0\.3 s: it turns over"):
        turn(height, 1.15 * tips_at)


BAD_ROADS = [KerbStrike(), KerbStrike(speed=70.0), RoughRoad(road_class="D", speed=60.0)]


@pytest.mark.parametrize("kind", BAD_ROADS)
def test_a_car_on_a_road_as_bad_as_there_are_is_let_through(full_car, kind):
    vectors = stacked([pack(full_car)])
    run_rig(vectors, kind.motion(full_car, stable_step(vectors)))
