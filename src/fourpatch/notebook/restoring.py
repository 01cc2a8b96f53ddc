"""A backup put in the place of a notebook; what stood there is kept beside it."""

import shutil
import sqlite3
from contextlib import closing
from datetime import UTC, datetime
from pathlib import Path
from typing import Final

from fourpatch.document.saving import whole_file
from fourpatch.errors import NotebookError
from fourpatch.notebook.backup import TIME, backup_folder, backups, copy_database
from fourpatch.notebook.database import (
    PATIENCE,
    format_of,
    plain_errors,
    primary_code,
    refuse_damaged,
    refuse_newer,
)

_JOURNALS: Final = ("-wal", "-shm", "-journal")
"""What SQLite keeps beside a database; with another database they would spoil it."""
_BEYOND_USE: Final = (sqlite3.SQLITE_NOTADB, sqlite3.SQLITE_CORRUPT)


def newest_sound_backup(path: Path) -> Path:
    """Return the newest backup of a notebook that is whole.

    Raises
    ------
    NotebookError
        If there is none.
    """
    for one in backups(path):
        try:
            refuse_unfit(one)
        except NotebookError:
            continue
        return one
    raise NotebookError(f"{path}: has no sound backup in {backup_folder(path)}. Name the file of one.")


def refuse_unfit(backup: Path) -> None:
    """Refuse a backup that is no notebook of this version or an earlier one, or is damaged.

    Raises
    ------
    NotebookError
        If it is refused.
    """
    found = format_of(backup)
    if found is None:
        raise NotebookError(f"{backup}: there is no notebook in it. `fourpatch notebook path` lists backups.")
    refuse_newer(backup, found)
    refuse_damaged(backup)


def restore(path: Path, backup: Path) -> Path | None:
    """Put a backup in the place of a notebook, and return where what stood there is kept now.

    Raises
    ------
    NotebookError
        If the backup is not sound, or another program has the notebook open: nothing was changed.

    Notes
    -----
    SQLite writes a notebook that it can open as one transaction, journal and all, so that a kill or a full
    disk leaves the one or the other. What it cannot open any more is replaced, and its journal with it.
    """
    if path.exists() and backup.exists() and path.samefile(backup):
        raise NotebookError(f"{backup}: is the notebook itself. Name one of its backups.")
    refuse_unfit(backup)
    try:
        path.parent.mkdir(parents=True, exist_ok=True)
        return _put(path, backup)
    except OSError as error:
        raise NotebookError(
            f"{path}: cannot be restored: {error.strerror}. Make room, check the rights, and try again; what "
            f"stood there is kept there or in {backup_folder(path)}."
        ) from None


def _put(path: Path, backup: Path) -> Path | None:
    if not path.exists():
        _replace(path, backup)
        return None
    aside = backup_folder(path) / f"{path.stem}-before-restore-{datetime.now(UTC).strftime(TIME)}.sqlite"
    aside.parent.mkdir(exist_ok=True)
    try:
        with plain_errors(path):
            _let_go_of_the_journal(path)
            copy_database(path, aside)
            copy_database(backup, path)
    except NotebookError as error:
        if primary_code(error.__cause__) not in _BEYOND_USE:
            raise
        # Not one of SQLite's any more, and nobody has it open who could still use it.
        for ending in ("", *_JOURNALS):
            if (there := Path(f"{path.resolve()}{ending}")).exists():
                shutil.copy2(there, f"{aside}{ending}")
        _replace(path, backup)
    return aside


def _let_go_of_the_journal(path: Path) -> None:
    """Move what is in the journal of a notebook into it: only who has it alone can."""
    with closing(sqlite3.connect(path, timeout=PATIENCE)) as connection:
        try:
            connection.execute("PRAGMA journal_mode = DELETE").fetchone()
        except sqlite3.OperationalError as error:
            if primary_code(error) not in (sqlite3.SQLITE_BUSY, sqlite3.SQLITE_LOCKED):
                raise
            raise NotebookError(
                f"{path}: another program has it open. Close Fourpatch everywhere else, and try again; "
                "nothing was changed."
            ) from None


def _replace(path: Path, backup: Path) -> None:
    with whole_file(path) as unfinished:
        with plain_errors(backup):
            copy_database(backup, unfinished)
        for ending in _JOURNALS:
            Path(f"{path.resolve()}{ending}").unlink(missing_ok=True)
