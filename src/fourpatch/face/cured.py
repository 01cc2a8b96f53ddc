"""What cures a complaint: the whole answer, as the command line says it and a notebook shows it."""

from collections.abc import Iterator, Sequence
from dataclasses import dataclass, replace
from html import escape
from typing import TYPE_CHECKING, NamedTuple

from fourpatch.advice.because import Reason, reasons
from fourpatch.advice.change_set import ChangeSet
from fourpatch.advice.complaint_text import Reading
from fourpatch.advice.cure import Cure, cure
from fourpatch.advice.draws import Sureness, sureness
from fourpatch.advice.drive_check import DriveNumber, drive_check
from fourpatch.car.car import Car
from fourpatch.car.setup import Setup, apply_setup
from fourpatch.document.aligned import aligned
from fourpatch.document.html import html_table
from fourpatch.evidence.kept import cars_to_ask
from fourpatch.long_work import Cancelled, Progress, never, stretch, unwatched
from fourpatch.picture.cure_words import (
    MOST_LEVERS,
    NO_LEVER,
    changes_text,
    left_text,
    lever_name,
    measured_text,
    outcome,
    read_as,
    sets_note,
    unit_text,
    value_text,
)
from fourpatch.picture.first_change_words import first_change, question_text, sized_text, what_then
from fourpatch.track.track import Track

if TYPE_CHECKING:
    from matplotlib.figure import Figure


@dataclass(frozen=True, slots=True, kw_only=True, repr=False, eq=False)
class Cured:
    """Everything that is said about a complaint."""

    car: Car
    """As written."""
    setup: Setup
    reading: Reading
    cure: Cure
    reasons: Sequence[Reason]
    drive: Sequence[DriveNumber]
    sureness: Sureness | None = None
    drawn: bool = False
    """Whether plausible cars were asked."""

    @property
    def sets(self) -> tuple[ChangeSet, ...]:
        """Changes to make together, best first; each holds its whole set-up."""
        return self.cure.sets

    def plot(self) -> "Figure":
        """Draw what one step of each adjuster does for the complaint, and costs elsewhere."""
        from fourpatch.picture.cure import cure_figure

        return cure_figure(self.cure)

    def among_plausible(
        self, *, draws: int, seed: int, progress: Progress = unwatched, cancelled: Cancelled = never
    ) -> "Cured":
        """Return the same with how sure it is: in how many cars like this one it holds; as `sureness`.

        Notes
        -----
        Where the car's file says what was observed of it, cars are drawn that show that.
        """
        told = stretch(progress, 0.0, 0.5)
        before = cars_to_ask(self.car, draws, seed=seed, progress=told, cancelled=cancelled)
        sure = sureness(
            self.car,
            self.setup,
            self.cure,
            draws=draws,
            seed=seed,
            drawn_before=before,
            progress=progress if before is None else stretch(progress, 0.5, 1.0),
            cancelled=cancelled,
        )
        return replace(self, sureness=sure, drawn=True)

    def __repr__(self) -> str:
        """Print short."""
        first = f"; first: {changes_text(self.cure, self.sets[0])}" if self.sets else ""
        return f'<what cures "{self.reading.typed}" on {self.car.name}, set-up {self.setup.name}{first}>'

    def __str__(self) -> str:
        """Write what was understood, what helps and what to change."""
        table = helping_table(self)
        rows = [[" ".join(f"{head.text} {head.unit}".split()) for head in table.heads], *table.rows]
        helping = aligned(rows) if self.cure.levers else NO_LEVER
        return "\n\n".join(("\n".join(self._measured()), helping, "\n".join(self._changes())))

    def _repr_html_(self) -> str:
        table = helping_table(self)
        heads = [f"{head.text} [{head.unit}]" if head.unit else head.text for head in table.heads]
        helping = html_table(heads, table.rows) if self.cure.levers else _paragraph(NO_LEVER)
        measured, changes = (map(_paragraph, said) for said in (self._measured(), self._changes()))
        return "".join((*measured, helping, *changes))

    def _measured(self) -> Iterator[str]:
        yield read_as(self.reading)
        for place in range(len(self.cure.targets)):
            yield measured_text(self.cure, place)
            if sized_text(self.cure, place):
                yield sized_text(self.cure, place)
        if question_text(self.cure):
            yield question_text(self.cure)

    def _changes(self) -> Iterator[str]:
        yield from first_change(self.cure)
        if sets_note(self.cure):
            yield sets_note(self.cure)
        for number, one in enumerate(self.sets, start=1):
            yield f"{number}. {changes_text(self.cure, one)}. {' '.join(outcome(self.cure, one))}"
        yield from what_then(self.cure)
        for reason in self.reasons:
            yield reason.sentence


def _paragraph(text: str) -> str:
    return f"<p>{escape(text)}</p>"


def cured(
    car: Car,
    setup: Setup,
    reading: Reading,
    *,
    track: Track | None = None,
    wanted: float | None = None,
    good: Setup | None = None,
    progress: Progress = unwatched,
    cancelled: Cancelled = never,
) -> Cured:
    """Return what cures what was read of a complaint, why, and what the drive says of it.

    Parameters
    ----------
    car : as written.
    track, wanted, good, progress, cancelled : as `advice.cure.cure`; `wanted` of the only complaint.

    Raises
    ------
    AdviceError, EventError, SolveError, TrackError
        If the complaint is beyond the model, or a run does not end in numbers.
    """
    found = cure(
        car,
        setup,
        reading.complaints,
        track=track,
        wanted=None if wanted is None else [wanted],
        good=good,
        progress=progress,
        cancelled=cancelled,
    )
    if not found.sets:
        return Cured(car=car, setup=setup, reading=reading, cure=found, reasons=[], drive=[])
    changed = [apply_setup(car, one.setup) for one in found.sets]
    return Cured(
        car=car,
        setup=setup,
        reading=reading,
        cure=found,
        reasons=reasons(car, setup, found, found.sets[0]),
        drive=drive_check(apply_setup(car, setup), changed, found.targets, found.course, found.driven),
    )


class HelpHead(NamedTuple):
    """The head of a column of what helps."""

    text: str
    unit: str = ""


class HelpTable(NamedTuple):
    """What one step of each adjuster does for the complaints: names in the first column."""

    heads: list[HelpHead]
    rows: list[list[str]]


def helping_table(answer: Cured) -> HelpTable:
    """Return what one step of each adjuster that helps does for the complaints."""
    found, sure = answer.cure, answer.sureness
    several = len(found.targets) > 1
    heads = [HelpHead("one step of")]
    for k, target in enumerate(found.targets, start=1):
        heads.append(HelpHead(f"cures {k}" if several else "cures", unit_text(target)))
    heads.append(HelpHead("steps\nleft"))
    if sure:
        heads.append(HelpHead(f"holds in\nof {sure.asked}"))
    rows = []
    for place, lever in enumerate(found.levers[:MOST_LEVERS]):
        pairs = zip(lever.per_step, found.targets, strict=True)
        row = [lever_name(found, lever), *(value_text(size, target, signed=True) for size, target in pairs)]
        row.append(left_text(lever))
        rows.append([*row, str(sure.holds[place])] if sure else row)
    return HelpTable(heads, rows)
