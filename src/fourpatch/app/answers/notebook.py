"""The notebook as a whole: where it is, what is in it, its backups, and all of it as one zip."""

import tempfile
from datetime import UTC, datetime
from pathlib import Path

from pydantic import BaseModel, Field

from fourpatch.app.answers.files import TakenFile
from fourpatch.errors import NotebookError
from fourpatch.notebook.merging import Imported
from fourpatch.notebook.notebook import Notebook

LARGEST_ZIP = 100_000_000
"""Bytes of a zip that is taken; the largest notebooks stay far below."""


class Backup(BaseModel):
    """A copy of the notebook, as it was."""

    path: str = Field(description="Its file.")
    made: datetime
    size: int = Field(description="[byte]")


class NotebookState(BaseModel):
    """Where the notebook is, and what is in it."""

    path: str = Field(description="Its file.")
    size: int = Field(description="With what is not yet moved into it from its journal. [byte]")
    cars: int
    setups: int
    tracks: int
    styles: int
    complaints: int
    deleted: int = Field(description="What can be restored.")
    backups: list[Backup] = Field(description="The newest first.")
    without_backup: str = Field(description="Why the backup that was due was not made; empty if all is well.")


def notebook_state(notebook: Notebook) -> NotebookState:
    """Return where a notebook is, and what is in it."""
    cars, gone = notebook.cars.listed(), notebook.cars.deleted()
    setups, complaints = notebook.setups, notebook.complaints
    return NotebookState(
        path=str(notebook.path),
        size=sum(_size(file) for file in (notebook.path, Path(f"{notebook.path}-wal"))),
        cars=len(cars),
        setups=sum(len(setups.listed(car.id)) for car in cars),
        tracks=len(notebook.tracks.listed()),
        styles=len(notebook.styles.listed()),
        complaints=sum(len(complaints.listed(car.id)) for car in cars),
        deleted=len(gone)
        + sum(len(shelf.deleted()) for shelf in (notebook.tracks, notebook.styles))
        + sum(len(setups.deleted(car.id)) + len(complaints.deleted(car.id)) for car in cars),
        backups=[_backup(file) for file in notebook.backups()],
        without_backup=notebook.without_backup,
    )


def back_up_now(notebook: Notebook) -> Backup:
    """Make a backup, and return it.

    Raises
    ------
    NotebookError
        If it cannot be written.
    """
    return _backup(notebook.back_up())


def notebook_zip(notebook: Notebook) -> TakenFile:
    """Return all that is in a notebook as a zip."""
    with tempfile.TemporaryDirectory(prefix="fourpatch-") as folder:
        path = Path(folder) / "notebook.zip"
        notebook.export_all(path)
        content = path.read_bytes()
    return TakenFile(f"fourpatch-{datetime.now(UTC):%Y-%m-%d}.zip", content, "application/zip")


def import_zip(notebook: Notebook, content: bytes, *, by: str) -> Imported:
    """Bring in all that a zip holds and is not here yet; nothing is written over.

    Raises
    ------
    NotebookError, FileError
        If the zip was cut off or changed, is too large, or holds what cannot be meant: nothing was imported.
    """
    if len(content) > LARGEST_ZIP:
        raise NotebookError(f"The zip is larger than {LARGEST_ZIP / 1e6:g} MB, which no notebook's is.")
    with tempfile.TemporaryDirectory(prefix="fourpatch-") as folder:
        path = Path(folder) / "imported.zip"
        path.write_bytes(content)
        return notebook.import_all(path, by=by)


def _backup(file: Path) -> Backup:
    told = file.stat()
    return Backup(path=str(file), made=datetime.fromtimestamp(told.st_mtime, UTC), size=told.st_size)


def _size(file: Path) -> int:
    return file.stat().st_size if file.exists() else 0
