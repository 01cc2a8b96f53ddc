"""What drivers type: our own list, lists held out, slips, and what must never be read to the opposite."""

import random
from pathlib import Path

import pytest

from fourpatch.advice.complaint import OPPOSED
from fourpatch.advice.complaint_text import nearest_readings, understood
from fourpatch.advice.course import standard_course
from fourpatch.advice.lexicon import lexicon
from fourpatch.advice.phrasings import judge, judged, own_list, phrasings
from fourpatch.advice.target import target_of
from fourpatch.car.demo import demo_car

HELD_OUT = Path(__file__).parents[2] / "data" / "words"


def test_our_own_list_is_read_as_it_is_meant() -> None:
    found = judged(own_list())
    assert len(found) >= 400
    assert not [(one.text, one.meaning) for one in found if not one.right]
    assert not [one.text for one in found if one.opposite]


def test_every_complaint_of_our_own_list_has_a_number_of_the_model() -> None:
    car = demo_car("gt")
    course = standard_course(car)
    for text, _ in phrasings(own_list()):
        for one in understood(text).complaints:
            if not one.corners:  # those need their track
                assert target_of(one, car, course).terms, text


@pytest.mark.parametrize("path", sorted(HELD_OUT.glob("*.tsv")), ids=lambda path: path.stem)
def test_a_list_written_without_sight_of_the_reader_is_read(path: Path) -> None:
    found = judged(path)
    assert not [one.text for one in found if one.opposite]
    # At least 85 of 100 is what was asked for before the reader was written.
    assert sum(one.right for one in found) >= 0.85 * len(found)


def test_no_slip_turns_a_complaint_round() -> None:
    draw = random.Random(7)
    judgements = [judge(_with_a_slip(text, draw), meaning) for text, meaning in phrasings(own_list())]
    assert not [one.text for one in judgements if one.opposite]
    # A slip in one word of a sentence can leave a word that means something else: nine in ten survive it.
    assert sum(one.right for one in judgements) >= 0.9 * len(judgements)


def _with_a_slip(text: str, draw: random.Random) -> str:
    words = text.split()
    long = [k for k, word in enumerate(words) if len(word) >= 6 and word.isalpha()]
    if not long:
        return text
    k = draw.choice(long)
    word = words[k]
    at = draw.randrange(1, len(word) - 1)
    words[k] = draw.choice(
        (
            word[:at] + word[at + 1] + word[at] + word[at + 2 :],
            word[:at] + word[at + 1 :],
            word[:at] + word[at] + word[at:],
        )
    )
    return " ".join(words)


# The same wish in other words, and the complaint behind it.
FAULTS = {"understeer": "oversteer", "oversteer": "understeer", "push": "oversteer"}


@pytest.mark.parametrize("fault", FAULTS)
@pytest.mark.parametrize("where", ["", " on entry", " at mid-corner in fast corners", " under power"])
def test_a_wish_is_the_complaint_behind_it(fault: str, where: str) -> None:
    missing = FAULTS[fault]
    for wish in (
        "I want more {}",
        "not enough {}",
        "too little {}",
        "I'd like a bit more {}",
        "give me more {}",
    ):
        typed = f"{wish.format(fault)}{where}"
        assert [one.behaviour for one in understood(typed).complaints] == [missing], typed
    for wish in ("I want less {}", "too much {}", "less {} please", "help with {}", "stop the {}"):
        typed = f"{wish.format(fault)}{where}"
        assert [one.behaviour for one in understood(typed).complaints] != [missing], typed
        assert len(understood(typed).complaints) == 1, typed


@pytest.mark.parametrize(
    ("quality", "missing", "excess"),
    [
        ("front grip", "understeer", "oversteer"),
        ("rear grip", "oversteer", "understeer"),
        ("rotation", "understeer", "oversteer"),
    ],
)
def test_a_quality_is_missed_or_had_too_much_of(quality: str, missing: str, excess: str) -> None:
    for said in ("no", "not enough", "I want more", "too little", "lacks", "terrible", "zero", "more"):
        assert [one.behaviour for one in understood(f"{said} {quality}").complaints] == [missing], said
    for said in ("too much", "I want less", "far too much"):
        assert [one.behaviour for one in understood(f"{said} {quality}").complaints] == [excess], said
    for said in ("great", "the {} is good", "plenty of", "good"):
        typed = said.format(quality) if "{" in said else f"{said} {quality}"
        assert not understood(typed).complaints, typed


@pytest.mark.parametrize(
    "denied", ["no {}", "not {}", "it is not {}", "never {}", "{} is gone", "without {}"]
)
@pytest.mark.parametrize("fault", ["understeer", "oversteer", "loose", "tight", "nervous"])
def test_what_is_denied_is_never_read(denied: str, fault: str) -> None:
    typed = denied.format(fault)
    assert not understood(typed).complaints, typed
    assert understood(typed).denied
    after = understood(f"{typed}, but it locks the fronts")
    assert [one.behaviour for one in after.complaints] == ["locks fronts"]


def test_every_word_is_accounted_for() -> None:
    reading = understood("pushes on entri, floopy wombats, fine on exit, and the steering is heavy")
    assert [one.text() for one in reading.complaints] == ["understeer on entry"]
    assert reading.slips == (("entri", "entry"),)
    assert reading.unread == ("floopy", "wombats")
    assert reading.denied == ("fine on exit",)
    assert [one.about.subject for one in reading.remarks] == ["steering"]


def test_what_is_asked_back_is_one_question_with_readable_answers() -> None:
    for typed in (
        "slides on exit in slow corners",
        "locks",
        "no grip",
        "more understeer mid",
        "bad on entry",
    ):
        question = understood(typed).question
        assert question is not None, typed
        for choice, one in zip(question.choices, question.complaints, strict=True):
            assert understood(choice).complaints == (one,)
            assert understood(choice).question is None


def test_a_question_between_opposites_is_never_answered_for_the_driver() -> None:
    for typed in ("slides", "it slides mid", "more understeer", "I want oversteer", "less rear grip"):
        reading = understood(typed)
        assert not reading.complaints
        assert reading.question is not None
        behaviours = {one.behaviour for one in reading.question.complaints}
        assert any(set(pair) <= behaviours for pair in OPPOSED)


def test_what_a_driver_does_wrong_or_has_broken_comes_first() -> None:
    for typed in ("I brake too late and run wide", "I hit the wall and now it pushes on exit"):
        reading = understood(typed)
        assert not reading.complaints
        assert any(one.about.first for one in reading.remarks)
        assert reading.question is not None  # what is left of the complaint is offered, not dropped


def test_nearest_readings_are_near() -> None:
    assert not any("brak" in near for near in nearest_readings("steering is heavy"))
    for typed in ("blah", "purple", "hippo over kerbs", "steering is heavy", "tyres overheat"):
        for near in nearest_readings(typed):
            assert understood(near).complaints, near


def test_whatever_a_remark_or_a_question_offers_can_be_read() -> None:
    for remark in lexicon().remarks.values():
        for near in remark.near:
            assert understood(near).complaints, near


@pytest.mark.parametrize(
    "typed", ["", "   ", "???", "é", "1234", "and and and", "not", "'", "@", "@_", "x" * 500]
)
def test_anything_at_all_is_taken(typed: str) -> None:
    assert not understood(typed).complaints
