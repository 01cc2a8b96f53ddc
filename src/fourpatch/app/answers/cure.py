"""A complaint and its cure: what was read, what helps, and whether a change does what was asked."""

from typing import Any

from pydantic import BaseModel, Field, PrivateAttr

from fourpatch.advice.because import reasons
from fourpatch.advice.change_set import ChangeSet
from fourpatch.advice.complaint import Behaviour, Complaint, PhaseName, Place, Size, Window
from fourpatch.advice.complaint_text import Reading, nearest_readings, read_complaint, understood
from fourpatch.advice.confirmation import confirmation
from fourpatch.advice.cure import Cure, Lever, cure, first_ranking
from fourpatch.advice.draws import DRAWS, Sureness, sureness
from fourpatch.advice.drive_check import DriveNumber, drive_check
from fourpatch.app.answers.asked import Positions
from fourpatch.app.jobs import Job, Jobs
from fourpatch.car.car import Car
from fourpatch.car.setup import Setup, apply_setup
from fourpatch.document.digest import digest
from fourpatch.errors import AdviceError
from fourpatch.evidence.kept import cars_to_ask
from fourpatch.long_work import go_on, stretch
from fourpatch.picture.cure_first import first_of_cure
from fourpatch.picture.cure_words import (
    MOST_LEVERS,
    NO_LEVER,
    changes_text,
    columns_elsewhere,
    costs_text,
    course_text,
    cured_text,
    drive_cells,
    drive_heads,
    drive_notes,
    drive_where,
    left_text,
    lever_name,
    lever_notes,
    limits_text,
    measured_text,
    outcome,
    read_as,
    sets_note,
    sureness_text,
    title_elsewhere,
    unit_text,
    value_text,
)
from fourpatch.picture.first_answer import FirstAnswer
from fourpatch.picture.first_change_words import (
    first_change,
    follow_up,
    question_choices,
    question_text,
    sized_text,
    what_then,
)
from fourpatch.track.track import Track

KIND = "cure"
"""Of the jobs."""

MOST_TEXT = 500
"""Characters of a complaint that are read."""

_RANKED, _DRIVEN = 0.6, 0.7  # shares of the work: adjusters ranked and sets found, why and the drive


class ReadAsked(BaseModel):
    """A complaint as typed."""

    text: str = Field(max_length=MOST_TEXT, description='"pushes on entry in slow corners"')


class ComplaintRead(BaseModel):
    """One thing the car does and should not; what was not said is empty."""

    text: str = Field(description="In our own words.")
    behaviour: str
    phase: str
    window: str = Field(description="early or late half of the phase")
    place: str
    end: str = Field(description="front or rear, where the behaviour does not say it")
    size: str


class ReadElsewhere(BaseModel):
    """What of a text is no matter of set-up, or has no number in this model."""

    subject: str
    words: str = Field(description="As typed.")
    said: str = Field(description="The answer to it.")
    numberless: bool = Field(description="A matter of set-up, but without a number in this model.")


class ReadQuestion(BaseModel):
    """What must be asked back."""

    said: str
    words: str = Field(description="What it is about, as typed.")
    choices: list[str] = Field(description="Complaints, each of which is read as it stands.")


class ReadAnswer(BaseModel):
    """What was understood, or why nothing was."""

    typed: str
    complaints: list[ComplaintRead]
    unread: list[str] = Field(description="Words that mean nothing here.")
    denied: list[str] = Field(description="What the text says the car does not do, or does well, left out.")
    wished: list[str] = Field(description="Wishes, read as the complaint behind them.")
    elsewhere: list[ReadElsewhere]
    question: ReadQuestion | None
    slips: dict[str, str] = Field(description="Words as typed, and what they were taken for.")
    said: str = Field(description="All that in one or two sentences; or why it was not understood.")
    nearest: list[str] = Field(description="Readings to choose from where nothing was understood.")


class CureAsked(BaseModel):
    """A complaint of a car with a set-up."""

    car: int = Field(ge=1, le=2**31, description="The car's id in the notebook.")
    setup: Positions = Field(default_factory=dict)
    text: str = Field(max_length=MOST_TEXT, description="The complaint.")
    track: int | None = Field(
        default=None,
        ge=1,
        le=2**31 - 1,
        description="Id of the track whose corners, bumps and kerbs are meant; null for standard ones.",
    )
    good: Positions | None = Field(
        default=None,
        description="A set-up with which the car did not do it: the changes lead back towards it.",
    )
    draws: int = Field(default=DRAWS, ge=0, le=200, description="Plausible cars to ask; 0 for none.")


class Measured(BaseModel):
    """The number that stands for a complaint."""

    complaint: str
    meaning: str
    present: float = Field(description="In `unit`.")
    wanted: float = Field(description="Change that cures it, with its sign, in `unit`.")
    unit: str = Field(description="SI, or points.")
    model_shows_it: bool | None = Field(description="null where there is no line to tell by.")
    sized_by: str = Field(description="What the wanted change is from: asked, said, good or felt.")
    said: str = Field(description="All that in sentences, and what would help to know.")


class LeverFound(BaseModel):
    """One step of an adjuster, turned the way that helps."""

    adjuster: str
    direction: int = Field(description="1 up, -1 down")
    name: str
    cures: list[float] = Field(description="How far a step moves each complaint's number the right way.")
    shown: list[str] = Field(description="The same as shown, in the unit of `cure_heads`.")
    share: float = Field(description="Mean of those over what is wanted.")
    left: str = Field(description="Steps to the stop, or that it is not used.")
    elsewhere: list[str] = Field(description="What the same step changes, by `elsewhere_heads`, as shown.")
    holds: int | None = Field(description="Plausible cars in which it helps.")


class ChangeFound(BaseModel):
    """One adjuster moved."""

    adjuster: str
    steps: int
    before: float = Field(description="On the driver's own scale.")
    after: float


class SetFound(BaseModel):
    """Changes made together, run as changed."""

    title: str
    changes: list[ChangeFound]
    present: list[float] = Field(description="Each complaint's number as the car stood, in its unit.")
    confirmed: list[float] = Field(description="The same of the changed car, by running it.")
    share: list[float] = Field(description="Of what is wanted of each complaint.")
    cured: bool
    broken: list[str] = Field(description="What became worse by more than is tolerated.")
    said: list[str] = Field(description="The outcome, and what it costs elsewhere.")


class ReasonFound(BaseModel):
    """Why one change does what it does."""

    adjuster: str
    sentence: str
    parts: dict[str, float] = Field(description="Points by path of load.")


class Driven(BaseModel):
    """One number of the drive."""

    name: str
    before: float | None
    after: list[float | None] = Field(description="With each set, or with the set-up in hand.")
    unit: str
    agrees: list[bool | None] = Field(
        description="Whether it moves as the complaint asks; null where it informs only."
    )
    shown: list[str] = Field(description="As it stands and with each set, with unit.")


class CureAnswer(BaseModel):
    """The answer to a complaint, as far as it is known."""

    _found: Cure | None = PrivateAttr(default=None)
    complete: bool = Field(description="Whether nothing more is being computed.")
    first: bool = Field(description="Whether this is the first, coarse ranking, without sets.")
    car: int
    setup: dict[str, float] = Field(description="The set-up it is about.")
    track: str = Field(description="Name of the track; empty for the standard corners, road and kerb.")
    course: str = Field(description="What of the track was taken for what; empty without one.")
    read: ReadAnswer
    measured: list[Measured]
    cure_heads: list[str]
    levers: list[LeverFound] = Field(description="What helps, largest effect first.")
    elsewhere_title: str
    elsewhere_heads: list[str]
    lever_notes: list[str]
    sets: list[SetFound] = Field(description="Best first.")
    sets_note: str
    first_change: list[str] = Field(description="What to turn first, what to look for, and what then.")
    follow_up: list[str] = Field(description="Of those, what to do after the first change.")
    what_then: list[str] = Field(
        description="Plain levers passed over, trade-offs, complaints not answered and why."
    )
    question: str = Field(description="What is asked back, because the first change would differ; or empty.")
    choices: list[str] = Field(description="Complaints to choose from then.")
    reasons: list[ReasonFound] = Field(description="Of the first set.")
    driven_heads: list[str] = Field(description="Of the columns of `driven`: as it stands, each set.")
    driven: list[Driven] = Field(description="Every set, by the drive.")
    driven_where: list[str] = Field(description="How, and in which of many corners, the drive was asked.")
    driven_against: list[str] = Field(description="Where it contradicts the rig.")
    limits: list[str] = Field(description="What adjusters cannot do.")
    plausible_cars: int | None
    sureness: list[str]
    first_read: FirstAnswer | None = Field(
        default=None, description="What is read first; null before there are sets."
    )

    @property
    def found(self) -> Cure:
        """What it was made from."""
        assert self._found is not None
        return self._found


class ConfirmedNumber(BaseModel):
    """A complaint's number by the rig, before and after."""

    complaint: str
    meaning: str
    before: float = Field(description="In `unit`.")
    after: float
    unit: str
    before_text: str
    after_text: str
    share: float = Field(description="Of what is wanted.")
    verdict: str


class ConfirmAnswer(BaseModel):
    """The set-up in hand against the one that was complained of, run again."""

    changes: list[ChangeFound]
    rig: list[ConfirmedNumber]
    costs: str
    drive: list[Driven]
    drive_where: list[str]
    drive_against: list[str]


# Reading


def read_answer(text: str) -> ReadAnswer:
    """Return what is understood of a complaint; never raises."""
    try:
        return _read(read_complaint(text))
    except AdviceError as error:
        reading = understood(text)
        contradicts = bool(reading.complaints)
        return _read(reading).model_copy(
            update={
                "complaints": [],
                "said": str(error),
                "nearest": [] if contradicts else nearest_readings(text),
            }
        )


def _read(reading: Reading) -> ReadAnswer:
    asked = reading.question
    return ReadAnswer(
        typed=reading.typed,
        complaints=[_complaint(one) for one in reading.complaints],
        unread=list(reading.unread),
        denied=list(reading.denied),
        wished=list(reading.wished),
        elsewhere=[
            ReadElsewhere(
                subject=one.about.subject,
                words=one.words,
                said=one.about.said,
                numberless=one.about.numberless,
            )
            for one in reading.remarks
        ],
        question=None
        if asked is None
        else ReadQuestion(said=asked.said, words=asked.words, choices=list(asked.choices)),
        slips=dict(reading.slips),
        said=read_as(reading),
        nearest=list(asked.choices) if asked is not None else [],
    )


def _complaint(one: Complaint) -> ComplaintRead:
    return ComplaintRead(
        text=one.text(),
        behaviour=one.behaviour,
        phase=one.phase,
        window=one.window,
        place=one.place,
        end=one.end,
        size=one.size,
    )


class ComplaintChosen(BaseModel):
    """A complaint put together from its parts; empty is not said."""

    behaviour: Behaviour
    phase: PhaseName = ""
    window: Window = ""
    place: Place = ""
    size: Size = ""

    def text(self) -> str:
        """Return it as it may be typed."""
        return Complaint(**self.model_dump()).text()


# Curing


def start_cure(
    jobs: Jobs,
    car_id: int,
    car: Car,
    setup: Setup,
    text: str,
    *,
    track: Track | None = None,
    good: Setup | None = None,
    draws: int = DRAWS,
) -> Job:
    """Start to look for a cure, or return the job that does so or has done.

    Parameters
    ----------
    track : whose corners, bumps and kerbs are meant; standard ones if left out.
    good : with which the car did not do it, if that is told.
    draws : plausible cars to ask.

    Raises
    ------
    AdviceError
        If the complaint is not understood.
    """
    reading = read_complaint(text)
    key = f"{car_key(car_id)}{digest(car, setup.values, text.strip(), draws, track, good and good.values)}"

    def work(job: Job) -> CureAnswer:
        return _cured(job, car_id, car, setup, reading, track=track, good=good, draws=draws)

    return jobs.start(KIND, read_as(reading), key, work)


def car_key(car_id: int) -> str:
    """Return how the keys of all jobs about a car begin."""
    return f"car {car_id}: "


def _cured(
    job: Job,
    car_id: int,
    car: Car,
    setup: Setup,
    reading: Reading,
    *,
    track: Track | None,
    good: Setup | None,
    draws: int,
) -> CureAnswer:
    """Work a complaint out; the job holds what is known at every moment."""
    first_found = first_ranking(car, setup, reading.complaints, track=track)
    job.result = _answer(car_id, first_found, reading)
    found = cure(
        car,
        setup,
        reading.complaints,
        track=track,
        good=good,
        course=first_found.course if track else None,  # without one it holds what is complained of alone
        progress=stretch(job.progress, 0.0, _RANKED),
        cancelled=job.cancelled,
    )
    answer = _answer(car_id, found, reading)
    job.result = answer
    go_on(job.cancelled, "adjusters are ranked")
    job.progress(_RANKED, "why, and what the drive says")
    drive, sure = None, None
    if found.sets:
        first = found.sets[0]
        changed = [apply_setup(car, one.setup) for one in found.sets]
        drive = drive_check(apply_setup(car, setup), changed, found.targets, found.course, found.driven)
        names = [f"Set {k}" for k in range(1, len(changed) + 1)]
        answer = answer.model_copy(
            update={
                "reasons": [
                    ReasonFound(
                        adjuster=found.table.adjusters[one.adjuster].name,
                        sentence=one.sentence,
                        parts=one.parts,
                    )
                    for one in reasons(car, setup, found, first)
                ],
                "driven": [_driven_number(one) for one in drive],
                "driven_where": list(drive_where(found)),
                "driven_against": list(drive_notes(drive, names)),
            }
        )
        job.result = answer
    if draws:
        told = stretch(job.progress, _DRIVEN, 1.0)
        before = cars_to_ask(car, draws, progress=stretch(told, 0.0, 0.5), cancelled=job.cancelled)
        if before is not None:
            told = stretch(told, 0.5, 1.0)
        sure = sureness(
            car, setup, found, draws=draws, drawn_before=before, progress=told, cancelled=job.cancelled
        )
        answer = answer.model_copy(update=_sure(answer, sure))
    read = first_of_cure(found, drive=drive, sure=sure, complete=True)
    return answer.model_copy(update={"complete": True, "first_read": read})


def _answer(car_id: int, found: Cure, reading: Reading) -> CureAnswer:
    several = len(found.targets) > 1
    columns = columns_elsewhere(found)
    answer = CureAnswer(
        complete=False,
        first=found.first,
        car=car_id,
        setup=dict(found.setup.values),
        track=found.course.name if found.course.lap else "",
        course=course_text(found),
        read=_read(reading),
        measured=[_measured(found, place) for place in range(len(found.targets))],
        cure_heads=[
            f"{f'cures {k}' if several else 'cures'} [{unit_text(target)}]"
            for k, target in enumerate(found.targets, start=1)
        ],
        levers=[
            _lever(found, one, [column.change(found, one) for column in columns]) for one in found.levers
        ],
        elsewhere_title=title_elsewhere(found),
        elsewhere_heads=[
            f"{one.text} [{one.shown_in}]".replace("\n", " ") if one.shown_in else one.text for one in columns
        ],
        lever_notes=list(lever_notes(found)) if found.levers else [NO_LEVER],
        sets=[_set(found, one) for one in found.sets],
        sets_note=sets_note(found),
        first_change=list(first_change(found)),
        follow_up=list(follow_up(found)),
        what_then=what_then(found),
        question=question_text(found),
        choices=question_choices(found),
        reasons=[],
        driven_heads=drive_heads(len(found.sets)),
        driven=[],
        driven_where=[],
        driven_against=[],
        limits=[] if found.first else list(limits_text(found)),
        plausible_cars=None,
        sureness=[],
        first_read=first_of_cure(found),
    )
    answer._found = found
    return answer


def _measured(found: Cure, place: int) -> Measured:
    target = found.targets[place]
    return Measured(
        complaint=target.complaint.text(),
        meaning=target.meaning,
        present=found.present(target),
        wanted=-target.sign * found.wanted[place],
        unit=target.unit,
        model_shows_it=found.shows(target),
        sized_by=found.sized_by[place],
        said=f"{measured_text(found, place)} {sized_text(found, place)}".strip(),
    )


def _lever(found: Cure, lever: Lever, elsewhere: list[str]) -> LeverFound:
    return LeverFound(
        adjuster=found.table.adjusters[lever.adjuster].name,
        direction=lever.direction,
        name=lever_name(found, lever),
        cures=list(lever.per_step),
        shown=[
            value_text(size, target, signed=True)
            for size, target in zip(lever.per_step, found.targets, strict=True)
        ],
        share=lever.share,
        left=left_text(lever),
        elsewhere=elsewhere,
        holds=None,
    )


def _set(found: Cure, one: ChangeSet) -> SetFound:
    return SetFound(
        title=changes_text(found, one),
        changes=[
            ChangeFound(
                adjuster=(adjuster := found.table.adjusters[place]).name,
                steps=steps,
                before=found.setup.position(adjuster),
                after=one.setup.position(adjuster),
            )
            for place, steps in one.changes
        ],
        present=[found.present(target) for target in found.targets],
        confirmed=list(one.confirmed),
        share=list(one.progress),
        cured=one.cured,
        broken=[guard.label for guard, _ in one.broken],
        said=list(outcome(found, one)),
    )


def _driven_number(one: DriveNumber) -> Driven:
    return Driven(
        name=one.name,
        before=one.before,
        after=list(one.after),
        unit=one.unit,
        agrees=list(one.agrees),
        shown=drive_cells(one),
    )


def _sure(answer: CureAnswer, sure: Sureness | None) -> dict[str, Any]:
    levers = answer.levers
    if sure is not None:
        levers = [
            one.model_copy(update={"holds": holds}) for one, holds in zip(levers, sure.holds, strict=True)
        ]
    return {
        "levers": levers,
        "plausible_cars": sure.asked if sure else None,
        "sureness": list(sureness_text(sure)),
    }


# Confirming


def start_confirm(jobs: Jobs, car: Car, answer: CureAnswer, changed: Setup) -> Job:
    """Start to run a set-up against the one that was complained of, or return the job that does."""
    key = digest(car, answer.setup, answer.track, answer.read.typed, changed.values)
    about = f"does it cure {'; '.join(one.text for one in answer.read.complaints)}?"
    return jobs.start("confirm", about, key, lambda job: _confirmed(job, car, answer, changed))


def _confirmed(job: Job, car: Car, answer: CureAnswer, changed: Setup) -> ConfirmAnswer:
    found = answer.found
    result = confirmation(
        car,
        found,
        changed,
        progress=job.progress,
        cancelled=job.cancelled,
    )
    numbers = zip(found.targets, result.before, result.after, result.progress, strict=True)
    return ConfirmAnswer(
        changes=[
            ChangeFound(
                adjuster=one.name,
                steps=round((after - before) / one.step),
                before=before,
                after=after,
            )
            for one in car.adjusters
            if (before := found.setup.position(one)) != (after := changed.position(one))
        ],
        rig=[
            ConfirmedNumber(
                complaint=target.complaint.text(),
                meaning=target.meaning,
                before=before,
                after=after,
                unit=target.unit,
                before_text=f"{value_text(before, target)} {unit_text(target)}",
                after_text=f"{value_text(after, target)} {unit_text(target)}",
                share=share,
                verdict=f"{100.0 * share:.0f} % of what is wanted: {cured_text(share)}",
            )
            for target, before, after, share in numbers
        ],
        costs=costs_text(result.worse),
        drive=[_driven_number(one) for one in result.drive],
        drive_where=list(drive_where(found)),
        drive_against=list(drive_notes(result.drive, ["This change"])),
    )


SHOWN_LEVERS = MOST_LEVERS
"""Adjusters that a page shows before the rest is asked for."""
