"""Slips of the rig's tyres deliver what it asks of them, and sliding costs what it must."""

from collections.abc import Callable

import numpy as np
import pytest
from numpy.testing import assert_allclose

from fourpatch.analysis.axle_use import AxleUse, axle_use
from fourpatch.analysis.standard_events import standard_corners
from fourpatch.analysis.tyre_work import CornerSlips, corner_slips, sliding_power
from fourpatch.car.car import Car
from fourpatch.car.demo import demo_car
from fourpatch.car.pack import pack
from fourpatch.events.motion import RigMotion
from fourpatch.events.run import run_rig, stable_step
from fourpatch.physics.integrate import History
from fourpatch.physics.layout import N_OUTPUT, TYRE_BASE, O
from fourpatch.physics.sliding import tyre_slips
from fourpatch.physics.tyre import N_TYRE, cornering_stiffness, tyre_forces

Run = tuple[np.ndarray, RigMotion, History, AxleUse, CornerSlips]


@pytest.fixture(scope="module")
def run() -> Run:
    car = demo_car("gt")
    parameters = pack(car)[None]
    motion = standard_corners(car, ("medium corner",))["medium corner"].motion(car, stable_step(parameters))
    history = run_rig(parameters, motion)
    use = axle_use(parameters, history, motion)
    return parameters, motion, history, use, corner_slips(parameters, history, motion, use)


def test_the_tyres_deliver_what_the_rig_asks_of_each_axle(run: Run) -> None:
    _, _, history, use, slips = run
    outputs = history.outputs[0, slips.places]
    asked = outputs[:, O.longitudinal_force : O.longitudinal_force + 4].reshape(-1, 2, 2).sum(axis=2)
    load = outputs[:, O.tyre_load : O.tyre_load + 4].reshape(-1, 2, 2).sum(axis=2)
    delivered = slips.tyres[0].reshape(-1, 2, 2, 4).sum(axis=2)
    assert (slips.share == 1.0).all()
    # 1e-4 of the axle's load is where the search ends.
    assert np.abs((delivered[..., 2] - asked) / load).max() < 1e-4
    assert np.abs((delivered[..., 3] - use.lateral_demand[0, slips.places]) / load).max() < 1e-4


def test_their_forces_are_those_of_the_tyre_at_these_slips(run: Run) -> None:
    parameters, _, history, _, slips = run
    middle = slips.places.size // 2
    row = history.outputs[0, slips.places[middle]]
    for corner, mirror in enumerate((1.0, -1.0, 1.0, -1.0)):
        slip, tangent, along, across = slips.tyres[0, middle, corner]
        found = tyre_forces(
            parameters[0],
            TYRE_BASE + corner // 2 * N_TYRE,
            0,
            1,
            row[O.tyre_load + corner],
            slip,
            mirror * tangent,
            mirror * row[O.inclination + corner],
        )
        # The same function, compiled elsewhere: rounding.
        assert_allclose((along, across), (found[0], mirror * found[1]), rtol=1e-9)


def test_toe_alone_scrubs_by_stiffness_times_its_square(car_with: Callable[..., Car]) -> None:
    """Straight ahead each tyre has its toe for a slip angle: P = C toe^2 V, while the tyre is linear."""
    parameters = pack(car_with({}))[None]
    toe, load, speed = np.radians(0.2), 3000.0, np.array([40.0])
    outputs = np.zeros((1, 1, N_OUTPUT))
    outputs[..., O.tyre_load : O.tyre_load + 4] = load
    outputs[..., [O.steer, O.steer + 2]], outputs[..., [O.steer + 1, O.steer + 3]] = -toe, toe
    tyres, slope, share = np.zeros((1, 1, 4, 4)), np.zeros((1, 1, 2)), np.zeros((1, 1, 2))
    tyre_slips(parameters, outputs, np.zeros(1), speed, np.zeros((1, 1, 2)), tyres, slope, share)
    slip, tangent, along, across = np.moveaxis(tyres[0], -1, 0)
    power = sliding_power(rolling=speed, slip=slip, tangent=tangent, along=along, across=across)
    stiffness = [
        cornering_stiffness(parameters[0], TYRE_BASE + k // 2 * N_TYRE, 0, 1, load, 0.0) for k in range(4)
    ]
    # At 0.2 deg the force is within 1 % of its slope at none.
    assert_allclose(power[0], np.array(stiffness) * toe**2 * speed, rtol=0.01)
    assert_allclose(slope[0, 0], -np.add(stiffness[::2], stiffness[1::2]), rtol=0.02)


def test_a_fortieth_of_a_second_is_fine_enough(run: Run) -> None:
    parameters, motion, history, use, slips = run
    import fourpatch.analysis.tyre_work as module

    coarse, module._APART = module._APART, 0.004
    try:
        fine = corner_slips(parameters, history, motion, use)
    finally:
        module._APART = coarse
    assert fine.places.size > 8 * slips.places.size
    # The corner's ramps last 0.7 s and more: 1 % of the trapezoids' error is what the docstring says.
    assert_allclose(slips.work, fine.work, rtol=0.01)


def test_what_no_tyre_can_deliver_slides_at_its_limit(run: Run) -> None:
    parameters, motion, history, use, _ = run
    twice = AxleUse(
        use=use.use,
        lateral_capacity=use.lateral_capacity,
        longitudinal_capacity=use.longitudinal_capacity,
        lateral_demand=2.0 * use.lateral_demand,
    )
    slips = corner_slips(parameters, history, motion, twice)
    assert slips.share.min() < 0.7
    assert (slips.work > 0.0).all()
