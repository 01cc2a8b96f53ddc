"""What was observed of a car of the notebook: kept, taken back, listed."""

from collections.abc import Mapping
from typing import Any

from fourpatch.car.evidence_editing import with_evidence, without_evidence
from fourpatch.evidence.kept import checked_item, demo_tracks
from fourpatch.notebook.entries import Entry
from fourpatch.notebook.kinds import Written
from fourpatch.notebook.notebook import Notebook
from fourpatch.picture.evidence_words import item_text


def evidence_lines(notebook: Notebook, car_id: int) -> list[str]:
    """Return the evidence of a car, the oldest first, an item in a line.

    Raises
    ------
    NotebookError, FileError
        If there is no such car, or it cannot be read.
    """
    return [item_text(item) for item in notebook.cars.read(car_id).evidence]


def keep_evidence(
    notebook: Notebook, car_id: int, said: Mapping[str, Any], *, revision: int, by: str
) -> tuple[Entry, str]:
    """Keep a new revision of a car with one more item of evidence; also what the item is about.

    Parameters
    ----------
    said : as in a car file.
    revision : the one that the item was said of.

    Raises
    ------
    NotebookConflict
        If the car was changed or deleted since.
    AdviceError, CarError
        As `checked_item`.
    """
    document = notebook.cars.get(car_id, revision)
    car = notebook.cars.read(car_id, revision)
    item, meaning = checked_item(car, said, demo_tracks([said["track"]] if said.get("track") else []))
    written = Written(text=with_evidence(document.written.text, item), beside=document.written.beside)
    return notebook.cars.change(car_id, written, revision=revision, by=by), meaning


def take_back_evidence(notebook: Notebook, car_id: int, number: int, *, revision: int, by: str) -> Entry:
    """Keep a new revision of a car without one item of its evidence.

    Parameters
    ----------
    number : of the item, from 1.

    Raises
    ------
    NotebookConflict
        If the car was changed or deleted since.
    CarError
        If it has no such item.
    """
    before = notebook.cars.get(car_id, revision).written
    written = Written(text=without_evidence(before.text, number), beside=before.beside)
    return notebook.cars.change(car_id, written, revision=revision, by=by)
