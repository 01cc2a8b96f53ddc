"""What an axle uses of its grip, against closed forms."""

import numpy as np
import pytest
from numpy.testing import assert_allclose

from fourpatch.analysis.axle_use import axle_use, tyre_use
from fourpatch.analysis.phase_balance import phase_balance
from fourpatch.analysis.steady_limits import (
    SteadyCar,
    braking_limit,
    corner_speed,
    top_speed,
    traction_limit,
)
from fourpatch.car.pack import pack
from fourpatch.events.corner import Corner
from fourpatch.events.motion import steady_inputs
from fourpatch.events.run import run_rig, stacked
from fourpatch.physics.layout import O

FRICTION = 1.4
# Tyres whose grip is friction times load, whatever the load and lean.
PLAIN_GRIP = {
    "kind": "compact",
    "nominal_load": 3000.0,
    "peak_friction": FRICTION,
    "longitudinal_to_lateral": 1.0,
    "load_sensitivity": 0.0,
    "peak_slip_angle": 0.12,
    "cornering_stiffness": 22.0,
    "camber_stiffness": 0.0,
}


# Tyres that give all of it at a slip angle of hardly a degree: what slip angles do to a car is then small.
STIFF_GRIP = {**PLAIN_GRIP, "peak_slip_angle": 0.0301, "cornering_stiffness": 59.9}
STIFF = {"front.tyre.grip": STIFF_GRIP, "rear.tyre.grip": STIFF_GRIP}

# So low that hardly any load moves: an axle's two tyres then peak at the same slip angle.
LOW = {"chassis.cg_height": 0.1, "front.unsprung_cg_height": 0.05, "rear.unsprung_cg_height": 0.05}


def _plain(car_with, **changes):
    return car_with({"front.tyre.grip": PLAIN_GRIP, "rear.tyre.grip": PLAIN_GRIP, **changes})


def test_steady_cornering_uses_lateral_acceleration_over_friction(car_with):
    front, rear = SteadyCar(_plain(car_with, **LOW, **STIFF)).use(speed=60.0, lateral_acceleration=9.0)
    # Two tyres at one slip angle, both at their peak: the capacity search is within 0.1 %. On 400 m the
    # wheels are turned by 0.4 deg; holding speed takes a hundredth of the force across and loads the rear by
    # 0.1 %.
    assert_allclose([front, rear], 9.0 / (FRICTION * 9.81), rtol=2.5e-3)


def test_braking_uses_each_axle_by_its_share_over_its_load(car_with):
    car = _plain(car_with)
    front, rear = SteadyCar(car).use(speed=30.0, longitudinal_acceleration=-8.0)
    weight, force = 1200.0 * 9.81, 1200.0 * 8.0
    moved = force * 0.5 / 2.6
    spun = [8.0 * one for one in _masses_of_spin(car)]
    # Engine braking comes through the rear axle alone; engine and brakes slow the wheels' own spin too.
    share = (force + sum(spun) - _overrun(car, 30.0)) * 0.6 - spun[0]
    assert_allclose(front, share / (FRICTION * (weight / 2 + moved)), rtol=1e-6)
    assert_allclose(rear, (force - share) / (FRICTION * (weight / 2 - moved)), rtol=1e-6)


def _masses_of_spin(car):
    """What the spin of an axle's wheels, of 0.3 m radius, adds to the mass, front and rear. [kg]"""
    return [2.0 * axle.wheel_spin_inertia / 0.3**2 for axle in (car.front, car.rear)]


def _overrun(car, speed):
    """Closed-throttle force at the ground in the gear that pulls hardest, worked out apart from the code."""
    line, radius = car.driveline, 0.3
    ratios = [g * line.final_drive for g in line.gear_ratios]
    usable = [r for r in ratios if speed / radius * r <= line.engine_speed[-1]]
    ratio = max(usable)
    return line.overrun_torque * (speed / radius * ratio) / line.engine_speed[-1] * ratio / radius


def test_open_differential_is_limited_by_its_lighter_wheel(car_with):
    open_car = _plain(car_with, **{"driveline.engine_torque": [900.0, 900.0], "rear.bar.rate": 60e3})
    inputs = {"speed": 20.0, "lateral_acceleration": 8.0, "longitudinal_acceleration": 3.0}
    steady = SteadyCar(open_car)
    row = steady_inputs(open_car, **inputs)
    history = steady.settled(row)
    found = axle_use(steady.vector, history.outputs)
    lighter = history.outputs[0, 0, O.tyre_load + 2 : O.tyre_load + 4].min()
    assert_allclose(found.longitudinal_capacity[0, 0, 1], 2.0 * FRICTION * lighter, rtol=1e-6)


def test_spool_uses_both_tyres_and_pushes_the_front(car_with):
    spool = _plain(
        car_with,
        **{"driveline.engine_torque": [900.0, 900.0], "driveline.rear_differential": {"kind": "locked"}},
    )
    free = _plain(car_with, **{"driveline.engine_torque": [900.0, 900.0]})
    # Gently, while tyres are as stiff along as without a slip angle.
    turn = {"speed": 10.0, "lateral_acceleration": 1.0}
    front_spool, _ = SteadyCar(spool).use(**turn)
    front_free, _ = SteadyCar(free).use(**turn)
    # A spool's tyres slip by half the track times curvature: K t / 2R each way, a yaw moment against the
    # turn.
    radius = 10.0**2 / 1.0
    stiffness = 22.0 * 1200.0 * 9.81 / 2  # both rear tyres, slip stiffness 22 per load
    moment = 0.25 * stiffness * 1.5 / radius * 1.5
    shift = moment / 2.6 / (FRICTION * 1200.0 * 9.81 / 2)
    # Slip angles of half a degree take 2 % of the slip stiffness.
    assert_allclose(front_spool - front_free, shift, rtol=0.03)


def test_more_lock_changes_nothing_once_both_wheels_turn_at_one_speed(car_with):
    def use(kind: dict[str, object]) -> tuple[float, float]:
        car = _plain(
            car_with, **{"driveline.engine_torque": [900.0, 900.0], "driveline.rear_differential": kind}
        )
        return SteadyCar(car).use(speed=20.0, lateral_acceleration=4.0)

    # At 100 m a spool moves K t / 4R, 490 N: 150 N m at the wheel. A preload beyond twice that holds.
    plate = {"kind": "plate", "power_lock": 0.0, "coast_lock": 0.0}
    held, held_harder, locked = (
        use({**plate, "preload": 600.0}),
        use({**plate, "preload": 900.0}),
        use({"kind": "locked"}),
    )
    assert_allclose(held, held_harder, rtol=1e-12)
    assert_allclose(held, locked, rtol=1e-12)
    slipping = use({**plate, "preload": 20.0})
    assert slipping[0] < held[0]


@pytest.mark.parametrize("radius", [30.0, 120.0])
def test_corner_speed_of_a_car_without_load_sensitivity(car_with, radius):
    speed = corner_speed(_plain(car_with, **LOW, **STIFF), radius=radius, fastest=90.0)
    # v^2 = mu g R, of which wheels turned by L / R give their cosine; the bisection stops at 5e-4 and the
    # capacity is within 1e-3 (half of it in speed). What holding speed takes is 2 % of the weight, to its
    # square.
    turned = np.cos(2.6 / radius)
    # Holding speed takes load off the front, 0.2 %, and unequal loads peak at unequal slip angles, 0.2 %.
    assert_allclose(speed, np.sqrt(FRICTION * 9.81 * radius * turned), rtol=5e-3)


def test_corner_speed_with_downforce(car_with):
    """Published closed form: v^2 = mu g / (1/R - mu k / m) = (36.339743 m/s)^2.

    Source: the project's reference values, section 10 (mu 1.4, m 1000 kg, k 1.5, R 80 m; computed there).
    """
    area = 0.5 * 1.5 / (0.5 * 1.2)
    car = _plain(
        car_with,
        **LOW,
        **STIFF,
        **{
            "chassis.mass": 1000.0,
            "aero.map.front_downforce": {"constant": area},
            "aero.map.rear_downforce": {"constant": area},
            "front.spring.rate": 200e3,
            "rear.spring.rate": 200e3,
        },
    )
    # As above; downforce doubles the sensitivity of speed to grip here.
    assert_allclose(corner_speed(car, radius=80.0, fastest=90.0), 36.339743, rtol=8e-3)


def test_braking_limit_with_ideal_share(car_with):
    """With the brake share of the loads at that deceleration the limit is mu g."""
    decel = FRICTION * 9.81
    ideal = 0.5 + decel * 0.5 / 2.6 / 9.81
    front, rear = _masses_of_spin(_plain(car_with))
    share = (ideal * 1200.0 + front) / (1200.0 + front + rear)  # the brakes slow the wheels' own spin too
    car = _plain(car_with, **{"brakes.front_share": share, "driveline.overrun_torque": 0.0})
    # Bisection to 5e-4.
    assert_allclose(braking_limit(car, speed=30.0), decel, rtol=1e-3)


def test_traction_limit_of_a_rear_driven_car(car_with):
    """m a + I a / R^2 = mu (W/2 + m a h / L), I of the undriven wheels, which the road turns."""
    car = _plain(car_with, **{"driveline.engine_torque": [1500.0, 1500.0]})
    spun = _masses_of_spin(car)[0] / 1200.0
    expected = FRICTION * 9.81 * 0.5 / (1.0 + spun - FRICTION * 0.5 / 2.6)
    assert_allclose(traction_limit(car, speed=10.0), expected, rtol=1e-3)


def test_traction_stops_where_the_engine_does(car_with):
    car = _plain(car_with, **{"driveline.efficiency": 1.0})
    # 300 N m through second gear 2.0 x 3.5 at 25 m/s (first would pass 700 rad/s) on 0.3 m wheels, no drag.
    assert_allclose(traction_limit(car, speed=25.0), 300.0 * 7.0 / 0.3 / 1200.0, rtol=1e-9)


def test_top_speed_is_where_drag_takes_all(car_with):
    speeds = np.linspace(80.0, 700.0, 60)
    power = 200e3
    car = _plain(
        car_with,
        **{
            "driveline.engine_speed": list(speeds),
            "driveline.engine_torque": list(power / speeds),
            "driveline.gear_ratios": [1.0],
            "driveline.final_drive": 2.5,
            "driveline.efficiency": 1.0,
            "aero.map.drag": {"constant": 1.0},
        },
    )
    # (P / k)^(1/3) with k = 0.6 kg/m; torque is straight between 60 points, speeds 2.4 m/s apart: 0.5 %.
    assert_allclose(top_speed(car), (power / 0.6) ** (1.0 / 3.0), rtol=5e-3)


def test_mirrored_corner_mirrors_the_answer(full_car):
    vectors = pack(full_car)[None, :]
    left, right = (
        phase_balance(vectors, run_rig(vectors, m), m, ["one"])
        for m in (Corner(direction=way).motion(full_car, 1e-3) for way in ("left", "right"))
    )
    for name in left.data_vars:
        sign = -1.0 if name == "roll" else 1.0
        there = left[name].isel(corner=[1, 0, 3, 2]) if "corner" in left[name].dims else left[name]
        # The same arithmetic with left and right exchanged; sums in another order: rounding.
        assert_allclose(right[name], sign * there.values, rtol=1e-6, atol=1e-7, err_msg=str(name))


def test_parts_of_the_transfer_add_up(full_car):
    vectors = pack(full_car)[None, :]
    motion = Corner().motion(full_car, 1e-3)
    phases = phase_balance(vectors, run_rig(vectors, motion), motion, ["one"])
    parts = sum(phases[f"{part}_transfer"] for part in ("elastic", "damper", "geometric", "unsprung"))
    assert_allclose(parts, phases.lateral_transfer, rtol=1e-12, atol=1e-9)
    mid = phases.sel(phase="mid")
    # Where the car has taken its set the unsprung part is m_u h_u a_y / t: two wheels of 36 kg and 35 kg.
    lateral = 25.0**2 / 60.0
    expected = [2 * 36.0 * 0.3 / 1.58 * lateral, 2 * 35.0 * 0.3 / 1.55 * lateral]
    assert_allclose(mid.unsprung_transfer.values[0], expected, rtol=0.02)  # the last swing of the wheels


def test_dampers_change_no_steady_balance(car_with, straight_damper):
    """Trade fact, common practice, no published source: a complaint at mid-corner is not cured by dampers."""
    cars = [car_with({"front.damper": straight_damper(slope), "rear.bar.rate": 10e3}) for slope in (2e3, 8e3)]
    vectors = stacked([pack(car) for car in cars])
    motion = Corner(mid=6.0).motion(cars[0], 1e-3)
    phases = phase_balance(vectors, run_rig(vectors, motion), motion, ["soft", "stiff"])
    late = phases.late_balance.sel(phase="mid").values
    early = phases.balance_swing.sel(phase="entry", setup="stiff").item()
    # Three seconds after turn-in the slowest mode (1.9 Hz, damping ratio 0.2) has died to e^-7 of tenths of
    # a point,
    # and the late half averages over three more.
    assert_allclose(late[1], late[0], atol=1e-4)
    assert abs(early) > 0.05


def test_unequal_loads_cost_an_axle_grip_even_without_load_sensitivity(car_with):
    """Two tyres on one axle share a slip angle; unequally loaded they do not peak at the same one."""
    low, tall = (SteadyCar(_plain(car_with, **height)) for height in (LOW, {}))
    turn = {"speed": 25.0, "lateral_acceleration": 8.0}
    assert tall.use(**turn)[0] > 1.003 * low.use(**turn)[0]


def test_use_of_a_tyre_is_its_force_over_friction_times_load(car_with):
    steady = SteadyCar(_plain(car_with))
    row = steady_inputs(steady.car, speed=30.0, lateral_acceleration=6.0, longitudinal_acceleration=-5.0)
    history = steady.settled(row)
    out = history.outputs[0, 0]
    forces = np.hypot(out[O.lateral_force :][:4], out[O.longitudinal_force :][:4])
    # Both frictions are 1.4; the peak of one tyre is found within 0.1 %.
    expected = forces / (FRICTION * out[O.tyre_load :][:4])
    assert_allclose(tyre_use(steady.vector, history.outputs)[0, 0], expected, rtol=2e-3)
