"""What pages and API say of a complaint: read, cured, confirmed, planned."""

import time
from dataclasses import replace

import pytest
from numpy.testing import assert_allclose

from fourpatch.advice.complaint_text import read_complaint
from fourpatch.advice.cure import cure
from fourpatch.advice.draws import Sureness
from fourpatch.advice.drive_check import DriveNumber
from fourpatch.advice.sensitivity import measured
from fourpatch.advice.trial_plan import session_plan
from fourpatch.answers.trial_plan import TrialPlan
from fourpatch.app.answers.cure import (
    ComplaintChosen,
    ConfirmAnswer,
    CureAnswer,
    read_answer,
    start_confirm,
    start_cure,
)
from fourpatch.app.asking import Answered, Subject, ask
from fourpatch.app.jobs import Job, Jobs
from fourpatch.car.car import Car
from fourpatch.car.demo import demo_car
from fourpatch.car.provenance import Provenance
from fourpatch.car.setup import apply_setup, baseline_setup
from fourpatch.errors import AdviceError
from fourpatch.face.standing_car import car as standing
from fourpatch.picture.blocks import Heading
from fourpatch.picture.cure_first import first_of_cure
from fourpatch.picture.cure_words import sets_note
from fourpatch.track.demo import demo_track

TEXT = "pushes at mid-corner in medium corners"
KEPT = ("front bar", "rear bar", "rear rebound, low speed", "cross weight")


@pytest.fixture(scope="module")
def car() -> Car:
    """A GT with few adjusters, so that the answer comes fast, one of its numbers estimated."""
    whole = demo_car("gt")
    spread = Provenance(source="estimated", method="for this test", spread="20 %")
    return whole.model_copy(
        update={
            "adjusters": [one for one in whole.adjusters if one.name in KEPT],
            "provenance": {**whole.provenance, "front.bar.rate": spread},
        }
    )


def ended(job: Job) -> Job:
    """Wait for a job, at most two minutes: the first one may compile the drive."""
    until = time.monotonic() + 120.0
    while not job.over and time.monotonic() < until:
        time.sleep(0.05)
    assert job.state == "done", job.error or job.state
    return job


@pytest.fixture(scope="module")
def jobs() -> Jobs:
    return Jobs()


@pytest.fixture(scope="module")
def answer(car: Car, jobs: Jobs) -> CureAnswer:
    result = ended(start_cure(jobs, 7, car, baseline_setup(car), TEXT, draws=4)).result
    assert isinstance(result, CureAnswer)
    return result


def test_what_is_read_is_said_back() -> None:
    reading = read_answer("pushes on entry in slow corners, purple")
    assert [one.behaviour for one in reading.complaints] == ["understeer"]
    assert (reading.complaints[0].phase, reading.complaints[0].place) == ("entry", "slow corner")
    assert reading.unread == ["purple"]
    assert "purple" in reading.said


def test_what_is_read_first_says_what_to_turn_and_how_sure(answer: CureAnswer) -> None:
    first, best = answer.first_read, answer.sets[0]
    assert first is not None
    assert first.sentence.startswith(f"Turn the {best.title.replace('; ', ' and ')}: the nose should ")
    assert f"{best.present[0]:+.2f} to {best.confirmed[0]:+.2f} points" in first.sentence
    assert first.grade in ("sure", "likely", "open")
    assert f"of {answer.plausible_cars} plausible cars" in first.because


def test_the_mark_falls_with_the_drive_and_with_the_plausible_cars(answer: CureAnswer) -> None:
    found = answer.found
    count = len(found.sets)

    def drive(agrees: bool) -> list[DriveNumber]:
        return [
            DriveNumber(
                name="of a test", unit="1", before=0.0, after=(1.0,) * count, agrees=(agrees,) * count
            )
        ]

    def holding(cars: int) -> Sureness:
        return Sureness(
            asked=10,
            lost=0,
            seed=1,
            uncertain=1,
            holds=(),
            low=(),
            high=(),
            set_holds=(cars,) * count,
            set_cures=(0,) * count,
            unknowns=(),
        )

    def mark(agrees: bool, cars: int | None) -> str:
        sure = None if cars is None else holding(cars)
        first = first_of_cure(found, drive=drive(agrees), sure=sure, complete=True)
        assert first is not None
        assert ("rig and drive agree" in first.because) == agrees
        return first.grade

    assert [mark(True, cars) for cars in (10, 9, 8, 7, 6, 0, None)] == [
        *("sure", "sure", "likely", "likely", "open", "open", "likely")
    ]
    assert {mark(False, cars) for cars in (10, 5, None)} == {"disputed"}
    computing = first_of_cure(found)
    assert computing is not None
    assert computing.grade == "computing"


def test_what_is_not_read_has_readings_to_choose_from() -> None:
    reading = read_answer("purple")
    assert not reading.complaints
    assert all(read_answer(one).complaints for one in reading.nearest)
    assert len(reading.nearest) == 3


def test_a_contradiction_is_said_and_not_guessed_at() -> None:
    reading = read_answer("pushes on entry and loose on entry")
    assert "contradict" in reading.said
    assert not reading.nearest


def test_a_chosen_complaint_is_read_as_it_was_chosen() -> None:
    chosen = ComplaintChosen(behaviour="hops", phase="exit", window="late", place="bumpy", size="badly")
    (read,) = read_answer(chosen.text()).complaints
    assert read.model_dump(include=set(ComplaintChosen.model_fields)) == chosen.model_dump()


def test_the_answer_is_that_of_the_advice(car: Car, answer: CureAnswer) -> None:
    setup = baseline_setup(car)
    found = cure(car, setup, read_complaint(TEXT).complaints)
    assert [one.adjuster for one in answer.levers] == [
        found.table.adjusters[one.adjuster].name for one in found.levers
    ]
    # The same deterministic runs, so equal but for rounding.
    assert_allclose([one.cures for one in answer.levers], [one.per_step for one in found.levers], rtol=1e-9)
    assert answer.complete
    assert answer.reasons
    assert len(answer.sets) == len(found.sets)
    assert answer.plausible_cars == 4
    assert all(one.holds is not None and 0 <= one.holds <= 4 for one in answer.levers)


def test_that_there_is_no_set_is_said(answer: CureAnswer) -> None:
    assert "There is no set" not in answer.sets_note
    assert "There is no set of changes to advise" in sets_note(replace(answer.found, sets=()))
    assert not sets_note(replace(answer.found, sets=(), first=True))
    assert not sets_note(replace(answer.found, sets=(), stopped=True))


def test_the_same_question_is_one_job(car: Car, jobs: Jobs, answer: CureAnswer) -> None:
    again = start_cure(jobs, 7, car, baseline_setup(car), f" {TEXT} ", draws=4)
    assert again.result is answer
    other = baseline_setup(car).model_copy(update={"values": {"front bar": 3.0}})
    assert start_cure(jobs, 7, car, other, TEXT, draws=0) is not again


def test_a_car_that_was_changed_is_asked_anew(car: Car) -> None:
    idle = Jobs(workers=1)
    try:
        asked = start_cure(idle, 7, car, baseline_setup(car), TEXT, draws=0)
        asked.cancel()
        shorter = car.model_copy(update={"chassis": car.chassis.model_copy(update={"wheelbase": 2.5})})
        assert start_cure(idle, 7, shorter, baseline_setup(car), TEXT, draws=0) is not asked
    finally:
        idle.close()


def test_what_is_not_understood_starts_nothing(car: Car, jobs: Jobs) -> None:
    before = len(jobs.all())
    with pytest.raises(AdviceError, match="Nearest readings"):
        start_cure(jobs, 7, car, baseline_setup(car), "purple")
    assert len(jobs.all()) == before


def test_a_set_is_confirmed_by_runs_of_its_own(car: Car, jobs: Jobs, answer: CureAnswer) -> None:
    first = answer.found.sets[0]
    confirmed = ended(start_confirm(jobs, car, answer, first.setup)).result
    assert isinstance(confirmed, ConfirmAnswer)
    # Run again from the two cars alone: the rig is deterministic, so equal but for rounding.
    cars = [apply_setup(car, answer.found.setup), apply_setup(car, first.setup)]
    measures, values = measured(cars, answer.found.table.events)
    target = answer.found.targets[0]
    names = [one.name for one in measures]
    assert_allclose(confirmed.rig[0].before, float(target.value(names, values[0])), rtol=1e-9)
    assert_allclose(confirmed.rig[0].after, float(target.value(names, values[1])), rtol=1e-9)
    assert_allclose(confirmed.rig[0].share, first.progress[0], rtol=1e-9)
    assert {one.adjuster: one.after for one in confirmed.changes} == {
        one.adjuster: one.after for one in answer.sets[0].changes
    }


def test_nothing_changed_confirms_nothing(car: Car, jobs: Jobs, answer: CureAnswer) -> None:
    confirmed = ended(start_confirm(jobs, car, answer, answer.found.setup)).result
    assert isinstance(confirmed, ConfirmAnswer)
    assert confirmed.changes == []
    assert confirmed.rig[0].share == 0.0
    assert "Nothing else becomes worse" in confirmed.costs


def test_a_stopped_search_keeps_the_ranking(car: Car, jobs: Jobs) -> None:
    setup = baseline_setup(car).model_copy(update={"values": {"rear bar": 5.0}})
    job = start_cure(jobs, 7, car, setup, TEXT, draws=8)
    until = time.monotonic() + 120.0
    while job.result is None and time.monotonic() < until:
        time.sleep(0.001)
    job.cancel()
    while not job.over and time.monotonic() < until:
        time.sleep(0.05)
    assert job.state == "cancelled"
    assert isinstance(job.result, CureAnswer)
    assert job.result.levers
    assert job.result.first
    assert not job.result.complete
    assert not job.result.sets


def test_a_corner_of_a_track_is_named_by_its_number(car: Car, jobs: Jobs) -> None:
    text, track = "pushes at mid-corner in turn 2", demo_track("chicanes")
    result = ended(start_cure(jobs, 7, car, baseline_setup(car), text, track=track, draws=0)).result
    assert isinstance(result, CureAnswer)
    assert result.track == track.name
    assert {name.split(".")[0] for target in result.found.targets for name, _ in target.terms} == {"corner 2"}
    with_none = start_cure(jobs, 7, car, baseline_setup(car), text, draws=0)
    assert with_none.result is not result


def test_a_plan_is_that_of_the_advice(car: Car, jobs: Jobs) -> None:
    setup = baseline_setup(car)
    changed = setup.model_copy(update={"values": {**setup.values, "front bar": 1.0}})
    about = standing(car)
    subject = Subject(car=1, about=about, other=about.with_setup(changed))
    answered = ended(ask(jobs, TrialPlan(scatter=0.02), subject)).result
    assert isinstance(answered, Answered)
    plan = answered.content()["plan"]
    found = session_plan(car, setup, changed, scatter=0.02)
    assert plan["laps"] == found.laps
    assert_allclose(plan["effect"]["value"], found.effect, rtol=1e-9)
    headings = [one.text for one in answered.answer.blocks if isinstance(one, Heading)]
    assert headings == ["Change", "Drive", "Watch", "Stop"]
    assert plan["changes"] == {"front bar": {"from": setup.values["front bar"], "to": 1.0}}
