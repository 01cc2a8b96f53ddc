"""What must hold for any car, on the rig and driven: balances, mirror images, energy, scaling, batches.

Also for cars that turn over: none is refused for it here.
"""

from collections.abc import Callable, Mapping
from typing import Any

import numpy as np
from hypothesis import example, given
from hypothesis import strategies as st
from numpy.testing import assert_allclose
from numpy.typing import NDArray

from fourpatch.car.car import Car
from fourpatch.car.pack import pack
from fourpatch.document.part import Part
from fourpatch.events.corner import Corner
from fourpatch.events.drive import run_drive
from fourpatch.events.drive_inputs import DriveControls, DriveRoad, Engines, engines_of, lay_drive_road
from fourpatch.events.drive_start import DriveStart, settle_drive, stable_drive_step
from fourpatch.events.kerb_strike import KerbStrike
from fourpatch.events.motion import half_steps, ramp
from fourpatch.events.run import run_rig, stable_step
from fourpatch.physics.integrate import LANES, History
from fourpatch.physics.layout import (
    CORNER_BASE,
    KNOTS,
    N_CORNER,
    N_DRIVE,
    N_POSITION,
    TYRE_BASE,
    C,
    O,
    P,
    X,
    Y,
)
from fourpatch.physics.tyre import N_TYRE, T
from fourpatch.track.kerb import HalfSineKerb, Side, kerbed_straight

Array = NDArray[np.float64]
Changes = dict[str, Any]
CarWith = Callable[[Mapping[str, Any]], Car]


def number(low: float, high: float) -> st.SearchStrategy[float]:
    return st.floats(low, high).map(lambda value: float(f"{value:.4g}"))


@st.composite
def axle(draw: st.DrawFn, end: str) -> Changes:
    """An end of a car, in ranges a workshop knows."""
    slow = draw(number(1500.0, 8000.0))
    wheel = {"low_speed": slow, "knee_speed": 0.08, "high_speed": draw(number(0.3, 1.0)) * slow}
    grip = {
        "kind": "compact",
        "nominal_load": draw(number(2500.0, 4500.0)),
        "peak_friction": draw(number(1.0, 1.8)),
        "load_sensitivity": draw(number(0.0, 0.2)),
        "peak_slip_angle": 0.12,
        "cornering_stiffness": draw(number(20.0, 26.0)),
        "camber_stiffness": draw(number(0.0, 1.5)),
    }
    return {
        f"{end}.track_width": draw(number(1.3, 1.8)),
        f"{end}.unsprung_mass": draw(number(15.0, 50.0)),
        f"{end}.camber": draw(number(-0.06, 0.0)),
        f"{end}.toe": draw(number(-0.004, 0.004)),
        f"{end}.geometry.roll_centre_height.value": draw(number(-0.05, 0.15)),
        f"{end}.geometry.roll_centre_height.slope": draw(number(-2.0, 0.0)),
        f"{end}.geometry.camber_change": {"slope": draw(number(-0.6, 0.0))},
        f"{end}.geometry.braking_support": {"value": draw(number(0.0, 0.1))},
        f"{end}.geometry.driving_support": {"value": draw(number(0.0, 0.1))},
        f"{end}.spring.rate": draw(number(30e3, 200e3)),
        f"{end}.bar": {"rate": draw(number(0.0, 60e3))},
        f"{end}.damper": {
            "kind": "two-slope", "bump": wheel, "rebound": {**wheel, "low_speed": 1.6 * slow},
            "friction": draw(number(0.0, 60.0)),
        },
        f"{end}.bump_stop": {"gap": draw(number(0.02, 0.06)), "rate": 60e3, "progression": 2e6},
        f"{end}.heave": {"rate": draw(number(0.0, 40e3)), "bump": 300.0, "rebound": 500.0},
        f"{end}.tyre.vertical_damping": draw(number(0.0, 200.0)),
        f"{end}.tyre.grip": grip,
    }  # fmt: skip


DIFFERENTIALS = (
    {"kind": "open"},
    {"kind": "plate", "preload": 80.0, "power_lock": 0.4, "coast_lock": 0.3},
    {"kind": "torque-biasing", "bias_ratio": 2.5},
    {"kind": "viscous", "rate": 30.0},
    {"kind": "locked"},
)


@st.composite
def cars(draw: st.DrawFn) -> Changes:
    """Changes to the plain car that give any sensible one; roads and drives below suit them all."""
    return {
        "chassis.mass": draw(number(900.0, 1500.0)),
        "chassis.front_weight_share": draw(number(0.44, 0.58)),
        "chassis.cross_weight_share": draw(number(0.48, 0.52)),
        "chassis.cg_lateral_offset": draw(number(-0.03, 0.03)),
        "chassis.cg_height": draw(number(0.35, 0.55)),
        "fuel": {"mass": draw(number(0.0, 60.0)), "distance_behind_front_axle": 1.8, "height": 0.3},
        **draw(axle("front")),
        **draw(axle("rear")),
        "steering": {
            "ratio": 12.0,
            "ackermann_share": draw(number(0.0, 1.0)),
            "caster": draw(number(0.0, 0.15)),
        },
        "brakes.full_pedal_torque": draw(number(4000.0, 9000.0)),
        "brakes.front_share": draw(number(0.5, 0.75)),
        "driveline.front_drive_share": draw(st.sampled_from([0.0, 0.4, 1.0])),
        "driveline.front_differential": draw(st.sampled_from(DIFFERENTIALS)),
        "driveline.rear_differential": draw(st.sampled_from(DIFFERENTIALS)),
        "aero.map.front_downforce": {"constant": draw(number(0.0, 1.0)), "f": draw(number(-4.0, 0.0))},
        "aero.map.rear_downforce": {"constant": draw(number(0.0, 1.5)), "r": draw(number(0.0, 3.0))},
        "aero.map.drag": {"constant": draw(number(0.4, 1.2))},
    }


def pedals(time: Array) -> dict[str, Array]:
    """Swerve, then brake into a turn, hard enough that a wheel may lock."""
    pressed = ramp(time, start=0.5, duration=0.3) - ramp(time, start=1.1, duration=0.3)
    swerve = ramp(time, start=0.1, duration=0.2) - 0.4 * ramp(time, start=0.6, duration=0.3)
    return {
        "steer": 0.04 * swerve,
        "throttle": 0.3 * ramp(time, start=1.5, duration=0.2),
        "brake": 0.6 * pressed,
        "holding": 1.0 - ramp(time, start=0.4, duration=0.1),
    }


def controls_of(series: Callable[[Array], dict[str, Array]], step: float, end: float) -> DriveControls:
    time = half_steps(end, step)
    return DriveControls(name="drive", step=step, store_every=1, **series(time))


def kerb_road(car: Car, side: Side) -> DriveRoad:
    profile = kerbed_straight(
        kerb=HalfSineKerb(height=0.04, length=0.8), start=20.0, side=side, length=80.0, spacing=0.01
    )
    return lay_drive_road(car, profile)


def driven(car: Car, *, side: Side = Side.LEFT, sign: float = 1.0, end: float = 1.8) -> tuple[Array, History]:
    """Drive a car over a kerb, swerve and brake; the packed car and its history."""
    parameters, engines = pack(car)[None], engines_of([car])
    step = stable_drive_step(parameters, fastest=40.0)
    controls = controls_of(lambda time: {**(s := pedals(time)), "steer": sign * s["steer"]}, step, end)
    start = settle_drive(parameters, engines, speed=30.0)
    return parameters, run_drive(
        parameters, engines, controls, start, road=kerb_road(car, side), upright=False
    )


def unbalanced_load(parameters: Array, history: History) -> Array:
    """Sum of tyre loads less weight, downforce and what accelerates body and wheels upward. [N]"""
    p, outputs, rates = parameters[0], history.outputs[0], history.rates[0]
    loads = outputs[:, O.tyre_load : O.tyre_load + 4].sum(axis=1)
    downforce = outputs[:, O.front_downforce] + outputs[:, O.rear_downforce]
    wheels = p[[CORNER_BASE + k * N_CORNER + C.unsprung_mass for k in range(4)]]
    lifting = p[P.sprung_mass] * outputs[:, O.heave_acceleration]
    lifting = lifting + rates[:, N_POSITION + Y.wheel : N_POSITION + Y.wheel + 4] @ wheels
    return np.asarray(loads - downforce - p[P.total_mass] * p[P.gravity] - lifting)


@given(changes=cars())
def test_tyre_loads_carry_weight_downforce_and_vertical_acceleration(
    car_with: CarWith, changes: Changes
) -> None:
    car = car_with(changes)
    parameters, history = driven(car)
    # rounding of sums of 1e5 N
    assert_allclose(unbalanced_load(parameters, history), 0.0, atol=1e-8)
    assert np.min(history.outputs[0, :, :4]) >= 0.0
    event = KerbStrike(speed=25.0, height=0.04)
    on_rig = run_rig(parameters, event.motion(car, stable_step(parameters)))
    assert_allclose(unbalanced_load(parameters, on_rig), 0.0, atol=1e-8)


# Mirror images

PAIRS = [O.tyre_load, O.elastic_force, O.damper_force, O.jacking_force, O.travel, O.longitudinal_force]
ONE_SIDED = {  # shifts of a published set: ply steer, conicity, and the side force of longitudinal slip
    "pHy1": 0.003, "pVy1": 0.02, "pHx1": 0.001,
    "rHy1": 0.005, "rVy1": 0.03, "rVy4": 10.0, "rVy5": 1.9, "rVy6": -10.0,
}  # fmt: skip


def one_sided_grip(load: float) -> Changes:
    coefficients = {
        "pCx1": 1.6, "pDx1": 1.2, "pKx1": 22.0, "pEx1": 0.2,
        "pCy1": 1.3, "pDy1": -1.1, "pKy1": -22.0, "pKy2": 1.8, "pKy4": 2.0, "pEy1": -0.8, "pEy3": 0.2,
        "rBx1": 12.0, "rBx2": -10.0, "rCx1": 1.09, "rBy1": 6.5, "rBy2": 4.2, "rCy1": 1.08, **ONE_SIDED,
    }  # fmt: skip
    return {"kind": "magic-formula", "nominal_load": load, "coefficients": coefficients}


def mirrored(car: Car) -> Car:
    """The same car seen in a mirror: what lies to the left lies to the right."""
    chassis = car.chassis.model_copy(
        update={
            "cg_lateral_offset": -car.chassis.cg_lateral_offset,
            "cross_weight_share": 1.0 - car.chassis.cross_weight_share,
        }
    )
    return car.model_copy(update={"chassis": chassis})


@given(changes=cars(), one_sided=st.booleans())
def test_a_mirrored_car_driven_the_other_way_gives_the_mirrored_answer(
    car_with: CarWith, changes: Changes, one_sided: bool
) -> None:
    if one_sided:
        changes = {
            **changes,
            "front.tyre.grip": one_sided_grip(3500.0),
            "rear.tyre.grip": one_sided_grip(3500.0),
        }
    car = car_with(changes)
    ours, theirs = (
        driven(one, side=side, sign=sign)[1]
        for one, side, sign in ((car, Side.LEFT, 1.0), (mirrored(car), Side.RIGHT, -1.0))
    )
    # Rounding that a swerve with locking wheels magnifies: 1e-10 at the start of it.
    for slot in (X.distance, X.forward_velocity, Y.heave, Y.pitch):
        assert_allclose(ours.states[0, :, slot], theirs.states[0, :, slot], rtol=1e-7, atol=1e-8)
    for slot in (X.offset, X.heading, X.lateral_velocity, X.yaw_rate, Y.roll):
        assert_allclose(ours.states[0, :, slot], -theirs.states[0, :, slot], rtol=1e-6, atol=1e-7)
    swapped = [1, 0, 3, 2]
    for slot in PAIRS:
        assert_allclose(
            ours.outputs[0, :, slot : slot + 4],
            theirs.outputs[0, :, slot : slot + 4][:, swapped],
            rtol=1e-6,
            atol=1e-2,
        )


# Energy


def energy(parameters: Array, engines: Engines, states: Array, outputs: Array) -> Array:
    """Energy of a car with linear springs and no stops in reach, over its rest. [J]

    Kinetic of planar motion, yaw, body, wheels and spins; of springs, bars and tyres; of weight. Beside it
    stands what the tyres' lagged slips hold like springs, which is not in it.
    """
    p = parameters[0]
    moving = 0.5 * p[P.total_mass] * np.sum(states[:, [X.forward_velocity, X.lateral_velocity]] ** 2, axis=1)
    moving += 0.5 * p[P.yaw_inertia] * states[:, X.yaw_rate] ** 2
    for slot, inertia in ((Y.heave, P.sprung_mass), (Y.roll, P.roll_inertia), (Y.pitch, P.pitch_inertia)):
        moving += 0.5 * p[inertia] * states[:, N_POSITION + slot] ** 2
    held = p[P.sprung_mass] * p[P.gravity] * states[:, Y.heave]
    held = held - 0.5 * p[P.gravity_roll_moment] * states[:, Y.roll] ** 2
    travel = outputs[:, O.travel : O.travel + 4]
    for k in range(4):
        c = p[CORNER_BASE + k * N_CORNER : CORNER_BASE + (k + 1) * N_CORNER]
        height, speed = states[:, Y.wheel + k], states[:, N_POSITION + Y.wheel + k]
        moving += 0.5 * c[C.unsprung_mass] * speed**2 + 0.5 * c[C.spin_inertia] * states[:, X.spin + k] ** 2
        held = held + c[C.unsprung_mass] * p[P.gravity] * height
        held = held + 0.5 * c[C.tyre_rate] * np.maximum(c[C.tyre_static_deflection] - height, 0.0) ** 2
        held = held + c[C.spring_static_force] * travel[:, k] + 0.5 * c[C.spring_rate] * travel[:, k] ** 2
    held = held + 0.5 * p[P.front_bar_rate] * (travel[:, 0] - travel[:, 1]) ** 2
    held = held + 0.5 * p[P.rear_bar_rate] * (travel[:, 2] - travel[:, 3]) ** 2
    return np.asarray(moving + held)


@given(
    sideways=number(-6.0, 6.0),
    yaw_rate=number(-1.0, 1.0),
    rolling=number(-1.0, 1.0),
    pitching=number(-1.0, 1.0),
    spinning=number(0.3, 1.5),
    roll_centre=number(0.0, 0.15),
    support=number(0.0, 0.15),
    differential=st.sampled_from(DIFFERENTIALS),
)
# Rolls backwards at walking pace in the end: slips fade slowly there and give back what they hold.
@example(
    sideways=-1.0,
    yaw_rate=1.0,
    rolling=-1.0,
    pitching=1.0,
    spinning=0.5,
    roll_centre=0.0,
    support=0.0,
    differential={"kind": "open"},
)
def test_a_car_left_alone_loses_energy(
    car_with: CarWith,
    sideways: float,
    yaw_rate: float,
    rolling: float,
    pitching: float,
    spinning: float,
    roll_centre: float,
    support: float,
    differential: Changes,
) -> None:
    """Thrown in with any slide, yaw, roll, pitch and spin, without engine, brakes, drag or camber thrust."""
    changes: Changes = {
        "driveline.rear_differential": differential,
        "steering": {"ratio": 12.0, "caster": 0.0},
    }
    for end in ("front", "rear"):
        changes |= {
            f"{end}.geometry.roll_centre_height": {"value": roll_centre},
            f"{end}.geometry.driving_support": {"value": support},
            f"{end}.bar": {"rate": 20e3},
        }
    grip = {"kind": "compact", "nominal_load": 3000.0, "peak_friction": 1.4, "load_sensitivity": 0.1,
            "peak_slip_angle": 0.12, "cornering_stiffness": 22.0, "camber_stiffness": 0.0}  # fmt: skip
    car = car_with(changes | {f"{end}.tyre.grip": grip for end in ("front", "rear")})
    parameters = pack(car)[None]
    engines = Engines(torque=np.zeros((1, 2, 2)), spacing=1.0)
    states = np.zeros((1, N_DRIVE))
    states[0, [X.forward_velocity, X.lateral_velocity, X.yaw_rate]] = 20.0, sideways, yaw_rate
    states[0, [N_POSITION + Y.roll, N_POSITION + Y.pitch]] = rolling, pitching
    states[0, X.spin : X.spin + 4] = spinning * 20.0 / 0.3
    start = DriveStart(states=states, steer=np.zeros(1), throttle=np.zeros(1))
    step = stable_drive_step(parameters, fastest=40.0)
    still = controls_of(
        lambda time: dict.fromkeys(("steer", "throttle", "brake", "holding"), 0.0 * time), step, 3.0
    )
    history = run_drive(parameters, engines, still, start, upright=False)
    total = energy(parameters, engines, history.states[0], history.outputs[0])
    # A tyre gives back what it holds like a spring, at most mu Fz of force: mu^2 Fz^2 sigma / (2 K) along
    # and across, here of four tyres under twice their load.
    held_by_tyres = 4 * (1.4**2 * 6000.0**2 / (2.0 * 22.0 * 6000.0)) * (0.3 + 0.1)
    assert np.max(np.maximum.accumulate(total[::-1])[::-1] - total) < held_by_tyres
    assert total[-1] < total[0]
    # Over any half second more is lost than the tyres hold at its start and may give back, and rounding:
    # K sigma slip^2 / 2 each way. K per load is largest without load: 22 x 1.31, its law at zero.
    half = round(0.5 / step)
    load = history.outputs[0, :, O.tyre_load : O.tyre_load + 4].max(axis=0)
    slips = 0.3 * history.states[0, :, X.slip_angle : X.slip_angle + 4] ** 2
    slips += 0.1 * history.states[0, :, X.slip : X.slip + 4] ** 2
    held = np.minimum(0.5 * 22.0 * 1.31 * slips @ load, held_by_tyres)
    assert np.all(total[half:] < total[:-half] + held[:-half] + 1.0)


# Scaling


@given(changes=cars(), factor=st.sampled_from([0.5, 2.0]))
def test_a_car_heavier_in_every_part_moves_the_same(
    car_with: CarWith, changes: Changes, factor: float
) -> None:
    """Twice the masses, rates, dampings, torques and areas: the same motion under twice the forces."""
    car = car_with(changes)
    light = pack(car)[None]
    scaled = scaled_vector(light[0], factor)[None]
    engines = engines_of([car])
    doubled = Engines(torque=factor * engines.torque, spacing=engines.spacing)
    step = stable_drive_step(light, fastest=40.0)
    controls = controls_of(pedals, step, 1.8)
    road = kerb_road(car, Side.RIGHT)
    first = run_drive(
        light, engines, controls, settle_drive(light, engines, speed=30.0), road=road, upright=False
    )
    second = run_drive(
        scaled, doubled, controls, settle_drive(scaled, doubled, speed=30.0), road=road, upright=False
    )
    assert_allclose(second.states, first.states, rtol=1e-7, atol=1e-8)
    assert_allclose(second.outputs[0, :, :4], factor * first.outputs[0, :, :4], rtol=1e-6, atol=1e-2)


MASS_LIKE = (
    "total_mass sprung_mass roll_inertia pitch_inertia yaw_inertia unsprung_moment gravity_roll_moment "
    "front_bar_rate rear_bar_rate front_heave_rate front_heave_preload front_heave_bump front_heave_rebound "
    "rear_heave_rate rear_heave_preload rear_heave_bump rear_heave_rebound air_density brake_torque "
    "front_lock_preload front_lock_viscous rear_lock_preload rear_lock_viscous lock_stiffness"
).split()
CORNER_MASS_LIKE = (
    "unsprung_mass unsprung_couple spring_rate spring_static_force helper_rate helper_block_force "
    "damper_friction bump_slope rebound_slope stop_rate stop_progression droop_rate tyre_rate tyre_damping "
    "spin_inertia"
).split()


def scaled_vector(vector: Array, factor: float) -> Array:
    """Multiply everything whose unit has one kilogram in it."""
    scaled = vector.copy()
    scaled[[getattr(P, name) for name in MASS_LIKE]] *= factor
    for corner in range(4):
        c = CORNER_BASE + corner * N_CORNER
        scaled[[c + getattr(C, name) for name in CORNER_MASS_LIKE]] *= factor
        for knots in (C.bump_knots, C.rebound_knots):
            scaled[c + knots + KNOTS : c + knots + 2 * KNOTS] *= factor
    scaled[[TYRE_BASE + T.Fz0, TYRE_BASE + N_TYRE + T.Fz0]] *= factor
    return scaled


# Dampers and the steady state


@given(changes=cars(), factor=number(0.5, 2.0))
def test_dampers_move_no_load_once_the_car_has_taken_its_set(
    car_with: CarWith, changes: Changes, factor: float
) -> None:
    car = car_with({**changes, "front.damper.friction": 0.0, "rear.damper.friction": 0.0})
    event = Corner(radius=80.0, speed=24.0, deceleration=5.0, mid=8.0)
    motion = event.motion(car, 0.5e-3)
    soft = pack(car)[None]
    stiff = soft.copy()
    for corner in range(4):
        c = CORNER_BASE + corner * N_CORNER
        stiff[0, [c + C.bump_slope, c + C.rebound_slope]] *= factor
        for knots in (C.bump_knots, C.rebound_knots):
            stiff[0, c + knots + KNOTS : c + knots + 2 * KNOTS] *= factor
    loads = [run_rig(one, motion).outputs[0, :, :4] for one in (soft, stiff)]
    mid = next(phase for phase in motion.phases if phase.name == "mid")
    settled = round((mid.end - 0.05) / motion.step / motion.store_every)
    # Eight seconds are eight of the slowest time constants here: 3e-4 of some thousand newtons.
    assert_allclose(loads[0][settled], loads[1][settled], rtol=0.0, atol=1.0)
    moving = slice(0, round(mid.start / motion.step / motion.store_every))
    if not 0.9 < factor < 1.1:
        assert np.max(np.abs(loads[0][moving] - loads[1][moving])) > 5.0  # they do on the way there


# Batches


@given(rates=st.lists(number(40e3, 120e3), min_size=2, max_size=2 * LANES + 1), data=st.data())
def test_neither_order_nor_company_changes_an_answer(
    full_car: Car, rates: list[float], data: st.DataObject
) -> None:
    order = np.array(data.draw(st.permutations(range(len(rates)))))
    spring = full_car.front.spring
    variants = [
        changed(full_car, front=changed(full_car.front, spring=changed(spring, rate=rate))) for rate in rates
    ]
    parameters = np.stack([pack(car) for car in variants])
    engines = engines_of(variants)
    step = stable_drive_step(parameters, fastest=40.0)
    controls = controls_of(pedals, step, 0.5)
    start = settle_drive(parameters, engines, speed=30.0)
    moved = DriveStart(states=start.states[order], steer=start.steer[order], throttle=start.throttle[order])
    one_way = run_drive(parameters, engines, controls, start, upright=False)
    other = run_drive(parameters[order], engines, controls, moved, upright=False)
    # Single cars and lanes may round a product and a sum apart: 1e-15, magnified by half a second of swerve.
    assert_allclose(other.states, one_way.states[order], rtol=1e-10, atol=1e-11)
    motion = Corner(radius=60.0, speed=20.0).motion(full_car, step)
    rig = run_rig(parameters, motion)
    rig_other = run_rig(parameters[order], motion)
    assert_allclose(rig_other.outputs, rig.outputs[order], rtol=1e-10, atol=1e-7)


def changed(part: Any, **values: Any) -> Any:
    assert isinstance(part, Part)
    return part.model_copy(update=values)
