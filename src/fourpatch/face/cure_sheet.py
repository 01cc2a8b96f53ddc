"""The answer to a complaint as a sheet: cause, what to turn, its price, how sure, how to try it."""

from collections.abc import Iterator

from fourpatch.advice.trial_plan import SessionPlan
from fourpatch.face.cured import Cured
from fourpatch.picture.blocks import Block, Heading, Picture, Sentence
from fourpatch.picture.cure_words import (
    NO_LEVER,
    changes_text,
    limits_text,
    measured_text,
    outcome,
    read_as,
    sets_note,
    sureness_text,
)
from fourpatch.picture.first_change_words import first_change, sized_text, what_then
from fourpatch.picture.trial_plan_words import plan_sections

_SETS = 2
"""Of changes that a sheet has room for."""


def cure_sheet(answer: Cured, plan: SessionPlan | None = None) -> list[Block]:
    """Return the blocks of an answer's sheet.

    Parameters
    ----------
    plan : how to try the first set on track.
    """
    return list(_blocks(answer, plan))


def _blocks(answer: Cured, plan: SessionPlan | None) -> Iterator[Block]:
    found = answer.cure
    yield Sentence(f"“{answer.reading.typed}”", lead="Complaint")
    yield Sentence(read_as(answer.reading))
    for place in range(len(found.targets)):
        yield Sentence(f"{measured_text(found, place)} {sized_text(found, place)}".strip())
    yield Heading("What to turn, and its price")
    yield from map(Sentence, first_change(found))
    if sets_note(found):
        yield Sentence(sets_note(found))
    if not found.sets and not found.levers:
        yield Sentence(NO_LEVER)
    for number, one in enumerate(found.sets[:_SETS], start=1):
        yield Sentence(" ".join(outcome(found, one)), lead=f"{number}. {changes_text(found, one)}")
    yield from map(Sentence, what_then(found))
    if found.levers:
        yield Picture(
            draw=answer.plot, says="What one step of each adjuster does for it, and costs elsewhere"
        )
    yield from _part("Why", [one.sentence for one in answer.reasons])
    yield from _part("What adjusters cannot do", list(limits_text(found)))
    if answer.drawn:
        yield from _part("How sure", list(sureness_text(answer.sureness)))
    if plan is not None:
        yield Heading("How to try it")
        for title, sentences in plan_sections(plan):
            yield Sentence(" ".join(sentences), lead=title)


def _part(title: str, sentences: list[str]) -> Iterator[Block]:
    if sentences:
        yield Heading(title)
        yield from map(Sentence, sentences)
