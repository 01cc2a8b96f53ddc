"""What drivers said of a car, what was answered, what was tried and what came of it."""

from collections.abc import Iterable, Mapping
from functools import partial
from typing import Any

from sqlalchemy import ColumnElement, select
from sqlalchemy.orm import Session

from fourpatch.errors import NotebookConflict, NotebookError, NotebookMissing
from fourpatch.notebook.database import Database
from fourpatch.notebook.entries import Complaint, Outcome, Trial, made, those_readable, why_unreadable
from fourpatch.notebook.shelf import moment, now
from fourpatch.notebook.tables import ComplaintRow, SetupRow, TrialRow, VersionRow


class Complaints:
    """All complaints."""

    def __init__(self, database: Database) -> None:
        self._database = database

    def listed(self, car_id: int) -> list[Complaint]:
        """Return a car's complaints that are not deleted, the latest first."""
        return self._found(ComplaintRow.car_id == car_id, ComplaintRow.deleted.is_(None))

    def deleted(self, car_id: int) -> list[Complaint]:
        """Return a car's complaints that are deleted and can be restored, the latest first."""
        return self._found(ComplaintRow.car_id == car_id, ComplaintRow.deleted.is_not(None))

    def get(self, complaint_id: int) -> Complaint:
        """Return a complaint, also a deleted one.

        Raises
        ------
        NotebookError
            If there is none.
        """
        found = self._found(ComplaintRow.id == complaint_id)
        if not found:
            raise NotebookMissing(f"There is no complaint {complaint_id} in the notebook.")
        return found[0]

    def add(
        self, version_id: int, text: str, *, answer: Mapping[str, Any] | None = None, note: str = "", by: str
    ) -> Complaint:
        """Keep what a driver said of a car with a version of a set-up.

        Parameters
        ----------
        text : as typed.
        answer : a summary of what was answered, as JSON.

        Raises
        ------
        NotebookError
            If there is no such version.
        """
        with self._database.writing() as session:
            car_id = _car_of(session, version_id)
            row = ComplaintRow(
                car_id=car_id,
                version_id=version_id,
                text=text,
                answer=dict(answer or {}),
                note=note,
                made=now(),
                made_by=by,
            )
            session.add(row)
            session.flush()
            return _complaint(row, [])

    def answered(self, complaint_id: int, answer: Mapping[str, Any]) -> None:
        """Keep a summary of what was answered, as JSON, in the place of an earlier one.

        Raises
        ------
        NotebookError
            If there is no such complaint.
        """
        with self._database.writing() as session:
            _complaint_row(session, complaint_id).answer = dict(answer)

    def tried(
        self,
        complaint_id: int,
        changes: Mapping[str, float],
        *,
        version_id: int | None = None,
        outcome: Outcome = "open",
        note: str = "",
        by: str,
    ) -> Trial:
        """Keep a set of changes that is tried against a complaint.

        Parameters
        ----------
        changes : where each moved adjuster is put, by its name.
        version_id : the version of the set-up that it became, if it was applied.

        Raises
        ------
        NotebookError
            If there is no such complaint, or no such version of its car.
        """
        with self._database.writing() as session:
            complaint = _complaint_row(session, complaint_id)
            if version_id is not None and _car_of(session, version_id) != complaint.car_id:
                raise NotebookError(f"Version {version_id} is of another car than the complaint.")
            row = TrialRow(
                complaint_id=complaint_id,
                version_id=version_id,
                changes=dict(changes),
                outcome=outcome,
                note=note,
                revision=1,
                changed=now(),
                changed_by=by,
            )
            session.add(row)
            session.flush()
            return _trial(row)

    def change_trial(
        self,
        trial_id: int,
        *,
        revision: int,
        outcome: Outcome | None = None,
        note: str | None = None,
        by: str,
    ) -> Trial:
        """Say what came of a set of changes; what is left out stays.

        Parameters
        ----------
        revision : the one that the change was made from.

        Raises
        ------
        NotebookConflict
            If it has been changed since.
        NotebookError
            If there is none.
        """
        with self._database.writing() as session:
            row = session.get(TrialRow, trial_id)
            if row is None:
                raise NotebookMissing(f"There is no trial {trial_id} in the notebook.")
            if row.revision != revision:
                raise NotebookConflict(
                    f"What came of the trial was changed by {row.changed_by}, {moment(row.changed)}, to "
                    f'"{row.outcome}". Nothing was overwritten: look at it, and say yours again if it is '
                    "still right."
                )
            row.outcome = outcome or row.outcome
            row.note = row.note if note is None else note
            row.revision, row.changed, row.changed_by = revision + 1, now(), by
            return _trial(row)

    def delete(self, complaint_id: int, *, by: str) -> None:
        """Put a complaint away; `restore` brings it back.

        Raises
        ------
        NotebookError
            If there is none.
        """
        with self._database.writing() as session:
            row = _complaint_row(session, complaint_id)
            if row.deleted is None:
                row.deleted, row.deleted_by = now(), by

    def restore(self, complaint_id: int) -> None:
        """Bring a deleted complaint back.

        Raises
        ------
        NotebookError
            If there is none.
        """
        with self._database.writing() as session:
            row = _complaint_row(session, complaint_id)
            row.deleted = row.deleted_by = None

    def _found(self, *conditions: ColumnElement[bool]) -> list[Complaint]:
        with self._database.reading() as session:
            rows = session.scalars(
                select(ComplaintRow).where(*conditions).order_by(ComplaintRow.id.desc())
            ).all()
            tried = session.scalars(
                select(TrialRow)
                .where(TrialRow.complaint_id.in_([row.id for row in rows]))
                .order_by(TrialRow.id)
            ).all()
            trials: dict[int, list[TrialRow]] = {}
            for one in tried:
                trials.setdefault(one.complaint_id, []).append(one)
            return those_readable(partial(_complaint, row, trials.get(row.id, [])) for row in rows)

    def unreadable(self) -> list[str]:
        """Return a sentence for each complaint, and each trial, that says what none can say."""
        with self._database.reading() as session:
            rows = session.scalars(select(ComplaintRow)).all()
            tried = session.scalars(select(TrialRow)).all()
        return [
            *why_unreadable(partial(_complaint, row, []) for row in rows),
            *why_unreadable(partial(_trial, row) for row in tried),
        ]


def _car_of(session: Session, version_id: int) -> int:
    car_id = session.scalar(
        select(SetupRow.car_id)
        .join(VersionRow, VersionRow.setup_id == SetupRow.id)
        .where(VersionRow.id == version_id)
    )
    if car_id is None:
        raise NotebookMissing(f"There is no version {version_id} of a set-up in the notebook.")
    return car_id


def _complaint_row(session: Session, complaint_id: int) -> ComplaintRow:
    row = session.get(ComplaintRow, complaint_id)
    if row is None:
        raise NotebookMissing(f"There is no complaint {complaint_id} in the notebook.")
    return row


def _complaint(row: ComplaintRow, tried: Iterable[TrialRow]) -> Complaint:
    return made(
        Complaint,
        f'complaint {row.id} "{row.text}"',
        {
            "id": row.id,
            "car_id": row.car_id,
            "version_id": row.version_id,
            "text": row.text,
            "answer": row.answer,
            "note": row.note,
            "trials": those_readable(partial(_trial, one) for one in tried),
            "made": row.made,
            "made_by": row.made_by,
            "deleted": row.deleted,
            "deleted_by": row.deleted_by,
        },
    )


def _trial(row: TrialRow) -> Trial:
    return made(
        Trial,
        f"trial {row.id} of complaint {row.complaint_id}",
        {
            name: getattr(row, name)
            for name in (
                "id",
                "version_id",
                "changes",
                "outcome",
                "note",
                "revision",
                "changed",
                "changed_by",
            )
        },
    )
