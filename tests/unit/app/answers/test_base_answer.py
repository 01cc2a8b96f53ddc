"""A base set-up as pages and API say it."""

import threading

import pytest

from fourpatch.advice import base_borne
from fourpatch.advice.base_setup import base_setup
from fourpatch.app.answers import base
from fourpatch.app.answers.base import base_answer, start_base
from fourpatch.app.jobs import Jobs
from fourpatch.car.demo import demo_car
from fourpatch.car.setup import baseline_setup
from fourpatch.errors import EventError
from fourpatch.track.demo import demo_track

KEPT = ("front bar", "rear bar", "fuel")


def test_a_track_is_another_question_and_is_handed_on(monkeypatch: pytest.MonkeyPatch) -> None:
    asked: list[object] = []

    def refuse(*_: object, track: object, **__: object) -> None:
        asked.append(track)
        raise EventError("not now")

    monkeypatch.setattr(base, "base_setup", refuse)
    car, jobs, track = demo_car("gt"), Jobs(workers=1), demo_track("chicanes")
    given = baseline_setup(car)
    try:
        first = start_base(jobs, 3, car, given, "calm")
        second = start_base(jobs, 3, car, given, "calm", track=track)
        assert second.id != first.id
        assert track.name in second.about
        over = threading.Event()
        second.when_over(lambda _: over.set())
        assert over.wait(10.0)
        assert asked == [None, track]
    finally:
        jobs.close()


def test_every_value_says_why_and_how_far_it_may_move(monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setattr(base_borne, "_course", lambda *_: (None, "not driven in this test"))
    whole = demo_car("gt")
    car = whole.model_copy(update={"adjusters": [one for one in whole.adjusters if one.name in KEPT]})
    given = baseline_setup(car)
    found = base_setup(car, given, style="calm")
    answer = base_answer(3, given, found)
    assert {one.adjuster for one in answer.values} == set(KEPT)
    assert all(one.because for one in answer.values)
    assert answer.sought == 3.0
    assert "No lap was driven: not driven in this test." in answer.drive
    assert {one.corner for one in answer.turns} == set(found.occasion.corners)
    assert all(one.found is not None and one.found <= max(one.given, 0.0) for one in answer.turns)
    assert answer.track == ""
    assert answer.setup == found.setup.values | {one.adjuster: one.position for one in answer.values}
    for one in answer.values:
        if one.low is not None and one.high is not None:
            assert one.low <= one.position <= one.high
    assert [one.name for one in answer.costs] == ["as given", "targets alone", "this set-up"]
    # A total is the sum of its parts, to rounding.
    for cost in answer.costs:
        assert abs(sum(cost.parts.values()) - cost.total) < 1e-9
