"""A base set-up as pages and API say it."""

from fourpatch.advice.base_setup import base_setup
from fourpatch.app.answers.base import base_answer
from fourpatch.car.demo import demo_car
from fourpatch.car.setup import baseline_setup

KEPT = ("front bar", "rear bar", "fuel")


def test_every_value_says_why_and_how_far_it_may_move() -> None:
    whole = demo_car("gt")
    car = whole.model_copy(update={"adjusters": [one for one in whole.adjusters if one.name in KEPT]})
    given = baseline_setup(car)
    found = base_setup(car, given, style="calm")
    answer = base_answer(3, given, found)
    assert {one.adjuster for one in answer.values} == set(KEPT)
    assert all(one.because for one in answer.values)
    assert answer.sought == 3.0
    assert answer.setup == found.setup.values | {one.adjuster: one.position for one in answer.values}
    for one in answer.values:
        if one.low is not None and one.high is not None:
            assert one.low <= one.position <= one.high
    assert [one.name for one in answer.costs] == ["as given", "targets alone", "this set-up"]
    # A total is the sum of its parts, to rounding.
    for cost in answer.costs:
        assert abs(sum(cost.parts.values()) - cost.total) < 1e-9
