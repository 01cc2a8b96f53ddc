"""The drive and the rig against runs of an open multibody car model.

Source: commonroad-vehicle-models 3.0.2 (BSD-3-Clause), function vehicle_dynamics_mb, run by us apart from
this project's code; vehicles, tyre and histories in tests/data, see SOURCES.md there.

That model simplifies where ours does not. What can be set alike is set alike in `alike`; what remains:

- its slip angles use the sideways velocity of the *sprung* centre of gravity, as if the body did not roll
  over the contact patches. `_answer_to_other_slips` predicts from a linear single-track model what that does;
- its axles hang on a sideways spring (2.8 Hz with the body): the unsprung masses may for a moment be
  accelerated by up to a_y less or more than the car;
- sideways forces move its contact patches by `K_lt` x force, which shifts load;
- its tyres answer at once, ours over 20 mm; its two tyres of an axle pull the same way in braking, ours
  mirror each other.

Its axes are SAE (y right): its run to the right is compared with ours to the left.
"""

import tomllib
from collections.abc import Callable, Mapping
from pathlib import Path
from typing import Any, NamedTuple

import numpy as np
import pytest
from numpy.testing import assert_allclose
from numpy.typing import NDArray
from scipy.interpolate import CubicSpline
from scipy.signal import StateSpace, lsim

from fourpatch.car.car import Car
from fourpatch.car.pack import pack
from fourpatch.events.drive import run_drive
from fourpatch.events.drive_inputs import controls_in_time, engines_of
from fourpatch.events.drive_start import settle_drive, stable_drive_step
from fourpatch.events.motion import RigMotion, half_steps
from fourpatch.events.run import run_rig
from fourpatch.events.steady_states import without_slips
from fourpatch.physics.layout import CORNER_BASE, N_CORNER, N_INPUT, N_POSITION, C, I, O, P, X, Y

Vector = NDArray[np.float64]
CarWith = Callable[[Mapping[str, Any]], Car]

DATA = Path(__file__).parents[1] / "data"
VEHICLES = tomllib.loads((DATA / "vehicles_commonroad.toml").read_text(encoding="utf-8"))
TYRE = tomllib.loads((DATA / "tyre_commonroad.toml").read_text(encoding="utf-8"))["tyre"]
STIFFNESS = abs(TYRE["p_ky1"])  # cornering stiffness over load
GRAVITY = 9.81
TYRE_SINKS = (
    0.0169  # m, by which the sprung mass of every vehicle sits lower than its h_s in their rest state
)
FULL_PEDAL = 4.0  # m/s^2

SPEEDS = {"step_steer": 15.0, "brake": 15.0, "brake_in_turn": 20.0}
STEER_RATES = {"step_steer": 0.3, "brake": 0.0, "brake_in_turn": 0.2}  # rad/s for 0.1 s
BRAKING = {"step_steer": (9.0, 0.0), "brake": (0.0, 4.0), "brake_in_turn": (3.0, 3.0)}  # from [s], m/s^2

RUNS = [(vehicle, run) for run in SPEEDS for vehicle in (1, 2, 3)]
TURNS = [(vehicle, run) for vehicle, run in RUNS if run != "brake"]


def grip() -> dict[str, Any]:
    """Their tyre; drive slip for one of their functions is brake slip for another: test_magic_formula.py."""
    pure = "cx1 dx1 ex1 kx1 hx1 cy1 dy1 dy3 ey1".split()
    combined = "bx1 bx2 cx1 ex1 hx1 by1 by2 by3 cy1 ey1 hy1 vy1 vy4 vy5 vy6".split()
    given = {f"p{name[0].upper()}{name[1:]}": TYRE[f"p_{name}"] for name in pure}
    given |= {f"r{name[0].upper()}{name[1:]}": TYRE[f"r_{name}"] for name in combined}
    bend = 100.0  # stiffness proportional to load within (Fz / Fz0 / bend)^2 / 2, 2e-4
    given |= {"rHy1": -given["rHy1"], "rVy6": -given["rVy6"]}
    given |= {"pKy1": TYRE["p_ky1"] * bend, "pKy2": bend, "pKy4": 1.0}
    return {"kind": "magic-formula", "nominal_load": 4000.0, "coefficients": given}


def alike(car_with: CarWith, straight_damper: Callable[[float], Any], vehicle: int) -> tuple[Car, Vector]:
    """One of their vehicles as a car, and its vector with their simplifications."""
    p = VEHICLES[f"vehicle{vehicle}"]
    length, mass = p["a"] + p["b"], p["m"]
    changes: dict[str, Any] = {
        "chassis.mass": mass,
        "chassis.front_weight_share": (p["m_s"] * p["b"] / length + p["m_uf"]) / mass,
        "chassis.cg_height": (p["m_s"] * p["h_s"] + (p["m_uf"] + p["m_ur"]) * p["R_w"]) / mass,
        "chassis.wheelbase": length,
        "chassis.roll_inertia": p["I_Phi_s"],
        "chassis.pitch_inertia": p["I_y_s"],
        "chassis.yaw_inertia": p["I_z"],
        "steering": {"ratio": 15.0, "ackermann_share": 0.0, "caster": 0.0},
        "brakes": {"full_pedal_torque": FULL_PEDAL * mass * p["R_w"], "front_share": p["T_sb"]},
        "driveline.front_drive_share": p["T_se"],
        "driveline.overrun_torque": 0.0,
    }
    for end, k in (("front", "f"), ("rear", "r")):
        changes |= {
            f"{end}.track_width": p[f"T_{k}"],
            f"{end}.unsprung_mass": p[f"m_u{k}"] / 2,
            f"{end}.unsprung_cg_height": p["R_w"],
            f"{end}.wheel_spin_inertia": p["I_y_w"],
            f"{end}.geometry.camber_change": {"slope": p[f"D_{k}"]},
            f"{end}.spring.rate": p[f"K_s{k}"],
            f"{end}.bar.rate": -p[f"K_ts{k}"] / p[f"T_{k}"] ** 2,
            f"{end}.damper": straight_damper(p[f"K_sd{k}"]),
            f"{end}.tyre.radius": p["R_w"],
            f"{end}.tyre.vertical_rate": p["K_zt"],
            f"{end}.tyre.relaxation_length_lateral": 0.02,
            f"{end}.tyre.relaxation_length_longitudinal": 0.02,
            f"{end}.tyre.grip": grip(),
        }
    car = car_with(changes)
    vector = pack(car)
    for corner in range(4):  # yaw moments about the sprung centre of gravity
        vector[CORNER_BASE + corner * N_CORNER + C.planar_x] = p["a"] if corner < 2 else -p["b"]
    # all longitudinal force at the height of the sprung centre of gravity
    vector[P.unsprung_moment] = mass * (p["h_s"] - TYRE_SINKS) - p["m_s"] * p["h_s"]
    return car, vector


class Theirs(NamedTuple):
    """Their history, turned to the left and to ISO 8855."""

    time: Vector
    speed: Vector
    sideways: Vector
    yaw_rate: Vector
    roll: Vector
    roll_rate: Vector
    pitch: Vector
    ax: Vector
    ay: Vector
    loads: Vector
    """(n, 4) FL, FR, RL, RR of a left turn."""


def theirs(vehicle: int, run: str) -> Theirs:
    table = np.genfromtxt(DATA / "multibody" / f"vehicle{vehicle}_{run}.csv", delimiter=",", names=True)
    table = table[table["t_s"] >= 2.999]
    return Theirs(
        time=table["t_s"] - 3.0,
        speed=table["vx_mps"],
        sideways=table["vy_mps"],
        yaw_rate=table["yaw_rate_radps"],
        roll=-table["roll_rad"],
        roll_rate=-table["roll_rate_radps"],
        pitch=-(table["pitch_rad"] - table["pitch_rad"][0]),
        ax=table["ax_mps2"],
        ay=table["ay_mps2"],
        loads=np.column_stack([table[f"Fz_{corner}_N"] for corner in ("FR", "FL", "RR", "RL")]),
    )


def driven(car: Car, vector: Vector, run: str, given: Theirs) -> tuple[Vector, Vector]:
    """States and outputs of our car under their inputs, at their instants."""
    speed, (start, demand), end = SPEEDS[run], BRAKING[run], given.time[-1]
    points = np.unique(np.clip([0.0, 0.1, start, start + 1e-6, end], 0.0, end))
    parameters, engines = vector[None], engines_of([car])
    step = stable_drive_step(parameters, fastest=speed)
    controls = controls_in_time(
        points,
        name=run,
        step=step,
        road_wheel_angle=STEER_RATES[run] * np.minimum(points, 0.1),
        brake=np.where(points > start, demand / FULL_PEDAL, 0.0),
    )
    history = run_drive(parameters, engines, controls, settle_drive(parameters, engines, speed=speed))
    rows = np.minimum(np.rint(given.time / step).astype(int), history.states.shape[1] - 1)
    return history.states[0, rows], history.outputs[0, rows]


def rate_of(time: Vector, values: Vector) -> Vector:
    return np.asarray(CubicSpline(time, values)(time, 1))


def _axle_roll_rates(vehicle: int, given: Theirs) -> tuple[Vector, Vector]:
    """Of their front and rear axle on its tyres, from the loads."""
    p = VEHICLES[f"vehicle{vehicle}"]
    left = given.loads[:, [0, 2]] - given.loads[:, [1, 3]]
    roll = -left / p["K_zt"] / np.array([p["T_f"], p["T_r"]])
    return rate_of(given.time, roll[:, 0]), rate_of(given.time, roll[:, 1])


def _answer_to_other_slips(
    vehicle: int, run: str, given: Theirs, roll_rate: Vector
) -> tuple[Vector, Vector, Vector]:
    """What our v_y, r and a_y should have more than theirs, because our slips are counted at the patches.

    A linear single-track car whose front and rear slip velocities are moved by
    w = (m_s / m) h_s roll'_ours + (m_u / m) (h_s roll' - R axle_roll') - R axle_roll', theirs without index;
    then v_y of the whole car instead of the sprung mass's, and a_y likewise.
    """
    p, speed = VEHICLES[f"vehicle{vehicle}"], SPEEDS[run]
    m, a, b, length = p["m"], p["a"], p["b"], p["a"] + p["b"]
    unsprung = (p["m_uf"] + p["m_ur"]) / m
    C_f = STIFFNESS * GRAVITY * (p["m_s"] * b / length + p["m_uf"])
    C_r = STIFFNESS * GRAVITY * (p["m_s"] * a / length + p["m_ur"])
    front = np.array([C_f / m, a * C_f / p["I_z"]]) / speed
    rear = np.array([C_r / m, -b * C_r / p["I_z"]]) / speed
    A = -np.column_stack([front + rear, a * front - b * rear]) - np.array([[0.0, speed], [0.0, 0.0]])
    B = -np.column_stack([front, rear])
    moved = []
    axle_rates = _axle_roll_rates(vehicle, given)
    for axle in axle_rates:
        between = unsprung * (p["h_s"] * given.roll_rate - p["R_w"] * axle)
        moved.append((1.0 - unsprung) * p["h_s"] * roll_rate + between - p["R_w"] * axle)
    w = np.column_stack(moved)
    _, x, _ = lsim(StateSpace(A, B, np.eye(2), np.zeros((2, 2))), w, given.time)
    axle = 0.5 * (axle_rates[0] + axle_rates[1])
    whole = unsprung * (p["h_s"] * given.roll_rate - p["R_w"] * axle)
    ay = x @ A[0] + w @ B[0] + speed * x[:, 1] + rate_of(given.time, whole)
    return x[:, 0] + whole, x[:, 1], ay


@pytest.mark.parametrize(("vehicle", "run"), TURNS)
def test_planar_motion_in_turns(
    car_with: CarWith, straight_damper: Callable[[float], Any], vehicle: int, run: str
) -> None:
    given = theirs(vehicle, run)
    states, outputs = driven(*alike(car_with, straight_damper, vehicle), run, given)
    turning = given.time < 2.9  # braking begins at 3 s, where the linear answer no longer holds
    roll_rate = states[:, N_POSITION + Y.roll]
    sideways, yaw_rate, ay = _answer_to_other_slips(vehicle, run, given, roll_rate)
    # The prediction is linear, reads 20 ms samples and knows nothing of the sideways spring of their axles,
    # whose inertia is a tenth of the car's: a tenth of the answer, 10 % of 28 % of a_y and 80 % of v_y.
    for ours, other, more, share in (
        (states[:, X.yaw_rate], given.yaw_rate, yaw_rate, 0.01),
        (states[:, X.lateral_velocity], given.sideways, sideways, 0.08),
        (outputs[:, O.lateral_acceleration], given.ay, ay, 0.04),
    ):
        size = np.ptp(other)
        assert_allclose((ours - other)[turning], more[turning], rtol=0.0, atol=share * size)
    # At the end: our formula takes the tangent of the slip angle, 3e-4 more at 0.03 rad. While braking, their
    # tyres pull the car aside: by no more than where it brakes straight, 1e-3 rad/s.
    pull = np.max(np.abs(theirs(vehicle, "brake").yaw_rate)) if run == "brake_in_turn" else 0.0
    assert_allclose(states[-1, X.yaw_rate], given.yaw_rate[-1], rtol=1e-3, atol=pull)
    assert_allclose(states[:, X.forward_velocity], given.speed, rtol=0.0, atol=0.006)


@pytest.mark.parametrize("vehicle", [1, 2, 3])
def test_straight_braking(car_with: CarWith, straight_damper: Callable[[float], Any], vehicle: int) -> None:
    given = theirs(vehicle, "brake")
    states, outputs = driven(*alike(car_with, straight_damper, vehicle), "brake", given)
    # Our tyres lag 20 mm, 1.3 ms at 15 m/s, behind theirs while a_x builds up within about 0.1 s: 1.3 %.
    ax = outputs[:, O.longitudinal_acceleration]
    assert_allclose(ax, given.ax, rtol=0.0, atol=0.015 * FULL_PEDAL)
    assert_allclose(ax[-1], given.ax[-1], rtol=2e-4)
    assert_allclose(states[:, X.forward_velocity], given.speed, rtol=0.0, atol=0.006)
    # The height of their sprung mass moves with the dive, its springs work at an angle: 2 to 3 % of the arm.
    assert_allclose(states[:, Y.pitch], given.pitch, rtol=0.0, atol=0.03 * np.ptp(given.pitch))
    for corner in range(4):
        load = given.loads[:, corner]
        assert_allclose(outputs[:, corner], load, rtol=0.0, atol=0.035 * np.ptp(load))


@pytest.mark.parametrize(("vehicle", "run"), RUNS)
def test_body_and_tyre_loads_under_their_accelerations(
    car_with: CarWith, straight_damper: Callable[[float], Any], vehicle: int, run: str
) -> None:
    p, given = VEHICLES[f"vehicle{vehicle}"], theirs(vehicle, run)
    _, vector = alike(car_with, straight_damper, vehicle)
    step = 1e-3
    time = half_steps(float(given.time[-1]), step)
    inputs = np.zeros((time.size, N_INPUT))
    inputs[:, I.speed] = SPEEDS[run]
    inputs[:, I.lateral_acceleration] = CubicSpline(given.time, given.ay)(time)
    inputs[:, I.longitudinal_acceleration] = CubicSpline(given.time, given.ax)(time)
    inputs[:, I.yaw_acceleration] = CubicSpline(given.time, given.yaw_rate)(time, 1)
    inputs[0, [I.lateral_acceleration, I.longitudinal_acceleration, I.yaw_acceleration]] = 0.0
    # Their accelerations are along and across their car: ours must not turn them by a drift of its own.
    car = without_slips(vector[None])
    history = run_rig(car, RigMotion(name=run, step=step, inputs=inputs, store_every=20))
    states, outputs = history.states[0], history.outputs[0]
    rows = min(states.shape[0], given.time.size)
    # Roll: a fiftieth of the largest, their axles' sideways spring. Braking straight: of their pull, 1 mrad.
    roll = max(0.02 * np.ptp(given.roll), 2e-4)
    assert_allclose(states[:rows, Y.roll], given.roll[:rows], rtol=0.0, atol=roll)
    if run != "step_steer":
        assert_allclose(states[:rows, Y.pitch], given.pitch[:rows], rtol=0.0, atol=0.05 * np.ptp(given.pitch))
    for axle, end in enumerate("fr"):
        force = p["m"] * given.ay * (p["b"], p["a"])[axle] / (p["a"] + p["b"])
        loads = given.loads[:, 2 * axle : 2 * axle + 2]
        moved_patch = p["K_lt"] * np.max(np.abs(force) * np.max(loads, axis=1)) / p[f"T_{end}"]
        swing = 2.0 * p[f"m_u{end}"] * np.ptp(given.ay) * p["R_w"] / p[f"T_{end}"]
        for corner in (2 * axle, 2 * axle + 1):
            load = given.loads[:rows, corner]
            lifting_arm = 0.03 * np.ptp(load) if run == "brake" else 0.0
            assert_allclose(outputs[:rows, corner], load, rtol=0.0, atol=moved_patch + swing + lifting_arm)
            # the swing is over within half a second: a tenth of its square stays
            error = np.sqrt(np.mean((outputs[:rows, corner] - load) ** 2))
            assert error < moved_patch + 0.3 * swing + 0.5 * lifting_arm
