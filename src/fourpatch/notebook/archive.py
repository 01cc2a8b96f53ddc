"""All of a notebook as one zip: each thing as a file of the command line, their histories, and a manifest.

Names in a zip are only looked up, never used as places on the disk.
"""

import hashlib
import json
import os
import zipfile
import zlib
from collections.abc import Iterator, Mapping
from contextlib import suppress
from datetime import datetime
from pathlib import Path
from typing import Any, Final, Literal, TypeVar

from pydantic import TypeAdapter
from sqlalchemy import select
from sqlalchemy.orm import Session

from fourpatch import __version__
from fourpatch.car.setup import Setup
from fourpatch.car.writing import setup_text
from fourpatch.document.part import Part
from fourpatch.errors import NotebookError
from fourpatch.notebook.entries import Outcome
from fourpatch.notebook.kinds import KindName, Written, file_name
from fourpatch.notebook.shelf import now
from fourpatch.notebook.tables import (
    ComplaintRow,
    DocumentRow,
    RevisionRow,
    SetupRow,
    TrialRow,
    VersionRow,
)

_KINDS: Final = TypeAdapter[KindName](KindName)
ARCHIVE_FORMAT: Final = 1
MANIFEST: Final = "manifest.json"
HISTORY: Final = "history.json"
LARGEST: Final = 500_000_000
"""Of all files of an archive together, so that a small zip cannot fill the memory. [byte]"""


class Manifest(Part):
    """What an archive is, and the digest of each of its files."""

    archive: Literal["fourpatch notebook"] = "fourpatch notebook"
    format: int
    fourpatch: str
    """Version of Fourpatch that wrote it."""
    made: datetime
    files: dict[str, str]
    """SHA-256 of each, by its name."""


class ArchivedRevision(Part):
    """What a document said from one change to the next."""

    revision: int
    name: str
    written: Written | None
    """Of the last revision nothing: it is in the files of the document."""
    changed: datetime
    changed_by: str


class ArchivedDocument(Part):
    """A car, track or style."""

    key: int
    kind: KindName
    file: str
    beside: dict[str, str]
    """In the archive, of each file that the document names, by that name."""
    demo: bool
    revisions: list[ArchivedRevision]
    """The first first."""
    deleted: datetime | None
    deleted_by: str | None


class ArchivedVersion(Part):
    """A set-up as it was from one change to the next."""

    key: int
    parent: int | None
    source: int | None
    car_revision: int
    name: str
    note: str
    values: dict[str, float]
    reason: str
    made: datetime
    made_by: str


class ArchivedSetup(Part):
    """A set-up and its history; the file is for the command line."""

    car: int
    file: str
    versions: list[ArchivedVersion]
    """The first first."""
    deleted: datetime | None
    deleted_by: str | None


class ArchivedTrial(Part):
    """A set of changes that was tried."""

    version: int | None
    changes: dict[str, float]
    outcome: Outcome
    note: str
    changed: datetime
    changed_by: str


class ArchivedComplaint(Part):
    """What a driver said, and what was tried."""

    car: int
    version: int
    text: str
    answer: dict[str, Any]
    note: str
    trials: list[ArchivedTrial]
    made: datetime
    made_by: str
    deleted: datetime | None
    deleted_by: str | None


class History(Part):
    """All that the files of the command line do not say."""

    documents: list[ArchivedDocument]
    setups: list[ArchivedSetup]
    complaints: list[ArchivedComplaint]


class Archive(Part):
    """All of a notebook."""

    history: History
    files: dict[str, str]
    """Text of each file of the command line, by its name in the archive."""

    def head(self, document: ArchivedDocument) -> Written:
        """Return what a document says.

        Raises
        ------
        KeyError
            If the archive has not its files.
        """
        beside = {name: self.files[place] for name, place in document.beside.items()}
        return Written(text=self.files[document.file], beside=beside)


# From a notebook


def gather(session: Session) -> Archive:
    """Return all that is in a notebook, deleted things too, but no results."""
    files: dict[str, str] = {}
    documents = [_document(session, row, files) for row in _all(session, DocumentRow)]
    names = {one.key: one.revisions[-1].name for one in documents}
    setups = [_setup(session, row, names[row.car_id], files) for row in _all(session, SetupRow)]
    complaints = [_complaint(session, row) for row in _all(session, ComplaintRow)]
    return Archive(history=History(documents=documents, setups=setups, complaints=complaints), files=files)


RowT = TypeVar("RowT", DocumentRow, SetupRow, ComplaintRow)


def _all(session: Session, table: type[RowT]) -> Iterator[RowT]:
    yield from session.scalars(select(table).order_by(table.id))


def _document(session: Session, row: DocumentRow, files: dict[str, str]) -> ArchivedDocument:
    revisions = session.scalars(
        select(RevisionRow).where(RevisionRow.document_id == row.id).order_by(RevisionRow.revision)
    ).all()
    head = revisions[-1]
    stem = _free(f"{row.kind}s/{file_name(head.name).removesuffix('.toml')}", files)
    beside = {name: f"{stem}/{name}" for name in head.beside}
    file = f"{stem}/{file_name(head.name)}" if beside else f"{stem}.toml"
    files[file] = head.text
    files.update({place: head.beside[name] for name, place in beside.items()})
    return ArchivedDocument(
        key=row.id,
        kind=_KINDS.validate_python(row.kind),
        file=file,
        beside=beside,
        demo=row.demo,
        revisions=[
            ArchivedRevision(
                revision=one.revision,
                name=one.name,
                written=None if one is head else Written(text=one.text, beside=one.beside),
                changed=one.changed,
                changed_by=one.changed_by,
            )
            for one in revisions
        ],
        deleted=row.deleted,
        deleted_by=row.deleted_by,
    )


def _setup(session: Session, row: SetupRow, car: str, files: dict[str, str]) -> ArchivedSetup:
    versions = session.scalars(
        select(VersionRow).where(VersionRow.setup_id == row.id).order_by(VersionRow.id)
    ).all()
    head = versions[-1]
    folder = file_name(car).removesuffix(".toml")
    file = f"{_free(f'setups/{folder}/{file_name(head.name)}'.removesuffix('.toml'), files)}.toml"
    files[file] = setup_text(Setup(name=head.name, car=car, note=head.note, values=head.values), None)
    return ArchivedSetup(
        car=row.car_id,
        file=file,
        versions=[
            ArchivedVersion(
                key=one.id,
                parent=one.parent_id,
                source=one.source_id,
                car_revision=one.car_revision,
                name=one.name,
                note=one.note,
                values=one.values,
                reason=one.reason,
                made=one.made,
                made_by=one.made_by,
            )
            for one in versions
        ],
        deleted=row.deleted,
        deleted_by=row.deleted_by,
    )


def _complaint(session: Session, row: ComplaintRow) -> ArchivedComplaint:
    tried = session.scalars(select(TrialRow).where(TrialRow.complaint_id == row.id).order_by(TrialRow.id))
    return ArchivedComplaint(
        car=row.car_id,
        version=row.version_id,
        text=row.text,
        answer=row.answer,
        note=row.note,
        trials=[
            ArchivedTrial.model_validate(
                {
                    "version": one.version_id,
                    "changes": one.changes,
                    "outcome": one.outcome,
                    "note": one.note,
                    "changed": one.changed,
                    "changed_by": one.changed_by,
                }
            )
            for one in tried
        ],
        made=row.made,
        made_by=row.made_by,
        deleted=row.deleted,
        deleted_by=row.deleted_by,
    )


def _free(stem: str, files: Mapping[str, str]) -> str:
    """Return a name that no file has, whatever the case of its letters, with or without an ending."""
    taken = {part for name in files for part in (name.casefold().removesuffix(".toml"), name.casefold())}
    taken |= {name.casefold().rpartition("/")[0] for name in files}
    free, number = stem, 1
    while free.casefold() in taken:
        number += 1
        free = f"{stem} {number}"
    return free


# To and from a zip


def write_archive(archive: Archive, path: Path) -> None:
    """Write a zip, as a whole or not at all.

    Raises
    ------
    NotebookError
        If it cannot be written.
    """
    contents = {name: text.encode() for name, text in archive.files.items()}
    contents[HISTORY] = archive.history.model_dump_json(indent=1).encode()
    digests = {name: hashlib.sha256(content).hexdigest() for name, content in contents.items()}
    manifest = Manifest(format=ARCHIVE_FORMAT, fourpatch=__version__, made=now(), files=digests)
    unfinished = path.with_name(f".{path.name}.unfinished")
    try:
        with zipfile.ZipFile(unfinished, "w", zipfile.ZIP_DEFLATED) as packed:
            packed.writestr(MANIFEST, manifest.model_dump_json(indent=1))
            for name, content in contents.items():
                packed.writestr(name, content)
        os.replace(unfinished, path)
    except OSError as error:
        with suppress(OSError):
            unfinished.unlink()
        raise NotebookError(
            f"{path}: cannot be written: {error.strerror}. Check the folder and its rights."
        ) from None


_UNREADABLE: Final = (
    zipfile.BadZipFile,
    zlib.error,
    EOFError,
    KeyError,  # a file that is named and not there
    NotImplementedError,  # a way of packing that is not ours
    RuntimeError,  # a password
    ValueError,  # bad JSON, bad UTF-8, a history that is none
)


def read_archive(path: Path) -> Archive:
    """Return what is in a zip, all of which is as it was written.

    Raises
    ------
    NotebookError
        If the file cannot be read, is no such zip, was cut off or changed, or is of a newer Fourpatch.
    """
    try:
        with zipfile.ZipFile(path) as packed:
            return _unpacked(packed)
    except NotebookError as error:
        raise NotebookError(f"{path}: {error}") from None
    except OSError as error:
        raise NotebookError(f"{path}: cannot be read: {error.strerror or error}.") from None
    except _UNREADABLE:
        raise NotebookError(
            f"{path}: is no zip of a notebook, or was cut off or changed. Nothing was imported; export it "
            "again."
        ) from None


def _unpacked(packed: zipfile.ZipFile) -> Archive:
    if sum(one.file_size for one in packed.infolist()) > LARGEST:
        raise NotebookError(
            f"holds more than {LARGEST / 1e6:.0f} MB, which no notebook does. Nothing was imported."
        )
    told = json.loads(packed.read(MANIFEST))
    if isinstance(told, dict) and isinstance(told.get("format"), int) and told["format"] > ARCHIVE_FORMAT:
        raise NotebookError(
            f"was written by a newer Fourpatch (format {told['format']}; this one reads up to "
            f"{ARCHIVE_FORMAT}). Nothing was imported; install the newer one."
        )
    manifest = Manifest.model_validate(told)
    contents = {name: packed.read(name) for name in manifest.files}
    changed = [
        name
        for name, digest in manifest.files.items()
        if hashlib.sha256(contents[name]).hexdigest() != digest
    ]
    if changed:
        raise NotebookError(
            f"{', '.join(changed)}: changed since it was written. Nothing was imported; import a file that "
            "you edited by itself."
        )
    history = History.model_validate_json(contents.pop(HISTORY))
    return Archive(history=history, files={name: content.decode() for name, content in contents.items()})
