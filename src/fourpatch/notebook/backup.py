"""Copies of a notebook beside it, made before anything could go wrong with it; the oldest go."""

import os
import sqlite3
from contextlib import closing, suppress
from datetime import UTC, datetime, timedelta
from pathlib import Path
from typing import Final

from fourpatch.errors import NotebookError
from fourpatch.notebook.database import PATIENCE, plain_errors

MOST: Final = 10
"""Backups kept."""
EVERY: Final = timedelta(days=1)

_TIME: Final = "%Y%m%dT%H%M%S%fZ"


def backup_folder(path: Path) -> Path:
    """Return where the backups of a notebook lie."""
    return path.with_name(f"{path.stem}-backups")


def backups(path: Path) -> list[Path]:
    """Return the backups of a notebook, the newest first."""
    made = [file for file in backup_folder(path).glob("*.sqlite") if _made(path, file) is not None]
    return sorted(made, key=lambda file: file.name, reverse=True)


def back_up(path: Path) -> Path:
    """Make a backup of a notebook, with all that is committed by now, and let the oldest go.

    Raises
    ------
    NotebookError
        If it cannot be written.
    """
    folder = backup_folder(path)
    target = folder / f"{path.stem}-{datetime.now(UTC).strftime(_TIME)}.sqlite"
    unfinished = target.with_suffix(".unfinished")
    try:
        folder.mkdir(exist_ok=True)
        with plain_errors(path):
            _copy(path, unfinished)
        os.replace(unfinished, target)
        for old in backups(path)[MOST:]:
            old.unlink(missing_ok=True)
    except (OSError, NotebookError) as error:
        with suppress(OSError):
            unfinished.unlink()
        why = error.strerror if isinstance(error, OSError) else str(error)
        raise NotebookError(
            f"{target}: the backup cannot be written: {why}. Make room, and check the rights."
        ) from None
    return target


def is_due(path: Path) -> bool:
    """Say whether the newest backup of a notebook is old enough for another."""
    newest = next(iter(backups(path)), None)
    made = _made(path, newest) if newest else None
    return made is None or datetime.now(UTC) - made >= EVERY


def _made(path: Path, file: Path) -> datetime | None:
    try:
        return datetime.strptime(file.stem.removeprefix(f"{path.stem}-"), _TIME).replace(tzinfo=UTC)
    except ValueError:
        return None


def _copy(path: Path, target: Path) -> None:
    with (
        closing(sqlite3.connect(path, timeout=PATIENCE)) as source,
        closing(sqlite3.connect(target)) as copy,
    ):
        source.backup(copy)
        copy.execute("PRAGMA journal_mode = DELETE")  # one file, to be moved as one
