"""What is not known of a car: unknowns that are independent, and what both axles share."""

import math

import pytest

from fourpatch.advice.plausible import APART, BOTH, shifted, uncertain
from fourpatch.car.car import Car
from fourpatch.car.estimate import CarBrief, estimate_car
from fourpatch.car.paths import parameter
from fourpatch.car.provenance import GIVEN, spread

FRICTION = "tyre.grip.peak_friction"


def estimated(rear_tyre: str) -> Car:
    return estimate_car(
        CarBrief(
            name="Invented",
            mass=1150.0,
            front_weight_share=0.54,
            wheelbase=2.5,
            driven="rear",
            power=150e3,
            front_tyre="205/50R16",
            rear_tyre=rear_tyre,
            grip="semi-slick",
            body="saloon",
        )
    )


@pytest.mark.parametrize(("rear_tyre", "alike"), [("205/50R16", 0.9), ("225/50R16", 0.8)])
def test_axles_keep_their_spread_and_have_the_correlation_that_is_said(rear_tyre: str, alike: float) -> None:
    car = estimated(rear_tyre)
    groups = uncertain(car)
    by_axle = []
    for end in ("front", "rear"):
        path = f"{end}.{FRICTION}"
        before = parameter(car, path).value
        after = [
            parameter(shifted(car, groups, {f"{FRICTION}{part}": 1.0}), path).value for part in (BOTH, APART)
        ]
        size = math.sqrt(math.log(1.0 + (spread(car, path) / before) ** 2))  # of the logarithm
        by_axle.append([math.log(one / before) / size for one in after])
    front, rear = by_axle
    # Rounding of the logarithms.
    assert sum(w * w for w in front) == pytest.approx(1.0, rel=1e-9)
    assert sum(w * w for w in rear) == pytest.approx(1.0, rel=1e-9)
    assert sum(f * r for f, r in zip(front, rear, strict=True)) == pytest.approx(alike, rel=1e-9)


def test_several_unknowns_move_one_number_together() -> None:
    car = estimated("205/50R16")
    groups = uncertain(car)
    path = f"front.{FRICTION}"
    both, apart, together = (
        parameter(shifted(car, groups, scores), path).value / parameter(car, path).value
        for scores in (
            {f"{FRICTION}{BOTH}": 1.5},
            {f"{FRICTION}{APART}": -0.5},
            {f"{FRICTION}{BOTH}": 1.5, f"{FRICTION}{APART}": -0.5},
        )
    )
    assert together == pytest.approx(both * apart, rel=1e-12)  # logarithms add up


def test_a_tyre_that_was_measured_leaves_the_other_by_itself() -> None:
    car = estimated("205/50R16")
    known = car.model_copy(update={"provenance": {**car.provenance, "front.tyre.grip.peak_friction": GIVEN}})
    names = [name for name in uncertain(known) if FRICTION in name]
    assert names == [f"rear.{FRICTION}"]


def test_what_a_driver_sets_is_not_alike() -> None:
    names = set(uncertain(estimated("205/50R16")))
    assert {"front.tyre.pressure", "rear.tyre.pressure", "front.camber", "front.ride_height"} <= names
