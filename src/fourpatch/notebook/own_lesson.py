"""A lesson of a coach's own: steps of a sentence, a change of set-up, an event and a view, as a file."""

import os
from functools import partial
from pathlib import Path
from typing import Annotated, Final, Literal

import tomlkit
from pydantic import Field

from fourpatch.car.car import Car
from fourpatch.car.setup import Setup, setup_faults
from fourpatch.document.part import Part
from fourpatch.document.reading import read_file
from fourpatch.document.refusals import read_part
from fourpatch.document.saving import write_texts
from fourpatch.errors import FileError

FilePath = str | os.PathLike[str]

MOST_STEPS: Final = 40
LONGEST_TEXT: Final = 2000
"""Signs of what a step says."""

Event = Literal["slow corner", "medium corner", "fast corner", "rough road", "kerb"]
"""Standard events, scaled to the car."""
View = Literal["car", "tyre loads", "numbers"]
"""What of the event is shown."""


class OwnStep(Part):
    """One step: what the coach says, and what is seen beside it."""

    says: str = Field(min_length=1, max_length=LONGEST_TEXT)
    """In the coach's words."""
    event: Event = "medium corner"
    """What the car goes through."""
    view: View = "car"
    """What is shown of it."""
    change: Annotated[
        dict[
            Annotated[str, Field(min_length=1, max_length=60)],
            Annotated[float, Field(strict=True, allow_inf_nan=False)],
        ],
        Field(max_length=60),
    ] = Field(default_factory=dict)
    """Where adjusters stand in this step, on the driver's own scale; all others as in the lesson's set-up."""


class OwnLesson(Part):
    """A lesson of a coach's own."""

    name: str = Field(min_length=1, max_length=80)
    """What it is called."""
    by: str = Field(default="", max_length=80)
    """Who made it."""
    steps: list[OwnStep] = Field(default_factory=list, max_length=MOST_STEPS)
    """In their order."""


def load_own_lesson(path: FilePath) -> OwnLesson:
    """Read a lesson's file.

    Raises
    ------
    FileError
        If the file cannot be read or says something that cannot be meant: all of it, a paragraph each.
    """
    return read_file(Path(path), partial(read_part, OwnLesson))


def save_own_lesson(lesson: OwnLesson, path: FilePath) -> None:
    """Write a lesson's file. It reads back to the same.

    Raises
    ------
    FileError
        If the file cannot be written.
    """
    write_texts({Path(path): tomlkit.dumps(lesson.model_dump())})


def step_setup(step: OwnStep, setup: Setup) -> Setup:
    """Return a set-up with what a step changes."""
    return setup.model_copy(update={"values": {**setup.values, **step.change}})


def refuse_unfit_lesson(lesson: OwnLesson, car: Car, setup: Setup) -> None:
    """Refuse a lesson that turns what a car has not, or where it cannot stand.

    Raises
    ------
    FileError
        With every fault: step, adjuster, and what is allowed.
    """
    faults = [
        f"{lesson.name}, step {number}: {key[-1]} {text}"
        for number, step in enumerate(lesson.steps, start=1)
        for key, text in setup_faults(step_setup(step, setup), car)
    ]
    if faults:
        raise FileError("\n".join(faults))
