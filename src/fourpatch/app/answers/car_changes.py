"""A car of the notebook changed number by number, and what its revisions changed."""

from collections.abc import Mapping

from pydantic import BaseModel, Field

from fourpatch.car.car import Car
from fourpatch.car.editing import edited_car, edited_text
from fourpatch.car.paths import parameters
from fourpatch.errors import FourpatchError
from fourpatch.notebook.entries import Entry
from fourpatch.notebook.kinds import Written
from fourpatch.notebook.notebook import Notebook

MOST_TOLD = 40
"""Revisions of which it is said what they changed; reading an old car takes a tenth of a second."""


class Revision(BaseModel):
    """A car from one change to the next."""

    entry: Entry
    changes: list[str] = Field(description="What it changed: dotted name, before and after.")


def change_parameters(
    notebook: Notebook, car_id: int, written: Mapping[str, str], *, revision: int, by: str
) -> Entry:
    """Keep a new revision of a car with some of its numbers changed, comments and all else as it was.

    Parameters
    ----------
    written : by dotted name, a quantity as in a car file.
    revision : the one that the change was made from.

    Raises
    ------
    NotebookConflict
        If the car was changed or deleted since.
    FieldsError
        If the car could not be; all faults, by field.
    """
    cars = notebook.cars
    document = cars.get(car_id, revision)
    car = cars.read(car_id, revision)
    edited = edited_car(car, written)
    text = edited_text(document.written.text, car, edited)
    content = Written(text=text, beside=document.written.beside)
    return cars.change(car_id, content, revision=revision, by=by)


def revisions(notebook: Notebook, car_id: int) -> list[Revision]:
    """Return a car's revisions, the latest first, each with what it changed.

    Raises
    ------
    NotebookError
        If there is no such car.
    """
    entries = notebook.cars.history(car_id)
    told = [
        Revision(entry=entry, changes=_changes(notebook, entry, before))
        for entry, before in zip(entries[:MOST_TOLD], [*entries[1:], None][:MOST_TOLD], strict=True)
    ]
    return told + [Revision(entry=entry, changes=[]) for entry in entries[MOST_TOLD:]]


def _changes(notebook: Notebook, entry: Entry, before: Entry | None) -> list[str]:
    if before is None:
        return []
    try:
        old, new = (notebook.cars.read(entry.id, one.revision) for one in (before, entry))
    except FourpatchError as error:  # a revision that this version cannot read is kept all the same
        return [str(error)]
    return changes_between(old, new)


def changes_between(old: Car, new: Car) -> list[str]:
    """Return what differs between two cars, a line each."""
    before = {found.path: found for found in parameters(old)}
    after = {found.path: found for found in parameters(new)}
    lines = [f"name {old.name} → {new.name}"] if old.name != new.name else []
    for path, found in after.items():
        if path not in before:
            lines.append(f"{path} {found.unit.show(found.value)} (new)")
        elif found.value != before[path].value:
            lines.append(f"{path} {found.unit.show(before[path].value)} → {found.unit.show(found.value)}")
    lines += [f"{path} (gone)" for path in before if path not in after]
    if not lines and old.adjusters != new.adjusters:
        lines.append("adjusters")
    return lines or (["notes, comments or origins"] if old != new else ["comments"])
