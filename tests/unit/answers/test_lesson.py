"""Lessons: every number with its unit and from the car at hand, right answers right, easy to read."""

import re
from collections.abc import Iterator
from pathlib import Path
from typing import get_args

import pytest
import xarray as xr

from fourpatch.advice.lessons.hands import DRIVEN, drive_hands, driven_measures, measured_hands
from fourpatch.advice.lessons.lesson import PLACE, Lesson, Topic, lesson_faults, topic_lesson
from fourpatch.analysis.event_measures import Measure
from fourpatch.analysis.standard_events import standard_corners
from fourpatch.answers.answer import Answer
from fourpatch.answers.lesson import LessonAsked, LessonFound
from fourpatch.answers.question import Asked
from fourpatch.car.demo import demo_names
from fourpatch.errors import AdviceError
from fourpatch.face.rig_run import run_on_rig
from fourpatch.face.standing_car import StandingCar, car
from fourpatch.picture.blocks import Sentence, Table

TOPICS = get_args(Topic)
CASES = [(topic, name) for topic in TOPICS for name in demo_names()]

UNITS = (
    "%|points?|N per g|N|mm|deg/g|deg|bar|kg|Hz|clicks?|positions?|holes?|shims?|turns?|steps?"
    "|ramps?|packers?|grades?|N·m|N/mm|km/h|ms|1/s|m/s²|m|s"
)
NUMBER = re.compile(r"[-+]?\d+(?:\.\d+)?")
"""A number of a rule's own name (as "+30 %", "divided by 1.3", "1.5 times") is a factor, and says so."""
WITH_UNIT = re.compile(
    rf"(?:from )?(?:(?:{UNITS}) )?[-+]?\d+(?:\.\d+)? (?:to [-+]?\d+(?:\.\d+)? )?(?:{UNITS}|times)(?![a-z])"
    rf"|(?:from )?(?:position|hole|ramp|grade) \d+(?: to \d+)?"
    r"|divided by \d+(?:\.\d+)?"
)


@pytest.fixture(scope="module")
def said() -> dict[tuple[str, str], Answer]:
    return {}


def lesson(said: dict[tuple[str, str], Answer], topic: Topic, name: str) -> Answer:
    """Ask once for all tests."""
    if (topic, name) not in said:
        said[topic, name] = LessonAsked(topic=topic).answer(Asked(about=car(name)))
    return said[topic, name]


def sentences(answer: Answer) -> list[str]:
    return [block.text for block in answer.blocks if isinstance(block, Sentence)]


@pytest.mark.parametrize(("topic", "name"), CASES)
def test_no_number_without_its_unit(said: dict[tuple[str, str], Answer], topic: Topic, name: str) -> None:
    answer = lesson(said, topic, name)
    for text in sentences(answer):
        left = NUMBER.findall(WITH_UNIT.sub("", text))
        assert not left, text
    tables = [block for block in answer.blocks if isinstance(block, Table)]
    for cell in (cell for table in tables for row in table.rows for cell in row[1:]):
        assert cell == "-" or WITH_UNIT.fullmatch(cell), cell


@pytest.mark.parametrize("topic", TOPICS)
def test_no_number_is_written_into_a_lesson(topic: Topic) -> None:
    for _, text in topic_lesson(topic).texts():
        assert not re.search(r"\d", PLACE.sub("", text)), text


@pytest.mark.parametrize("topic", TOPICS)
def test_another_car_has_other_numbers(said: dict[tuple[str, str], Answer], topic: Topic) -> None:
    places = [NUMBER.findall(" ".join(sentences(lesson(said, topic, name)))) for name in ("gt", "coupe")]
    assert places[0] != places[1]
    one, other = (lesson(said, topic, name).found["lesson"].numbers for name in ("gt", "coupe"))
    assert all(a.now != b.now for a, b in zip(one, other, strict=True) if "swing" not in a.name)


@pytest.mark.parametrize(("topic", "name"), CASES[::3])
def test_right_answers_are_those_of_runs_made_one_by_one(
    said: dict[tuple[str, str], Answer], topic: Topic, name: str
) -> None:
    """The sign by phases of two runs of the car and the turned car, each alone in the first one's motion.

    Of drivers: each driven alone, not beside others.
    """
    found = lesson(said, topic, name).found["lesson"]
    source = lesson(said, topic, name).source
    for one, question in zip(source.questions, found.questions, strict=True):
        assert question.right in question.choices
        measure = one.effect.measure
        if measure.event == DRIVEN:
            now, said = (
                measured_hands(drive_hands(car(name).standing, [{found.adjuster: at}]))[0]
                for at in (source.turned.position, source.turned.said)
            )
            place = driven_measures().index(measure)
            assert one.effect.way(said[place] - now[place]) == one.right
            continue
        if measure.quantity.endswith("swing"):
            continue  # the largest for a moment has no value of a run alone
        value = _alone(car(name), found, measure.event, source.turned.position)
        other = _alone(car(name), found, measure.event, source.turned.said, motion_of=source.turned.position)
        if one.check.than:
            than = source.effect(one.check.than).measure
            difference = _read(value, measure) - _read(value, than)
        else:
            difference = _read(other, measure) - _read(value, measure)
        way = "stays" if abs(difference) <= one.effect.limit else "rises" if difference > 0 else "falls"
        assert way == one.right


def _alone(
    about: StandingCar, found: LessonFound, event: str, at: float, motion_of: float | None = None
) -> xr.Dataset:
    begin = about.turn({found.adjuster: f"to {at if motion_of is None else motion_of:g}"})
    corner = standard_corners(begin.standing, [event])[event]
    turned = about.turn({found.adjuster: f"to {at:g}"})
    return run_on_rig(turned.standing, corner, setup="asked").phases().dataset


def _read(phases: xr.Dataset, measure: Measure) -> float:
    one = phases[measure.quantity].sel(phase=measure.part)
    return float(one.sel(axle=measure.axle) if measure.axle else one)


def test_a_car_without_an_adjuster_is_told_so() -> None:
    gt = car("gt")
    bare = gt.car.model_copy(update={"adjusters": [a for a in gt.car.adjusters if "bar" not in a.name]})
    answer = LessonAsked(topic="anti-roll-bars").answer(Asked(about=car(bare)))
    text = str(answer)
    assert "Demo GT has no adjuster for this" in text
    assert "Take care" in text
    assert not answer.found["lesson"].questions
    assert answer.drawing is None


def test_at_a_stop_the_step_is_counted_from_where_it_is_possible() -> None:
    gt = car("gt").turn(front_bar="to 7")
    found = LessonAsked(topic="anti-roll-bars").answer(Asked(about=gt))
    assert found.found["lesson"].position == 6.0
    assert "too near its stop" in str(found)


def test_stiffer_is_down_on_a_scale_that_counts_out_from_closed() -> None:
    answer = LessonAsked(topic="rebound").answer(Asked(about=car("coupe")))
    assert "4 clicks stiffer, from 10 to 6 clicks" in str(answer)


def test_an_adjuster_of_another_topic_is_refused() -> None:
    with pytest.raises(AdviceError, match="Name one of: front bar, rear bar"):
        LessonAsked(topic="anti-roll-bars", adjuster="fuel").refuse(Asked(about=car("gt")))


@pytest.mark.parametrize(
    ("text", "said"),
    [
        ("It weighs {mass}.", "nothing is called that"),
        ("It is {at rest: roll.front_shar}.", "Did you mean roll.front_share"),
        ("It {said: medium corner.mid.balans}.", "Did you mean"),
        ("Half {car", "a brace without its other one"),
        ("It {said: medium corner.mid.balance}.", "Move the sentence to turn"),
    ],
)
def test_a_place_that_nothing_fills_is_refused(text: str, said: str) -> None:
    written = topic_lesson("brakes").model_copy(update={"what": [text]})
    assert isinstance(written, Lesson)
    assert any(said in fault.text for fault in lesson_faults(written))


EASY = 50.0
"""Flesch reading ease from which on a text is 'fairly difficult' at worst (Flesch 1948, from memory)."""


@pytest.mark.parametrize(("topic", "name"), CASES)
def test_a_lesson_is_easy_to_read(said: dict[tuple[str, str], Answer], topic: Topic, name: str) -> None:
    source = lesson(said, topic, name)
    own = " ".join(sentences(source))
    assert flesch(own) >= EASY


def flesch(text: str) -> float:
    """206.835 - 1.015 words per sentence - 84.6 syllables per word: R. Flesch, 1948, from memory."""
    parts = [one for one in re.split(r"[.!?:;]+(?:\s|$)", text) if re.search(r"[A-Za-z]", one)]
    words = re.findall(r"[A-Za-z]+", text)
    return 206.835 - 1.015 * len(words) / len(parts) - 84.6 * sum(map(syllables, words)) / len(words)


def syllables(word: str) -> int:
    """Groups of vowels, a silent e at the end left out: right within a few per cent on English text."""
    groups: Iterator[re.Match[str]] = re.finditer(r"[aeiouy]+", word.lower())
    count = sum(1 for _ in groups)
    return max(1, count - (word.lower().endswith("e") and not word.lower().endswith("le")))


def test_flesch_of_known_words() -> None:
    # By hand: 6 words, 1 sentence, 6 syllables: 206.835 - 6.09 - 84.6.
    assert flesch("The cat sat on the mat.") == pytest.approx(116.145)


def test_every_topic_has_its_file_and_no_file_is_without_a_topic() -> None:
    from fourpatch.advice.lessons import topics

    assert {path.stem for path in Path(topics.__file__).parent.glob("*.toml")} == set(TOPICS)
