"""A base set-up as it is answered."""

from dataclasses import replace

import pytest

from fourpatch.advice import base_borne
from fourpatch.advice.base_setup import BaseSetup, base_setup
from fourpatch.answers.base import SoundBase, base_blocks, base_found
from fourpatch.answers.question import Asked
from fourpatch.car.demo import demo_car
from fourpatch.car.setup import baseline_setup
from fourpatch.errors import EventError
from fourpatch.face.standing_car import car
from fourpatch.picture.base_first import first_of_base
from fourpatch.picture.blocks import MEANS, Sentence, Table
from fourpatch.track.demo import demo_track

KEPT = ("front bar", "rear bar", "fuel")


def test_track_and_style_are_handed_on(monkeypatch: pytest.MonkeyPatch) -> None:
    asked: list[object] = []

    def refuse(*_: object, track: object, style: str, **__: object) -> None:
        asked.append((track, style))
        raise EventError("not now")

    monkeypatch.setattr("fourpatch.answers.base.base_setup", refuse)
    track = demo_track("chicanes")
    with pytest.raises(EventError, match="not now"):
        SoundBase(style="calm").answer(Asked(about=car("gt"), track=track))
    assert asked == [(track, "calm")]


@pytest.fixture(scope="module")
def found() -> BaseSetup:
    whole = demo_car("gt")
    few = whole.model_copy(update={"adjusters": [one for one in whole.adjusters if one.name in KEPT]})
    with pytest.MonkeyPatch.context() as patch:
        patch.setattr(base_borne, "_course", lambda *_: (None, "not driven in this test"))
        return base_setup(few, baseline_setup(few), style="calm")


def test_every_value_says_why_and_how_far_it_may_move(found: BaseSetup) -> None:
    answer = base_found(found)
    assert set(answer.values) == set(KEPT)
    assert all(one.because for one in answer.values.values())
    assert answer.targets.balance == 3.0
    assert answer.drive.why_no_laps == "not driven in this test"
    assert {one.corner for one in answer.drive.turns} == set(found.occasion.corners) == set(answer.balance)
    assert all(one.found is not None and one.found <= max(one.given, 0.0) for one in answer.drive.turns)
    assert answer.new_setup.values == found.setup.values | {k: v.position for k, v in answer.values.items()}
    for one in answer.values.values():
        if one.hardly_matters is not None:
            low, high = one.hardly_matters
            assert one.position is not None
            assert low <= one.position <= high
    # A total is the sum of its parts, to rounding.
    for cost in (answer.cost.given, answer.cost.targets, answer.cost.found):
        assert abs(cost.corners + cost.bumps + cost.kerbs + cost.floor - cost.total) < 1e-9


def test_it_begins_with_what_is_read_first_and_how_sure_it_is(found: BaseSetup) -> None:
    first = first_of_base(found)
    said, sure, *rest = base_blocks(found)
    assert said == Sentence(first.sentence, lead=MEANS)
    assert sure == Sentence(first.because, lead=f"How sure? {first.grade.capitalize()}")
    titles = [one.title for one in rest if isinstance(one, Table)]
    assert [title.split(maxsplit=1)[0] for title in titles] == ["Set-up", "Cost", "Balance:", "Driven"]
    stopped = list(base_blocks(replace(found, stopped=True)))
    assert any(isinstance(one, Sentence) and one.text.startswith("You stopped it") for one in stopped)
