"""Whether a set-up in hand cures what was complained of: run beside the one that was."""

from collections.abc import Iterator
from typing import Annotated, Any

from fourpatch.advice.confirmation import Confirmation
from fourpatch.advice.cure import Cure
from fourpatch.analysis.quantity import RATIO, Findings, Number
from fourpatch.answers.answer import Answer, found_of
from fourpatch.answers.cure import DrivenFound, driven_found
from fourpatch.car.setup import Setup
from fourpatch.face.cure_blocks import drive_blocks
from fourpatch.face.standing_car import StandingCar
from fourpatch.picture.blocks import Block, Change, Changes, Sentence, Table
from fourpatch.picture.cure_words import costs_text, cured_text, percent, unit_text, value_text
from fourpatch.picture.head import Head


class NumberConfirmed(Findings):
    """A complaint's number by the rig, before and after."""

    complaint: str
    """In our own words."""
    meaning: str
    """What is measured."""
    before: Number
    """With the set-up that was complained of."""
    after: Number
    """With the one in hand."""
    share: Annotated[float, RATIO]
    """Of what is wanted."""


class ConfirmFound(Findings):
    """The set-up in hand against the one that was complained of, run again."""

    changes: tuple[dict[str, Any], ...]
    """Each `adjuster`, `from` and `to` on the driver's scale."""
    rig: tuple[NumberConfirmed, ...]
    """Of each complaint."""
    costs: str
    """What becomes worse elsewhere."""
    drive: tuple[DrivenFound, ...]
    """The same by the drive."""


def confirm_answer(about: StandingCar, found: Cure, changed: Setup, result: Confirmation) -> Answer:
    """Return what two runs say of a change.

    Parameters
    ----------
    about : the car with the set-up that was complained of.
    found : the answer to the complaint.
    """
    moved = [
        Change(adjuster=one.name, before=before, after=after, unit=one.unit)
        for one in about.car.adjusters
        if (before := found.setup.position(one)) != (after := changed.position(one))
    ]
    told = ConfirmFound(
        changes=tuple({"adjuster": one.adjuster, "from": one.before, "to": one.after} for one in moved),
        rig=tuple(
            NumberConfirmed(
                complaint=target.complaint.text(),
                meaning=target.meaning,
                before=Number(before, target.unit),
                after=Number(after, target.unit),
                share=share,
            )
            for target, before, after, share in zip(
                found.targets, result.before, result.after, result.progress, strict=True
            )
        ),
        costs=costs_text(result.worse),
        drive=tuple(map(driven_found, result.drive)),
    )
    asked = "; ".join(one.complaint.text() for one in found.targets)
    return Answer(
        title=f"{about.car.name}: does it cure {asked}?",
        about={**about.content(), "mode": "rig"},
        found=found_of(told),
        blocks=[Changes(changes=moved, title="What was changed"), *run_again(found, result)],
        source=result,
    )


def run_again(found: Cure, result: Confirmation) -> Iterator[Block]:
    """Yield what rig and drive say of both set-ups."""
    yield Table(
        heads=[
            Head(text="complaint", right=False),
            Head(text="measured by", right=False),
            Head(text="before"),
            Head(text="after"),
            Head(text="", right=False),
        ],
        rows=[
            (
                target.complaint.text(),
                target.meaning,
                *(f"{value_text(value, target)} {unit_text(target)}" for value in (before, after)),
                f"{percent(share)} of what is wanted: {cured_text(share)}",
            )
            for target, before, after, share in zip(
                found.targets, result.before, result.after, result.progress, strict=True
            )
        ],
        title="Run again on the rig, both in the same motion",
    )
    yield Sentence(costs_text(result.worse))
    yield from drive_blocks(
        found,
        result.drive,
        ["before", "after"],
        "Run again by the drive, all degrees of freedom free; (!) moves the wrong way",
    )
