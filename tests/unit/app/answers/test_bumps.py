"""A kerb, a road and the damper map as told: they agree; the map is coarse first, and stops."""

import time

import numpy as np
import pytest
from numpy.testing import assert_allclose

from fourpatch.analysis.damper_speed import damper_speed
from fourpatch.analysis.workout import workout
from fourpatch.app.answers.bumps import RoadAsked, bumps_answer, damper_numbers
from fourpatch.app.answers.damper_map import COARSE, FINE, DamperMapAnswer, start_damper_map
from fourpatch.app.jobs import Job, Jobs
from fourpatch.app.number_words import number_cells, rows
from fourpatch.app.parts.damper_map import contour_levels
from fourpatch.car.adjusters import adjuster
from fourpatch.car.demo import demo_car
from fourpatch.car.pack import pack
from fourpatch.car.setup import apply_setup, baseline_setup, step
from fourpatch.events.kerb_strike import KerbStrike
from fourpatch.events.run import run_rig, stable_step, stacked

CAR = demo_car("hatchback")
A = apply_setup(CAR, baseline_setup(CAR))
KERB = KerbStrike(height=0.04, recovery=0.4)


def _outcomes(event, car=A):
    worked = workout(A, {"one": event}).measure(car)
    return worked.outcomes["one"], worked.reference["one"]


@pytest.fixture(scope="module")
def over_kerb():
    return bumps_answer(KERB, *_outcomes(KERB), histories=True)


def _value(answer, quantity, place=""):
    return next(one.value for one in answer.numbers if (one.quantity, one.place) == (quantity, place))


def test_shares_of_damper_speed_make_up_all_the_time(over_kerb):
    for axle in ("front", "rear"):
        parts = ("low_bump", "high_bump", "low_rebound", "high_rebound")
        # Sums of counts over their number: rounding.
        assert_allclose(sum(_value(over_kerb, part, axle) for part in parts), 1.0, rtol=1e-12)
    for one in over_kerb.histograms:
        assert len(one.value) == len(over_kerb.damper_speeds)
        assert_allclose(sum(one.value), 1.0, rtol=1e-12)


def test_damper_speeds_are_those_of_a_run_by_itself():
    b, _ = _outcomes(KERB)
    vector = stacked([pack(A)])
    motion = KERB.motion(A, stable_step(vector))
    alone = damper_speed(run_rig(vector, motion), motion, ["one"], since=motion.phases[1].start)
    found = damper_numbers(b)
    for name in ("share", "high_bump", "mean_rebound_speed", "skew"):
        # The same arithmetic on the same run: rounding.
        assert_allclose(found[name], alone[name].isel(setup=0), rtol=1e-9, err_msg=name)


def test_b_like_a_changes_nothing_and_is_not_spoken_of(over_kerb):
    assert {one.change for one in over_kerb.numbers} == {0.0}
    assert over_kerb.against_a == ""
    assert over_kerb.name == "Ramped kerb, 40 mm, under the left wheels at 108 km/h"


def test_a_change_is_told_with_its_sign():
    softer = apply_setup(CAR, step(baseline_setup(CAR), adjuster(CAR, "front spring"), -2))
    answer = bumps_answer(KERB, *_outcomes(KERB, softer))
    lost = next(one for one in answer.numbers if (one.quantity, one.place) == ("grip_lost", "front"))
    assert lost.change != 0.0
    verb = "costs" if lost.change > 0.0 else "gives back"
    assert f"B {verb} the front tyres {100.0 * abs(lost.change):.2f} points" in answer.against_a


def test_a_road_is_the_same_for_the_same_seed():
    first, again, other = (
        _outcomes(RoadAsked(speed=30.0, seed=seed).event())[0].history.road_height for seed in (3, 3, 4)
    )
    assert np.array_equal(first, again)
    assert not np.array_equal(first, other)


def test_every_number_has_a_row_with_its_unit(over_kerb):
    from fourpatch.analysis import contact_patch_load

    made = rows(["grip_lost", "height_least"], contact_patch_load.UNITS)
    assert [(one["label"], one["unit"]) for one in made] == [("Grip lost", "%"), ("Least ride height", "mm")]
    cells = number_cells(over_kerb.numbers, lambda one: f"{one.quantity}|{one.place}")
    assert cells["grip_lost|front"]["now"] == f"{100.0 * _value(over_kerb, 'grip_lost', 'front'):.2f}"
    assert "with a " in cells["grip_lost|front"]["say"].lower()


@pytest.fixture
def jobs():
    opened = Jobs()
    yield opened
    opened.close()


def _ended(job: Job) -> Job:
    for _ in range(6000):
        if job.over:
            return job
        time.sleep(0.02)
    raise AssertionError(f"{job} goes on")


def test_the_map_is_coarse_first_and_its_middle_is_the_car_as_it_stands(jobs, over_kerb):
    job = start_damper_map(jobs, A, KERB, axle="rear", part="all")
    sizes = set()
    while not job.over:
        if isinstance(job.result, DamperMapAnswer):
            sizes.add(job.result.size)
        time.sleep(0.01)
    answer = job.result
    assert job.state == "done", job.error
    assert sizes | {answer.size} == {COARSE, FINE}
    lost = next(one for one in answer.maps if one.measure == "grip_lost")
    # The same car over the same kerb, in lanes with others: rounding.
    assert_allclose(lost.present, _value(over_kerb, "grip_lost", "rear"), rtol=1e-9)
    assert_allclose(lost.values[FINE // 2][FINE // 2], lost.present, rtol=1e-12)
    assert lost.least == min(min(row) for row in lost.values)
    assert start_damper_map(jobs, A, KERB, axle="rear", part="all") is job


def test_a_stopped_map_keeps_the_coarse_one_if_there_is_one(jobs):
    job = start_damper_map(jobs, A, KERB, axle="front", part="all")
    while not job.over and job.result is None:
        time.sleep(0.005)
    job.cancel()
    _ended(job)
    assert job.state == "cancelled"
    assert job.result.size == COARSE
    at_once = start_damper_map(jobs, A, KERB, axle="front", part="low")
    at_once.cancel()
    assert _ended(at_once).state == "cancelled"
    assert at_once.result is None


def test_contours_are_few_and_lie_below_the_highest():
    for most in (0.012, 0.7, 3.0, 55.0, 800.0):
        levels = contour_levels(most)
        assert 4 <= len(levels) <= 9
        assert max(levels) < most
        assert levels == sorted(levels)
