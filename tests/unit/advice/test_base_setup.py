"""A base set-up: on the steps, in the ranges, no dearer than what was given, and saying why."""

import numpy as np
import pytest
from numpy.testing import assert_allclose

from fourpatch.advice import base_borne
from fourpatch.advice.base_setup import BaseSetup, base_setup, hardly_matters, left_alone
from fourpatch.advice.base_start import brake_need
from fourpatch.advice.grip_cost import HARDLY, Judge
from fourpatch.advice.occasion import generic_occasion
from fourpatch.advice.refine import refine
from fourpatch.analysis.steady_limits import SteadyCar
from fourpatch.car.car import Car
from fourpatch.car.demo import demo_car, demo_names
from fourpatch.car.paths import replace_parameters
from fourpatch.car.setup import apply_setup, baseline_setup
from fourpatch.errors import CarError
from fourpatch.events.motion import steady_inputs
from fourpatch.physics.layout import O

KEPT = (
    "front.spring.rate",
    "rear.bar.rate",
    "front.damper.bump.low_speed",
    "brakes.front_share",
    "fuel.mass",
)


def small(name: str) -> Car:
    """A demo car with a few adjusters, so that the answer comes fast."""
    car = demo_car(name)
    return car.model_copy(
        update={"adjusters": [one for one in car.adjusters if any(path in one.targets for path in KEPT)]}
    )


@pytest.fixture(scope="module", params=demo_names())
def found(request: pytest.FixtureRequest) -> tuple[Car, BaseSetup]:
    car = small(request.param)
    with pytest.MonkeyPatch.context() as patch:
        # Laps take half a minute a car, and are tested beside (test_turns_held).
        patch.setattr(base_borne, "_course", lambda *_: (None, "not driven in this test"))
        return car, base_setup(car, baseline_setup(car))


def test_it_stands_on_steps_within_ranges(found: tuple[Car, BaseSetup]) -> None:
    car, base = found
    apply_setup(car, base.setup)  # refuses what is off a step or out of range
    assert set(base.setup.values) == {one.name for one in car.adjusters}


def test_it_is_no_dearer_than_what_was_given(found: tuple[Car, BaseSetup]) -> None:
    """But for what is set in closed form for safety, the brake bias above all: that may cost."""
    car, base = found
    standing = apply_setup(car, baseline_setup(car))
    judge = Judge(car=car, reference=standing, occasion=base.occasion, balance=base.targets.style.balance)
    safe = {one.name: base.setup.position(one) for one in car.adjusters if left_alone(one) is not None}
    given = baseline_setup(car)
    given = given.model_copy(update={"values": {**given.values, **safe}})
    assert float(base.found.total[0]) <= float(judge.cost([given]).total[0]) + 1e-9


def test_every_value_says_why_and_how_far(found: tuple[Car, BaseSetup]) -> None:
    _, base = found
    for value in base.values:
        assert value.because
        assert "{" not in value.because
        if left_alone(value.adjuster) is None:
            assert value.low is not None
            assert value.high is not None
            assert value.low <= value.position <= value.high
        else:
            assert value.low is value.high is None


def test_what_hardly_matters_costs_hardly_anything(found: tuple[Car, BaseSetup]) -> None:
    car, base = found
    standing = apply_setup(car, baseline_setup(car))
    judge = Judge(car=car, reference=standing, occasion=base.occasion, balance=base.targets.style.balance)
    values = [value for value in base.values if value.low is not None]
    ends = [
        base.setup.model_copy(update={"values": {**base.setup.values, one.adjuster.name: at}})
        for one in values
        for at in (one.low, one.high)
    ]
    above = judge.cost([base.setup, *ends]).total
    # Cars run together share the integrator's step, so other company moves a cost by its error.
    assert np.all(above[1:] <= above[0] + HARDLY + 1e-3)


def test_a_gap_ends_what_hardly_matters() -> None:
    above = {1.0: 0.02, 2.0: 0.2, 3.0: 0.05, 5.0: 0.01, 6.0: 0.3, 7.0: 0.0}
    assert hardly_matters(4.0, above) == (3.0, 5.0)


def test_the_brakes_bias_lets_both_axles_brake_alike_by_load() -> None:
    car = demo_car("gt")
    need = brake_need(car, speed=40.0, margin=0.0)
    bare = car.model_copy(update={"adjusters": []})
    braked = replace_parameters(bare, {"brakes.front_share": need.front_share})
    inputs = steady_inputs(braked, speed=40.0, longitudinal_acceleration=-need.deceleration)
    outputs = SteadyCar(braked).settled(inputs).outputs[0, 0]
    force = outputs[O.longitudinal_force : O.longitudinal_force + 4]
    load = outputs[O.tyre_load : O.tyre_load + 4]
    # Pitch moves downforce between the axles and the tyres' radii differ by a few per cent.
    assert_allclose(force[:2].sum() / load[:2].sum(), force[2:].sum() / load[2:].sum(), rtol=0.08)


def test_the_search_finds_the_best_of_a_small_grid() -> None:
    car = demo_car("gt")
    kept = [one for one in car.adjusters if one.name == "rear bar"]
    car = car.model_copy(update={"adjusters": kept})
    setup = baseline_setup(car)
    judge = Judge(car=car, reference=car, occasion=generic_occasion(car), balance=1.5)
    all_of_them = [setup.model_copy(update={"values": {"rear bar": at}}) for at in kept[0].positions()]
    best = float(judge.cost(all_of_them).total.min())
    end = refine(judge, setup, kept)
    # A round that gains less than `ENOUGH` is the last.
    assert_allclose(float(end.cost.total[0]), best, atol=0.01)


def test_a_set_up_that_cannot_run_costs_infinitely_much_and_spares_the_others() -> None:
    car = small("gt")
    judge = Judge(car=car, reference=car, occasion=generic_occasion(car), balance=0.0)
    good = baseline_setup(car)
    bad = good.model_copy(update={"values": {**good.values, "front spring": 1e4}})
    total = judge.cost([good, bad, good]).total
    assert np.isinf(total[1])
    assert_allclose(total[0], total[2], rtol=1e-12)


def test_a_car_without_adjusters_is_refused() -> None:
    car = demo_car("gt").model_copy(update={"adjusters": []})
    with pytest.raises(CarError, match="no adjusters"):
        base_setup(car, baseline_setup(car))
