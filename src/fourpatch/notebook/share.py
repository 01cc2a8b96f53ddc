"""A car with a set-up and a question or a lesson as one text file, to give away; checked when it is read."""

import tempfile
from dataclasses import dataclass
from functools import partial
from pathlib import Path
from typing import Annotated, Final, Literal

import tomlkit
from pydantic import Field

from fourpatch.car.car import Car
from fourpatch.car.files import load_setup
from fourpatch.car.setup import Setup
from fourpatch.car.writing import setup_text
from fourpatch.document.part import Part
from fourpatch.document.reading import read_file
from fourpatch.document.refusals import read_part
from fourpatch.document.saving import write_texts
from fourpatch.errors import FileError, FourpatchError
from fourpatch.notebook.entries import Entry, Version
from fourpatch.notebook.kinds import CAR, Written
from fourpatch.notebook.notebook import Notebook
from fourpatch.notebook.own_lesson import OwnLesson, refuse_unfit_lesson

LARGEST: Final = 4_000_000
"""Bytes of a share file; a car with a measured aero map stays far below."""
ENDING: Final = ".share.toml"
"""Of the names of share files: by it the app knows one that is dropped on a page."""
LONGEST_QUESTION: Final = 500
"""Signs."""

_FILE_NAME = Annotated[str, Field(min_length=1, max_length=100)]
_HEAD: Final = (
    "# A car with a set-up and a question, for Fourpatch. Drop it on any page of the app, or:\n"
    "# fourpatch notebook take FILE\n\n"
)


class ShareText(Part):
    """What a share file says."""

    share: Literal[1]
    """Format of the file."""
    question: Annotated[str, Field(max_length=LONGEST_QUESTION)] = ""
    """What is asked of the car: a complaint in a driver's words."""
    setup: Annotated[str, Field(max_length=LARGEST)]
    """Text of the set-up file."""
    car: Annotated[str, Field(max_length=LARGEST)]
    """Text of the car file."""
    lesson: OwnLesson | None = None
    """Of a coach's own, about this car with this set-up."""
    beside: Annotated[dict[_FILE_NAME, str], Field(max_length=20)] = Field(default_factory=dict)
    """Texts of the CSV files that the car file names."""


@dataclass(frozen=True, slots=True, kw_only=True)
class Share:
    """A share file that was read and found sound."""

    written: Written
    """Of the car, as typed."""
    car: Car
    setup: Setup
    question: str
    lesson: OwnLesson | None = None


def share_text(
    written: Written, setup: Setup, car: Car, question: str = "", lesson: OwnLesson | None = None
) -> str:
    """Return the text of a share file.

    Parameters
    ----------
    written : the text of the car.
    """
    document = tomlkit.document()
    document.append("share", tomlkit.integer(1))
    document.append("question", tomlkit.string(question))
    document.append("setup", tomlkit.string(setup_text(setup, car), multiline=True))
    document.append("car", tomlkit.string(written.text, multiline=True))
    if lesson is not None:
        document.append("lesson", tomlkit.item(lesson.model_dump()))
    if written.beside:
        document.append("beside", {name: text for name, text in written.beside.items()})
    return _HEAD + tomlkit.dumps(document)


def load_share(path: Path) -> Share:
    """Read a share file.

    Raises
    ------
    FileError
        If it is too large, cannot be read, or its car or set-up say something that cannot be meant.
    """
    try:
        size = path.stat().st_size
    except OSError:
        size = 0  # said by the reader, in its own words
    if size > LARGEST:
        raise FileError(
            f"{path}: is {size / 1e6:.0f} MB, more than {LARGEST / 1e6:.0f} MB, which no share file is."
        )
    told = read_file(path, partial(read_part, ShareText))
    written = Written(text=told.car, beside=told.beside)
    try:
        car = CAR.read(written, "car")
        setup = _setup(told.setup, car)
        if told.lesson is not None:
            refuse_unfit_lesson(told.lesson, car, setup)
    except FileError as error:
        raise FileError(f"{path.name}: what is in it cannot be used.\n\n{error}") from None
    return Share(written=written, car=car, setup=setup, question=told.question.strip(), lesson=told.lesson)


def read_share(text: str, name: str = "share file") -> Share:
    """Read a share file's text; as `load_share`.

    Parameters
    ----------
    name : what to call it in a message.
    """
    with tempfile.TemporaryDirectory(prefix="fourpatch-") as folder:
        path = Path(folder) / "given.share.toml"
        write_texts({path: text})
        try:
            return load_share(path)
        except FileError as error:
            raise FileError(str(error).replace(str(path), name).replace(path.name, name)) from None


def _setup(text: str, car: Car) -> Setup:
    with tempfile.TemporaryDirectory(prefix="fourpatch-") as folder:
        path = Path(folder) / "setup.toml"
        write_texts({path: text})
        return load_setup(path, car)


def take_share(notebook: Notebook, share: Share, *, by: str) -> Version:
    """Keep what was shared, and return its set-up: on the same car if it is here already, else on a new one.

    Nothing is written over: of another car of the same name a second one is made, "name (shared)".
    """
    shelf = notebook.cars
    alike = next((one for one in shelf.listed() if _is_alike(notebook, one, share.car)), None)
    if alike is not None:
        car_id, name = alike.id, alike.name
    else:
        taken = {one.name for one in shelf.listed()}
        entry = shelf.add(share.written, name=_free(share.car.name, taken), by=by)
        car_id, name = entry.id, entry.name
    setup = share.setup.model_copy(update={"car": name})
    known = next(
        (
            one.head
            for one in notebook.setups.listed(car_id)
            if (one.head.name, one.head.values) == (setup.name, setup.values)
        ),
        None,
    )
    return known or notebook.setups.add(car_id, setup, reason="shared", by=by)


def take_lesson(notebook: Notebook, lesson: OwnLesson, *, by: str) -> Entry:
    """Keep a lesson that was shared: one that says the same already, whatever its name, else a new one."""
    shelf = notebook.lessons
    listed = shelf.listed()
    called = {"name": lesson.name}
    alike = next((one for one in listed if shelf.read(one.id).model_copy(update=called) == lesson), None)
    if alike is not None:
        return alike
    name = _free(lesson.name, {one.name for one in listed})
    return shelf.add(lesson.model_copy(update={"name": name}), name=name, by=by)


def _is_alike(notebook: Notebook, entry: Entry, car: Car) -> bool:
    """Say whether a car of the notebook is another one to the last number, whatever it is called."""
    try:
        there = notebook.cars.read(entry.id, entry.revision)
    except FourpatchError:
        return False
    return there.model_copy(update={"name": car.name}) == car


def _free(name: str, taken: set[str]) -> str:
    """Return a name that no car here has."""
    free, number = name, 1
    while free in taken:
        mark = " (shared)" if number == 1 else f" (shared {number})"
        free = name[: 80 - len(mark)] + mark
        number += 1
    return free
