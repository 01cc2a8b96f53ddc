"""Copies of a notebook beside it, made before anything could go wrong; old ones are thinned by age."""

import os
import sqlite3
from collections.abc import Callable, Sequence
from contextlib import closing, suppress
from datetime import UTC, datetime, timedelta
from pathlib import Path
from typing import Final

from fourpatch.errors import NotebookError
from fourpatch.notebook.database import PATIENCE, plain_errors, refuse_damaged

EVERY: Final = timedelta(days=1)

NEWEST: Final = 5
"""Backups kept whatever their age."""
_SPANS: Final[Sequence[tuple[Callable[[datetime], object], int]]] = (
    (lambda made: made.date(), 7),
    (lambda made: made.isocalendar()[:2], 4),
    (lambda made: (made.year, made.month), 6),
)
"""Of each of the latest days, weeks and months that have a backup the last one is kept too: how many."""
MOST: Final = NEWEST + sum(many for _, many in _SPANS)
"""Backups kept."""

TIME: Final = "%Y%m%dT%H%M%S%fZ"
"""When something was kept, in the name of its file: sorts as text."""


def backup_folder(path: Path) -> Path:
    """Return where the backups of a notebook lie."""
    return path.with_name(f"{path.stem}-backups")


def backups(path: Path) -> list[Path]:
    """Return the backups of a notebook, the newest first."""
    made = [file for file in backup_folder(path).glob("*.sqlite") if _made(path, file) is not None]
    return sorted(made, key=lambda file: file.name, reverse=True)


def back_up(path: Path) -> Path:
    """Make a backup of a notebook, with all that is committed by now, and thin the old ones.

    Raises
    ------
    NotebookError
        If it cannot be written, or the notebook is damaged: then all that are there are kept.
    """
    folder = backup_folder(path)
    target = folder / f"{path.stem}-{datetime.now(UTC).strftime(TIME)}.sqlite"
    unfinished = target.with_suffix(".unfinished")
    try:
        folder.mkdir(exist_ok=True)
        with plain_errors(path):
            copy_database(path, unfinished)
            refuse_damaged(unfinished, path)
        os.replace(unfinished, target)
        _thin(path)
    except NotebookError as error:
        with suppress(OSError):
            unfinished.unlink()
        raise NotebookError(f"No backup was made. {error}") from None
    except OSError as error:
        with suppress(OSError):
            unfinished.unlink()
        raise NotebookError(
            f"{target}: the backup cannot be written: {error.strerror}. Make room, and check the rights."
        ) from None
    return target


def is_due(path: Path) -> bool:
    """Say whether the newest backup of a notebook is old enough for another."""
    newest = next(iter(backups(path)), None)
    made = _made(path, newest) if newest else None
    return made is None or datetime.now(UTC) - made >= EVERY


def kept(made: Sequence[datetime]) -> set[datetime]:
    """Return which backups are kept, by when they were made.

    Notes
    -----
    Many of one hour leave those of earlier days alone; days without one do not count.
    """
    latest_first = sorted(made, reverse=True)
    keep = set(latest_first[:NEWEST])
    for span, many in _SPANS:
        last = {span(one): one for one in reversed(latest_first)}
        keep.update(sorted(last.values(), reverse=True)[:many])
    return keep


def _thin(path: Path) -> None:
    times = {file: made for file in backups(path) if (made := _made(path, file)) is not None}
    keep = kept(list(times.values()))
    for file, made in times.items():
        if made not in keep:
            file.unlink(missing_ok=True)


def _made(path: Path, file: Path) -> datetime | None:
    try:
        return datetime.strptime(file.stem.removeprefix(f"{path.stem}-"), TIME).replace(tzinfo=UTC)
    except ValueError:
        return None


def copy_database(path: Path, target: Path) -> None:
    """Copy a notebook, with all that is committed by now, to one file that can be moved as one.

    Raises
    ------
    sqlite3.Error
        If one cannot be read or the other written.
    """
    with (
        closing(sqlite3.connect(path, timeout=PATIENCE)) as source,
        closing(sqlite3.connect(target)) as copy,
    ):
        source.backup(copy)
        copy.execute("PRAGMA journal_mode = DELETE")
