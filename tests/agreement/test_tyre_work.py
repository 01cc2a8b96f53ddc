"""Work of sliding is what wheels put in and the air does not take out; rig and drive agree on it."""

from types import SimpleNamespace
from typing import Any

import numpy as np
import pytest
from numpy.testing import assert_allclose

from fourpatch.analysis.lap_duty import lap_duty
from fourpatch.analysis.tyre_work import drive_sliding, rig_sliding, sliding_power
from fourpatch.car.demo import demo_car, demo_names
from fourpatch.car.pack import pack
from fourpatch.events.motion import steady_rows
from fourpatch.events.run import settled_rows
from fourpatch.events.steady_circle import SteadyCircle, steady_circle
from fourpatch.events.steady_states import steady_outputs
from fourpatch.physics.layout import CORNER_BASE, N_CORNER, C, I, O, X


def test_a_tyre_dragged_at_an_angle_loses_force_times_sideways_speed() -> None:
    # A free-rolling wheel whose hub moves at V at a slip angle a: the patch slides V sin(a) sideways.
    speed, angle, force = 30.0, np.radians([2.0, 6.0, 12.0]), np.array([2e3, 4e3, 4.2e3])
    found = sliding_power(
        rolling=speed * np.cos(angle),
        slip=np.zeros(3),
        tangent=np.tan(angle),
        along=np.zeros(3),
        across=-force,
    )
    assert_allclose(found, force * speed * np.sin(angle), rtol=1e-14)


@pytest.mark.parametrize("name", demo_names())
def test_on_a_circle_the_tyres_lose_what_the_wheels_put_in_and_drag_leaves(name: str) -> None:
    turns = steady_circle(demo_car(name), SteadyCircle(radius=60.0))
    parameters, states, outputs = (
        turns.driven.parameters[0],
        turns.history.states[0],
        turns.history.outputs[0],
    )
    steer = outputs[:, O.steer : O.steer + 4]
    lengthwise = outputs[:, O.longitudinal_force : O.longitudinal_force + 4]
    sideways = outputs[:, O.lateral_force : O.lateral_force + 4]
    # A wheel of steady spin passes its torque on to the road: T omega = F_x R omega. No slip is in this sum.
    radius = parameters[CORNER_BASE + N_CORNER * np.arange(4) + C.tyre_radius]
    torque = (lengthwise * np.cos(steer) + sideways * np.sin(steer)) * radius
    put_in = (torque * states[:, X.spin : X.spin + 4]).sum(axis=1)
    drag = outputs[:, O.drag] * states[:, X.forward_velocity]
    lost = drive_sliding(parameters, states, outputs).sum(axis=1)
    # As far as the turns are settled: to a watt of kilowatts.
    assert lost.max() > 3e3
    assert_allclose(lost, put_in - drag, rtol=1e-5, atol=0.5)


@pytest.mark.parametrize("name", demo_names())
def test_the_rig_finds_the_work_of_the_driven_circle(name: str) -> None:
    car = demo_car(name)
    turns = steady_circle(car, SteadyCircle(radius=60.0))
    size = np.abs(turns.lateral_acceleration)
    hard = np.flatnonzero((size > 0.3 * size.max()) & (size < 0.9 * size.max()))
    driven = drive_sliding(
        turns.driven.parameters[0], turns.history.states[0, hard], turns.history.outputs[0, hard]
    )
    rows = steady_rows(
        car,
        speed=turns.speed[hard],
        lateral_acceleration=turns.lateral_acceleration[hard],
        longitudinal_acceleration=np.zeros(hard.size),
    )
    vectors = np.repeat(pack(car)[None], hard.size, axis=0)
    positions, settled = settled_rows(vectors, rows, np.zeros((hard.size, 7)))
    assert settled.all()
    history = steady_outputs(vectors, rows, positions)
    prescribed = rig_sliding(
        vectors[:1], history.outputs, curvature=rows[:, I.path_curvature], speed=rows[:, I.speed]
    )[0]
    # The rig's wheels are taken to roll along the path: they point elsewhere by up to 8 deg.
    assert_allclose(prescribed.sum(axis=1), driven.sum(axis=1), rtol=0.02)
    assert_allclose(prescribed.max(axis=1), driven.max(axis=1), rtol=0.02)


@pytest.mark.parametrize("name", demo_names())
def test_a_lap_of_one_steady_turn_costs_what_the_turn_does(name: str) -> None:
    car = demo_car(name)
    turns = steady_circle(car, SteadyCircle(radius=60.0))
    size = np.abs(turns.lateral_acceleration)
    turn = int(np.argmin(np.abs(size - 0.6 * size.max())))
    speed, lateral = float(turns.speed[turn]), float(turns.lateral_acceleration[turn])
    both = np.ones(2)
    profile: Any = SimpleNamespace(
        lap_time=30.0,
        time=np.array([0.0, 30.0]),
        speed=speed / 0.9 * both,
        tyre_lateral=lateral / 0.81 * both,
        tyre_longitudinal=0.0 * both,
    )
    states, outputs = turns.history.states[0, turn : turn + 1], turns.history.outputs[0, turn : turn + 1]
    driven = drive_sliding(turns.driven.parameters[0], states, outputs)[0] / speed
    found = lap_duty(car, profile, share=0.9).sliding
    # As above.
    assert_allclose(found.sum(), driven.sum(), rtol=0.02)
    assert_allclose(found.max(), driven.max(), rtol=0.02)
