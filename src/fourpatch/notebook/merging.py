"""What is in an archive, brought into a notebook beside what is there: nothing is written over."""

from collections.abc import Mapping
from datetime import date
from typing import Final

from sqlalchemy import func, select, true
from sqlalchemy.orm import Session

from fourpatch.document.part import Part
from fourpatch.errors import FileError, NotebookError
from fourpatch.notebook.archive import (
    Archive,
    ArchivedComplaint,
    ArchivedDocument,
    ArchivedRevision,
    ArchivedSetup,
    ArchivedVersion,
)
from fourpatch.notebook.kinds import CAR, LONGEST_NAME, STYLE, TRACK, Kind, KindName, Written
from fourpatch.notebook.shelf import add_revision, new_document, now
from fourpatch.notebook.tables import (
    ComplaintRow,
    DocumentRow,
    RevisionRow,
    SetupRow,
    TrialRow,
    VersionRow,
)

KINDS: Final[Mapping[KindName, Kind[Part]]] = {one.name: one for one in (CAR, TRACK, STYLE)}  # type: ignore[misc]


class Imported(Part):
    """What came of an import, by name."""

    added: list[str]
    """New here."""
    second: list[str]
    """New here under another name, for there is another of the same."""
    known: list[str]
    """Here already, now or as an earlier revision or version."""


def check(archive: Archive) -> None:
    """Refuse an archive with a car, track or style that cannot be meant, or that names what it has not.

    Raises
    ------
    FileError
        If a text says something that cannot be meant.
    NotebookError
        If something belongs to what is not there.
    """
    history = archive.history
    for document in history.documents:
        if not document.revisions:
            raise NotebookError(f"{document.file}: has no history. Nothing was imported; export it again.")
        try:
            KINDS[document.kind].read(archive.head(document), document.revisions[-1].name)
        except KeyError as error:
            raise NotebookError(
                f"{error} is not in the zip. Nothing was imported; export it again."
            ) from None
        except FileError as error:
            raise FileError(f"{error}\n\nNothing was imported.") from None
    cars = {one.key for one in history.documents if one.kind == CAR.name}
    versions = {version.key: setup.car for setup in history.setups for version in setup.versions}
    whole = (
        all(setup.car in cars and setup.versions for setup in history.setups),
        all(versions.get(one.version) == one.car for one in history.complaints),
        all(
            trial.version is None or trial.version in versions
            for one in history.complaints
            for trial in one.trials
        ),
    )
    if not all(whole):
        raise NotebookError("Its history names what is not in it. Nothing was imported; export it again.")


def merge(session: Session, archive: Archive, by: str) -> Imported:
    """Bring in what is not there yet."""
    return _Merge(session, archive, by).run()


class _Merge:
    """One import, under way."""

    def __init__(self, session: Session, archive: Archive, by: str) -> None:
        self._session = session
        self._archive = archive
        self._by = by
        self._said = Imported(added=[], second=[], known=[])
        self._documents: dict[int, int] = {}
        """Ids here, by their keys in the archive."""
        self._revisions: dict[tuple[int, int], int] = {}
        """Of cars, here, by key and revision in the archive."""
        self._versions: dict[int, int] = {}
        """Ids here, by their keys in the archive."""
        self._made: list[tuple[VersionRow, ArchivedVersion]] = []
        # What comes in is compared with what was here before, not with what came in with it.
        self._last_document = session.scalar(select(func.max(DocumentRow.id))) or 0
        self._last_setup = session.scalar(select(func.max(SetupRow.id))) or 0

    def run(self) -> Imported:
        for document in self._archive.history.documents:
            self._document(document)
        for setup in self._archive.history.setups:
            self._setup(setup)
        for version, told in self._made:  # now that all are there: they come from one another in any order
            version.parent_id = None if told.parent is None else self._versions.get(told.parent)
            version.source_id = None if told.source is None else self._versions.get(told.source)
        for complaint in self._archive.history.complaints:
            self._complaint(complaint)
        return self._said

    def _document(self, document: ArchivedDocument) -> None:
        there = {
            (one.name, one.text, _frozen(one.beside)): one
            for one in self._session.scalars(
                select(RevisionRow)
                .join(DocumentRow, DocumentRow.id == RevisionRow.document_id)
                .where(
                    DocumentRow.kind == document.kind,
                    DocumentRow.id <= self._last_document,
                    DocumentRow.deleted.is_(None) if document.deleted is None else true(),
                )
            )
        }
        told = [(one, one.written or self._archive.head(document)) for one in document.revisions]
        head, written = told[-1]
        known = there.get((head.name, written.text, _frozen(written.beside)))
        if known is None:
            self._add(document, told)
            return
        self._said.known.append(head.name)
        self._documents[document.key] = known.document_id
        for one, text in told:
            same = there.get((one.name, text.text, _frozen(text.beside)))
            mine = same is not None and same.document_id == known.document_id
            self._revisions[document.key, one.revision] = same.revision if same and mine else known.revision

    def _add(self, document: ArchivedDocument, told: list[tuple[ArchivedRevision, Written]]) -> None:
        row = new_document(self._session, document.kind, demo=document.demo)
        row.deleted, row.deleted_by = document.deleted, document.deleted_by
        self._documents[document.key] = row.id
        for one, written in told:
            said = add_revision(self._session, row, one.revision, written, name=one.name, by=one.changed_by)
            said.changed = one.changed
            self._revisions[document.key, one.revision] = one.revision
        head, written = told[-1]
        taken = self._names(document.kind, row.id)
        if document.deleted is not None or head.name not in taken:
            self._said.added.append(head.name)
            return
        written, name = KINDS[document.kind].named(written, _second_name(head.name, taken))
        add_revision(self._session, row, head.revision + 1, written, name=name, by=self._by)
        self._said.second.append(name)

    def _names(self, kind: KindName, but: int) -> set[str]:
        """Return what the documents of a kind are called, without one."""
        rows = self._session.execute(
            select(RevisionRow.document_id, RevisionRow.name)
            .join(DocumentRow, DocumentRow.id == RevisionRow.document_id)
            .where(DocumentRow.kind == kind, DocumentRow.deleted.is_(None), DocumentRow.id != but)
            .order_by(RevisionRow.revision)
        )
        return set({id: name for id, name in rows}.values())

    def _setup(self, setup: ArchivedSetup) -> None:
        car_id = self._documents[setup.car]
        lines: dict[int, list[VersionRow]] = {}
        for one in self._session.scalars(
            select(VersionRow)
            .join(SetupRow, SetupRow.id == VersionRow.setup_id)
            .where(SetupRow.car_id == car_id, SetupRow.deleted.is_(None) if setup.deleted is None else true())
            .order_by(VersionRow.id)
        ):
            lines.setdefault(one.setup_id, []).append(one)
        for line in lines.values():
            there = {_content(one): one.id for one in line}
            if line[0].setup_id <= self._last_setup and all(_content(one) in there for one in setup.versions):
                self._versions.update({one.key: there[_content(one)] for one in setup.versions})
                self._said.known.append(setup.versions[-1].name)
                return
        names = {line[-1].name for line in lines.values()}
        self._add_setup(setup, car_id, names)

    def _add_setup(self, setup: ArchivedSetup, car_id: int, names: set[str]) -> None:
        row = SetupRow(car_id=car_id, deleted=setup.deleted, deleted_by=setup.deleted_by)
        self._session.add(row)
        self._session.flush()
        made = []
        for one in setup.versions:
            version = VersionRow(
                setup_id=row.id,
                car_revision=self._revisions.get((setup.car, one.car_revision), 1),
                name=one.name,
                note=one.note,
                values=one.values,
                reason=one.reason,
                made=one.made,
                made_by=one.made_by,
            )
            self._session.add(version)
            made.append((version, one))
        self._session.flush()  # gives them their ids, in this order
        self._versions.update({one.key: version.id for version, one in made})
        self._made += made
        head = setup.versions[-1]
        if setup.deleted is not None or head.name not in names:
            self._said.added.append(head.name)
            return
        name = _second_name(head.name, names)
        self._session.add(
            VersionRow(
                setup_id=row.id,
                parent_id=self._versions[head.key],
                car_revision=self._revisions.get((setup.car, head.car_revision), 1),
                name=name,
                note=head.note,
                values=head.values,
                reason="imported beside another of that name",
                made=now(),
                made_by=self._by,
            )
        )
        self._said.second.append(name)

    def _complaint(self, complaint: ArchivedComplaint) -> None:
        car_id = self._documents[complaint.car]
        there = self._session.scalars(
            select(ComplaintRow).where(ComplaintRow.car_id == car_id, ComplaintRow.made == complaint.made)
        )
        if any(one.text == complaint.text for one in there):
            self._said.known.append(complaint.text)
            return
        row = ComplaintRow(
            car_id=car_id,
            version_id=self._versions[complaint.version],
            text=complaint.text,
            answer=complaint.answer,
            note=complaint.note,
            made=complaint.made,
            made_by=complaint.made_by,
            deleted=complaint.deleted,
            deleted_by=complaint.deleted_by,
        )
        self._session.add(row)
        self._session.flush()
        for trial in complaint.trials:
            self._session.add(
                TrialRow(
                    complaint_id=row.id,
                    version_id=None if trial.version is None else self._versions[trial.version],
                    changes=trial.changes,
                    outcome=trial.outcome,
                    note=trial.note,
                    revision=1,
                    changed=trial.changed,
                    changed_by=trial.changed_by,
                )
            )
        self._said.added.append(complaint.text)


def _second_name(name: str, taken: set[str]) -> str:
    """Return a name for what has the name of something else: with the date."""
    number, free = 1, ""
    while not free or free in taken:
        more = f" {number}" if number > 1 else ""
        mark = f" (imported {date.today().isoformat()}{more})"
        free = name[: LONGEST_NAME - len(mark)] + mark
        number += 1
    return free


def _frozen(beside: Mapping[str, str]) -> tuple[tuple[str, str], ...]:
    return tuple(sorted(beside.items()))


def _content(version: VersionRow | ArchivedVersion) -> tuple[str, str, tuple[tuple[str, float], ...]]:
    """Return what a version says, by which it is known again."""
    return version.name, version.note, tuple(sorted(version.values.items()))
