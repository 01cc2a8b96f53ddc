"""The file of a notebook as a database: opened, refused, written as a whole or not at all.

Every transaction that writes takes the write lock when it begins, so that what it reads cannot change under
it; readers never wait. Once a transaction has ended its changes are on the disk.
"""

import json
import os
import sqlite3
from collections.abc import Iterator
from contextlib import contextmanager
from functools import partial
from pathlib import Path
from typing import Final
from urllib.parse import quote

from sqlalchemy import URL, Connection, Engine, create_engine, event
from sqlalchemy.exc import StatementError
from sqlalchemy.orm import Session

from fourpatch.errors import NotebookError
from fourpatch.notebook.tables import APPLICATION, FORMAT

PATIENCE = 15.0
"""How long to wait for another process to finish writing. [s]"""

_SETTINGS: Final = (
    "PRAGMA journal_mode = WAL",
    "PRAGMA synchronous = FULL",
    "PRAGMA foreign_keys = ON",
)
_MIGRATIONS: Final = Path(__file__).parent / "migrations"


class Database:
    """A notebook's file, for any number of threads; others may have it open too."""

    def __init__(self, path: Path) -> None:
        self.path = path
        self._engine = _engine(path)
        self._writing = self._engine.execution_options(begin="IMMEDIATE")

    @contextmanager
    def reading(self) -> Iterator[Session]:
        """Give a session that sees the notebook as it is now, whatever is written meanwhile."""
        with plain_errors(self.path), Session(self._engine) as session:
            yield session

    @contextmanager
    def writing(self) -> Iterator[Session]:
        """Give a session whose changes are kept together when it ends, or not at all."""
        with plain_errors(self.path), Session(self._writing, expire_on_commit=False) as session:
            with session.begin():
                yield session

    @contextmanager
    def remaking(self) -> Iterator[Connection]:
        """Give a connection that may change tables, all at once or not at all."""
        with plain_errors(self.path), self._writing.begin() as connection:
            yield connection

    def close(self) -> None:
        """Let go of the file."""
        self._engine.dispose()


def _engine(path: Path) -> Engine:
    engine = create_engine(
        URL.create("sqlite", database=str(path)),
        connect_args={"timeout": PATIENCE, "check_same_thread": False},
        json_serializer=partial(json.dumps, allow_nan=False, ensure_ascii=False),
        json_deserializer=_loads,
    )

    @event.listens_for(engine, "connect")
    def _set_up(connection: sqlite3.Connection, record: object) -> None:
        connection.isolation_level = None  # transactions begin where `_begin` says so, and nowhere else
        for setting in _SETTINGS:
            connection.execute(setting)

    @event.listens_for(engine, "begin")
    def _begin(connection: Connection) -> None:
        kind = connection.get_execution_options().get("begin", "DEFERRED")
        connection.exec_driver_sql(f"BEGIN {kind}")

    return engine


def _loads(text: str | bytes) -> object:
    """Read JSON; what is none as nothing, so that only the record it belongs to is unreadable."""
    try:
        return json.loads(text)
    except (ValueError, RecursionError):
        return None


def format_of(path: Path) -> str | None:
    """Return the format of the notebook in a file; None where there is none yet. The file is not touched.

    Raises
    ------
    NotebookError
        If the file is no notebook, or cannot be read.
    """
    if path.is_dir():
        raise NotebookError(f"{path}: is a folder. Name a file in it for the notebook.")
    try:
        size = path.stat().st_size
    except FileNotFoundError:
        return None
    except OSError as error:
        raise NotebookError(f"{path}: the notebook cannot be read: {error.strerror}.") from None
    if not size:
        return None
    # Only SQLite itself may open the file: whoever closes it otherwise lets go of all locks that this process
    # has on it, and the next process takes the journal away under us.
    with plain_errors(path), _looking(path) as connection:
        return _format(path, connection)


@contextmanager
def _looking(path: Path) -> Iterator[sqlite3.Connection]:
    connection = sqlite3.connect(f"{_uri(path)}?mode=ro", uri=True, timeout=PATIENCE)
    try:
        yield connection
    finally:
        connection.close()


def _uri(path: Path) -> str:
    """Return a file's address for SQLite, which knows no servers in one: a share's stands in the path."""
    place = path.absolute().as_posix()
    return f"file://{quote(os.fsencode(place if place.startswith('/') else f'/{place}'))}"


def _format(path: Path, connection: sqlite3.Connection) -> str | None:
    try:
        (tables,) = connection.execute("SELECT count(*) FROM sqlite_master").fetchone()
    except sqlite3.DatabaseError as error:
        if primary_code(error) != sqlite3.SQLITE_NOTADB:
            raise
        raise NotebookError(
            f"{path}: is not a notebook, or is damaged from its first bytes on, and was left as it is. "
            f"{_RESTORE}; or name another file for the notebook."
        ) from None
    if not tables:
        return None
    (application,) = connection.execute("PRAGMA application_id").fetchone()
    if application != APPLICATION:
        raise NotebookError(
            f"{path}: is the database of another program, and was left as it is. Name another file for the "
            "notebook."
        )
    (reached,) = connection.execute("SELECT version_num FROM alembic_version").fetchone()
    return str(reached)


def refuse_damaged(path: Path, named: Path | None = None) -> None:
    """Refuse a database that is not whole.

    Parameters
    ----------
    named : what it is a copy of, if the message should name that.

    Raises
    ------
    NotebookError
        If a page, an index or a link of it is not what it should be.
    """
    with plain_errors(named or path), _looking(path) as connection:
        found = [str(row[0]) for row in connection.execute("PRAGMA integrity_check(1)") if row[0] != "ok"]
        broken = connection.execute("PRAGMA foreign_key_check").fetchone()
    if found or broken:
        what = found[0].splitlines()[-1] if found else f"a row of {broken[0]} belongs to what is not there"
        raise NotebookError(f"{named or path}: is damaged: {what}. {_RESTORE}.")


def refuse_newer(path: Path, found: str) -> None:
    """Refuse a notebook of a format that this version does not know.

    Raises
    ------
    NotebookError
        If it is one.
    """
    if found > FORMAT:
        raise NotebookError(
            f"{path}: was written by a newer Fourpatch (format {found}; this one reads up to {FORMAT}), and "
            "was left as it is. Install the newer Fourpatch, or name another file for the notebook."
        )


def migrate(connection: Connection) -> None:
    """Bring a notebook, or an empty file, to this version's format."""
    from alembic import command
    from alembic.config import Config

    config = Config(attributes={"connection": connection})
    config.set_main_option("script_location", str(_MIGRATIONS).replace("%", "%%"))
    connection.exec_driver_sql(f"PRAGMA application_id = {APPLICATION}")
    command.upgrade(config, FORMAT)


@contextmanager
def plain_errors(path: Path) -> Iterator[None]:
    """Say in plain words what keeps a notebook from being read or written."""
    try:
        yield
    except StatementError as error:
        raise _in_plain_words(path, error.orig) from error
    except (sqlite3.Error, ValueError, OverflowError) as error:
        raise _in_plain_words(path, error) from error


_RIGHTS: Final = "Check the rights of file and folder, or name another file"
_RESTORE: Final = (
    "`fourpatch notebook restore` puts its newest sound backup in its place, and keeps what stands there"
)
_WORDS: Final = {
    sqlite3.SQLITE_FULL: "there is no room left for it. Make room; what was kept before is safe",
    sqlite3.SQLITE_READONLY: f"it may not be written. {_RIGHTS}",
    sqlite3.SQLITE_CANTOPEN: f"it cannot be opened. {_RIGHTS}",
    sqlite3.SQLITE_PERM: f"it may not be opened. {_RIGHTS}",
    sqlite3.SQLITE_BUSY: f"another program has been writing to it for {PATIENCE:.0f} s. Try again",
    sqlite3.SQLITE_IOERR: f"the disk refused to read or write it. Check the disk. {_RESTORE}",
    sqlite3.SQLITE_CORRUPT: f"it is damaged. {_RESTORE}",
    sqlite3.SQLITE_NOTADB: f"it is not a notebook, or is damaged. {_RESTORE}",
}
"""By the primary result code of SQLite."""


def _in_plain_words(path: Path, error: object) -> NotebookError:
    if isinstance(error, ValueError | OverflowError):  # half a sign, NaN in JSON, an id beyond all
        return NotebookError(f"No notebook can hold this: {error}. Put it right and try again.")
    words = _WORDS.get(primary_code(error))
    return NotebookError(f"{path}: {words or f'the notebook cannot be used: {error}'}.")


def primary_code(error: object) -> int:
    """Return the primary result code of SQLite behind an error; 0 if there is none."""
    code = getattr(error, "sqlite_errorcode", None)
    return code & 0xFF if isinstance(code, int) else 0
