"""Long work of the app: one question is worked on once, and ends in one of three ways."""

import threading
import time
from collections.abc import Iterator

import pytest

from fourpatch.app.jobs import MOST_KEPT, Job, Jobs
from fourpatch.errors import CarError, Stopped


@pytest.fixture
def jobs() -> Iterator[Jobs]:
    opened = Jobs()
    yield opened
    opened.close()


def ended(job: Job) -> Job:
    for _ in range(500):
        if job.over:
            return job
        time.sleep(0.01)
    raise AssertionError(f"{job} goes on")


def test_the_same_question_is_worked_on_once(jobs: Jobs) -> None:
    gate = threading.Event()
    calls: list[str] = []

    def work(job: Job) -> int:
        calls.append(job.id)
        gate.wait(5.0)
        return 7

    first = jobs.start("lap", "a lap", "key", work)
    second = jobs.start("lap", "a lap", "key", work)
    other = jobs.start("lap", "a lap", "another", work)
    gate.set()
    assert first is second
    assert ended(first).result == ended(other).result == 7
    assert jobs.start("lap", "a lap", "key", work) is first  # answered already
    assert len(calls) == 2


def test_what_a_page_begins_by_itself_keeps_nothing_waiting() -> None:
    jobs, gate = Jobs(workers=1), threading.Event()
    try:
        by_itself = jobs.start("map", "a map", "a", lambda job: gate.wait(10.0), unasked=True)
        asked = jobs.start("cure", "a cure", "b", lambda job: "cured")
        assert ended(asked).result == "cured"
        assert not by_itself.over
    finally:
        gate.set()
        jobs.close()


def test_a_cancelled_job_keeps_its_part(jobs: Jobs) -> None:
    def work(job: Job) -> list[int]:
        done = []
        for k in range(1000):
            if job.cancelled():
                break
            done.append(k)
            job.progress(k / 1000, "counting")
            time.sleep(0.002)
        return done

    job = jobs.start("count", "counting", "", work)
    while job.share == 0.0:
        time.sleep(0.005)
    job.cancel()
    assert ended(job).state == "cancelled"
    assert 0 < len(job.result) < 1000
    again = jobs.start("count", "counting", "", work)
    assert again is not job  # a part is no answer to the question
    again.cancel()


def test_work_that_has_nothing_to_keep_is_cancelled_too(jobs: Jobs) -> None:
    def work(job: Job) -> None:
        raise Stopped("nothing yet")

    assert ended(jobs.start("x", "x", "", work)).state == "cancelled"


@pytest.mark.parametrize(
    ("error", "text"),
    [
        (CarError("front.spring.rate is 0"), "front.spring.rate is 0"),
        (KeyError("slip"), "fault of Fourpatch"),
    ],
)
def test_what_goes_wrong_is_said(jobs: Jobs, error: Exception, text: str) -> None:
    def work(job: Job) -> None:
        raise error

    job = ended(jobs.start("x", "x", "", work))
    assert job.state == "failed"
    assert text in job.error


def test_old_answers_are_forgotten(jobs: Jobs) -> None:
    for k in range(MOST_KEPT + 20):
        ended(jobs.start("x", "x", str(k), lambda job: None))
    assert len(jobs.all()) <= MOST_KEPT + 1
    assert jobs.of("x", "0") is None
    assert jobs.of("x") is not None


def test_who_waits_for_the_end_is_told_before_it_is_over_and_late_comers_at_once(jobs: Jobs) -> None:
    gate = threading.Event()
    told: list[object] = []
    job = jobs.start("cure", "a cure", "key", lambda job: gate.wait(5.0) and 7)
    job.when_over(lambda one: told.append((one.over, one.result)))
    assert told == []
    gate.set()
    ended(job)
    assert told == [(False, 7)]
    job.when_over(lambda one: told.append(one.over))
    assert told[1:] == [True]


def test_a_fault_of_who_is_told_does_not_keep_a_job_from_ending(jobs: Jobs) -> None:
    gate = threading.Event()
    job = jobs.start("cure", "a cure", "key", lambda job: gate.wait(5.0))
    job.when_over(lambda one: 1 / 0)
    gate.set()
    assert "ZeroDivisionError" in ended(job).error
