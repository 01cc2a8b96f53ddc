"""What pages and API say of a complaint: read, cured, confirmed, planned."""

import time
from dataclasses import replace
from typing import Any

import pypdfium2
import pytest
from numpy.testing import assert_allclose

from fourpatch.advice.complaint_text import read_complaint
from fourpatch.advice.cure import cure
from fourpatch.advice.draws import Sureness
from fourpatch.advice.drive_check import DriveNumber
from fourpatch.advice.sensitivity import measured
from fourpatch.advice.trial_plan import session_plan
from fourpatch.answers.cure import CureFound, WhatCures, cure_found, moved_to
from fourpatch.answers.trial_plan import TrialPlan
from fourpatch.app.answers.complaint_read import ComplaintChosen, read_answer
from fourpatch.app.answers.confirm import start_confirm
from fourpatch.app.answers.cure_sheet import start_sheet
from fourpatch.app.asking import Answered, Subject, ask
from fourpatch.app.jobs import Job, Jobs
from fourpatch.car.car import Car
from fourpatch.car.setup import Setup, apply_setup, baseline_setup
from fourpatch.errors import AdviceError
from fourpatch.face.cured import Cured
from fourpatch.face.standing_car import car as standing
from fourpatch.picture.blocks import MEANS, Heading, Sentence
from fourpatch.picture.cure_first import first_of_cure
from fourpatch.picture.cure_words import changes_text, sets_note
from fourpatch.track.demo import demo_track

TEXT = "pushes at mid-corner in medium corners"


def ended(job: Job) -> Job:
    """Wait for a job, at most two minutes: the first one may compile the drive."""
    until = time.monotonic() + 120.0
    while not job.over and time.monotonic() < until:
        time.sleep(0.05)
    assert job.state == "done", job.error or job.state
    return job


def start_cure(jobs: Jobs, car: Car, text: str, *, setup: Setup | None = None, **more: Any) -> Job:
    track = more.pop("track", None)
    subject = Subject(car=7, about=standing(car, setup), on=track, track=track and 1)
    return ask(jobs, WhatCures(complaint=text, **more), subject)


@pytest.fixture
def answer(answered: Answered) -> Cured:
    found: Cured = answered.answer.source
    return found


@pytest.fixture
def told(answer: Cured) -> CureFound:
    return cure_found(answer)


def test_what_is_read_is_said_back() -> None:
    reading = read_answer("pushes on entry in slow corners, purple")
    assert [one.behaviour for one in reading.complaints] == ["understeer"]
    assert (reading.complaints[0].phase, reading.complaints[0].place) == ("entry", "slow corner")
    assert reading.unread == ("purple",)
    assert "purple" in reading.said


def test_the_answer_is_made_a_sheet_of_two_pages_at_most(answer: Cured, jobs: Jobs) -> None:
    job = ended(start_sheet(jobs, "an answer", answer, "letter", track=None, scatter=0.3))
    assert start_sheet(jobs, "an answer", answer, "letter", track=None, scatter=0.3) is job
    document = pypdfium2.PdfDocument(job.result.content)
    assert len(document) <= 2
    assert document[0].get_size() == (612.0, 792.0)  # Letter, ANSI/ASME Y14.1: 8.5 x 11 in [pt]
    text = " ".join(page.get_textpage().get_text_range() for page in document)
    for part in (TEXT, "What to turn, and its price", "How to try it", "maker's limits"):
        assert part in " ".join(text.split())


def test_what_is_read_first_says_what_to_turn_and_how_sure(
    answered: Answered, answer: Cured, told: CureFound
) -> None:
    first, best = answer.first_read, answer.sets[0]
    assert first is not None
    turned = changes_text(answer.cure, best).replace("; ", " and ")
    assert first.sentence.startswith(f"Turn the {turned}: the nose should ")
    before, after = (f"{one.value:+.2f}" for one in (told.complaints[0].present, told.sets[0].confirmed[0]))
    assert f"{before} to {after} points" in first.sentence
    assert first.grade in ("sure", "likely", "open")
    assert answer.sureness is not None
    assert f"of {answer.sureness.asked} plausible cars" in first.because
    said, sure = answered.answer.blocks[:2]
    assert said == Sentence(first.sentence, lead=MEANS)
    assert sure == Sentence(first.because, lead=f"How sure? {first.grade.capitalize()}")


def test_the_mark_falls_with_the_drive_and_with_the_plausible_cars(answer: Cured) -> None:
    found = answer.cure
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


def test_the_answer_is_that_of_the_advice(few: Car, answer: Cured, told: CureFound) -> None:
    found = cure(few, baseline_setup(few), read_complaint(TEXT).complaints)
    assert [one.adjuster for one in told.levers] == [
        found.table.adjusters[one.adjuster].name for one in found.levers
    ]
    # The same deterministic runs, so equal but for rounding.
    shown = [[one.value for one in lever.cures] for lever in told.levers]
    assert_allclose(shown, [one.per_step for one in found.levers], rtol=1e-9)
    assert answer.complete
    assert not answer.stopped
    assert answer.reasons
    assert len(answer.sets) == len(found.sets)
    assert told.sureness is not None
    assert told.sureness.cars == 4
    assert all(one.holds is not None and 0 <= one.holds <= 4 for one in told.levers)


def test_that_there_is_no_set_is_said(answer: Cured) -> None:
    assert "There is no set" not in sets_note(answer.cure)
    none = replace(answer.cure, sets=())
    assert "There is no set of changes to advise" in sets_note(none)
    first = first_of_cure(none)
    assert first is not None
    assert first.sentence.startswith("There is no set")
    for early in (replace(none, first=True), replace(none, stopped=True)):
        assert not sets_note(early)
        assert first_of_cure(early) is None


def test_the_same_question_is_one_job(few: Car, jobs: Jobs, answered: Answered) -> None:
    again = start_cure(jobs, few, f" {TEXT} ", draws=4)
    assert again.result is answered
    other = baseline_setup(few).model_copy(update={"values": {"front bar": 3.0}})
    assert start_cure(jobs, few, TEXT, setup=other, draws=0) is not again


def test_a_car_that_was_changed_or_was_good_is_asked_anew(few: Car) -> None:
    idle = Jobs(workers=1)
    try:
        asked = start_cure(idle, few, TEXT, draws=0)
        asked.cancel()
        shorter = few.model_copy(update={"chassis": few.chassis.model_copy(update={"wheelbase": 2.5})})
        assert start_cure(idle, shorter, TEXT, draws=0) is not asked
        about = standing(few)
        good = Subject(car=7, about=about, other=about.turn({"front bar": -1}))
        assert ask(idle, WhatCures(complaint=TEXT, draws=0), good) is not asked
    finally:
        idle.close()


def test_what_is_not_understood_starts_nothing(few: Car, jobs: Jobs) -> None:
    before = len(jobs.all())
    with pytest.raises(AdviceError, match="Nearest readings"):
        start_cure(jobs, few, "purple")
    assert len(jobs.all()) == before


def test_a_set_is_confirmed_by_runs_of_its_own(
    few: Car, jobs: Jobs, answered: Answered, answer: Cured
) -> None:
    first = answer.sets[0]
    confirmed = ended(start_confirm(jobs, answered, first.setup)).result.content()
    # Run again from the two cars alone: the rig is deterministic, so equal but for rounding.
    cars = [apply_setup(few, answer.setup), apply_setup(few, first.setup)]
    measures, values = measured(cars, answer.cure.table.events)
    target = answer.cure.targets[0]
    names = [one.name for one in measures]
    (rig,) = confirmed["rig"]
    assert_allclose(rig["before"]["value"], float(target.value(names, values[0])), rtol=1e-9)
    assert_allclose(rig["after"]["value"], float(target.value(names, values[1])), rtol=1e-9)
    assert_allclose(rig["share"]["value"], first.progress[0], rtol=1e-9)
    assert {one["adjuster"]: one["to"] for one in confirmed["changes"]} == moved_to(answer.cure, first)


def test_nothing_changed_confirms_nothing(jobs: Jobs, answered: Answered, answer: Cured) -> None:
    confirmed = ended(start_confirm(jobs, answered, answer.setup)).result.content()
    assert confirmed["changes"] == []
    assert confirmed["rig"][0]["share"]["value"] == 0.0
    assert "Nothing else becomes worse" in confirmed["costs"]


def test_a_stopped_search_keeps_the_ranking(few: Car, jobs: Jobs) -> None:
    setup = baseline_setup(few).model_copy(update={"values": {"rear bar": 5.0}})
    job = start_cure(jobs, few, TEXT, setup=setup, draws=8)
    until = time.monotonic() + 120.0
    while job.result is None and time.monotonic() < until:
        time.sleep(0.001)
    job.cancel()
    while not job.over and time.monotonic() < until:
        time.sleep(0.05)
    assert job.state == "cancelled"
    found: Cured = job.result.answer.source
    assert found.cure.levers
    assert found.cure.first
    assert not found.complete
    assert not found.sets


def test_a_corner_of_a_track_is_named_by_its_number(few: Car, jobs: Jobs) -> None:
    text, track = "pushes at mid-corner in turn 2", demo_track("chicanes")
    result = ended(start_cure(jobs, few, text, track=track, draws=0)).result
    found: Cured = result.answer.source
    assert found.cure.course.name == track.name
    assert {name.split(".")[0] for target in found.cure.targets for name, _ in target.terms} == {"corner 2"}
    with_none = start_cure(jobs, few, text, draws=0)
    assert with_none.result is not result


def test_a_plan_is_that_of_the_advice(few: Car, jobs: Jobs) -> None:
    setup = baseline_setup(few)
    changed = setup.model_copy(update={"values": {**setup.values, "front bar": 1.0}})
    about = standing(few)
    subject = Subject(car=1, about=about, other=about.with_setup(changed))
    answered = ended(ask(jobs, TrialPlan(scatter=0.02), subject)).result
    assert isinstance(answered, Answered)
    plan = answered.content()["plan"]
    found = session_plan(few, setup, changed, scatter=0.02)
    assert plan["laps"] == found.laps
    assert_allclose(plan["effect"]["value"], found.effect, rtol=1e-9)
    headings = [one.text for one in answered.answer.blocks if isinstance(one, Heading)]
    assert headings == ["Change", "Drive", "Watch", "Stop"]
    assert plan["changes"] == {"front bar": {"from": setup.values["front bar"], "to": 1.0}}
