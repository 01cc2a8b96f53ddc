"""The cars, tracks or styles of a notebook: their texts, revision by revision."""

from datetime import UTC, datetime
from functools import lru_cache, partial
from pathlib import Path
from typing import Generic

from sqlalchemy import Select, func, select
from sqlalchemy.orm import Session

from fourpatch.errors import FourpatchError, NotebookConflict, NotebookMissing
from fourpatch.notebook.database import Database
from fourpatch.notebook.entries import Document, Entry, made, those_readable
from fourpatch.notebook.kinds import Kind, ValueT, Written, checked_name, put, take
from fourpatch.notebook.tables import DocumentRow, RevisionRow

_READ = 16
"""Documents remembered as read."""


class Shelf(Generic[ValueT]):
    """All documents of a kind."""

    def __init__(self, database: Database, kind: Kind[ValueT]) -> None:
        self.kind = kind
        self._database = database
        # What a revision says never changes, so it may be remembered.
        self._read = lru_cache(_READ)(self._read_anew)

    def listed(self) -> list[Entry]:
        """Return all that are not deleted, by name."""
        return self._entries(select(DocumentRow).where(DocumentRow.deleted.is_(None)))

    def deleted(self) -> list[Entry]:
        """Return those that are deleted and can be restored, the latest first."""
        found = self._entries(select(DocumentRow).where(DocumentRow.deleted.is_not(None)))
        return sorted(found, key=lambda one: str(one.deleted), reverse=True)

    def get(self, id: int, revision: int | None = None) -> Document:
        """Return one, also a deleted one, as it is now or as it was at a revision.

        Raises
        ------
        NotebookError
            If there is none.
        """
        with self._database.reading() as session:
            row, said = self._head(session, id)
            if revision is not None and revision != said.revision:
                said = self._at(session, id, revision)
            return Document(entry=_entry(row, said), written=_written(row, said))

    def read(self, id: int, revision: int | None = None) -> ValueT:
        """Return what one says, as it is now or as it was at a revision.

        Raises
        ------
        NotebookError
            If there is none.
        FileError
            If this version of Fourpatch cannot read what an earlier one wrote.
        """
        if revision is None:
            with self._database.reading() as session:
                revision = self._head(session, id)[1].revision
        return self._read(id, revision)

    def history(self, id: int) -> list[Entry]:
        """Return all revisions of one, the latest first.

        Raises
        ------
        NotebookError
            If there is none.
        """
        with self._database.reading() as session:
            row, _ = self._head(session, id)
            said = session.scalars(
                select(RevisionRow).where(RevisionRow.document_id == id).order_by(RevisionRow.revision.desc())
            )
            return those_readable(partial(_entry, row, one) for one in said)

    def unreadable(self) -> list[str]:
        """Return a text for each one that cannot be read as it is now, deleted ones left out."""
        faults = []
        for one in self.listed():
            try:
                self.read(one.id, one.revision)
            except FourpatchError as error:
                faults.append(f'{one.kind} "{one.name}" cannot be read: {error}')
        return faults

    def add(self, content: ValueT | Written, *, name: str = "", by: str) -> Entry:
        """Keep a new one.

        Parameters
        ----------
        content : its text, or what it is to say.
        name : what to call it, if not as its file says; a style's file says none.
        by : the window or command that does it.

        Raises
        ------
        FileError
            If the text says something that cannot be meant.
        NotebookError
            If it has no name.
        """
        written, name = self._fit(content, name)
        with self._database.writing() as session:
            row = new_document(session, self.kind.name)
            return _entry(row, add_revision(session, row, 1, written, name=name, by=by))

    def change(self, id: int, content: ValueT | Written, *, revision: int, name: str = "", by: str) -> Entry:
        """Keep a new revision of one.

        Parameters
        ----------
        revision : the one that the change was made from.

        Raises
        ------
        NotebookConflict
            If it has been changed or deleted since.
        FileError, NotebookError
            As `add`.
        """
        kept = name or ("" if self.kind.has_name else self.get(id).entry.name)
        written, name = self._fit(content, kept)
        with self._database.writing() as session:
            row, said = self._head(session, id)
            _refuse_conflict(row, said, revision)
            if (said.text, said.beside, said.name) == (written.text, written.beside, name):
                return _entry(row, said)
            return _entry(row, add_revision(session, row, revision + 1, written, name=name, by=by))

    def rename(self, id: int, name: str, *, revision: int, by: str) -> Entry:
        """Call one by another name, in its file too.

        Raises
        ------
        NotebookConflict, NotebookError
            As `change`.
        """
        return self.change(id, self.get(id).written, revision=revision, name=checked_name(name), by=by)

    def delete(self, id: int, *, by: str) -> Entry:
        """Put one away, with all that belongs to it; `restore` brings it back.

        Raises
        ------
        NotebookError
            If there is none.
        """
        with self._database.writing() as session:
            row, said = self._head(session, id)
            if row.deleted is None:
                row.deleted, row.deleted_by = now(), by
            return _entry(row, said)

    def restore(self, id: int) -> Entry:
        """Bring a deleted one back.

        Raises
        ------
        NotebookError
            If there is none.
        """
        with self._database.writing() as session:
            row, said = self._head(session, id)
            row.deleted = row.deleted_by = None
            return _entry(row, said)

    def forget(self) -> None:
        """Remember nothing of what was read: the notebook is another."""
        self._read.cache_clear()

    def import_file(self, path: Path, *, by: str) -> Entry:
        """Keep a new one from a file of the command line; a style goes by the name of its file.

        Raises
        ------
        FileError
            If the file cannot be read or says something that cannot be meant.
        """
        self.kind.load(path)
        return self.add(take(path), name="" if self.kind.has_name else path.stem, by=by)

    def export_file(self, id: int, path: Path) -> None:
        """Write one to a file for the command line, and beside it the files it names.

        Raises
        ------
        FileError
            If a file cannot be written.
        NotebookError
            If there is none.
        """
        put(self.get(id).written, path)

    def _fit(self, content: ValueT | Written, name: str) -> tuple[Written, str]:
        """Return a text that has been read, and its name."""
        written = content if isinstance(content, Written) else self.kind.write(content)
        self.kind.read(written, name or self.kind.name)
        return self.kind.named(written, name)

    def _read_anew(self, id: int, revision: int) -> ValueT:
        document = self.get(id, revision)
        return self.kind.read(document.written, document.entry.name)

    def _entries(self, wanted: Select[DocumentRow]) -> list[Entry]:
        with self._database.reading() as session:
            last = (
                select(RevisionRow.document_id, func.max(RevisionRow.revision).label("revision"))
                .group_by(RevisionRow.document_id)
                .subquery()
            )
            rows = session.execute(
                wanted.add_columns(RevisionRow)
                .where(DocumentRow.kind == self.kind.name)
                .join(last, last.c.document_id == DocumentRow.id)
                .join(
                    RevisionRow,
                    (RevisionRow.document_id == DocumentRow.id) & (RevisionRow.revision == last.c.revision),
                )
            )
            found = those_readable(partial(_entry, row, said) for row, said in rows)
            return sorted(found, key=lambda one: one.name.casefold())

    def _head(self, session: Session, id: int) -> tuple[DocumentRow, RevisionRow]:
        found = session.execute(
            select(DocumentRow, RevisionRow)
            .join(RevisionRow, RevisionRow.document_id == DocumentRow.id)
            .where(DocumentRow.id == id, DocumentRow.kind == self.kind.name)
            .order_by(RevisionRow.revision.desc())
            .limit(1)
        ).first()
        if found is None:
            raise NotebookMissing(f"There is no {self.kind.name} {id} in the notebook.")
        return found[0], found[1]

    def _at(self, session: Session, id: int, revision: int) -> RevisionRow:
        said = session.get(RevisionRow, (id, revision))
        if said is None:
            raise NotebookMissing(
                f"There is no revision {revision} of {self.kind.name} {id} in the notebook."
            )
        return said


def now() -> datetime:
    """Return the present moment."""
    return datetime.now(UTC)


def new_document(session: Session, kind: str, *, demo: bool = False) -> DocumentRow:
    """Make a document that says nothing yet."""
    row = DocumentRow(kind=kind, demo=demo)
    session.add(row)
    session.flush()
    return row


def add_revision(
    session: Session, row: DocumentRow, revision: int, written: Written, *, name: str, by: str
) -> RevisionRow:
    """Let a document say something new."""
    said = RevisionRow(
        document_id=row.id,
        revision=revision,
        name=name,
        text=written.text,
        beside=written.beside,
        changed=now(),
        changed_by=by,
    )
    session.add(said)
    return said


def _refuse_conflict(row: DocumentRow, said: RevisionRow, revision: int) -> None:
    if row.deleted is not None:
        raise NotebookConflict(
            f'"{said.name}" was deleted by {row.deleted_by}, {moment(row.deleted)}. Restore it to change it.'
        )
    if said.revision != revision:
        raise NotebookConflict(
            f'"{said.name}" was changed by {said.changed_by}, {moment(said.changed)} (revision '
            f"{said.revision}); your change was made from revision {revision}. Nothing was overwritten: look "
            "at the newer one, and make your change again if it is still wanted."
        )


def moment(time: datetime) -> str:
    """Return when something happened, by the clock of whoever reads it."""
    return time.astimezone().strftime("on %Y-%m-%d at %H:%M:%S")


def _entry(row: DocumentRow, said: RevisionRow) -> Entry:
    return made(
        Entry,
        _called(row, said),
        {
            "id": row.id,
            "kind": row.kind,
            "name": said.name,
            "revision": said.revision,
            "changed": said.changed,
            "changed_by": said.changed_by,
            "demo": row.demo,
            "deleted": row.deleted,
            "deleted_by": row.deleted_by,
        },
    )


def _written(row: DocumentRow, said: RevisionRow) -> Written:
    return made(Written, _called(row, said), {"text": said.text, "beside": said.beside})


def _called(row: DocumentRow, said: RevisionRow) -> str:
    return f'{row.kind} "{said.name}", revision {said.revision},'
