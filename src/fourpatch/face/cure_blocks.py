"""The answer to a complaint in blocks: all of it, its parts as the app shows them, and as a sheet."""

from collections.abc import Iterable, Iterator, Sequence
from typing import TYPE_CHECKING

from fourpatch.advice.cure import Cure
from fourpatch.advice.drive_check import DriveNumber
from fourpatch.picture.blocks import Block, Heading, Picture, Sentence, Table, drawing
from fourpatch.picture.cure_words import (
    MOST_LEVERS,
    NO_LEVER,
    changes_text,
    columns_elsewhere,
    course_text,
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
from fourpatch.picture.first_answer import first_blocks
from fourpatch.picture.first_change_words import first_change, question_text, sized_text, what_then
from fourpatch.picture.head import Head
from fourpatch.picture.trial_plan_words import plan_sections

if TYPE_CHECKING:
    from fourpatch.advice.trial_plan import SessionPlan
    from fourpatch.face.cured import Cured

_SETS, _ROWS = 2, 7
"""Of changes for one complaint, and of adjusters in the picture, that a sheet has room for."""
_DRIVEN = "The sets by the drive, all degrees of freedom free; (!) moves the wrong way"
_PICTURE = "What one step of each adjuster does for it, and costs elsewhere"


def cure_blocks(answer: "Cured") -> Iterator[Block]:
    """Yield the whole answer: what is read first, what was understood, what to turn, and what it rests on."""
    found = answer.cure
    yield from first_blocks(answer.first_read)
    yield Sentence(read_as(answer.reading))
    yield from measured_blocks(found)
    if question_text(found):
        yield Sentence(question_text(found))
    if found.course.notes:
        yield Sentence(course_text(found))
    yield from _part("What to do first, and then", first_change(found))
    yield from helping_blocks(answer)
    yield from elsewhere_blocks(found)
    yield from _sets(found)
    yield from _part("Why: each change of the first set by itself", (one.sentence for one in answer.reasons))
    yield from drive_blocks(found, answer.drive)
    yield from _part("What adjusters cannot do", limits_text(found))
    if answer.drawn:
        yield from _part("How sure", sureness_text(answer.cure, answer.sureness))
    if found.stopped:
        yield Sentence("Stopped: sets of changes were not computed.")
    elif answer.cut_short:
        yield Sentence("Stopped: no plausible car was asked.")


def measured_blocks(found: Cure) -> Iterator[Sentence]:
    """Yield the number that stands for each complaint, what is wanted of it, and where that is from."""
    for place in range(len(found.targets)):
        yield Sentence(f"{measured_text(found, place)} {sized_text(found, place)}".strip())


def helping_blocks(answer: "Cured") -> Iterator[Block]:
    """Yield what one step of each adjuster does for the complaints, and what is not used, and why."""
    found, sure = answer.cure, answer.sureness
    if not found.levers:
        yield Sentence(NO_LEVER)
        return
    several = len(found.targets) > 1
    heads = [Head(text="one step of", right=False)]
    for k, target in enumerate(found.targets, start=1):
        heads.append(Head(text=f"cures {k}" if several else "cures", unit=unit_text(target)))
    heads.append(Head(text="steps\nleft"))
    if sure:
        heads.append(Head(text=f"holds in\nof {sure.asked}"))
    rows = []
    for place, lever in enumerate(found.levers[:MOST_LEVERS]):
        pairs = zip(lever.per_step, found.targets, strict=True)
        row = [lever_name(found, lever), *(value_text(size, target, signed=True) for size, target in pairs)]
        row.append(left_text(lever))
        rows.append([*row, str(sure.holds[place])] if sure else row)
    yield Table(
        heads=heads, rows=rows, title="Adjusters that help, turned the way that helps, strongest first"
    )
    yield from map(Sentence, lever_notes(found))


def elsewhere_blocks(found: Cure) -> Iterator[Table]:
    """Yield what the same step of each adjuster changes elsewhere."""
    columns = columns_elsewhere(found)
    if found.levers:
        yield Table(
            heads=[
                Head(text="one step of", right=False),
                *(Head(text=one.text, unit=one.shown_in) for one in columns),
            ],
            rows=[
                [lever_name(found, lever), *(one.change(found, lever) for one in columns)]
                for lever in found.levers[:MOST_LEVERS]
            ],
            title=title_elsewhere(found),
        )


def _sets(found: Cure) -> Iterator[Block]:
    note = sets_note(found)
    if not found.sets and not note:
        return
    yield Heading("What to change: the smallest sets, each run again as changed")
    if note:
        yield Sentence(note)
    for k, one in enumerate(found.sets, start=1):
        yield Sentence(" ".join(outcome(found, one)), lead=f"{k}. {changes_text(found, one)}")
    yield from map(Sentence, what_then(found))


def drive_blocks(
    found: Cure, drive: Sequence[DriveNumber], heads: Sequence[str] = (), title: str = _DRIVEN
) -> Iterator[Block]:
    """Yield what the drive says, how it was asked, and where it contradicts the rig.

    Parameters
    ----------
    heads : of the car as it stands and of each change; those of the sets if left out.
    """
    if not drive:
        return
    heads = heads or drive_heads(len(found.sets))
    yield Table(
        heads=[Head(text="number", right=False), *(Head(text=one) for one in heads)],
        rows=[(one.name, *drive_cells(one)) for one in drive],
        title=title,
    )
    yield from map(Sentence, drive_where(found))
    for said in drive_notes(drive, [one.capitalize() for one in heads[1:]]):
        yield Sentence(said, warns=True)


def cure_sheet(answer: "Cured", plan: "SessionPlan | None" = None) -> Iterator[Block]:
    """Yield the blocks of an answer's sheet: cause, what to turn, its price, how sure, how to try it.

    Parameters
    ----------
    plan : how to try the first set on track.
    """
    found = answer.cure
    yield Sentence(f"“{answer.reading.typed}”", lead="Complaint")
    yield Sentence(read_as(answer.reading))
    yield from measured_blocks(found)
    if found.levers:
        yield Picture(draw=drawing("cure.cure_figure", found, rows=_ROWS, width=8.4), says=_PICTURE)
    yield Heading("What to turn, and its price")
    yield from map(Sentence, first_change(found))
    if sets_note(found):
        yield Sentence(sets_note(found))
    if not found.sets and not found.levers:
        yield Sentence(NO_LEVER)
    room = _SETS if len(found.targets) == 1 else 1
    for number, one in enumerate(found.sets[:room], start=1):
        yield Sentence(" ".join(outcome(found, one)), lead=f"{number}. {changes_text(found, one)}")
    yield from map(Sentence, what_then(found))
    yield from _part("Why", (one.sentence for one in answer.reasons))
    yield from _part("What adjusters cannot do", limits_text(found))
    if answer.drawn:
        yield from _part("How sure", sureness_text(answer.cure, answer.sureness))
    if plan is not None:
        yield Heading("How to try it")
        for title, sentences in plan_sections(plan):
            yield Sentence(" ".join(sentences), lead=title)


def _part(title: str, sentences: Iterable[str]) -> Iterator[Block]:
    """Yield sentences under a heading, and nothing if there are none."""
    said = list(sentences)
    if said:
        yield Heading(title)
        yield from map(Sentence, said)
