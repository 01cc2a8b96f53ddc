"""A car of the notebook changed number by number, and what its revisions changed."""

from collections.abc import Mapping

from pydantic import BaseModel, Field

from fourpatch.app.answers.carried import carry_setups, kept_setups
from fourpatch.car.adjuster_editing import adjuster_fields, with_adjuster, with_note, without_adjuster
from fourpatch.car.car import Car
from fourpatch.car.editing import edited_car, edited_text
from fourpatch.car.paths import parameters
from fourpatch.errors import FourpatchError
from fourpatch.notebook.entries import Entry
from fourpatch.notebook.kinds import Written
from fourpatch.notebook.notebook import Notebook
from fourpatch.picture.chosen_units import shown_unit

MOST_TOLD = 40
"""Revisions of which it is said what they changed; reading an old car takes a tenth of a second."""


class Revision(BaseModel):
    """A car from one change to the next."""

    entry: Entry
    changes: list[str] = Field(description="What it changed: dotted name, before and after.")


class Rescaled(BaseModel):
    """A car on which other things can be turned, or the same on other scales."""

    entry: Entry
    setups: int = Field(description="Set-ups that were carried over to it.")
    told: list[str] = Field(description="What could not be kept by meaning, a sentence each.")


def as_typed(car: Car, typed: Mapping[str, str]) -> dict[str, str]:
    """Return values as they were typed beside the units shown, in the words of a car file: ``95 N/mm``."""
    known = {found.path: found.unit for found in parameters(car)}
    return {
        path: shown_unit(known[path]).completed(text) if path in known else text
        for path, text in typed.items()
    }


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


def change_adjuster(
    notebook: Notebook,
    car_id: int,
    place: int | None,
    fields: Mapping[str, str] | None,
    *,
    revision: int,
    by: str,
) -> Rescaled:
    """Keep a new revision of a car with an adjuster written anew, added or taken out.

    Its set-ups are kept by their meaning, as the garage screen keeps them.

    Parameters
    ----------
    place : of the adjuster, from 0; None to add one.
    fields : of `fourpatch.car.adjuster_editing.adjuster_fields`; None to take it out.

    Raises
    ------
    NotebookConflict, FieldsError
        As `change_parameters`.
    """
    written = notebook.cars.get(car_id, revision).written
    if fields is not None:
        text = with_adjuster(written.text, place, fields)
    else:
        text = without_adjuster(written.text, -1 if place is None else place)
    content = Written(text=text, beside=written.beside)
    return _rescaled(notebook, car_id, content, revision=revision, by=by)


def go_back(notebook: Notebook, car_id: int, to: Entry, *, revision: int, by: str) -> Rescaled:
    """Keep a new revision of a car that says what an older one said; its set-ups are kept by their meaning.

    Raises
    ------
    NotebookConflict
        As `change_parameters`.
    """
    then = notebook.cars.get(car_id, to.revision).written
    return _rescaled(notebook, car_id, then, revision=revision, by=by, name=to.name)


def _rescaled(
    notebook: Notebook, car_id: int, content: Written, *, revision: int, by: str, name: str = ""
) -> Rescaled:
    before, kept = notebook.cars.read(car_id, revision), kept_setups(notebook, car_id)
    entry = notebook.cars.change(car_id, content, revision=revision, name=name, by=by)
    carried = carry_setups(notebook, car_id, kept, before, by=by)
    return Rescaled(entry=entry, setups=carried.moved, told=carried.told)


def change_note(notebook: Notebook, car_id: int, note: str, *, revision: int, by: str) -> Entry:
    """Keep a new revision of a car with another note.

    Raises
    ------
    NotebookConflict
        As `change_parameters`.
    """
    written = notebook.cars.get(car_id, revision).written
    content = Written(text=with_note(written.text, note), beside=written.beside)
    return notebook.cars.change(car_id, content, revision=revision, by=by)


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
    lines += _adjuster_changes(old, new)
    if old.note != new.note:
        lines.append("note")
    return lines or (["comments or origins"] if old != new else ["comments"])


def _adjuster_changes(old: Car, new: Car) -> list[str]:
    """Return which adjusters differ, and in what, unless a baseline alone went along with a number."""
    before, after = ({one.name: one for one in car.adjusters} for car in (old, new))
    lines = [f"adjuster {name} (new)" for name in after if name not in before]
    lines += [f"adjuster {name} (gone)" for name in before if name not in after]
    for name in (one for one in after if one in before):
        was, now = adjuster_fields(before[name]), adjuster_fields(after[name])
        told = [f"{key} {was.get(key, '')} → {text}" for key, text in now.items() if was.get(key) != text]
        if told and [one.split()[0] for one in told] != ["baseline"]:
            lines.append(f"adjuster {name}: {', '.join(told)}")
    return lines
