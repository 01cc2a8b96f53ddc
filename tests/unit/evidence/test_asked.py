"""A complaint that the car as written does not show: what would have to be true, and what then."""

from dataclasses import replace

import pytest

from fourpatch.advice.complaint_numbers import complaint_numbers
from fourpatch.advice.complaint_text import read_complaint
from fourpatch.advice.course import standard_course
from fourpatch.advice.cure import Cure, cure
from fourpatch.advice.draws import Sureness
from fourpatch.advice.plausible import APART
from fourpatch.advice.target import target_of
from fourpatch.car.car import Car
from fourpatch.car.demo import demo_car
from fourpatch.car.paths import parameter, replace_parameters
from fourpatch.car.provenance import Provenance
from fourpatch.car.setup import baseline_setup
from fourpatch.evidence.asked import asked_among_plausible, if_true
from fourpatch.picture.if_true_words import shown_text

FRICTION = "tyre.grip.peak_friction"
BARS = ("front bar", "rear bar")


@pytest.fixture(scope="module")
def car() -> Car:
    """A demo car with two bars to turn, whose tyres are not known well, and alike on both axles."""
    whole = demo_car("gt")
    guess = Provenance(source="estimated", method="for this test", spread="8 %", alike="50 %")
    unsure = {f"{end}.{FRICTION}": guess for end in ("front", "rear")}
    return whole.model_copy(
        update={
            "adjusters": [one for one in whole.adjusters if one.name in BARS],
            "provenance": {**whole.provenance, **unsure},
        }
    )


@pytest.fixture(scope="module")
def unseen(car: Car) -> Cure:
    """What is answered to the one of two opposite complaints that the car as written does not show."""
    words = ("pushes at mid-corner in medium corners", "loose at mid-corner in medium corners")
    complaints = [read_complaint(text).complaints for text in words]
    found = (cure(car, baseline_setup(car), one) for one in complaints)
    return next(one for one in found if one.shows(one.targets[0]) is False)


@pytest.fixture(scope="module")
def sure(car: Car, unseen: Cure) -> Sureness:
    found = asked_among_plausible(car, baseline_setup(car), unseen, draws=8)
    assert found is not None
    return found


def test_some_plausible_cars_do_it_and_more_of_those_it_is_said_of(sure: Sureness) -> None:
    (shown,) = sure.shown
    assert shown is not None
    assert shown < sure.asked
    assert sure.if_true is not None
    assert sure.if_true.asked > 0
    # Bars move mid-corner balance the same way whatever the tyres.
    assert sure.if_true.holds == sure.if_true.asked


def test_what_would_have_to_be_true_brings_the_complaint(car: Car, unseen: Cure, sure: Sureness) -> None:
    """Made on the car by hand, without the unknowns: front grip against rear by as much as is said."""
    assert sure.if_true is not None
    needed = next(one for one in sure.if_true.needed if one.name == FRICTION + APART)
    front = f"front.{FRICTION}"
    other = replace_parameters(car, {front: parameter(car, front).value * (1.0 + needed.change)})
    course = standard_course(car)
    target = target_of(unseen.targets[0].complaint, car, course)
    written, changed = complaint_numbers(car, [car, other], [target], course.events)[:, 0]
    assert target.neutral is not None
    before, after = (target.sign * (one - target.neutral) for one in (written, changed))
    assert before <= target.hardly
    # Its driver may call up to some points neutral: the car alone need not be all the way.
    assert after > before + 1.0


def test_it_is_said_in_words(unseen: Cure, sure: Sureness) -> None:
    first, needed, own = shown_text(unseen, sure)
    assert f"of the {sure.asked} do that" in first
    assert "tyre grip peak friction, front against rear" in needed
    assert "the first set goes the right way" in own


def test_of_a_complaint_that_the_car_shows_nothing_is_asked(car: Car, unseen: Cure) -> None:
    (target,) = unseen.targets
    shown = replace(unseen, targets=(replace(target, sign=-target.sign),))
    assert if_true(car, baseline_setup(car), shown) is None
