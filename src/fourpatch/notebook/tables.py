"""The tables of a notebook. The migrations make them; a test compares the two."""

from datetime import UTC, datetime
from typing import Any, Final

from sqlalchemy import JSON, Dialect, ForeignKey, Text, TypeDecorator, UniqueConstraint
from sqlalchemy.orm import DeclarativeBase, Mapped, mapped_column

FORMAT: Final = "0002"
"""The migration that a notebook of this version has reached."""
APPLICATION: Final = 0x34504348
"""In the header of the file, so that no other program's file is taken for a notebook."""

YEARS: Final = range(1971, 9999)
"""In which something can have been made: beyond, no clock shows it in every zone of time."""
UNKNOWN_TIME: Final = datetime(1970, 1, 1, tzinfo=UTC)


class UtcTime(TypeDecorator[datetime]):
    """A moment, kept as ISO 8601 text in UTC: sorts as text, and any program can read it."""

    impl = Text
    cache_ok = True

    def process_bind_param(self, value: datetime | None, dialect: Dialect) -> str | None:
        """Write a moment."""
        return None if value is None else value.astimezone(UTC).isoformat(timespec="microseconds")

    def process_result_value(self, value: str | None, dialect: Dialect) -> datetime | None:
        """Read a moment; one that no clock can show as `UNKNOWN_TIME`: the rest of its record is shown."""
        if value is None:
            return None
        try:
            read = datetime.fromisoformat(value)
        except (TypeError, ValueError):
            return UNKNOWN_TIME
        return read if read.tzinfo is not None and read.year in YEARS else UNKNOWN_TIME


class Table(DeclarativeBase):
    """Base of all tables."""

    type_annotation_map = {datetime: UtcTime, str: Text, dict[str, Any]: JSON}  # noqa: RUF012


_NEVER_AGAIN: Final = {"sqlite_autoincrement": True}
"""A number once given is never given again, so that an old link cannot lead to something else."""


class DocumentRow(Table):
    """A car, a track, a driver's style or a meeting; what it says is in its revisions."""

    __tablename__ = "document"
    __table_args__ = _NEVER_AGAIN

    id: Mapped[int] = mapped_column(primary_key=True)
    kind: Mapped[str] = mapped_column(index=True)
    demo: Mapped[bool]
    deleted: Mapped[datetime | None]
    deleted_by: Mapped[str | None]


class RevisionRow(Table):
    """What a document said from one change to the next: the text of its file, and of those beside it.

    The one of the highest number is what it says now.
    """

    __tablename__ = "revision"

    document_id: Mapped[int] = mapped_column(ForeignKey("document.id"), primary_key=True)
    revision: Mapped[int] = mapped_column(primary_key=True)
    name: Mapped[str]
    text: Mapped[str]
    beside: Mapped[dict[str, Any]]
    changed: Mapped[datetime]
    changed_by: Mapped[str]


class SetupRow(Table):
    """A set-up of a car as a line of versions; the one of the highest number, its head, is what it is now."""

    __tablename__ = "setup"
    __table_args__ = _NEVER_AGAIN

    id: Mapped[int] = mapped_column(primary_key=True)
    car_id: Mapped[int] = mapped_column(ForeignKey("document.id"), index=True)
    deleted: Mapped[datetime | None]
    deleted_by: Mapped[str | None]


class VersionRow(Table):
    """A set-up as it was from one change to the next. Never changed once written."""

    __tablename__ = "version"
    __table_args__ = _NEVER_AGAIN

    id: Mapped[int] = mapped_column(primary_key=True)
    setup_id: Mapped[int] = mapped_column(ForeignKey("setup.id"), index=True)
    parent_id: Mapped[int | None] = mapped_column(ForeignKey("version.id"))
    source_id: Mapped[int | None] = mapped_column(ForeignKey("version.id"))
    car_revision: Mapped[int]
    name: Mapped[str]
    note: Mapped[str]
    values: Mapped[dict[str, Any]]
    reason: Mapped[str]
    made: Mapped[datetime]
    made_by: Mapped[str]


class ComplaintRow(Table):
    """What a driver said of a car with a set-up, and what was answered."""

    __tablename__ = "complaint"
    __table_args__ = _NEVER_AGAIN

    id: Mapped[int] = mapped_column(primary_key=True)
    car_id: Mapped[int] = mapped_column(ForeignKey("document.id"), index=True)
    version_id: Mapped[int] = mapped_column(ForeignKey("version.id"))
    text: Mapped[str]
    answer: Mapped[dict[str, Any]]
    note: Mapped[str]
    made: Mapped[datetime]
    made_by: Mapped[str]
    deleted: Mapped[datetime | None]
    deleted_by: Mapped[str | None]


class TrialRow(Table):
    """A set of changes that was tried against a complaint, and what came of it."""

    __tablename__ = "trial"
    __table_args__ = _NEVER_AGAIN

    id: Mapped[int] = mapped_column(primary_key=True)
    complaint_id: Mapped[int] = mapped_column(ForeignKey("complaint.id"), index=True)
    version_id: Mapped[int | None] = mapped_column(ForeignKey("version.id"))
    changes: Mapped[dict[str, Any]]
    outcome: Mapped[str]
    note: Mapped[str]
    revision: Mapped[int]
    changed: Mapped[datetime]
    changed_by: Mapped[str]


class ResultRow(Table):
    """An answer that took long to compute, kept so that a reload finds it; the oldest go."""

    __tablename__ = "result"
    __table_args__ = (UniqueConstraint("kind", "digest"),)

    id: Mapped[int] = mapped_column(primary_key=True)
    kind: Mapped[str]
    digest: Mapped[str]
    result: Mapped[dict[str, Any]]
    made: Mapped[datetime]
