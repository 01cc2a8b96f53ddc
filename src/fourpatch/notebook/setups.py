"""The set-ups of a notebook's cars, each a history: what was changed, when, from what and why."""

from collections.abc import Mapping
from functools import partial
from pathlib import Path
from typing import NamedTuple

from pydantic import ValidationError
from sqlalchemy import ColumnElement, func, select
from sqlalchemy.orm import Session

from fourpatch.car.car import Car
from fourpatch.car.files import load_setup, save_setup
from fourpatch.car.setup import Setup, setup_faults
from fourpatch.errors import NotebookConflict, NotebookError, NotebookMissing
from fourpatch.notebook.database import Database
from fourpatch.notebook.entries import SetupEntry, Version, made, those_readable, why_unreadable
from fourpatch.notebook.kinds import checked_name
from fourpatch.notebook.shelf import Shelf, moment, now
from fourpatch.notebook.tables import SetupRow, VersionRow


class Opened(NamedTuple):
    """A version of a set-up on the car as it is now."""

    version: Version
    setup: Setup
    faults: list[str]
    """Why the car as it is now cannot take it, a sentence each; empty if it can."""


class Setups:
    """All set-ups."""

    def __init__(self, database: Database, cars: Shelf[Car]) -> None:
        self._database = database
        self._cars = cars

    def listed(self, car_id: int) -> list[SetupEntry]:
        """Return a car's set-ups that are not deleted, by name."""
        return self._entries(SetupRow.car_id == car_id, SetupRow.deleted.is_(None))

    def deleted(self, car_id: int) -> list[SetupEntry]:
        """Return a car's set-ups that are deleted and can be restored, the latest first."""
        found = self._entries(SetupRow.car_id == car_id, SetupRow.deleted.is_not(None))
        return sorted(found, key=lambda one: str(one.deleted), reverse=True)

    def get(self, setup_id: int) -> SetupEntry:
        """Return a set-up, also a deleted one.

        Raises
        ------
        NotebookError
            If there is none.
        """
        found = self._entries(SetupRow.id == setup_id)
        if not found:
            raise NotebookMissing(f"There is no set-up {setup_id} in the notebook.")
        return found[0]

    def version(self, version_id: int) -> Version:
        """Return a version.

        Raises
        ------
        NotebookError
            If there is none.
        """
        with self._database.reading() as session:
            return _version(*_version_row(session, version_id))

    def history(self, setup_id: int) -> list[Version]:
        """Return all versions of a set-up, the latest first.

        Raises
        ------
        NotebookError
            If there is none.
        """
        with self._database.reading() as session:
            row = _setup_row(session, setup_id)
            rows = session.scalars(
                select(VersionRow).where(VersionRow.setup_id == setup_id).order_by(VersionRow.id.desc())
            )
            return those_readable(partial(_version, one, row.car_id) for one in rows)

    def unreadable(self) -> list[str]:
        """Return a sentence for each version that says what none can say."""
        with self._database.reading() as session:
            rows = session.execute(
                select(VersionRow, SetupRow.car_id).join(SetupRow, SetupRow.id == VersionRow.setup_id)
            ).all()
        return why_unreadable(partial(_version, row, car_id) for row, car_id in rows)

    def opened(self, version_id: int) -> Opened:
        """Return a version as a set-up of its car as it is now, and what then keeps it from fitting.

        Raises
        ------
        NotebookError
            If there is none.
        """
        version = self.version(version_id)
        car = self._cars.read(version.car_id)
        setup = _setup(car, version)
        return Opened(version, setup, _sentences(setup, car))

    def add(self, car_id: int, setup: Setup, *, reason: str = "", by: str) -> Version:
        """Keep a new set-up of a car, and return its first version.

        Raises
        ------
        NotebookError
            If the car cannot take it; all reasons together.
        """
        revision = self._fit(car_id, setup)
        with self._database.writing() as session:
            return add_version(
                session, new_setup(session, car_id), setup, car_revision=revision, reason=reason, by=by
            )

    def change(
        self,
        setup_id: int,
        *,
        head: int,
        values: Mapping[str, float] | None = None,
        name: str | None = None,
        note: str | None = None,
        reason: str = "",
        by: str,
    ) -> Version:
        """Keep a new version of a set-up; what is left out stays. Without a difference there is none.

        Parameters
        ----------
        head : id of the version that the change was made from.
        values : the step of every adjuster, by the adjuster's name.
        by : the window or command that does it.

        Raises
        ------
        NotebookConflict
            If the set-up has been changed or deleted since.
        NotebookError
            If the car cannot take it; all reasons together.
        """
        if name is not None:
            checked_name(name)
        before = self.version(head)
        told = {"values": dict(values) if values is not None else None, "name": name, "note": note}
        changed = {key: value for key, value in told.items() if value is not None}
        car = self._cars.read(before.car_id) if values is not None else None
        setup = _checked(_setup(car, before).model_dump() | changed)
        revision = self._fit(before.car_id, setup) if car else before.car_revision
        with self._database.writing() as session:
            row, present = _head(session, setup_id, head)
            if (present.name, present.note, present.values) == (setup.name, setup.note, setup.values):
                return _version(present, row.car_id)
            return add_version(
                session,
                row,
                setup,
                car_revision=revision,
                reason=reason,
                by=by,
                parent=head,
            )

    def go_back(self, setup_id: int, *, to: int, head: int, reason: str = "", by: str) -> Version:
        """Keep a new version with values and note of an earlier one, of this set-up or another of the car.

        It is kept even if the car as it is now cannot take it: `opened` says so.

        Raises
        ------
        NotebookConflict
            If the set-up has been changed or deleted since.
        NotebookError
            If there is no such version of this car.
        """
        source = self.version(to)
        with self._database.writing() as session:
            row, present = _head(session, setup_id, head)
            if source.car_id != row.car_id:
                raise NotebookError(f"Version {to} is of another car. Choose one of this car's.")
            setup = _setup(None, source).model_copy(update={"name": present.name})
            return add_version(
                session,
                row,
                setup,
                car_revision=source.car_revision,
                reason=reason,
                by=by,
                parent=head,
                source=to,
            )

    def branch(self, version_id: int, *, name: str, reason: str = "", by: str) -> Version:
        """Keep a copy of a version as a new set-up of the car, and return its first version.

        Raises
        ------
        NotebookError
            If there is no such version, or the name cannot be one.
        """
        source = self.version(version_id)
        setup = _setup(None, source).model_copy(update={"name": checked_name(name)})
        with self._database.writing() as session:
            return add_version(
                session,
                new_setup(session, source.car_id),
                setup,
                car_revision=source.car_revision,
                reason=reason,
                by=by,
                parent=version_id,
            )

    def delete(self, setup_id: int, *, by: str) -> SetupEntry:
        """Put a set-up away; `restore` brings it back.

        Raises
        ------
        NotebookError
            If there is none.
        """
        with self._database.writing() as session:
            row = _setup_row(session, setup_id)
            if row.deleted is None:
                row.deleted, row.deleted_by = now(), by
        return self.get(setup_id)

    def restore(self, setup_id: int) -> SetupEntry:
        """Bring a deleted set-up back.

        Raises
        ------
        NotebookError
            If there is none.
        """
        with self._database.writing() as session:
            row = _setup_row(session, setup_id)
            row.deleted = row.deleted_by = None
        return self.get(setup_id)

    def import_file(self, car_id: int, path: Path, *, by: str) -> Version:
        """Keep a new set-up of a car from a file of the command line, and return its first version.

        Raises
        ------
        FileError
            If the file cannot be read, says something that cannot be meant, or is for another car.
        """
        setup = load_setup(path, self._cars.read(car_id))
        return self.add(car_id, setup, reason=f"imported from {path.name}", by=by)

    def export_file(self, version_id: int, path: Path) -> None:
        """Write a version to a file for the command line, each adjuster's scale beside its value.

        Raises
        ------
        FileError
            If the file cannot be written.
        NotebookError
            If there is none.
        """
        opened = self.opened(version_id)
        save_setup(opened.setup, path, self._cars.read(opened.version.car_id))

    def _fit(self, car_id: int, setup: Setup) -> int:
        """Return the revision of the car, which can take a set-up."""
        revision = self._cars.get(car_id).entry.revision
        faults = _sentences(setup, self._cars.read(car_id, revision))
        if faults:
            raise NotebookError("\n".join(f'set-up "{setup.name}": {fault}' for fault in faults))
        return revision

    def _entries(self, *conditions: ColumnElement[bool]) -> list[SetupEntry]:
        with self._database.reading() as session:
            last = (
                select(
                    VersionRow.setup_id,
                    func.max(VersionRow.id).label("head"),
                    func.count().label("versions"),
                )
                .group_by(VersionRow.setup_id)
                .subquery()
            )
            rows = session.execute(
                select(SetupRow, VersionRow, last.c.versions)
                .join(last, last.c.setup_id == SetupRow.id)
                .join(VersionRow, VersionRow.id == last.c.head)
                .where(*conditions)
            )
            found = those_readable(partial(_setup_entry, *row) for row in rows)
            return sorted(found, key=lambda one: one.head.name.casefold())


def _setup_entry(row: SetupRow, head: VersionRow, versions: int) -> SetupEntry:
    return SetupEntry(
        id=row.id,
        head=_version(head, row.car_id),
        versions=versions,
        deleted=row.deleted,
        deleted_by=row.deleted_by,
    )


def new_setup(session: Session, car_id: int) -> SetupRow:
    """Make a set-up without versions."""
    row = SetupRow(car_id=car_id)
    session.add(row)
    session.flush()
    return row


def add_version(
    session: Session,
    row: SetupRow,
    setup: Setup,
    *,
    car_revision: int,
    reason: str,
    by: str,
    parent: int | None = None,
    source: int | None = None,
) -> Version:
    """Add a version to a set-up, as its head."""
    version = VersionRow(
        setup_id=row.id,
        parent_id=parent,
        source_id=source,
        car_revision=car_revision,
        name=setup.name,
        note=setup.note,
        values=setup.values,
        reason=reason,
        made=now(),
        made_by=by,
    )
    session.add(version)
    session.flush()
    return _version(version, row.car_id)


def _setup_row(session: Session, setup_id: int) -> SetupRow:
    row = session.get(SetupRow, setup_id)
    if row is None:
        raise NotebookMissing(f"There is no set-up {setup_id} in the notebook.")
    return row


def _version_row(session: Session, version_id: int) -> tuple[VersionRow, int]:
    """Return a version and the id of its car."""
    found = session.execute(
        select(VersionRow, SetupRow.car_id)
        .join(SetupRow, SetupRow.id == VersionRow.setup_id)
        .where(VersionRow.id == version_id)
    ).first()
    if found is None:
        raise NotebookMissing(f"There is no version {version_id} of a set-up in the notebook.")
    return found[0], found[1]


def _head(session: Session, setup_id: int, expected: int) -> tuple[SetupRow, VersionRow]:
    """Return a set-up and its head, which must be the one expected."""
    row = _setup_row(session, setup_id)
    head = session.scalars(
        select(VersionRow).where(VersionRow.setup_id == setup_id).order_by(VersionRow.id.desc()).limit(1)
    ).one()
    if row.deleted is not None:
        raise NotebookConflict(
            f'Set-up "{head.name}" was deleted by {row.deleted_by}, {moment(row.deleted)}. Restore it to '
            "change it."
        )
    if head.id != expected:
        why = f" ({head.reason})" if head.reason else ""
        raise NotebookConflict(
            f'Set-up "{head.name}" was changed meanwhile by {head.made_by}, {moment(head.made)}{why}; yours '
            f"began from version {expected}, the newest is {head.id}. Nothing was overwritten: look at the "
            "newer one, or keep yours as a set-up of its own."
        )
    return row, head


def _setup(car: Car | None, version: Version) -> Setup:
    """Return a version as a set-up of a car, or of any."""
    return Setup.model_construct(
        name=version.name, car=car.name if car else "-", note=version.note, values=version.values
    )


def _checked(told: dict[str, object]) -> Setup:
    try:
        return Setup.model_validate(told)
    except ValidationError as error:
        raise NotebookError(
            "\n".join(f"set-up, {'.'.join(map(str, one['loc']))}: {one['msg']}." for one in error.errors())
        ) from None


def _sentences(setup: Setup, car: Car) -> list[str]:
    return [f"{key[-1]} {text}" for key, text in setup_faults(setup, car)]


def _version(row: VersionRow, car_id: int) -> Version:
    return made(
        Version,
        f'version {row.id} of set-up "{row.name}"',
        {
            "id": row.id,
            "setup_id": row.setup_id,
            "car_id": car_id,
            "parent_id": row.parent_id,
            "source_id": row.source_id,
            "car_revision": row.car_revision,
            "name": row.name,
            "note": row.note,
            "values": row.values,
            "reason": row.reason,
            "made": row.made,
            "made_by": row.made_by,
        },
    )
