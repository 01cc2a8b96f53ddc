"""Questions as long work: what is asked of whom, and the answer as a page or a program takes it."""

from dataclasses import dataclass, field
from functools import cached_property
from typing import Any

from fourpatch.answers.answer import Answer
from fourpatch.answers.question import Asked, Question
from fourpatch.app.jobs import Job, Jobs
from fourpatch.app.parts.said_blocks import blocks_html
from fourpatch.app.shop import Shop
from fourpatch.app.state import Desk
from fourpatch.car.setup import Setup
from fourpatch.document.digest import digest
from fourpatch.face.standing_car import StandingCar, car
from fourpatch.picture.page import page
from fourpatch.track.track import Track


@dataclass(frozen=True, kw_only=True)
class Subject:
    """What a question is asked about, as the notebook knows it."""

    car: int | None = None
    about: StandingCar | None = None
    other: StandingCar | None = None
    """With the set-up that it is to be changed to, or with which it was good."""
    track: int | None = None
    on: Track | None = None
    events: dict[str, Any] = field(default_factory=dict)

    @cached_property
    def key(self) -> str:
        """What decides an answer besides the question; it begins with the car."""
        standing = [one and one.standing for one in (self.about, self.other)]
        return f"{self.car}:{digest(standing, self.track, self.on, self.events)}"

    def asked(self, **more: Any) -> Asked:
        """Return it as a question takes it."""
        return Asked(about=self.about, other=self.other, track=self.on, events=self.events, **more)


@dataclass(frozen=True, kw_only=True)
class Answered:
    """What came of a question."""

    question: Question
    subject: Subject
    answer: Answer

    def content(self) -> dict[str, Any]:
        """Return it with the keys of the command line's JSON."""
        return self.answer.content()

    @cached_property
    def shown(self) -> str:
        """As it stands on the page of all questions."""
        return blocks_html(self.answer.blocks)

    @cached_property
    def page(self) -> str:
        """As a page of its own."""
        return page(self.answer.title, self.answer.blocks)


def on_desk(
    shop: Shop,
    desk: Desk,
    track: int | None = None,
    *,
    before: Setup | None = None,
    good: Setup | None = None,
) -> Subject:
    """Return what a page asks about: the car on the desk with B.

    Parameters
    ----------
    track : id of the one that is driven, if one is.
    before : the set-up that B is a change of, where the change is asked about.
    good : with which the car did not do what it is asked about.
    """
    b, on = car(desk.car, desk.b), None if track is None else shop.notebook.tracks.read(track)
    about, other = (
        (b, None if good is None else car(desk.car, good)) if before is None else (car(desk.car, before), b)
    )
    return Subject(car=desk.car_id, about=about, other=other, track=track, on=on)


def question_key(question: Question, subject: Subject) -> str:
    """Return what decides an answer."""
    return f"{work_key(question, subject)}:{digest(question)}"


def work_key(question: Question, subject: Subject) -> str:
    """Return what decides what is computed; an answer may be another look at that."""
    return f"{subject.key}:{digest(question.computed())}"


def ask(jobs: Jobs, question: Question, subject: Subject, *, drawn: bool = False) -> Job:
    """Begin to answer a question, go on where it was stopped, or return the job that has answered it.

    Parameters
    ----------
    drawn : whether its pictures are wanted too.

    Raises
    ------
    FourpatchError
        If it cannot be asked so; what only the computation finds out stands in the job.
    """
    asked = subject.asked()
    question.refuse(asked)
    before = jobs.latest(question.command, work_key(question, subject))
    known = before.result.answer if before and isinstance(before.result, Answered) else None

    def work(job: Job) -> Answered:
        def show(answer: Answer) -> None:
            job.result = Answered(question=question, subject=subject, answer=answer)

        more = {"progress": job.progress, "cancelled": job.cancelled, "known": known, "show": show}
        found = Answered(question=question, subject=subject, answer=question.answer(subject.asked(**more)))
        if drawn:
            assert found.shown
            assert found.page
        return found

    about = " on ".join(one.name for one in (subject.about and subject.about.car, subject.on) if one)
    return jobs.start(question.command, f"{question.question} {about}", question_key(question, subject), work)
