"""A changed set-up in events made ready: against the labelled way, in threads, with another step, failing."""

from concurrent.futures import ThreadPoolExecutor

import numpy as np
import pytest
from numpy.testing import assert_allclose, assert_array_equal

from fourpatch.advice.sensitivity import measured
from fourpatch.analysis.phase_balance import phase_balance
from fourpatch.analysis.workout import workout
from fourpatch.car.demo import demo_car, demo_names
from fourpatch.car.pack import pack
from fourpatch.car.paths import replace_parameters
from fourpatch.car.setup import apply_setup, baseline_setup, step
from fourpatch.events.corner import Corner
from fourpatch.events.kerb_strike import KerbStrike
from fourpatch.events.rough_road import RoughRoad
from fourpatch.events.run import run_rig, stable_step, stacked
from fourpatch.physics.layout import CORNER_BASE, C
from fourpatch.runs.history import rig_dataset

EVENTS = {"corner": Corner(speed=20.0), "road": RoughRoad(duration=2.0), "kerb": KerbStrike(height=0.02)}

ROUNDING = {"rtol": 1e-12, "atol": 1e-12}
"""Of the same arithmetic on one car and on two; differences of loads of thousands of N lose four digits."""


@pytest.fixture(scope="module")
def gt():
    return demo_car("gt")


@pytest.fixture(scope="module")
def ready(gt):
    return workout(gt, EVENTS)


def _stepped(car, *places):
    """The car with some adjusters one step away from where they stand."""
    setup = baseline_setup(car)
    for place in places:
        one = car.adjusters[place]
        setup = step(setup, one, 1) or step(setup, one, -1)
    return apply_setup(car, setup)


def _stiffly_damped(car):
    """The car with light front wheels on very stiff dampers."""
    bump = {f"front.damper.bump.{name}": 9e4 for name in ("low_speed", "high_speed")}
    return replace_parameters(car, {**bump, "front.unsprung_mass": 12.0})


def _values(outcomes):
    return np.concatenate([one.values for one in outcomes.values()])


@pytest.mark.parametrize("name", demo_names())
def test_numbers_are_those_of_the_car_beside_the_reference(name):
    car = demo_car(name)
    moved = _stepped(car, 0, 3, len(car.adjusters) - 1)
    worked = workout(car).measure(moved)
    assert not worked.errors
    measures, values = measured([car, moved], workout(car).events)
    assert [m.name for one in worked.outcomes.values() for m in one.measures] == [m.name for m in measures]
    assert_allclose(_values(worked.reference), values[0], **ROUNDING)
    assert_allclose(_values(worked.outcomes), values[1], **ROUNDING)


def test_numbers_are_those_of_the_labelled_way(gt, ready):
    """Against the `Dataset`, number by number: no column is taken for another."""
    moved = _stepped(gt, 0, 3)
    outcome = ready.measure(moved).outcomes["corner"]
    vectors = stacked([pack(gt), pack(moved)])
    motion = EVENTS["corner"].motion(gt, stable_step(vectors))
    phases = phase_balance(vectors, run_rig(vectors, motion), motion, ["base", "moved"])
    for measure, value in zip(outcome.measures, outcome.values, strict=True):
        labelled = phases[measure.quantity].sel(phase=measure.part, setup="moved")
        if measure.axle:
            labelled = labelled.sel(axle=measure.axle)
        assert_allclose(value, labelled.item(), err_msg=measure.name, **ROUNDING)
        assert outcome.value(measure.name) == value or np.isnan(value)


def test_the_history_is_the_labelled_one(gt, ready):
    moved = _stepped(gt, 0, 3)
    worked = ready.measure(moved)
    vectors = stacked([pack(moved)])
    for name, event in EVENTS.items():
        motion = event.motion(gt, worked.step)
        labelled = rig_dataset(run_rig(vectors, motion), motion, ["moved"]).isel(setup=0)
        trace = worked.outcomes[name].history
        assert_array_equal(trace.time, labelled.time)
        for field in set(type(trace).__slots__) & set(map(str, labelled.data_vars)):
            assert_array_equal(getattr(trace, field), labelled[field], err_msg=field)
        assert len(set(type(trace).__slots__) & set(map(str, labelled.data_vars))) == 15


def test_the_reference_does_not_differ_from_itself(gt, ready):
    worked = ready.measure(gt)
    for name, outcome in worked.outcomes.items():
        assert_array_equal(outcome.values, worked.reference[name].values)
        for measure, value in zip(outcome.measures, outcome.values, strict=True):
            if measure.quantity.endswith(("_swing", "_delay")):
                assert value == 0.0, measure.name


def test_a_stop_is_touched_where_its_gap_is_used_up(gt):
    low = replace_parameters(gt, {"front.bump_stop.gap": 0.004})
    trace = workout(low, {"kerb": KerbStrike(height=0.04)}).reference.outcomes["kerb"].history
    assert_array_equal(trace.on_bump_stop[:, 0], trace.travel[:, 0] > pack(low)[CORNER_BASE + C.stop_gap])
    assert trace.on_bump_stop[:, 0].any()
    assert not trace.on_bump_stop[0].any()


def test_two_threads_do_not_disturb_each_other(gt):
    ready = workout(gt, EVENTS)
    cars = [_stepped(gt, 0), _stiffly_damped(gt), _stepped(gt, 3), _stiffly_damped(gt)]
    alone = [_values(workout(gt, EVENTS).measure(car).outcomes) for car in cars]
    with ThreadPoolExecutor(4) as pool:
        together = list(pool.map(ready.measure, 3 * cars))
    for k, worked in enumerate(together):
        assert_array_equal(_values(worked.outcomes), alone[k % len(cars)])


def test_a_car_that_needs_a_shorter_step_gets_it_and_so_does_the_reference(gt, ready):
    stiff = _stiffly_damped(gt)
    worked = ready.measure(stiff)
    assert worked.step == stable_step(stacked([pack(stiff)])) < ready.step
    _, values = measured([gt, stiff], EVENTS)
    assert_allclose(_values(worked.reference), values[0], **ROUNDING)
    assert_allclose(_values(worked.outcomes), values[1], **ROUNDING)
    # And the next car is not slowed by it.
    assert ready.measure(gt).step == ready.step


def test_only_what_is_asked_for_is_run(gt, ready):
    worked = ready.measure(gt, only=["kerb"])
    assert list(worked.outcomes) == list(worked.reference) == ["kerb"]
    with pytest.raises(KeyError):
        ready.measure(gt, only=["kurb"])


def test_one_event_fails_and_the_others_go_on(gt):
    """The body leans over on soft springs in the corner, and over the kerb it does not."""
    soft = replace_parameters(
        gt,
        {
            f"{axle}.{name}": value
            for axle in ("front", "rear")
            for name, value in (
                ("spring.rate", 8e3),
                ("bar.rate", 0.0),
                ("bump_stop.gap", 0.3),
                ("droop_stop.gap", 0.3),
            )
        },
    )
    worked = workout(gt, EVENTS).measure(soft)
    assert list(worked.errors) == ["corner"]
    assert "roll" in worked.errors["corner"]
    assert list(worked.outcomes) == ["road", "kerb"]


def test_a_motion_that_the_reference_cannot_follow_is_an_error_of_every_car(gt):
    ready = workout(gt, {"wild": Corner(radius=20.0, speed=60.0), "kerb": KerbStrike(height=0.02)})
    for worked in (ready.reference, ready.measure(_stepped(gt, 0))):
        assert list(worked.errors) == ["wild"]
        assert "Slow to about" in worked.errors["wild"]
        assert list(worked.outcomes) == ["kerb"]


def test_a_car_that_cannot_stand_is_an_error_of_every_event(gt, ready):
    fallen = gt.model_copy(update={"chassis": gt.chassis.model_copy(update={"cross_weight_share": 1.2})})
    worked = ready.measure(fallen)
    assert list(worked.errors) == list(EVENTS)
    assert not worked.outcomes
    assert all("cross_weight_share" in text for text in worked.errors.values())
