"""A notebook as a whole: opened, made if there is none, brought to the present format."""

import os
from pathlib import Path
from typing import Self

from sqlalchemy import Connection
from sqlalchemy.orm import Session

from fourpatch.car.setup import baseline_setup
from fourpatch.errors import NotebookError
from fourpatch.events.driver_style import DriverStyle
from fourpatch.notebook.admission import check
from fourpatch.notebook.archive import gather
from fourpatch.notebook.backup import back_up, backups, is_due
from fourpatch.notebook.complaints import Complaints
from fourpatch.notebook.database import Database, format_of, migrate, refuse_newer
from fourpatch.notebook.kinds import CAR, LESSON, MEETING, STYLE, TRACK, demo_texts
from fourpatch.notebook.logbook import Logbook
from fourpatch.notebook.merging import Imported, merge
from fourpatch.notebook.place import notebook_path
from fourpatch.notebook.restoring import restore
from fourpatch.notebook.results import Results
from fourpatch.notebook.setups import Setups, add_version, new_setup
from fourpatch.notebook.shelf import Shelf, add_revision, new_document
from fourpatch.notebook.tables import FORMAT
from fourpatch.notebook.zip_file import read_archive, write_archive

MADE_BY = "Fourpatch"
"""Who made what a new notebook holds."""
USUAL_STYLE = "Usual style"


class Notebook:
    """Everything the user makes. For any number of threads; other processes may have it open too."""

    def __init__(self, path: Path) -> None:
        self.path = path
        """The file."""
        self.without_backup = ""
        """Why the backup that was due could not be made; empty if all is well."""
        self._database = Database(path)
        self.cars = Shelf(self._database, CAR)
        self.tracks = Shelf(self._database, TRACK)
        self.styles = Shelf(self._database, STYLE)
        self.meetings = Shelf(self._database, MEETING)
        self.lessons = Shelf(self._database, LESSON)
        self.logbook = Logbook(self._database, self.meetings)
        self.setups = Setups(self._database, self.cars)
        self.complaints = Complaints(self._database)
        self.results = Results(self._database)

    def backups(self) -> list[Path]:
        """Return its backups, the newest first."""
        return backups(self.path)

    def back_up(self) -> Path:
        """Make a backup now, beside it.

        Raises
        ------
        NotebookError
            If it cannot be written.
        """
        return back_up(self.path)

    def unreadable(self) -> list[str]:
        """Return a text for each record that cannot be read; all others are as they were."""
        shelves = (self.cars, self.tracks, self.styles, self.meetings, self.lessons)
        return [
            *(fault for shelf in shelves for fault in shelf.unreadable()),
            *self.setups.unreadable(),
            *self.complaints.unreadable(),
        ]

    def restore(self, backup: Path) -> Path | None:
        """Put a backup in its place, and return where what stood there is kept now.

        What was read from it before is of another notebook: ids may mean something else.

        Raises
        ------
        NotebookError
            If the backup is not sound, or another program has the notebook open: nothing was changed.
        """
        self.close()
        aside = restore(self.path, backup)
        for shelf in (self.cars, self.tracks, self.styles, self.meetings, self.lessons):
            shelf.forget()
        self.bring_up_to_date()
        return aside

    def export_all(self, path: Path) -> list[str]:
        """Write all that is in it to a zip, each thing as a file of the command line, with their histories.

        Returns
        -------
        What was left out because it cannot be read, a sentence each.

        Raises
        ------
        NotebookError
            If it cannot be written.
        """
        with self._database.reading() as session:
            archive, left_out = gather(session)
        write_archive(archive, path)
        return left_out

    def import_all(self, path: Path, *, by: str) -> Imported:
        """Bring in all that a zip holds and is not here yet; nothing is written over.

        Of the same name and other content a second one is made, called "name (imported DATE)".

        Raises
        ------
        NotebookError, FileError
            If the zip was cut off or changed, or holds something that cannot be meant: nothing was imported.
        """
        archive = read_archive(path)
        check(archive)
        with self._database.writing() as session:
            return merge(session, archive, by)

    def close(self) -> None:
        """Let go of the file."""
        self._database.close()

    def __enter__(self) -> Self:
        """Return itself."""
        return self

    def __exit__(self, *_: object) -> None:
        """Let go of the file."""
        self.close()

    def bring_up_to_date(self) -> None:
        """Make what is missing of it, all at once or not at all."""
        with self._database.remaking() as connection:
            found = format_of(self.path)  # again: another process may have been first
            if found == FORMAT:
                return
            migrate(connection)
            if found is None:
                _fill(connection)


def open_notebook(path: str | os.PathLike[str] | None = None) -> Notebook:
    """Open a notebook; make it, with the demo cars and tracks in it, if there is none.

    Parameters
    ----------
    path : its file; without one that of `place.notebook_path`.

    Raises
    ------
    NotebookError
        If the file is no notebook, or one of a newer Fourpatch, or cannot be read and written. It is left as
        it was.
    """
    file = notebook_path(path)
    found = format_of(file)
    if found is None:
        _refuse_lost(file)
        _make_folder(file.parent)
    elif found != FORMAT:
        refuse_newer(file, found)
        back_up(file)
    notebook = Notebook(file)
    try:
        if found != FORMAT:
            notebook.bring_up_to_date()
        elif is_due(file):
            notebook.without_backup = _try_to_back_up(notebook)
    except BaseException:
        notebook.close()
        raise
    return notebook


def _refuse_lost(file: Path) -> None:
    """Refuse to begin anew where there was something."""
    left = backups(file)
    if left and file.exists():
        raise NotebookError(
            f"{file}: is empty, but there are backups of it, the newest {left[0]}. `fourpatch notebook "
            "restore` puts that in its place; or delete the empty file to begin anew."
        )


def _make_folder(folder: Path) -> None:
    try:
        folder.mkdir(parents=True, exist_ok=True)
    except OSError as error:
        raise NotebookError(
            f"{folder}: the folder of the notebook cannot be made: {error.strerror}. Name another file."
        ) from None


def _try_to_back_up(notebook: Notebook) -> str:
    try:
        notebook.back_up()
    except NotebookError as error:
        return str(error)
    return ""


def _fill(connection: Connection) -> None:
    """Put the demo cars, with their baseline set-ups, the demo tracks and the usual style into a notebook."""
    with Session(connection) as session:
        for written in demo_texts("car"):
            car = CAR.read(written, CAR.name)
            document = new_document(session, CAR.name, demo=True)
            add_revision(session, document, 1, written, name=car.name, by=MADE_BY)
            row = new_setup(session, document.id)
            add_version(session, row, baseline_setup(car), car_revision=1, reason="as the car is", by=MADE_BY)
        for written in demo_texts("track"):
            document = new_document(session, TRACK.name, demo=True)
            name = TRACK.named(written, "")[1]
            add_revision(session, document, 1, written, name=name, by=MADE_BY)
        document = new_document(session, STYLE.name, demo=True)
        add_revision(session, document, 1, STYLE.write(DriverStyle()), name=USUAL_STYLE, by=MADE_BY)
        session.flush()
