"""Race meetings and test days: their timeline, search over all that is written, what to take along."""

import re
import tomllib
from collections.abc import Sequence
from typing import Final, Literal, cast, get_args

from sqlalchemy import ColumnElement, and_, func, select
from sqlalchemy.orm import InstrumentedAttribute, Session

from fourpatch.document.part import Part
from fourpatch.errors import FourpatchError
from fourpatch.notebook.database import Database
from fourpatch.notebook.kinds import KindName
from fourpatch.notebook.shelf import Shelf
from fourpatch.notebook.tables import ComplaintRow, DocumentRow, RevisionRow, SetupRow, VersionRow
from fourpatch.recording.meeting import Meeting
from fourpatch.recording.meeting_file import lines_with

MOST_FOUND: Final = 30
"""Of each kind."""


class MeetingLine(Part):
    """A meeting in the timeline."""

    id: int
    revision: int
    name: str
    date: str
    track: str
    car: str
    driver: str
    next_time: str


class FoundText(Part):
    """Something in which all words stand."""

    kind: Literal["meeting", "set-up", "complaint", "car", "track", "style"]
    id: int
    """Of the meeting, set-up, complaint or document."""
    name: str
    lines: list[str]
    """Where the words stand; at most a few."""


class TakeAlong(Part):
    """What an earlier meeting says to the next."""

    meeting: MeetingLine
    why: str
    """Same track, same car, or both."""
    tried: list[str]
    """What was tried and what came of it."""
    setup: str
    """The set-up of its last run."""


_LINES: Final = 4


class Logbook:
    """The meetings of a notebook."""

    def __init__(self, database: Database, shelf: Shelf[Meeting]) -> None:
        self._database, self._shelf = database, shelf

    def timeline(self) -> list[MeetingLine]:
        """Return all meetings, the latest first; without a date last."""
        with self._database.reading() as session:
            rows = session.execute(
                select(RevisionRow.document_id, RevisionRow.revision, RevisionRow.name, _HEAD)
                .join(DocumentRow, DocumentRow.id == RevisionRow.document_id)
                .where(DocumentRow.kind == self._shelf.kind.name, DocumentRow.deleted.is_(None), _NEWEST)
            ).all()
        lines = [_line(id, revision, name, head) for id, revision, name, head in rows]
        return sorted(lines, key=lambda one: (one.date, one.id), reverse=True)

    def search(self, words: str) -> list[FoundText]:
        """Return what holds all words: meetings first, then set-ups, complaints, cars, tracks and styles.

        Notes
        -----
        Capitals are alike to small letters in ASCII, as SQLite compares them; of a meeting in every script
        once it is found. What is deleted is left out.
        """
        wanted = words.split()
        if not wanted:
            return []
        with self._database.reading() as session:
            meetings = self._documents(session, wanted, meetings=True)
            return [
                *(found for row, _ in meetings if (found := _meeting(row, wanted)) is not None),
                *_setups(session, wanted),
                *_complaints(session, wanted),
                *(
                    FoundText(kind=kind, id=row.document_id, name=row.name, lines=[])
                    for row, kind in self._documents(session, wanted, meetings=False)
                ),
            ]

    def take_along(self, *, track: str = "", car: str = "") -> list[TakeAlong]:
        """Return what earlier meetings at this track or with this car say to the next, the closest first."""
        alike = [
            (
                bool(track) and one.track.casefold() == track.casefold(),
                bool(car) and one.car.casefold() == car.casefold(),
                one,
            )
            for one in self.timeline()
        ]
        fitting = sorted((one for one in alike if one[0] or one[1]), key=lambda one: -(2 * one[0] + one[1]))
        return [
            self._take(line, same_track, same_car) for same_track, same_car, line in fitting[:_MOST_TAKEN]
        ]

    def _take(self, line: MeetingLine, same_track: bool, same_car: bool) -> TakeAlong:
        why = " and ".join(word for word, yes in (("same track", same_track), ("same car", same_car)) if yes)
        try:
            meeting = self._shelf.read(line.id, line.revision)
        except FourpatchError:
            return TakeAlong(meeting=line, why=why, tried=[], setup="")
        runs = list(meeting.runs())
        return TakeAlong(
            meeting=line,
            why=why,
            tried=[f"{one.run.tried}: {one.run.outcome or 'open'}" for one in runs if one.run.tried],
            setup=runs[-1].run.setup if runs else "",
        )

    def _documents(
        self, session: Session, wanted: Sequence[str], *, meetings: bool
    ) -> Sequence[tuple[RevisionRow, KindName]]:
        """Return the newest revisions in which all words stand, and what they are of."""
        kind = DocumentRow.kind == self._shelf.kind.name
        found = session.execute(
            select(RevisionRow.document_id, RevisionRow.revision, DocumentRow.kind)
            .join(DocumentRow, DocumentRow.id == RevisionRow.document_id)
            .where(
                kind if meetings else ~kind & DocumentRow.kind.in_(get_args(KindName)),
                DocumentRow.deleted.is_(None),
                _NEWEST,
                _all_in(wanted, (RevisionRow.text,) if meetings else (RevisionRow.name,)),
            )
            .order_by(RevisionRow.document_id.desc())
            .limit(MOST_FOUND)
        ).all()
        rows = [(session.get_one(RevisionRow, (id, revision)), of) for id, revision, of in found]
        return [(row, cast("KindName", of)) for row, of in rows]


def _meeting(row: RevisionRow, wanted: Sequence[str]) -> FoundText | None:
    lines = lines_with(row.text, wanted)
    return (
        FoundText(kind="meeting", id=row.document_id, name=row.name, lines=lines[:_LINES]) if lines else None
    )


_MOST_TAKEN: Final = 5
_HEAD: Final = func.substr(RevisionRow.text, 1, func.instr(RevisionRow.text + "\n[", "\n["))
"""Of a meeting's text: what stands before its sessions."""
_Other = RevisionRow.__table__.alias("other")
_NEWEST: Final = RevisionRow.revision == (
    select(func.max(_Other.c.revision))
    .where(_Other.c.document_id == RevisionRow.document_id)
    .scalar_subquery()
)


_PLAIN: Final = re.compile(r'(\w+) = "([^"\\]*)"')
"""A line that says a text without an escape, as nearly all do: read a hundred times as fast as TOML."""


def _line(id: int, revision: int, name: str, head: str) -> MeetingLine:
    told: dict[str, str] = {}
    for line in head.splitlines():
        plain = _PLAIN.fullmatch(line)
        if plain is None:
            told = _read(head)
            break
        told[plain[1]] = plain[2]
    said = {key: told.get(key, "") for key in ("date", "track", "car", "driver", "next_time")}
    return MeetingLine(id=id, revision=revision, name=name, **said)


def _read(head: str) -> dict[str, str]:
    try:
        return {key: str(value) for key, value in tomllib.loads(head).items()}
    except tomllib.TOMLDecodeError:
        return {}


def _all_in(wanted: Sequence[str], columns: Sequence[InstrumentedAttribute[str]]) -> ColumnElement[bool]:
    whole = columns[0] + ""
    for column in columns[1:]:
        whole = whole + "\n" + column
    return and_(*(whole.contains(word, autoescape=True) for word in wanted))


def _setups(session: Session, wanted: Sequence[str]) -> list[FoundText]:
    heads = select(func.max(VersionRow.id)).group_by(VersionRow.setup_id)
    rows = session.execute(
        select(VersionRow.setup_id, VersionRow.name, VersionRow.note)
        .join(SetupRow, SetupRow.id == VersionRow.setup_id)
        .where(
            SetupRow.deleted.is_(None),
            VersionRow.id.in_(heads),
            _all_in(wanted, (VersionRow.name, VersionRow.note)),
        )
        .order_by(VersionRow.id.desc())
        .limit(MOST_FOUND)
    )
    return [
        FoundText(kind="set-up", id=id, name=name, lines=[note] if note else []) for id, name, note in rows
    ]


def _complaints(session: Session, wanted: Sequence[str]) -> list[FoundText]:
    rows = session.execute(
        select(ComplaintRow.id, ComplaintRow.text, ComplaintRow.note)
        .where(ComplaintRow.deleted.is_(None), _all_in(wanted, (ComplaintRow.text, ComplaintRow.note)))
        .order_by(ComplaintRow.id.desc())
        .limit(MOST_FOUND)
    )
    return [
        FoundText(kind="complaint", id=id, name=text, lines=[note] if note else []) for id, text, note in rows
    ]
