"""Rig and drive give one balance in a steady turn, from half of the limit to 98 % of it.

Neither is told of the other: the drive is Newton's method on all its rates with free spins, slips and speeds,
the rig prescribes the motion and searches the slips.
"""

import numpy as np
import pytest
from numpy.testing import assert_allclose
from numpy.typing import NDArray

from fourpatch.analysis.axle_use import axle_use
from fourpatch.car.car import Car
from fourpatch.car.demo import demo_car, demo_names
from fourpatch.car.pack import pack
from fourpatch.car.parameters import LockedDifferential, OpenDifferential, PlateDifferential
from fourpatch.events.motion import steady_rows
from fourpatch.events.run import settled_rows
from fourpatch.events.steady_circle import SteadyCircle, SteadyTurns, steady_circle
from fourpatch.events.steady_states import steady_outputs
from fourpatch.physics.layout import CORNER_BASE, N_CORNER, TYRE_BASE, C, O, P, X
from fourpatch.physics.tyre import N_TYRE, longitudinal_stiffness

Array = NDArray[np.float64]
DIFFERENTIALS = {
    "open": OpenDifferential(kind="open"),
    "plate": PlateDifferential(kind="plate", preload=60.0, power_lock=0.3, coast_lock=0.3),
    "locked": LockedDifferential(kind="locked"),
}
SHARES = (0.5, 0.7, 0.85, 0.92, 0.96, 0.98)


def both_ways(car: Car, radius: float) -> tuple[Array, Array, SteadyTurns, list[int]]:
    """Outputs of rig and drive in the same turns, (turns, N_OUTPUT)."""
    turns = steady_circle(car, SteadyCircle(radius=radius))
    size = np.abs(turns.lateral_acceleration)
    picked = [int(np.argmin(np.abs(size - share * size.max()))) for share in SHARES]
    states = turns.history.states[0, picked]
    speed = np.hypot(states[:, X.forward_velocity], states[:, X.lateral_velocity])
    rows = steady_rows(
        car,
        speed=speed,
        lateral_acceleration=speed * states[:, X.yaw_rate],
        longitudinal_acceleration=np.zeros(len(picked)),
    )
    vectors = np.repeat(turns.driven.parameters, len(picked), axis=0)
    positions, settled = settled_rows(vectors, rows, np.zeros((len(picked), 7)))
    assert settled.all()
    return (
        steady_outputs(vectors, rows, positions).outputs[0],
        turns.history.outputs[0, picked],
        turns,
        picked,
    )


@pytest.mark.parametrize("radius", [25.0, 60.0, 200.0])
@pytest.mark.parametrize("name", demo_names())
def test_a_steady_turn_has_one_balance_and_one_set_of_loads(name: str, radius: float) -> None:
    rig, drive, turns, _ = both_ways(demo_car(name), radius)
    found, driven = (axle_use(turns.driven.parameters, one[None]) for one in (rig, drive))
    # The rig stops a per cent short of a tyre's flat top; below, both solve the same equations.
    assert_allclose(found.balance, driven.balance, rtol=0.0, atol=0.2)
    static = turns.driven.parameters[0, CORNER_BASE + C.tyre_rate + N_CORNER * np.arange(4)]
    static = (
        static * turns.driven.parameters[0, CORNER_BASE + C.tyre_static_deflection + N_CORNER * np.arange(4)]
    )
    for slot in (O.tyre_load, O.lateral_force, O.longitudinal_force):
        apart = np.abs(rig[:, slot : slot + 4] - drive[:, slot : slot + 4]) / static
        assert apart.max() < 0.03, slot
        assert apart[:4].max() < 0.01, slot  # up to 92 % of the limit


@pytest.mark.parametrize("kind", DIFFERENTIALS)
@pytest.mark.parametrize("name", demo_names())
def test_no_axle_uses_more_than_there_is(name: str, kind: str) -> None:
    """The tyres of a car in equilibrium give no more than they have, whatever passes force between them."""
    car = demo_car(name)
    end = "front" if pack(car)[P.drive_front_share] > 0.5 else "rear"
    driveline = car.driveline.model_copy(update={f"{end}_differential": DIFFERENTIALS[kind]})
    turns = steady_circle(car.model_copy(update={"driveline": driveline}), SteadyCircle(radius=60.0))
    use = axle_use(turns.driven.parameters, turns.history.outputs).use
    # The ellipse is exact to some per mille.
    assert use.max() < 1.003


@pytest.mark.parametrize("name", demo_names())
def test_power_is_spent_on_air_and_tyres(name: str) -> None:
    """Holding speed takes what air and sliding tyres take: F V cos b = D u + sum of the tyres' sliding.

    Source: work of forces on what moves, for the rig's outputs alone; none of its equations is in this sum.
    """
    rig, _, turns, picked = both_ways(demo_car(name), 140.0)
    speed, curvature = turns.speed[picked], turns.curvature[picked]
    steer = rig[:, O.steer : O.steer + 4]
    x, y = (
        rig[:, O.longitudinal_force : O.longitudinal_force + 4],
        rig[:, O.lateral_force : O.lateral_force + 4],
    )
    along, across = x * np.cos(steer) + y * np.sin(steer), y * np.cos(steer) - x * np.sin(steer)
    slip, tangent = rig[:, O.slip : O.slip + 4], rig[:, O.slip_angle : O.slip_angle + 4]
    places = CORNER_BASE + N_CORNER * np.arange(4)
    planar_y = turns.driven.parameters[0, places + C.planar_y]
    # Each patch's speed along its wheel, by the car's sideslip.
    bend = curvature / np.cos(turns.sideslip[picked])
    forward = speed * np.cos(turns.sideslip[picked])
    drift = np.tan(turns.sideslip[picked]) - turns.driven.parameters[0, P.cg_to_rear] * bend
    ahead = np.array([1.0, 1.0, 0.0, 0.0]) * turns.car.chassis.wheelbase
    aside = drift[:, None] + bend[:, None] * ahead
    rolling = forward[:, None] * ((1.0 - bend[:, None] * planar_y) * np.cos(steer) + aside * np.sin(steer))
    put_in = (along * rolling * (1.0 + slip)).sum(axis=1)
    lost = (rolling * (slip * along - tangent * across)).sum(axis=1)
    drag = rig[:, O.drag] * forward
    # The sideslip is the drive's: the two differ by what they are solved to.
    assert_allclose(put_in, drag + lost, rtol=2e-3)
    assert (lost > 0.4 * drag)[-1]


def test_a_locked_axle_moves_force_by_its_stiffnesses(car_with) -> None:
    """(F_in - F_out) / 2 = [K_in K_out t / R + F_x (K_in - K_out) / 2] / (K_in + K_out), tyres being linear.

    Source: derived here: one speed of both wheels, F_i = K_i slip_i, slips apart by t / R.
    """
    car = car_with({"driveline.rear_differential": {"kind": "locked"}, "aero.map.drag": {"constant": 4.0}})
    radius, speed = 400.0, np.array([12.0, 55.0])
    rows = steady_rows(
        car,
        speed=speed,
        lateral_acceleration=speed**2 / radius,
        longitudinal_acceleration=np.zeros(2),
    )
    vector = pack(car)
    vectors = np.repeat(vector[None], 2, axis=0)
    positions, settled = settled_rows(vectors, rows, np.zeros((2, 7)))
    assert settled.all()
    signs = []
    for row in steady_outputs(vectors, rows, positions).outputs[0]:
        stiff = [
            longitudinal_stiffness(vector, TYRE_BASE + N_TYRE, 0, 1, row[O.tyre_load + k]) for k in (2, 3)
        ]
        x, y, steer = (row[slot + 2 : slot + 4] for slot in (O.longitudinal_force, O.lateral_force, O.steer))
        inner, outer = x * np.cos(steer) + y * np.sin(steer)
        track = car.rear.track_width
        moved = stiff[0] * stiff[1] * track / radius + (inner + outer) * (stiff[0] - stiff[1]) / 2.0
        # Lateral slip and the curve of the force take up to a tenth of the slopes.
        terms = stiff[0] * stiff[1] * track / radius, (inner + outer) * (stiff[0] - stiff[1]) / 2.0
        assert_allclose(
            (inner - outer) / 2.0, moved / sum(stiff), atol=0.12 * max(map(abs, terms)) / sum(stiff)
        )
        signs.append(np.sign(inner - outer))
    # Slow, the inner wheel pulls more; with enough force to the loaded outer tyre it is the other way.
    assert signs == [1.0, -1.0]
