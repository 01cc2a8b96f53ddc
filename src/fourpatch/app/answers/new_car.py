"""A car made of the about ten numbers a driver knows, and any new car with its first set-up."""

from collections.abc import Mapping
from typing import NamedTuple

from fourpatch.car.car import Car
from fourpatch.car.estimate import CarBrief
from fourpatch.car.setup import baseline_setup
from fourpatch.document.fault import Key
from fourpatch.document.fields import unit_of
from fourpatch.document.refusals import read_part
from fourpatch.errors import FieldsError
from fourpatch.notebook.entries import Entry, Version
from fourpatch.notebook.kinds import Written
from fourpatch.notebook.notebook import Notebook
from fourpatch.picture.chosen_units import shown_unit


class NewCar(NamedTuple):
    """A car that was kept, and its first set-up."""

    entry: Entry
    setup: Version


def read_brief(fields: Mapping[str, str]) -> CarBrief:
    """Return a brief as it was typed, each field with its unit; what is empty is left out.

    Raises
    ------
    FieldsError
        If a field cannot be meant; all of them.
    """
    units = {name: unit_of(field) for name, field in CarBrief.model_fields.items()}
    completed = {
        name: shown_unit(unit).completed(text) if (unit := units.get(name)) else text
        for name, text in fields.items()
        if text.strip()
    }
    brief, faults = read_part(CarBrief, completed)
    if faults:
        raise FieldsError({".".join(map(str, key)): _said(key, text) for key, text in faults})
    return brief


def _said(key: Key, text: str) -> str:
    """Say that a field is empty as a form does; all else as the reader of a brief's file."""
    return "is still empty." if key and text.startswith("is missing") else text


def keep_car(notebook: Notebook, content: Car | Written, *, name: str = "", reason: str, by: str) -> NewCar:
    """Keep a new car with a set-up at its baseline.

    Raises
    ------
    FileError, NotebookError
        As the notebook says of such a car.
    """
    entry = notebook.cars.add(content, name=name, by=by)
    setup = baseline_setup(notebook.cars.read(entry.id))
    return NewCar(entry, notebook.setups.add(entry.id, setup, reason=reason, by=by))
