"""What is in an archive, brought into a notebook beside what is there: nothing is written over."""

from collections.abc import Mapping
from datetime import date, datetime
from typing import Any

from sqlalchemy import select
from sqlalchemy.orm import Session

from fourpatch.document.part import Part
from fourpatch.notebook.archive import (
    Archive,
    ArchivedComplaint,
    ArchivedDocument,
    ArchivedRevision,
    ArchivedSetup,
    ArchivedVersion,
)
from fourpatch.notebook.kinds import KINDS, LONGEST_NAME, Written
from fourpatch.notebook.shelf import add_revision, new_document, now
from fourpatch.notebook.tables import (
    ComplaintRow,
    DocumentRow,
    RevisionRow,
    SetupRow,
    TrialRow,
    VersionRow,
)

Content = tuple[str, str, tuple[tuple[str, float], ...]]
"""What a version of a set-up says: name, note, values."""


class Imported(Part):
    """What came of an import, by name."""

    added: list[str]
    """New here."""
    second: list[str]
    """New here under another name, for there is another of the same."""
    known: list[str]
    """Here already, now or as an earlier revision or version."""


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
        self._new: list[tuple[SetupRow, ArchivedSetup]] = []
        # What comes in is compared with what was here before, not with what came in with it; all of that is
        # read once, since others wait to write meanwhile.
        self._there = _documents_there(session)
        self._names = _names_there(session)
        self._lines: dict[int, _Lines] = {}
        """By the id of their car."""
        self._complaints = _complaints_there(session)

    def run(self) -> Imported:
        for document in self._archive.history.documents:
            self._document(document)
        for setup in self._archive.history.setups:
            self._setup(setup)
        self._add_setups()
        for complaint in self._archive.history.complaints:
            self._complaint(complaint)
        return self._said

    def _document(self, document: ArchivedDocument) -> None:
        told = [(one, one.written or self._archive.head(document)) for one in document.revisions]
        head, written = told[-1]
        known = self._same(document, head.name, written)
        if known is None:
            self._add(document, told)
            return
        self._said.known.append(head.name)
        self._documents[document.key] = known.document_id
        for one, text in told:
            same = self._same(document, one.name, text)
            mine = same is not None and same.document_id == known.document_id
            self._revisions[document.key, one.revision] = same.revision if same and mine else known.revision

    def _same(self, document: ArchivedDocument, name: str, written: Written) -> RevisionRow | None:
        """Return the revision here that says the same; of something deleted a deleted one's will do."""
        there = self._there.get((document.kind, name, written.text, _frozen(written.beside)), [])
        return next((row for row, deleted in there if not deleted or document.deleted is not None), None)

    def _add(self, document: ArchivedDocument, told: list[tuple[ArchivedRevision, Written]]) -> None:
        row = new_document(self._session, document.kind, demo=document.demo)
        row.deleted, row.deleted_by = document.deleted, document.deleted_by
        self._documents[document.key] = row.id
        for one, written in told:
            said = add_revision(self._session, row, one.revision, written, name=one.name, by=one.changed_by)
            said.changed = one.changed
            self._revisions[document.key, one.revision] = one.revision
        head, written = told[-1]
        taken = self._names[document.kind]
        if document.deleted is not None:
            self._said.added.append(head.name)
            return
        if head.name not in taken:
            taken.add(head.name)
            self._said.added.append(head.name)
            return
        written, name = KINDS[document.kind].named(written, _second_name(head.name, taken))
        taken.add(name)
        add_revision(self._session, row, head.revision + 1, written, name=name, by=self._by)
        self._said.second.append(name)

    def _setup(self, setup: ArchivedSetup) -> None:
        car_id = self._documents[setup.car]
        if car_id not in self._lines:
            self._lines[car_id] = _Lines(self._session, car_id)
        lines = self._lines[car_id]
        known = lines.with_all(setup)
        if known is None:
            row = SetupRow(car_id=car_id, deleted=setup.deleted, deleted_by=setup.deleted_by)
            self._new.append((row, setup))
            return
        self._versions.update({one.key: known[_content(one)] for one in setup.versions})
        self._said.known.append(setup.versions[-1].name)

    def _add_setups(self) -> None:
        """Write all set-ups that are new here; in few statements, since others wait to write."""
        self._session.add_all(row for row, _ in self._new)
        self._session.flush()  # gives them their ids, in this order
        made = [
            (VersionRow(setup_id=row.id, **self._said_by(setup, one)), one)
            for row, setup in self._new
            for one in setup.versions
        ]
        self._session.add_all(version for version, _ in made)
        self._session.flush()
        self._versions.update({one.key: version.id for version, one in made})
        for version, told in made:  # now that all are there: they come from one another in any order
            version.parent_id = None if told.parent is None else self._versions.get(told.parent)
            version.source_id = None if told.source is None else self._versions.get(told.source)
        for row, setup in self._new:
            self._name_setup(row, setup)

    def _said_by(self, setup: ArchivedSetup, version: ArchivedVersion) -> dict[str, Any]:
        return {
            "car_revision": self._revisions.get((setup.car, version.car_revision), 1),
            **version.model_dump(include={"name", "note", "values", "reason", "made", "made_by"}),
        }

    def _name_setup(self, row: SetupRow, setup: ArchivedSetup) -> None:
        """Say that a set-up is new; if its name is another's here, let it have one of its own."""
        head = setup.versions[-1]
        names = self._lines[row.car_id].names
        if setup.deleted is not None:
            self._said.added.append(head.name)
            return
        if head.name not in names:
            names.add(head.name)
            self._said.added.append(head.name)
            return
        name = _second_name(head.name, names)
        names.add(name)
        own = {
            "name": name,
            "reason": "imported beside another of that name",
            "made": now(),
            "made_by": self._by,
        }
        version = VersionRow(
            setup_id=row.id, parent_id=self._versions[head.key], **{**self._said_by(setup, head), **own}
        )
        self._session.add(version)
        self._said.second.append(name)

    def _complaint(self, complaint: ArchivedComplaint) -> None:
        car_id = self._documents[complaint.car]
        if (car_id, complaint.made, complaint.text) in self._complaints:
            self._said.known.append(complaint.text)
            return
        self._complaints.add((car_id, complaint.made, complaint.text))
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


class _Lines:
    """The set-ups that a car had here before, by what their versions say."""

    def __init__(self, session: Session, car_id: int) -> None:
        rows = session.execute(
            select(VersionRow, SetupRow.deleted)
            .join(SetupRow, SetupRow.id == VersionRow.setup_id)
            .where(SetupRow.car_id == car_id)
            .order_by(VersionRow.id)
        ).all()
        self._versions: dict[int, dict[Content, int]] = {}
        """Of each set-up: the ids of its versions."""
        self._saying: dict[Content, set[int]] = {}
        """Set-ups that have a version which says so."""
        for row, _ in rows:
            content = _content(row)
            self._versions.setdefault(row.setup_id, {})[content] = row.id
            self._saying.setdefault(content, set()).add(row.setup_id)
        self._live = {row.setup_id for row, deleted in rows if deleted is None}
        last = {row.setup_id: row.name for row, deleted in rows if deleted is None}
        self.names = set(last.values())
        """Of those that are not deleted."""

    def with_all(self, setup: ArchivedSetup) -> Mapping[Content, int] | None:
        """Return the ids of the versions of the set-up that has all versions of another, by what they say."""
        found = set(self._versions) if setup.deleted is not None else set(self._live)
        for one in setup.versions:
            found &= self._saying.get(_content(one), set())
            if not found:
                return None
        return self._versions[min(found)]


def _documents_there(session: Session) -> dict[object, list[tuple[RevisionRow, bool]]]:
    """Return all revisions and whether their document is deleted, by what they say."""
    there: dict[object, list[tuple[RevisionRow, bool]]] = {}
    for row, kind, deleted in session.execute(
        select(RevisionRow, DocumentRow.kind, DocumentRow.deleted)
        .join(DocumentRow, DocumentRow.id == RevisionRow.document_id)
        .order_by(RevisionRow.document_id.desc(), RevisionRow.revision.desc())
    ):
        said = (kind, row.name, row.text, _frozen(row.beside))
        there.setdefault(said, []).append((row, deleted is not None))
    return there


def _names_there(session: Session) -> dict[str, set[str]]:
    """Return what the documents of each kind that are not deleted are called."""
    rows = session.execute(
        select(DocumentRow.kind, DocumentRow.id, RevisionRow.name)
        .join(RevisionRow, RevisionRow.document_id == DocumentRow.id)
        .where(DocumentRow.deleted.is_(None))
        .order_by(RevisionRow.revision)
    )
    last = {(kind, id): name for kind, id, name in rows}
    return {kind: {name for (of, _), name in last.items() if of == kind} for kind in KINDS}


def _complaints_there(session: Session) -> set[tuple[int, datetime, str]]:
    rows = session.execute(select(ComplaintRow.car_id, ComplaintRow.made, ComplaintRow.text))
    return {(car_id, made, text) for car_id, made, text in rows}


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


def _content(version: VersionRow | ArchivedVersion) -> Content:
    """Return what a version says, by which it is known again."""
    return version.name, version.note, tuple(sorted(version.values.items()))
