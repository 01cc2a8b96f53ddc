"""All of a notebook, for another machine: each thing as a file of the command line, and their histories."""

from collections.abc import Callable, Iterable
from datetime import datetime
from functools import partial
from typing import Any, Final, TypeVar

from sqlalchemy import select
from sqlalchemy.orm import Session

from fourpatch.car.setup import Setup
from fourpatch.car.writing import setup_text
from fourpatch.document.part import Part
from fourpatch.errors import FourpatchError
from fourpatch.notebook.entries import Number, Outcome, PartT, made, those_readable, why_unreadable
from fourpatch.notebook.kinds import CAR, KINDS, KindName, Written, file_name
from fourpatch.notebook.tables import (
    ComplaintRow,
    DocumentRow,
    RevisionRow,
    SetupRow,
    TrialRow,
    VersionRow,
)


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
    values: dict[str, Number]
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
    changes: dict[str, Number]
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


class _Names:
    """Names of files, each given once, whatever the case of its letters, with or without an ending."""

    def __init__(self) -> None:
        self._taken: set[str] = set()
        self._numbers: dict[str, int] = {}
        """The last given to each name."""

    def free(self, stem: str) -> str:
        """Return a name that no file and no folder has, and take it."""
        wanted = stem.casefold()
        number = self._numbers.get(wanted, 0) + 1
        free = stem if number == 1 else f"{stem} {number}"
        while self._taken & _as_file_or_folder(free):
            number += 1
            free = f"{stem} {number}"
        self._numbers[wanted] = number
        self._taken |= _as_file_or_folder(free)
        return free


def _as_file_or_folder(stem: str) -> set[str]:
    return {stem.casefold(), f"{stem.casefold()}.toml"}


def gather(session: Session) -> tuple[Archive, list[str]]:
    """Return all that is in a notebook, deleted things too, but no results; and what cannot be read of it."""
    found = _Gathering(session)
    return found.archive(), found.left_out


RowT = TypeVar("RowT", DocumentRow, SetupRow, ComplaintRow)


class _Gathering:
    """One walk through a notebook; what cannot be read is left out, with what belongs to it."""

    def __init__(self, session: Session) -> None:
        self._session = session
        self._files: dict[str, str] = {}
        self._names = _Names()
        self._cars: dict[int, str] = {}
        """Names of the cars that are in the archive, by id."""
        self._versions: set[int] = set()
        """Ids of the versions that are."""
        self.left_out: list[str] = []
        """A sentence for each record."""

    def archive(self) -> Archive:
        documents = self._each(DocumentRow, self._document)
        setups = self._each(SetupRow, self._setup)
        complaints = self._each(ComplaintRow, self._complaint)
        history = History(documents=documents, setups=setups, complaints=complaints)
        return Archive(history=history, files=self._files)

    def _each(self, table: type[RowT], take: Callable[[RowT], PartT | None]) -> list[PartT]:
        taken = []
        for row in self._session.scalars(select(table).order_by(table.id)).all():
            try:
                one = take(row)
            except FourpatchError as error:
                self.left_out.append(str(error))
            else:
                taken += [one] if one is not None else []
        return taken

    def _readable(self, makers: Iterable[Callable[[], PartT]]) -> list[PartT]:
        makers = list(makers)
        self.left_out += why_unreadable(makers)
        return those_readable(makers)

    def _document(self, row: DocumentRow) -> ArchivedDocument | None:
        revisions = self._session.scalars(
            select(RevisionRow).where(RevisionRow.document_id == row.id).order_by(RevisionRow.revision)
        ).all()
        if not revisions:
            return None
        head = revisions[-1]
        told = self._readable(partial(_revision, row, one, one is head) for one in revisions)
        kind = made(_Kind, f'{row.kind} "{head.name}"', {"kind": row.kind}).kind
        written = made(Written, f'{kind} "{head.name}"', {"text": head.text, "beside": head.beside})
        KINDS[kind].read(written, head.name)
        stem = self._names.free(f"{kind}s/{file_name(head.name).removesuffix('.toml')}")
        beside = {name: f"{stem}/{name}" for name in written.beside}
        file = f"{stem}/{file_name(head.name)}" if beside else f"{stem}.toml"
        self._files[file] = written.text
        self._files.update({place: written.beside[name] for name, place in beside.items()})
        if kind == CAR.name:
            self._cars[row.id] = head.name
        return ArchivedDocument(
            key=row.id,
            kind=kind,
            file=file,
            beside=beside,
            demo=row.demo,
            revisions=told,
            deleted=row.deleted,
            deleted_by=row.deleted_by,
        )

    def _setup(self, row: SetupRow) -> ArchivedSetup | None:
        rows = self._session.scalars(
            select(VersionRow).where(VersionRow.setup_id == row.id).order_by(VersionRow.id)
        )
        versions = self._readable(partial(_archived_version, one) for one in rows)
        if row.car_id not in self._cars or not versions:
            return None
        car, head = self._cars[row.car_id], versions[-1]
        told = {"name": head.name, "car": car, "note": head.note, "values": head.values}
        setup = made(Setup, f'set-up "{head.name}"', told)
        folder = file_name(car).removesuffix(".toml")
        stem = self._names.free(f"setups/{folder}/{file_name(head.name)}".removesuffix(".toml"))
        self._files[f"{stem}.toml"] = setup_text(setup, None)
        self._versions.update(one.key for one in versions)
        return ArchivedSetup(
            car=row.car_id,
            file=f"{stem}.toml",
            versions=versions,
            deleted=row.deleted,
            deleted_by=row.deleted_by,
        )

    def _complaint(self, row: ComplaintRow) -> ArchivedComplaint | None:
        if row.version_id not in self._versions:
            return None
        rows = self._session.scalars(
            select(TrialRow).where(TrialRow.complaint_id == row.id).order_by(TrialRow.id)
        )
        trials = self._readable(partial(_archived_trial, one) for one in rows)
        told = {name: getattr(row, name) for name in _COMPLAINT}
        return made(
            ArchivedComplaint,
            f'complaint "{row.text}"',
            {
                "car": row.car_id,
                "version": row.version_id,
                "trials": [one for one in trials if one.version is None or one.version in self._versions],
                **told,
            },
        )


_COMPLAINT: Final = ("text", "answer", "note", "made", "made_by", "deleted", "deleted_by")


class _Kind(Part):
    kind: KindName


def _revision(row: DocumentRow, said: RevisionRow, is_head: bool) -> ArchivedRevision:
    return made(
        ArchivedRevision,
        f'{row.kind} "{said.name}", revision {said.revision},',
        {
            "revision": said.revision,
            "name": said.name,
            "written": None if is_head else {"text": said.text, "beside": said.beside},
            "changed": said.changed,
            "changed_by": said.changed_by,
        },
    )


def _archived_version(row: VersionRow) -> ArchivedVersion:
    return made(
        ArchivedVersion,
        f'version {row.id} of set-up "{row.name}"',
        {
            "key": row.id,
            "parent": row.parent_id,
            "source": row.source_id,
            "car_revision": row.car_revision,
            "name": row.name,
            "note": row.note,
            "values": row.values,
            "reason": row.reason,
            "made": row.made,
            "made_by": row.made_by,
        },
    )


def _archived_trial(row: TrialRow) -> ArchivedTrial:
    return made(
        ArchivedTrial,
        f"trial {row.id} of complaint {row.complaint_id}",
        {
            "version": row.version_id,
            "changes": row.changes,
            "outcome": row.outcome,
            "note": row.note,
            "changed": row.changed,
            "changed_by": row.changed_by,
        },
    )
