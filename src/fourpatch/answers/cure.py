"""What cures a complaint."""

from typing import Annotated, Any, ClassVar

from pydantic import Field, StringConstraints

from fourpatch.advice.because import Reason
from fourpatch.advice.change_set import ChangeSet
from fourpatch.advice.complaint import Complaint
from fourpatch.advice.complaint_text import Reading, read_complaint
from fourpatch.advice.cure import AtStop, Cure
from fourpatch.advice.draws import DRAWS, IfTrue, Sureness
from fourpatch.advice.drive_check import DriveNumber
from fourpatch.advice.powerless import doubt, powerless
from fourpatch.analysis.quantity import BARE, RATIO, Findings, Number
from fourpatch.answers.answer import Answer, found_of
from fourpatch.answers.origins import origin_blocks
from fourpatch.answers.question import About, Asked, Question
from fourpatch.document.content import number, settings_content
from fourpatch.errors import AdviceError
from fourpatch.face.cure_blocks import cure_blocks
from fourpatch.face.cured import Cured, cured
from fourpatch.face.standing_car import StandingCar
from fourpatch.picture.blocks import Picture, drawing
from fourpatch.picture.cure_words import way
from fourpatch.picture.first_answer import FirstAnswer
from fourpatch.picture.first_change_words import first_change, question_choices, question_text, what_then
from fourpatch.picture.if_true_words import needed_unit

MOST_TEXT = 500
"""Letters of a complaint that are read."""


class ElsewhereRead(Findings):
    """What of a text no set-up cures, or what has no number in this model."""

    subject: str
    """What it is about."""
    words: str
    """As typed."""
    said: str
    """The answer to it."""
    numberless: bool
    """Whether it is a matter of set-up, but without a number in this model."""


class AskedBack(Findings):
    """What is asked back."""

    said: str
    """The question."""
    words: str
    """Which words it is about."""
    choices: tuple[str, ...]
    """Complaints to choose from, each of which is read as it stands."""


class TextRead(Findings):
    """What was understood of a text."""

    typed: str
    """The complaint as typed."""
    unread: tuple[str, ...]
    """Words that were not understood."""
    denied: tuple[str, ...]
    """Clauses that say what the car does not do, or does well."""
    wished: tuple[str, ...]
    """Clauses that wish for more or less of something, read as the complaint behind the wish."""
    elsewhere: tuple[ElsewhereRead, ...]
    """What no set-up cures or the model has no number for."""
    question: AskedBack | None
    """What is asked back; `null` if nothing."""
    slips: dict[str, str]
    """Words as typed, and what they were taken for."""


class ComplaintRead(Findings):
    """One thing the car does and should not; what was not said is empty."""

    text: str
    """In our own words."""
    behaviour: str
    """What it does."""
    phase: str
    """Of the corner."""
    window: str
    """Early or late half of the phase."""
    place: str
    """Where."""
    corners: tuple[int, ...]
    """Numbers of the corners of the track."""
    end: str
    """Front or rear, where the behaviour does not say it."""
    size: str
    """How bad."""


class PowerlessFound(Findings):
    """A group of adjusters that cannot cure it."""

    system: str
    """Which."""
    step: Number
    """Its largest step."""
    reach: Number
    """The most it can do at a stop."""


class ComplaintFound(ComplaintRead):
    """A complaint and the number behind it."""

    measured_by: str
    """The number behind it in words."""
    measures: tuple[str, ...]
    """What it is made of, named as in `advise sensitivity`."""
    present: Number
    """The number as the car stands."""
    wanted: Number
    """By how much it is to change, with its sign."""
    sized_by: str
    """What `wanted` is from: *asked* (`--by`), *good* (`--good`), *said* (a little, clearly, badly) or
    *felt*, what a driver feels."""
    hardly_measurable: Number
    """A change below this is hardly measurable."""
    model_shows_it: bool | None
    """True, false, or `null` where there is no line to tell by."""
    doubt: str
    """If false: what the model says instead and what would help to know."""
    notes: tuple[str, ...]
    """What of the complaint was set aside."""
    powerless: tuple[PowerlessFound, ...]
    """Groups of adjusters that cannot cure it."""


class LeverFound(Findings):
    """One step of an adjuster, turned the way that helps."""

    adjuster: str
    """Which."""
    direction: str
    """*up* or *down*."""
    cures: tuple[Number, ...]
    """How far one step moves each complaint the right way."""
    share_of_wanted: Annotated[float, RATIO]
    """The same over the wanted change, mean of the complaints."""
    steps_left: int
    """Steps to the stop; 0 for what is not to be part of a cure."""
    drive_against: bool
    """Whether it does nothing or the opposite in a steady turn by the drive, or the opposite in a driven
    corner; then it is part of no set."""
    side_cost: Annotated[float, RATIO]
    """What one step makes worse elsewhere, each over its tolerance, summed, per wanted change had."""
    side_effects: dict[str, float]
    """Change of every balance, grip lost, time off the ground, flight and body throw for that step, as in
    `advise sensitivity`."""
    holds: int | None
    """Plausible cars in which the step helps; `null` without draws."""
    share_low: Annotated[float | None, BARE]
    """16th percentile of `share_of_wanted` over the plausible cars; `null` without draws."""
    share_high: Annotated[float | None, BARE]
    """84th percentile; `null` as above."""


class StopFound(Findings):
    """An adjuster that would help further but is at its stop."""

    adjuster: str
    """Which."""
    direction: str
    """*up* or *down*."""
    last_step_back: Annotated[float, RATIO]
    """Share of the wanted change that its last step back loses."""


class MovedFound(Findings):
    """Adjusters moved together."""

    changes: tuple[dict[str, Any], ...]
    """Each `adjuster`, whole `steps`, upward if positive, `from` and `to` on the driver's scale."""
    share_of_wanted: tuple[float, ...]
    """Confirmed change over the wanted one, of every complaint."""
    breaks: tuple[str, ...]
    """What becomes worse by more than is tolerated."""


class WorseFound(Findings):
    """What becomes worse."""

    what: str
    """Which number."""
    by: Number
    """By how much."""
    tolerated: Number
    """How much is tolerated."""


class SetFound(MovedFound):
    """Changes made together, run as changed."""

    predicted: tuple[Number, ...]
    """Each complaint's number, one-step effects added up."""
    confirmed: tuple[Number, ...]
    """The same, run as changed."""
    cured: bool
    """Whether all shares are at least 0.9; 0.7 where every complaint is sized by what is felt."""
    worse: tuple[WorseFound, ...]
    """What becomes worse."""
    lap: dict[str, Any] | None
    """On a track: change of its lap time, `computed` *quasi-steady*; else `null`."""


class NextFound(MovedFound):
    """What to turn after the first set was tried."""

    when: str
    """*more*, if the car still does it; *less*, if that was too much."""


class TradeFound(MovedFound):
    """What helps one complaint alone, where no set answers all."""

    complaint: int
    """Its place, from 0."""


class GoodFound(Findings):
    """The set-up that was good."""

    setup: str
    """Its name."""
    gains: tuple[Number, ...]
    """By how much each number is better with it."""
    is_the_way: bool
    """Whether changes lead back to it."""


class ToldFound(Findings):
    """What a driver is told, in sentences."""

    first: tuple[str, ...]
    """What to turn first, to look for and to turn then."""
    then: tuple[str, ...]
    """Plain levers passed over, trade-offs and complaints not answered."""
    question: str
    """What is asked back because the first change would differ; empty where it would not."""
    choices: tuple[str, ...]
    """The complaints to choose from then."""


class ReasonFound(Findings):
    """A change of the first set by itself."""

    complaint: int
    """Place of the complaint, from 0."""
    adjuster: str
    """Which."""
    steps: int
    """Upward if positive."""
    kind: str
    """The path most of it takes."""
    parts: dict[str, Number]
    """By path."""
    sentence: str
    """Why it does what it does."""


class DrivenFound(Findings):
    """A number of the drive."""

    name: str
    """Which."""
    before: Number
    """As the car stands."""
    after: tuple[Number, ...]
    """With each set."""
    agrees: tuple[bool | None, ...]
    """Whether it moves as the complaint asks, with each set: `null` where it is for information only."""


class UnknownFound(Findings):
    """What the first set hangs on."""

    name: str
    """Parameter or adjuster."""
    share: Annotated[float, RATIO]
    """Of the variance."""
    change: Annotated[float, RATIO]
    """For one standard deviation more of it, as a share of the wanted change."""
    remedy: str
    """How to find it out."""


class NeededFound(Findings):
    """What would have to be true for a complaint to show."""

    name: str
    """Parameter, both axles' or of the front against the rear, adjuster, or what concerns the driver."""
    spreads: Annotated[float, RATIO]
    """By how many of its spreads it is off."""
    change: Number
    """By how much: a share of the value, a difference, or points that the driver calls neutral."""


class IfTrueFound(Findings):
    """What if a complaint of balance is true that the car as written does not show."""

    needed: tuple[NeededFound, ...]
    """What is off most in the likeliest car that does it."""
    farthest: Annotated[float, RATIO]
    """Spreads by which the farthest of all its numbers is off."""
    cars: int
    """That do it, drawn and run."""
    first_set_holds: int
    """Those in which the first set helps."""
    own: dict[str, int] | None
    """Steps that the likeliest of them is itself advised, by adjuster; `null` if nothing helps it."""


class SurenessFound(Findings):
    """What plausible cars say."""

    cars: int
    """That were run."""
    lost: int
    """That could not be."""
    seed: int
    """They were drawn with."""
    uncertain: int
    """How many numbers have a spread."""
    asked_in: tuple[int, ...]
    """Numbers of the corners that they were asked in, where a complaint is about more; else empty."""
    stopped: bool
    """Whether it was interrupted before all cars were asked."""
    shown: tuple[int | None, ...]
    """Plausible cars that do each complaint as they stand; `null` where there is no line to tell by."""
    if_true: IfTrueFound | None
    """`null` unless the car as written does not show a complaint of balance."""
    set_holds: tuple[int, ...]
    """Plausible cars in which each set helps."""
    set_cures: tuple[int, ...]
    """Those in which it cures."""
    unknowns: tuple[UnknownFound, ...]
    """What the first set hangs on, most first."""


class CourseFound(Findings):
    """Where the complaints happen."""

    name: str
    """Of the track, or of the standard corners."""
    notes: tuple[str, ...]
    """What was taken for what."""


class CureFound(Findings):
    """The answer to a complaint."""

    first_read: FirstAnswer | None
    """What a driver reads first; `null` before there are sets."""
    read: TextRead
    """What was understood."""
    complaints: tuple[ComplaintFound, ...]
    """How they were read, and the number behind each."""
    levers: tuple[LeverFound, ...]
    """Adjusters that help, and which way; largest effect per step first."""
    at_stop: tuple[StopFound, ...]
    """Adjusters that would help further but are at their stop."""
    sets: tuple[SetFound, ...]
    """Changes to make together, best first."""
    next: tuple[NextFound, ...]
    """What to turn after the first set was tried, from the set-up as it stands."""
    trade_offs: tuple[TradeFound, ...]
    """What helps one complaint alone, where no set answers all."""
    good: GoodFound | None
    """The set-up that was good; `null` if none was told."""
    told: ToldFound
    """What a driver is told."""
    reasons: tuple[ReasonFound, ...]
    """Of the first set."""
    drive: tuple[DrivenFound, ...]
    """What the drive says of every set."""
    sureness: SurenessFound | None
    """What plausible cars say; `null` without."""
    course: CourseFound
    """Where the complaints happen."""
    stopped: bool
    """Whether it was interrupted: adjusters are ranked, sets or plausible cars are missing."""


class WhatCures(Question):
    """Say what to change on CAR against COMPLAINT, in words: "pushes on entry in slow corners".

    A complaint says what the car does (pushes, loose, nervous, slow to answer, floats, hops, thrown off
    kerbs, bottoms, locks fronts, locks rears, spins the inside wheel, inconsistent), in which phase (braking,
    entry, mid, exit, straight) and where (slow, medium, fast corners, kerbs, bumps; with a track also the
    numbers of its corners: "turn 3", "T3"); several may be joined by "and".
    """

    command: ClassVar[str] = "advise cure"
    question: ClassVar[str] = "What cures it, and what does that cost?"
    finds: ClassVar[type[Findings]] = CureFound
    arguments: ClassVar[tuple[str, ...]] = ("complaint",)
    of: ClassVar[About] = "car, on a track or not"
    with_good: ClassVar[bool] = True
    takes_long: ClassVar[bool] = True
    drawn: ClassVar[bool] = True
    page: ClassVar[str] = "/cure"

    complaint: Annotated[str, StringConstraints(strip_whitespace=True, max_length=MOST_TEXT)]
    """What the car does and should not, in a driver's words."""
    by: Annotated[float, Field(gt=0.0)] | None = None
    """By how much the complaint's number is to be moved, in its SI unit or in points; one complaint only.
    Without it as the complaint says (a little, clearly, badly), as was lost since the good set-up, or what a
    driver feels."""
    draws: Annotated[int, Field(ge=0, le=1000)] = DRAWS
    """Plausible cars to ask how sure the answer is; 0 to leave it out."""
    seed: int = 1
    """Of the draws."""

    def refuse(self, asked: Asked) -> None:
        """Refuse what is not understood, and one amount for several complaints."""
        count = len(read_complaint(self.complaint).complaints)
        if self.by is not None and count > 1:
            raise AdviceError(
                f"by {self.by:g} is for one complaint, and {count} were read. Put them one at a time, or "
                "leave it out."
            )

    def answer(self, asked: Asked) -> Answer:
        """Compute it."""
        about, show = asked.car, asked.show
        found = cured(
            about.car,
            about.setup,
            read_complaint(self.complaint),
            track=asked.track,
            wanted=self.by,
            good=None if asked.other is None else asked.other.setup,
            draws=self.draws,
            seed=self.seed,
            show=None if show is None else lambda part: show(self._answered(about, part)),
            progress=asked.progress,
            cancelled=asked.cancelled,
        )
        return self._answered(about, found)

    def _answered(self, about: StandingCar, answer: Cured) -> Answer:
        found = answer.cure
        on = f" on {found.course.name}" if found.course.lap else ""
        drawn = Picture(draw=drawing("cure.cure_figure", found), says=f"What cures: {answer.reading.typed}?")
        return Answer(
            title=f"{about.named}{on}: what cures “{answer.reading.typed}”? Computed on the rig",
            about={**about.content(), "mode": "rig", **settings_content(self)},
            found=found_of(cure_found(answer)),
            blocks=[*cure_blocks(answer), *origin_blocks(about.car), drawn],
            source=answer,
            stopped=answer.stopped,
        )


def text_read(reading: Reading) -> TextRead:
    """Return what was understood of a text."""
    asked = reading.question
    return TextRead(
        typed=reading.typed,
        unread=reading.unread,
        denied=reading.denied,
        wished=reading.wished,
        elsewhere=tuple(
            ElsewhereRead(
                subject=one.about.subject,
                words=one.words,
                said=one.about.said,
                numberless=one.about.numberless,
            )
            for one in reading.remarks
        ),
        question=asked and AskedBack(said=asked.said, words=asked.words, choices=tuple(asked.choices)),
        slips=dict(reading.slips),
    )


def complaint_read(one: Complaint) -> ComplaintRead:
    """Return a complaint by its parts."""
    return ComplaintRead(text=one.text(), **_parts(one))


def _parts(one: Complaint) -> dict[str, Any]:
    return {name: getattr(one, name) for name in ComplaintRead.model_fields if name != "text"}


def cure_found(answer: Cured) -> CureFound:
    """Return the answer to a complaint in numbers."""
    found, adjusters = answer.cure, answer.cure.table.adjusters
    after = (
        ()
        if found.next is None
        else (("more", found.next.more), ("far", found.next.far), ("less", found.next.less))
    )
    return CureFound(
        first_read=answer.first_read,
        read=text_read(answer.reading),
        complaints=tuple(_complaint(found, place) for place in range(len(found.targets))),
        levers=tuple(_lever(answer, place) for place in range(len(found.levers))),
        at_stop=tuple(_at_stop(found, one) for one in found.at_stop),
        sets=tuple(_set(found, one) for one in found.sets),
        next=tuple(NextFound(when=when, **_moved(found, one)) for when, one in after if one is not None),
        trade_offs=tuple(
            TradeFound(complaint=place, **_moved(found, one)) for place, one in found.trade_offs
        ),
        good=_good(found),
        told=ToldFound(
            first=tuple(first_change(found)),
            then=tuple(what_then(found)),
            question=question_text(found),
            choices=tuple(question_choices(found)),
        ),
        reasons=tuple(_reason(one, adjusters[one.adjuster].name) for one in answer.reasons),
        drive=tuple(map(driven_found, answer.drive)),
        sureness=answer.sureness and _sureness(found, answer.sureness),
        course=CourseFound(name=found.course.name, notes=tuple(found.course.notes)),
        stopped=answer.stopped,
    )


def _numbers(found: Cure, values: tuple[float, ...]) -> tuple[Number, ...]:
    """Return a number for each complaint, in its unit."""
    return tuple(Number(value, target.unit) for value, target in zip(values, found.targets, strict=True))


def _complaint(found: Cure, place: int) -> ComplaintFound:
    target = found.targets[place]
    shows = found.shows(target)
    return ComplaintFound(
        text=target.complaint.text(),
        **_parts(target.complaint),
        measured_by=target.meaning,
        measures=tuple(name for name, _ in target.terms),
        present=Number(found.present(target), target.unit),
        wanted=Number(-target.sign * found.wanted[place], target.unit),
        sized_by=found.sized_by[place],
        hardly_measurable=Number(target.hardly, target.unit),
        model_shows_it=shows,
        doubt=doubt(found, place) if shows is False else "",
        notes=tuple(target.notes),
        powerless=tuple(
            PowerlessFound(
                system=one.system, step=Number(one.step, target.unit), reach=Number(one.reach, target.unit)
            )
            for one in powerless(found, place)
        ),
    )


_BESIDE = ("balance", "grip_lost", "time_off_ground", "body_throw", "longest_flight")
"""Measures whose change stands beside a lever."""


def _lever(answer: Cured, place: int) -> LeverFound:
    found, lever, sure = answer.cure, answer.cure.levers[place], answer.sureness
    effect = found.table.effects[lever.adjuster, int(lever.direction > 0)]
    return LeverFound(
        adjuster=found.table.adjusters[lever.adjuster].name,
        direction=way(lever.direction),
        cures=_numbers(found, lever.per_step),
        share_of_wanted=lever.share,
        steps_left=lever.left,
        drive_against=lever.against,
        side_cost=lever.side_cost,
        side_effects={
            measure.name: float(value)
            for measure, value in zip(found.table.measures, effect, strict=True)
            if measure.quantity in _BESIDE
        },
        holds=sure.holds[place] if sure else None,
        share_low=sure.low[place] if sure and sure.low else None,
        share_high=sure.high[place] if sure and sure.high else None,
    )


def _at_stop(found: Cure, one: AtStop) -> StopFound:
    return StopFound(
        adjuster=found.table.adjusters[one.adjuster].name,
        direction=way(one.direction),
        last_step_back=one.back,
    )


def moved_to(found: Cure, one: ChangeSet) -> dict[str, float]:
    """Return where a set puts each adjuster that it moves, on the driver's own scale."""
    adjusters = found.table.adjusters
    return {adjusters[place].name: one.setup.position(adjusters[place]) for place, _ in one.changes}


def _moved(found: Cure, one: ChangeSet) -> dict[str, Any]:
    adjusters, after = found.table.adjusters, moved_to(found, one)
    changes = (
        {
            "adjuster": (name := adjusters[place].name),
            "steps": steps,
            "from": found.setup.position(adjusters[place]),
            "to": after[name],
        }
        for place, steps in one.changes
    )
    return {
        "changes": tuple(changes),
        "share_of_wanted": one.progress,
        "breaks": tuple(guard.label for guard, _ in one.broken),
    }


def _set(found: Cure, one: ChangeSet) -> SetFound:
    return SetFound(
        **_moved(found, one),
        predicted=_numbers(found, one.predicted),
        confirmed=_numbers(found, one.confirmed),
        cured=one.cured,
        worse=tuple(
            WorseFound(
                what=guard.label,
                by=Number(worse, guard.unit),
                tolerated=Number(guard.tolerance, guard.unit),
            )
            for guard, worse in one.worse
        ),
        lap=None if one.lap is None else {**number(one.lap, "s"), "computed": "quasi-steady"},
    )


def _good(found: Cure) -> GoodFound | None:
    good = found.good
    if good is None:
        return None
    gains = _numbers(found, tuple(good.gains))
    return GoodFound(setup=good.setup.name, gains=gains, is_the_way=good.helps)


def _reason(one: Reason, adjuster: str) -> ReasonFound:
    return ReasonFound(
        complaint=one.complaint,
        adjuster=adjuster,
        steps=one.steps,
        kind=one.kind,
        parts={name: Number(size, "points") for name, size in one.parts.items()},
        sentence=one.sentence,
    )


def driven_found(one: DriveNumber) -> DrivenFound:
    """Return a number of the drive, before and after."""
    return DrivenFound(
        name=one.name,
        before=Number(one.before, one.unit),
        after=tuple(Number(value, one.unit) for value in one.after),
        agrees=one.agrees,
    )


def _sureness(found: Cure, sure: Sureness) -> SurenessFound:
    own = ("cars", "unknowns", "if_true")
    same = {name: getattr(sure, name) for name in SurenessFound.model_fields if name not in own}
    unknowns = (
        UnknownFound(name=one.name, share=one.share, change=one.change, remedy=one.remedy)
        for one in sure.unknowns
    )
    return SurenessFound(
        cars=sure.asked,
        unknowns=tuple(unknowns),
        if_true=sure.if_true and _if_true(found, sure.if_true),
        **same,
    )


def _if_true(found: Cure, one: IfTrue) -> IfTrueFound:
    adjusters = found.table.adjusters
    return IfTrueFound(
        needed=tuple(
            NeededFound(name=need.name, spreads=need.moved, change=Number(need.change, needed_unit(need)))
            for need in one.needed
        ),
        farthest=one.farthest,
        cars=one.asked,
        first_set_holds=one.holds,
        own=None if one.own is None else {adjusters[k].name: steps for k, steps in one.own},
    )
