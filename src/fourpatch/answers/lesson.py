"""A lesson on a topic, said with the numbers of the car at hand."""

from collections.abc import Iterator
from typing import Annotated, ClassVar

from fourpatch.advice.lessons.lesson import Topic, topic_lesson
from fourpatch.advice.lessons.study import Answered, Effect, Study, study, turned_by
from fourpatch.advice.rules.rule import SOURCE
from fourpatch.analysis.quantity import OWN, Findings
from fourpatch.answers.answer import Answer
from fourpatch.answers.question import Asked, Found, Question
from fourpatch.answers.rules import RuleFound, rule_found
from fourpatch.document.content import settings_content
from fourpatch.picture.blocks import Block, Heading, Picture, Sentence, Table, drawing, means
from fourpatch.picture.head import Head
from fourpatch.picture.lesson_words import (
    CHOICES,
    answer_said,
    change_text,
    filled,
    from_where,
    measure_words,
    most_said,
    number_text,
    question_said,
    rule_lead,
    rule_said,
    saying_said,
    step_text,
)


class NumberFound(Findings):
    """A number of an event, and what the lesson's step changes of it."""

    name: str
    """Dotted: event, part, quantity, axle."""
    unit: str
    """SI, or points, of the numbers below."""
    now: Annotated[float, OWN]
    """As the car stands."""
    said: Annotated[float, OWN]
    """Change for the lesson's step; `null` where nothing can be turned."""
    back: Annotated[float, OWN]
    """Change for the same step the other way; `null` beyond the scale."""
    hardly_measurable: Annotated[float, OWN]
    """A change below this is hardly measurable."""


class QuestionFound(Findings):
    """A question to check what was understood."""

    asks: str
    """As it is asked."""
    choices: tuple[str, ...]
    """What may be answered."""
    right: str
    """Which of them is right, computed."""
    name: str
    """The number that decides, dotted."""
    unit: str
    """SI, or points, of the number below."""
    difference: Annotated[float, OWN]
    """That number's change for the step, or by how much it is above the one that it is compared with."""


class SayingFound(Findings):
    """A rule of thumb of driving."""

    text: str
    """As it is said."""
    verdict: str
    """What became of it: agrees, depends, disagrees, hardly matters."""
    name: str
    """The number that decides, dotted; its changes stand in `numbers`."""


class LessonFound(Findings):
    """A lesson's numbers on a car."""

    title: str
    """What it is about."""
    adjuster: str
    """What is turned; empty where the car has nothing to turn for it."""
    others: tuple[str, ...]
    """Adjusters that it could be about as well."""
    step: str
    """The lesson's step in words."""
    unit: str
    """Of the scale, as the driver counts."""
    position: Annotated[float, OWN]
    """From which steps are counted, on the driver's own scale; `null` where nothing is turned."""
    numbers: tuple[NumberFound, ...]
    """Every number of events that is spoken of."""
    rules: tuple[RuleFound, ...]
    """Rules of thumb, checked on this car."""
    sayings: tuple[SayingFound, ...]
    """Rules of thumb of driving, checked on this car; none in lessons on the set-up."""
    questions: tuple[QuestionFound, ...]
    """None where nothing can be turned."""


class LessonAsked(Question):
    """Teach one part of the set-up, or of driving, with the numbers of CAR.

    What it is, what a step of it does, which rules of thumb hold here, common mistakes, cautions, and
    questions whose right answers are computed. The step is a single one of the scale, or several where a
    single one does too little to learn from: dampers. Words are our own; rules and mistakes are common
    practice, no published source.
    """

    command: ClassVar[str] = "advise lesson"
    question: ClassVar[str] = "What does this part of the set-up do, and how do I use it?"
    page: ClassVar[str] = "/lessons"
    finds: ClassVar[dict[str, Found]] = {"lesson": LessonFound}
    drawn: ClassVar[bool] = True

    topic: Topic
    """What the lesson is about."""
    adjuster: str | None = None
    """What is turned, by its name; the first that the topic is about if left out."""

    def refuse(self, asked: Asked) -> None:
        """Refuse an adjuster that the topic is not about."""
        turned_by(topic_lesson(self.topic), asked.car.car, asked.car.setup, self.adjuster or "")

    def answer(self, asked: Asked) -> Answer:
        """Compute it."""
        about = asked.car
        found = study(
            topic_lesson(self.topic),
            about.car,
            about.setup,
            adjuster=self.adjuster or "",
            progress=asked.progress,
            cancelled=asked.cancelled,
        )
        return Answer(
            title=f"{found.lesson.title}: a lesson on {about.named}",
            about={**about.content(), "mode": found.computed_by, **settings_content(self)},
            found={"lesson": lesson_found(found)},
            blocks=list(lesson_blocks(found)),
            source=found,
        )


def lesson_found(found: Study) -> LessonFound:
    """Return a lesson's numbers."""
    turned = found.turned
    return LessonFound(
        title=found.lesson.title,
        adjuster=turned.adjuster.name if turned else "",
        others=turned.others if turned else (),
        step=step_text(found),
        unit=turned.adjuster.unit if turned else "",
        position=turned.position if turned else float("nan"),
        numbers=tuple(map(_number_found, found.effects.values())),
        rules=tuple(map(rule_found, found.rules)),
        sayings=tuple(
            SayingFound(text=one.saying.text, verdict=one.verdict, name=one.effect.measure.name)
            for one in found.sayings
        ),
        questions=tuple(_question_found(one, found) for one in found.questions),
    )


def _number_found(effect: Effect) -> NumberFound:
    return NumberFound(
        name=effect.measure.name,
        unit=effect.measure.unit,
        now=effect.now,
        said=effect.said,
        back=effect.back,
        hardly_measurable=effect.limit,
    )


def _question_found(one: Answered, found: Study) -> QuestionFound:
    choices = {way: filled(getattr(one.check, way), found) for way, _ in CHOICES}
    return QuestionFound(
        asks=filled(one.check.asks, found),
        choices=tuple(choices.values()),
        right=choices[one.right],
        name=one.effect.measure.name,
        unit=one.effect.measure.unit,
        difference=one.difference,
    )


def lesson_blocks(found: Study) -> Iterator[Block]:
    """Yield a lesson: what it is, what a step does, rules, mistakes, cautions, questions, answers."""
    lesson = found.lesson
    yield from (Sentence(filled(text, found)) for text in lesson.what)
    yield Heading("On this car")
    if found.turned:
        yield Sentence(from_where(found))
        yield from (Sentence(filled(text, found)) for text in lesson.turn)
        yield _numbers_table(found)
        yield Picture(draw=drawing("lesson.lesson_figure", found), says=lesson.plot.says)
    yield means(most_said(found))
    if found.rules or found.sayings:
        yield Heading("Rules of thumb")
        yield Sentence(f"All of them: {SOURCE}. Each was tried on this car, both ways.")
        yield from (Sentence(rule_said(one), lead=rule_lead(one)) for one in found.rules)
        yield from (Sentence(saying_said(one), lead=rule_lead(one)) for one in found.sayings)
    yield Heading("Common mistakes")
    yield from (Sentence(filled(text, found)) for text in lesson.mistakes)
    yield Heading("Take care")
    yield from (Sentence(filled(text, found)) for text in lesson.cautions)
    if found.questions:
        yield Heading("Do you see it?")
        for number, one in enumerate(found.questions, start=1):
            yield Sentence(question_said(one, found), lead=f"Question {number}")
        yield Heading("The answers, computed on this car")
        for number, one in enumerate(found.questions, start=1):
            yield Sentence(answer_said(one, found), lead=f"Answer {number}")


def _numbers_table(found: Study) -> Table:
    heads = [
        Head(text="number", right=False),
        Head(text="now"),
        Head(text=step_text(found)),
        Head(text=step_text(found, back=True)),
    ]
    rows = []
    for name in found.lesson.numbers:
        one = found.effect(name)
        unit = one.measure.unit
        rows.append(
            (
                measure_words(one.measure),
                "-" if one.measure.quantity.endswith("swing") else number_text(one.now, unit),
                *(_change(change, unit) for change in (one.said, one.back)),
            )
        )
    return Table(heads=heads, rows=rows)


def _change(change: float, unit: str) -> str:
    return "-" if change != change else change_text(change, unit)
