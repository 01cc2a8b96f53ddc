"""What an archive must be to be brought in: the same checks that hold for what is typed, on all of it."""

import itertools
import json
from collections.abc import Iterator
from datetime import datetime
from typing import Final

from pydantic import ValidationError

from fourpatch.car.setup import Setup
from fourpatch.errors import FileError, NotebookError
from fourpatch.notebook.archive import Archive, ArchivedDocument, History
from fourpatch.notebook.kinds import CAR, KINDS, checked_name
from fourpatch.notebook.tables import YEARS

_AGAIN: Final = "Nothing was imported; export it again."


def check(archive: Archive) -> None:
    """Refuse an archive with something in it that could not have been typed, or that names what it has not.

    Raises
    ------
    FileError
        If a text says something that cannot be meant.
    NotebookError
        If something else cannot be, or belongs to what is not there.
    """
    history = archive.history
    known = {place for one in history.documents for place in (one.file, *one.beside.values())}
    if stray := sorted(set(archive.files) - known - {one.file for one in history.setups}):
        raise NotebookError(f"{stray[0]}: nothing in the zip belongs to it. {_AGAIN}")
    _refuse_loose_ends(history)
    for document in history.documents:
        _check_document(archive, document)
    for setup in history.setups:
        for version in setup.versions:
            try:
                told = {"name": version.name, "car": "-", "note": version.note, "values": version.values}
                checked_name(Setup.model_validate(told).name)
            except ValidationError as error:
                said = error.errors()[0]
                where = ".".join(map(str, said["loc"]))
                raise NotebookError(
                    f'Set-up "{version.name[:80]}", {where} = {said["input"]}: {said["msg"]}. Nothing was '
                    "imported."
                ) from None
            except NotebookError as error:
                raise NotebookError(f"{setup.file}: {error} Nothing was imported.") from None
    for complaint in history.complaints:
        numbers = [complaint.answer, *(trial.changes for trial in complaint.trials)]
        try:
            json.dumps(numbers, allow_nan=False)
        except (ValueError, RecursionError):
            raise NotebookError(
                f'Complaint "{complaint.text[:80]}": has a number in it that is none. Nothing was imported.'
            ) from None


def _check_document(archive: Archive, document: ArchivedDocument) -> None:
    try:
        for one in document.revisions:
            checked_name(one.name)
        KINDS[document.kind].read(archive.head(document), document.revisions[-1].name)
    except KeyError as error:
        raise NotebookError(f"{error} is not in the zip. {_AGAIN}") from None
    except NotebookError as error:
        raise NotebookError(f"{document.file}: {error} Nothing was imported.") from None
    except FileError as error:
        raise FileError(f"{error}\n\nNothing was imported.") from None


def _refuse_loose_ends(history: History) -> None:
    """Refuse what hangs on nothing, or what cannot have come about so."""
    cars = {one.key for one in history.documents if one.kind == CAR.name}
    versions = {version.key: setup.car for setup in history.setups for version in setup.versions}
    whole = (
        len({one.key for one in history.documents}) == len(history.documents),
        len(versions) == sum(len(setup.versions) for setup in history.setups),
        all(_rise([one.revision for one in document.revisions]) for document in history.documents),
        all(setup.car in cars and setup.versions for setup in history.setups),
        all(versions.get(one.version) == one.car for one in history.complaints),
        all(
            trial.version is None or trial.version in versions
            for one in history.complaints
            for trial in one.trials
        ),
        all(time is None or (time.tzinfo is not None and time.year in YEARS) for time in _times(history)),
    )
    if not all(whole):
        raise NotebookError(f"Its history does not hold together. {_AGAIN}")


def _rise(revisions: list[int]) -> bool:
    """Say whether there are revisions, counted upward from 1 at least."""
    return bool(revisions) and all(later > earlier for earlier, later in itertools.pairwise([0, *revisions]))


def _times(history: History) -> Iterator[datetime | None]:
    for document in history.documents:
        yield document.deleted
        yield from (one.changed for one in document.revisions)
    for setup in history.setups:
        yield setup.deleted
        yield from (one.made for one in setup.versions)
    for complaint in history.complaints:
        yield from (complaint.made, complaint.deleted, *(one.changed for one in complaint.trials))
