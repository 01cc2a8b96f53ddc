"""A corner as told: parts make up the whole, a mirrored corner is the same, B = A is nothing."""

from dataclasses import replace
from functools import cache

import pytest
from numpy.testing import assert_allclose

from fourpatch.advice.course import track_course
from fourpatch.analysis.phase_balance import AGAINST_FIRST, phase_balance
from fourpatch.analysis.standard_events import scaled_corner, standard_corners
from fourpatch.analysis.track_corners import corner_on_lap
from fourpatch.analysis.workout import workout
from fourpatch.app.answers.corner import (
    CornerAnswer,
    CornerChosen,
    come_through,
    corner_answer,
    corner_lines,
    corner_meaning,
    corner_workout,
)
from fourpatch.app.number_words import number_cell, step_words
from fourpatch.car.adjusters import adjuster
from fourpatch.car.demo import demo_car
from fourpatch.car.pack import pack
from fourpatch.car.setup import apply_setup, baseline_setup, step
from fourpatch.errors import EventError, FourpatchError
from fourpatch.events.run import run_rig, stable_step, stacked
from fourpatch.events.steady_states import all_under_gravity
from fourpatch.track.demo import demo_track

CAR = demo_car("hatchback")
A = baseline_setup(CAR)
BAR = adjuster(CAR, "rear bar blade")


def _prepare(car, reference, events=None):
    return workout(apply_setup(car, reference), events, car)


@cache
def _lapped():
    return track_course(apply_setup(CAR, A), demo_track("chicanes"))


def _course(car, track):
    return _lapped()


def _answered(chosen, setup=A, histories=False):
    made, name, event = corner_workout(_prepare, _course, CAR, A, chosen)
    b, a = come_through(made.measure(apply_setup(CAR, setup), only=[name]), name)
    return event, b, a, corner_answer(event, b, a, histories=histories)


@pytest.fixture(scope="module")
def stiffer():
    """The medium corner with the rear bar a step stiffer."""
    return _answered(CornerChosen(), step(A, BAR, 1), histories=True)


def _value(answer: CornerAnswer, part: str, quantity: str, place: str = "") -> float:
    return next(
        one.value for one in answer.numbers if (one.part, one.quantity, one.place) == (part, quantity, place)
    )


def test_numbers_are_those_of_a_run_by_itself(stiffer):
    event, _, _, answer = stiffer
    vector = stacked([pack(apply_setup(CAR, step(A, BAR, 1)))])
    made = workout(apply_setup(CAR, A), {"one": event})
    motion = event.motion(apply_setup(CAR, A), min(made.step, stable_step(vector)))
    alone = phase_balance(vector, run_rig(vector, motion), motion, ["one"]).isel(setup=0)
    # The same arithmetic, one car at a time or not: rounding.
    for quantity in ("balance", "front_transfer_share", "roll"):
        assert_allclose(_value(answer, "mid", quantity), float(alone[quantity].sel(phase="mid")), rtol=1e-9)
    assert_allclose(
        _value(answer, "entry", "damper_transfer", "rear"),
        float(alone.damper_transfer.sel(phase="entry", axle="rear")),
        rtol=1e-9,
    )


def test_paths_make_up_the_transfer_in_every_phase_and_instant(stiffer):
    _, b, _, answer = stiffer
    for part in ("entry", "mid", "exit"):
        for axle in ("front", "rear"):
            paths = sum(
                _value(answer, part, f"{path}_transfer", axle)
                for path in ("elastic", "geometric", "unsprung", "damper")
            )
            # Sums of four: rounding.
            assert_allclose(paths, _value(answer, part, "lateral_transfer", axle), rtol=1e-12)
    lines = corner_lines(b)
    left, right = lines["tyre_load", "FL"], lines["tyre_load", "FR"]
    paths = sum(lines[f"{path}_transfer", "front"] for path in ("elastic", "geometric", "unsprung", "damper"))
    # In a left turn the right is outside; loads of some thousand N: rounding.
    assert_allclose(paths, 0.5 * (right - left), atol=1e-9)


def test_a_stiffer_rear_bar_takes_transfer_from_the_front_and_balance_toward_the_rear(stiffer):
    """Statics: the axle that is stiffer in roll carries more of the transfer."""
    event, b, a, answer = stiffer
    changes = {one.quantity: one.change for one in answer.numbers if one.part == "mid" and not one.place}
    assert changes["front_transfer_share"] < 0.0
    assert changes["balance"] < 0.0
    said = corner_meaning(apply_setup(CAR, step(A, BAR, 1)), event, b, a)
    assert "toward the rear; by the elastic path" in said.against_a
    assert said.against_a.endswith("N of lateral load transfer move to the rear axle.")


def test_b_like_a_changes_nothing():
    event, b, a, answer = _answered(CornerChosen(name="slow corner"))
    assert {one.change for one in answer.numbers} <= {0.0, None}
    assert corner_meaning(apply_setup(CAR, A), event, b, a).against_a == ""
    assert number_cell(answer.numbers[0]).get("change") == ""


def test_b_has_the_same_numbers_whichever_a_is():
    stiff = step(A, BAR, 2)

    def numbers(reference):
        shop_like = workout(apply_setup(CAR, reference), None, CAR)
        return shop_like.measure(apply_setup(CAR, stiff), only=["slow corner"]).outcomes["slow corner"]

    beside_a, beside_itself = numbers(A), numbers(stiff)
    for measure in beside_a.measures:
        if not {*measure.name.split(".")} & {*AGAINST_FIRST}:  # they are counted from A by what they are
            # The steps of the integrator are those that both cars of a pair can be stepped by; a hundredth
            # of a newton or point is far below what is shown.
            assert beside_a.value(measure.name) == pytest.approx(
                beside_itself.value(measure.name), rel=1e-5, abs=1e-2, nan_ok=True
            )


def test_a_right_hander_is_the_left_hander_mirrored():
    left, right = (_answered(CornerChosen(direction=way))[3] for way in ("left", "right"))
    # The car is alike left and right: the same arithmetic with sides changed, added in another order.
    for quantity, place in (("balance", ""), ("lateral_transfer", "front"), ("use", "rear")):
        assert_allclose(
            _value(right, "mid", quantity, place), _value(left, "mid", quantity, place), rtol=1e-9
        )
    assert_allclose(_value(right, "mid", "roll"), -_value(left, "mid", "roll"), rtol=1e-9)


def test_ones_own_corner_with_the_radius_of_a_standard_one_is_that_one():
    standing = apply_setup(CAR, A)
    assert scaled_corner(standing, radius=60.0) == standard_corners(standing)["medium corner"]


def test_a_speed_out_of_reach_is_refused_with_what_the_car_does():
    with pytest.raises(EventError, match=r"does \d+ km/h at the most; take the corner at \d+ km/h or slower"):
        corner_workout(_prepare, _course, CAR, A, CornerChosen(name=None, radius=900.0, speed=100.0))
    with pytest.raises(FourpatchError, match="too far for numbers to mean much"):
        _answered(CornerChosen(name=None, radius=15.0, speed=30.0))


def test_lines_in_time_have_no_number_where_the_car_is_straight(stiffer):
    _, _, _, answer = stiffer
    share = next(one for one in answer.histories.lines if one.quantity == "front_transfer_share")
    assert share.value[0] is None
    assert len(share.value) == len(answer.histories.time)
    middle = next(start for name, start, _ in answer.histories.phases if name == "mid")
    place = next(k for k, time in enumerate(answer.histories.time) if time > middle + 0.5)
    # Half a second into a steady middle the instant is the mean to a part in a hundred.
    assert_allclose(share.value[place], _value(answer, "mid", "front_transfer_share"), rtol=1e-2)


def test_one_step_is_told_by_what_it_does_most(stiffer):
    _, _, _, answer = stiffer
    here = _answered(CornerChosen())[3]
    said = step_words(answer.numbers, None, here.numbers)
    assert said.startswith("One step up: ")
    assert "→ rear" in said
    assert "down" not in said
    assert step_words(here.numbers, here.numbers, here.numbers) == (
        "One step up: nothing that could be felt here. One step down: nothing that could be felt here."
    )


def test_a_corner_of_a_track_is_that_of_the_whole_lap():
    study = _lapped().lap.study
    car = apply_setup(CAR, A)
    vector = pack(car)[None]
    for number in (1, 3):
        answer = _answered(CornerChosen(track=7, number=number))[3]
        lap = study.summary.corners[number - 1]
        assert answer.direction == lap.direction
        # Of the lap's own rows, between two instants of it.
        assert answer.speed == pytest.approx(lap.slowest_speed, rel=1e-3)
        event = corner_on_lap(study.profile, study.summary.corners, number - 1)
        motion = event.motion(car, stable_step(vector))
        # The mean of a tenth of a second hangs on which instants are kept: every other, as the page does.
        motion = replace(motion, store_every=2 * motion.store_every)
        parameters = all_under_gravity(vector, event.gravity)
        there = phase_balance(parameters, run_rig(parameters, motion), motion, ["A"]).isel(setup=0)
        told = {one.part for one in answer.numbers}
        assert told == {*map(str, there.phase.values)}
        for part in told:
            # The page's run begins 0.8 s before the first phase: what is left of the body's swing.
            assert _value(answer, part, "balance") == pytest.approx(
                float(there.balance.sel(phase=part)), abs=0.1
            )


def test_a_number_no_corner_has_is_refused_with_those_there_are():
    with pytest.raises(EventError, match=r"has no corner 99; there are 1 to \d+"):
        _answered(CornerChosen(track=7, number=99))
