"""What a notebook gives out: frozen, and the same as JSON."""

from collections.abc import Callable, Iterable, Mapping
from contextlib import suppress
from datetime import datetime
from typing import Annotated, Any, Literal, TypeVar

from pydantic import Field, ValidationError

from fourpatch.document.part import Part
from fourpatch.errors import NotebookError
from fourpatch.notebook.kinds import KindName, Written

Outcome = Literal["open", "worked", "no change", "worse"]
"""What came of a set of changes that was tried."""

Number = Annotated[float, Field(allow_inf_nan=False)]
PartT = TypeVar("PartT", bound=Part)
T = TypeVar("T")


class Unreadable(NotebookError):
    """A record that says what none can say: it is left out of lists, and named among what is damaged."""


def made(kind: type[PartT], what: str, told: Mapping[str, Any]) -> PartT:
    """Return what a record says.

    Parameters
    ----------
    what : what to call the record in a message.

    Raises
    ------
    Unreadable
        If it cannot be.
    """
    try:
        return kind.model_validate(told)
    except ValidationError as error:
        first = error.errors()[0]
        where = ".".join(map(str, first["loc"]))
        raise Unreadable(
            f"{what} cannot be read: {where}: {first['msg']}. A backup may hold it as it was."
        ) from None


def those_readable(makers: Iterable[Callable[[], T]]) -> list[T]:
    """Return what can be made of records; one that is unreadable takes nothing else along."""
    found = []
    for make in makers:
        with suppress(Unreadable):
            found.append(make())
    return found


def why_unreadable(makers: Iterable[Callable[[], object]]) -> list[str]:
    """Return a sentence for each record of which nothing can be made."""
    faults = []
    for make in makers:
        try:
            make()
        except Unreadable as error:
            faults.append(str(error))
    return faults


class Entry(Part):
    """A car, track or style in a list."""

    id: int
    kind: KindName
    name: str
    revision: int
    """Counts its changes from 1; a change must name the one it was made from."""
    changed: datetime
    changed_by: str
    """The window or command that changed it."""
    demo: bool
    """Came with the notebook, and is invented."""
    deleted: datetime | None = None
    """When it was deleted; it can be restored."""
    deleted_by: str | None = None


class Document(Part):
    """A car, track or style with its text."""

    entry: Entry
    written: Written


class Version(Part):
    """A set-up as it was from one change to the next; it never changes."""

    id: int
    setup_id: int
    """The set-up it is a version of."""
    car_id: int
    parent_id: int | None
    """The version it was made from; of a branch's first one, in another set-up."""
    source_id: int | None
    """The earlier version that it went back to."""
    car_revision: int
    """Of the car, when it was made."""
    name: str
    note: str
    """Anything worth knowing about the set-up."""
    values: dict[str, Number]
    """The step of each adjuster, by the adjuster's name."""
    reason: str
    """Why it was changed."""
    made: datetime
    made_by: str


class SetupEntry(Part):
    """A set-up in a list."""

    id: int
    head: Version
    """What it is now."""
    versions: int
    """How many there are of it."""
    deleted: datetime | None = None
    deleted_by: str | None = None


class Trial(Part):
    """A set of changes that was tried against a complaint."""

    id: int
    version_id: int | None
    """The version of the set-up that it became, if it was applied."""
    changes: dict[str, Number]
    """Where each moved adjuster was put, by its name."""
    outcome: Outcome
    note: str
    revision: int
    """Counts its changes from 1; a change must name the one it was made from."""
    changed: datetime
    changed_by: str


class Complaint(Part):
    """What a driver said of a car with a set-up, what was answered and what was tried."""

    id: int
    car_id: int
    version_id: int
    """The set-up it was said of."""
    text: str
    """As typed."""
    answer: dict[str, Any]
    """Summary of the answer given then."""
    note: str
    trials: list[Trial]
    """In the order in which they were tried."""
    made: datetime
    made_by: str
    deleted: datetime | None = None
    deleted_by: str | None = None
