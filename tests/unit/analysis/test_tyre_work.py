"""Slips of the rig's tyres deliver what it asks of them, and sliding costs what it must."""

from collections.abc import Callable

import numpy as np
import pytest
from numpy.testing import assert_allclose

from fourpatch.analysis.axle_use import AxleUse, axle_use
from fourpatch.analysis.standard_events import standard_corners
from fourpatch.analysis.tyre_work import CornerSlips, corner_slips, rig_sliding, tyres_at_work
from fourpatch.car.car import Car
from fourpatch.car.demo import demo_car
from fourpatch.car.pack import pack
from fourpatch.events.motion import RigMotion
from fourpatch.events.run import run_rig, stable_step
from fourpatch.physics.grip import axle_slopes
from fourpatch.physics.integrate import History
from fourpatch.physics.layout import N_OUTPUT, TYRE_BASE, O
from fourpatch.physics.patch_friction import patch_forces
from fourpatch.physics.tyre import N_TYRE, cornering_stiffness

Run = tuple[np.ndarray, RigMotion, History, AxleUse, CornerSlips]


@pytest.fixture(scope="module")
def run() -> Run:
    car = demo_car("gt")
    parameters = pack(car)[None]
    motion = standard_corners(car, ("medium corner",))["medium corner"].motion(car, stable_step(parameters))
    history = run_rig(parameters, motion)
    use = axle_use(parameters, history.outputs)
    return parameters, motion, history, use, corner_slips(parameters, history, motion)


def test_the_tyres_give_what_the_motion_asks_at_the_slips_reported(run: Run) -> None:
    """The motion's forces are those of the tyres at the slips, but for what a sample has moved."""
    parameters, _, history, _, slips = run
    rows = history.outputs[0, slips.places]
    _, _, along, across = tyres_at_work(rows)
    # Until something is asked of them the rig's tyres are not looked at: the first instant is left out.
    for place, row in list(enumerate(rows))[1:]:
        for corner, mirror in enumerate((1.0, -1.0, 1.0, -1.0)):
            found = patch_forces(
                parameters[0],
                TYRE_BASE + corner // 2 * N_TYRE,
                0,
                1,
                row[O.tyre_load + corner],
                row[O.slip + corner],
                mirror * row[O.slip_angle + corner],
                mirror * row[O.inclination + corner],
            )
            asked = np.array([along[place, corner], across[place, corner]])
            # One step of Newton's method each 4 ms follows a motion whose ramps last 0.3 s and more.
            assert np.abs(asked - [found[0], mirror * found[1]]).max() < 0.01 * row[O.tyre_load + corner]


def test_toe_alone_scrubs_by_stiffness_times_its_square(car_with: Callable[..., Car]) -> None:
    """Straight ahead each tyre has its toe for a slip angle: P = C toe^2 V, while the tyre is linear."""
    parameters = pack(car_with({}))[None]
    toe, load, speed = np.radians(0.2), 3000.0, np.array([40.0])
    outputs = np.zeros((1, 1, N_OUTPUT))
    outputs[..., O.tyre_load : O.tyre_load + 4] = load
    outputs[..., [O.steer, O.steer + 2]], outputs[..., [O.steer + 1, O.steer + 3]] = -toe, toe
    outputs[..., O.slip_angle : O.slip_angle + 4] = np.array([toe, -toe, toe, -toe])
    stiffness = [
        cornering_stiffness(parameters[0], TYRE_BASE + k // 2 * N_TYRE, 0, 1, load, 0.0) for k in range(4)
    ]
    outputs[..., O.lateral_force : O.lateral_force + 4] = -toe * np.array(stiffness) * [1, -1, 1, -1]
    slope = np.zeros((1, 1, 2))
    axle_slopes(parameters, outputs, slope)
    power = rig_sliding(parameters, outputs, curvature=np.zeros(1), speed=speed)
    # At 0.2 deg the force is within 1 % of its slope at none.
    assert_allclose(power[0, 0], np.array(stiffness) * toe**2 * speed, rtol=0.01)
    assert_allclose(slope[0, 0], -np.add(stiffness[::2], stiffness[1::2]), rtol=0.02)


def test_a_fortieth_of_a_second_is_fine_enough(run: Run) -> None:
    parameters, motion, history, _, slips = run
    import fourpatch.analysis.tyre_work as module

    coarse, module._APART = module._APART, 0.004
    try:
        fine = corner_slips(parameters, history, motion)
    finally:
        module._APART = coarse
    assert fine.places.size > 8 * slips.places.size
    # The corner's ramps last 0.7 s and more: 1 % of the trapezoids' error is what the docstring says.
    assert_allclose(slips.work, fine.work, rtol=0.01)


def test_what_no_tyre_can_give_slides_at_its_limit() -> None:
    """Asked for a tenth more than there is, tyres stop at the slip of their peak, and slide there."""
    car = demo_car("gt")
    parameters = pack(car)[None]
    standard = standard_corners(car, ("medium corner",))["medium corner"]
    motion = standard.model_copy(update={"speed": 1.12 * standard.speed}).motion(car, stable_step(parameters))
    history = run_rig(parameters, motion)
    assert axle_use(parameters, history.outputs).use.max() > 1.1
    slips = corner_slips(parameters, history, motion)
    assert np.isfinite(slips.power).all()
    assert np.abs(history.outputs[..., O.slip_angle : O.slip_angle + 4]).max() < 0.5
    assert (slips.work > 0.0).all()
