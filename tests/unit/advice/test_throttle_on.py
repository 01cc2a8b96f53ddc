"""The throttle opened out of a turn: traction and balance, and what they contradict."""

import numpy as np
import pytest
from numpy.testing import assert_allclose

from fourpatch.advice.change_set import changed_setup
from fourpatch.advice.complaint_text import read_complaint
from fourpatch.advice.course import Course, standard_course
from fourpatch.advice.drive_check import DriveAsked, contradicted, drive_check
from fourpatch.advice.target import target_of
from fourpatch.advice.throttle_on import ThrottleOn, throttle_on
from fourpatch.analysis.statics import weights
from fourpatch.car.car import Car
from fourpatch.car.demo import demo_car
from fourpatch.car.gravity import GRAVITY
from fourpatch.car.pack import pack
from fourpatch.car.paths import parameter
from fourpatch.car.setup import apply_setup, baseline_setup

SLOW = "slow corner"


@pytest.fixture(scope="module")
def gt() -> Car:
    return demo_car("gt")


@pytest.fixture(scope="module")
def course(gt: Car) -> Course:
    return standard_course(gt)


@pytest.fixture(scope="module")
def cars(gt: Car) -> list[Car]:
    """As it stands, the same once more, with a softer and a stiffer rear bar, with more and less lock."""
    names = [one.name for one in gt.adjusters]
    steps = (("rear bar", 0), ("rear bar", -2), ("rear bar", 2), ("differential power ramp", 2))
    setups = [
        changed_setup(baseline_setup(gt), gt.adjusters, ((names.index(name), n),), "changed")
        for name, n in steps
    ]
    return [gt, *(apply_setup(gt, one) for one in setups)]


@pytest.fixture(scope="module")
def found(cars: list[Car], course: Course) -> ThrottleOn:
    opened = throttle_on(cars, course.corners[SLOW])
    assert opened is not None
    return opened


def test_the_same_car_does_the_same(found: ThrottleOn) -> None:
    # Lanes of one batch: rounding.
    assert_allclose(found.traction[1], found.traction[0], rtol=1e-9)
    assert_allclose(found.turning[1], found.turning[0], rtol=1e-9)


def test_no_more_drive_than_the_driven_tyres_can_give(gt: Car, found: ThrottleOn) -> None:
    """Closed form: mass times acceleration is at most friction times the load of the driven axle."""
    assert gt.driveline.front_drive_share == 0.0
    of_car = weights(pack(gt))
    rear, height = of_car.axle_share.rear, gt.chassis.cg_height
    friction = parameter(gt, "rear.tyre.grip.peak_friction").value
    friction *= parameter(gt, "rear.tyre.grip.longitudinal_to_lateral").value
    # Load moves to the rear with the acceleration; a tenth for tyres less loaded than their nominal load.
    most = 1.1 * friction * GRAVITY * rear / (1.0 - 1.1 * friction * height / gt.chassis.wheelbase)
    assert found.spins.all()
    assert (found.traction > 0.0).all()
    assert (found.traction < most).all()


def test_less_load_transfer_at_the_driven_axle_is_more_traction_and_less_turning(found: ThrottleOn) -> None:
    """Mechanics: both wheels of an axle give most at equal loads."""
    _, same, softer, stiffer, _ = range(5)
    assert found.traction[softer] > found.traction[same] > found.traction[stiffer]
    assert found.turning[softer] < found.turning[same] < found.turning[stiffer]


def test_lock_that_brings_the_rear_round_is_contradicted_though_the_rig_credits_it(
    gt: Car, course: Course, cars: list[Car]
) -> None:
    target = target_of(read_complaint("loose on exit in slow corners").complaints[0], gt, course)
    said = contradicted(
        gt,
        cars[2:],
        [target],
        course,
        [DriveAsked(throttled=SLOW)],
        credited=np.ones((3, 1), dtype=np.bool_),
        must_show=np.array([False, False, True]),
    )
    assert said == [False, False, True]


def test_a_wheel_that_spins_is_not_cured_by_what_costs_traction(
    gt: Car, course: Course, cars: list[Car]
) -> None:
    target = target_of(read_complaint("spins the inside wheel in slow corners").complaints[0], gt, course)
    asked = [DriveAsked(throttled=SLOW)]
    credited = np.ones((2, 1), dtype=np.bool_)
    assert contradicted(gt, cars[2:4], [target], course, asked, credited=credited) == [False, True]
    traction = next(one for one in drive_check(gt, cars[2:4], [target], course, asked) if "spins" in one.name)
    assert traction.agrees == (True, False)
