"""A lesson as it is written: words with places for numbers, what is turned, watched and asked."""

import re
from collections.abc import Iterator
from fnmatch import fnmatchcase
from functools import partial
from importlib.resources import as_file, files
from typing import Annotated, Literal

from pydantic import Field

from fourpatch.advice.lessons import topics
from fourpatch.advice.lessons.hands import DRIVEN, HABITS
from fourpatch.advice.lessons.vocabulary import needs_adjuster, refusal, what_measure
from fourpatch.advice.rules.catalogue import rule_named
from fourpatch.car.adjusters import Adjuster
from fourpatch.document.fault import Fault, Key
from fourpatch.document.part import Part
from fourpatch.document.reading import read_file
from fourpatch.document.refusals import read_part
from fourpatch.errors import AdviceError
from fourpatch.units import Unit

Topic = Literal[
    "brakes",
    "tyres",
    "camber",
    "toe",
    "ride-height",
    "springs",
    "anti-roll-bars",
    "bump",
    "rebound",
    "differential",
    "aero",
    "trail-braking",
    "turn-in",
    "throttle",
]
"""What there is a lesson of, in the order in which they are listed."""

PLACE = re.compile(r"\{([^{}]*)\}")
"""Where a number or a name of the car at hand goes in a text."""


class Slider(Part):
    """What a lesson turns."""

    targets: list[str] = Field(min_length=1)
    """Parameters an adjuster may act on to be the lesson's, and no others; ``*`` stands for any letters."""
    way: Literal["rises", "falls"]
    """How the parameter goes with the step that the lesson speaks of."""
    said: str = Field(min_length=1)
    """Where that step leads, in a word or two: "stiffer"."""
    back: str = Field(min_length=1)
    """Where a step the other way leads."""
    part: Annotated[float, Unit("1", "%", 0.0, 0.5)] = 0.0
    """Of the whole scale that the lesson's step is, in whole steps of the scale; one of those if left out."""

    def steps(self, adjuster: Adjuster) -> int:
        """Return how many steps of an adjuster's scale are one of the lesson."""
        return max(1, round(self.part * (adjuster.highest - adjuster.lowest) / adjuster.step))

    @property
    def habits(self) -> list[Adjuster]:
        """What it turns of the driver; nothing where it is the car that is turned."""
        return [one for one in HABITS if self.takes(one)]

    def takes(self, adjuster: Adjuster) -> bool:
        """Say whether an adjuster is what the lesson speaks of."""
        return all(any(fnmatchcase(path, one) for one in self.targets) for path in adjuster.targets)


class Plot(Part):
    """The one picture of a lesson."""

    kind: Literal["over the scale", "step by step"]
    """Numbers over all positions of the adjuster, or their change for the lesson's step either way."""
    shows: list[str] = Field(min_length=1, max_length=8)
    """Measures, by dotted name, all of one unit."""
    says: str = Field(min_length=1)
    """The question it answers."""


class Saying(Part):
    """A rule of thumb of driving: what the lesson's step is said to do to a number."""

    text: str = Field(min_length=1)
    """As it is said."""
    number: str
    """The measure that decides."""
    way: Literal["rises", "falls"]
    """How it is said to answer the step; a step the other way is said to do the opposite."""


class Check(Part):
    """A question that shows whether something was understood. Its right answer is computed."""

    asks: str = Field(min_length=1)
    """The question."""
    number: str
    """The measure it is about: its change for the step that the lesson speaks of."""
    than: str = ""
    """Another measure; given, the question is which of the two is the larger as the car stands."""
    rises: str = Field(min_length=1)
    """The answer if the change is above zero, or the first number the larger."""
    falls: str = Field(min_length=1)
    """The answer if it is below."""
    stays: str = Field(min_length=1)
    """The answer if it is hardly measurable."""


class Lesson(Part):
    """A lesson. Places in its texts, in braces, are filled from the car at hand: the only way to a number."""

    title: str = Field(min_length=1)
    """What it is about."""
    what: list[str] = Field(min_length=1)
    """What the thing is, for any car."""
    turn: list[str] = Field(min_length=1)
    """What turning it does on the car at hand."""
    numbers: list[str] = Field(min_length=1, max_length=12)
    """Measures in the table, by dotted name."""
    rules: list[str] = Field(default_factory=list)
    """Rules of thumb that are checked, by name."""
    sayings: list[Saying] = Field(default_factory=list)
    """Rules of thumb of driving that are checked by the lesson's own step."""
    mistakes: list[str] = Field(min_length=1)
    """Common mistakes."""
    cautions: list[str] = Field(min_length=1)
    """What can hurt someone or break something."""
    slider: Slider
    plot: Plot
    questions: list[Check] = Field(min_length=2)

    def texts(self) -> Iterator[tuple[Key, str]]:
        """Yield every text that may have places in it, and where it stands."""
        for name in ("what", "turn", "mistakes", "cautions"):
            for place, text in enumerate(getattr(self, name)):
                yield (name, place), text
        for place, check in enumerate(self.questions):
            for name in ("asks", "rises", "falls", "stays"):
                yield ("questions", place, name), getattr(check, name)

    def measures(self) -> list[str]:
        """Return every measure that is spoken of, by the name that the lesson gives it."""
        places = [what_measure(place) for _, text in self.texts() for place in PLACE.findall(text)]
        asked = [name for check in self.questions for name in (check.number, check.than)]
        asked += [one.number for one in self.sayings]
        named = [*places, *self.numbers, *self.plot.shows, *asked]
        return list(dict.fromkeys(name for name in named if name))


_WITHOUT_ADJUSTER = ("what", "mistakes", "cautions")
"""What is said of a car too that has nothing to turn."""


def lesson_faults(lesson: Lesson) -> Iterator[Fault]:
    """Yield what in a lesson cannot be filled on any car."""
    for key, text in lesson.texts():
        for place in PLACE.findall(text):
            if said := refusal(place):
                yield Fault(key, f"has {{{place}}}: {said}")
            elif key[0] in _WITHOUT_ADJUSTER and needs_adjuster(place):
                yield Fault(
                    key,
                    f"has {{{place}}}, which needs an adjuster, and is said of cars without one too. Move "
                    "the sentence to turn.",
                )
        if "{" in PLACE.sub("", text) or "}" in PLACE.sub("", text):
            yield Fault(key, "has a brace without its other one. A place is written {car}.")
    if lesson.slider.habits and any(not one.startswith(DRIVEN) for one in lesson.measures()):
        yield Fault(("slider", "targets"), f"turn the driver, so every number has to be of the {DRIVEN}.")
    for name in ("numbers", "plot"):
        for place, measure in enumerate(lesson.numbers if name == "numbers" else lesson.plot.shows):
            if said := refusal(f"now: {measure}"):
                yield Fault((name, place) if name == "numbers" else (name, "shows", place), said)
    for place, check in enumerate(lesson.questions):
        for field in ("number", "than"):
            measure = getattr(check, field)
            if measure and (said := refusal(f"now: {measure}")):
                yield Fault(("questions", place, field), said)
    for place, saying in enumerate(lesson.sayings):
        if said := refusal(f"now: {saying.number}"):
            yield Fault(("sayings", place, "number"), said)
    for place, rule in enumerate(lesson.rules):
        try:
            rule_named(rule)
        except AdviceError as error:
            yield Fault(("rules", place), str(error).partition(" is ")[2].join(("is ", "")))


def topic_lesson(topic: Topic) -> Lesson:
    """Return one of the lessons that come with Fourpatch."""
    with as_file(files(topics) / f"{topic}.toml") as path:
        return read_file(path, partial(read_part, Lesson), checks=[lesson_faults])
