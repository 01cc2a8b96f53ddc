"""A notebook is made, found, migrated; what is none is refused and left as it was."""

import os
import shutil
import sqlite3
import subprocess
import sys
from contextlib import closing
from pathlib import Path

import pytest
from alembic.autogenerate import compare_metadata
from alembic.config import Config
from alembic.migration import MigrationContext
from alembic.script import ScriptDirectory
from sqlalchemy import create_engine

from fourpatch.car.demo import demo_car, demo_names
from fourpatch.car.setup import baseline_setup
from fourpatch.errors import NotebookError
from fourpatch.events.driver_style import DriverStyle
from fourpatch.notebook import database, migrations
from fourpatch.notebook.notebook import Notebook, open_notebook
from fourpatch.notebook.place import VARIABLE, notebook_path
from fourpatch.notebook.tables import FORMAT, Table
from fourpatch.track.demo import demo_track, demo_track_names


def test_a_new_notebook_holds_the_demos_with_their_baselines(notebook: Notebook) -> None:
    cars = {one.name: one for one in notebook.cars.listed()}
    assert set(cars) == {demo_car(name).name for name in demo_names()}
    for name in demo_names():
        car = demo_car(name)
        entry = cars[car.name]
        assert entry.demo
        assert "nvented" in notebook.cars.read(entry.id).note
        assert notebook.cars.read(entry.id) == car
        (setup,) = notebook.setups.listed(entry.id)
        assert notebook.setups.opened(setup.head.id).setup == baseline_setup(car)
    tracks = notebook.tracks.listed()
    assert all(one.demo for one in tracks)
    assert {one.name for one in tracks} == {demo_track(name).name for name in demo_track_names()}
    (style,) = notebook.styles.listed()
    assert notebook.styles.read(style.id) == DriverStyle()


def test_the_chosen_file_comes_first_then_the_environments_then_the_users_own(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    monkeypatch.setenv(VARIABLE, str(tmp_path / "mine.sqlite"))
    assert notebook_path(tmp_path / "ours.sqlite") == tmp_path / "ours.sqlite"
    assert notebook_path() == tmp_path / "mine.sqlite"
    monkeypatch.delenv(VARIABLE)
    assert notebook_path().name == "notebook.sqlite"
    assert "fourpatch" in str(notebook_path())


def test_its_folder_is_made_and_its_name_may_be_in_any_script(tmp_path: Path) -> None:
    path = tmp_path / "Größe Ω 走行" / "tief % drin" / "Heft #1 ü?.sqlite"
    open_notebook(path).close()
    with open_notebook(path) as again:
        assert len(again.cars.listed()) == len(demo_names())


def test_opened_again_it_is_what_it_was(notebook: Notebook, file: Path) -> None:
    style = notebook.styles.add(DriverStyle(preview=0.7), name="quick hands", by="window 1")
    notebook.close()
    with open_notebook(file) as again:
        assert again.styles.get(style.id).entry == style
        assert again.styles.read(style.id).preview == 0.7


def test_the_migrations_make_the_tables_of_the_code(file: Path) -> None:
    engine = create_engine(f"sqlite:///{file}")
    with engine.connect() as connection:
        context = MigrationContext.configure(connection, opts={"compare_type": False})
        assert compare_metadata(context, Table.metadata) == []
        assert context.get_current_revision() == FORMAT
    engine.dispose()
    config = Config()
    config.set_main_option("script_location", str(Path(migrations.__file__).parent))
    assert ScriptDirectory.from_config(config).get_current_head() == FORMAT


def test_commits_are_on_the_disk_and_links_are_kept_whole(notebook: Notebook) -> None:
    # SQLite's manual, pragma: 2 is FULL; in WAL mode it synchronises the log after each transaction.
    with notebook._database.reading() as session:
        said = {
            name: session.connection().exec_driver_sql(f"PRAGMA {name}").scalar()
            for name in ("journal_mode", "synchronous", "foreign_keys")
        }
    assert said == {"journal_mode": "wal", "synchronous": 2, "foreign_keys": 1}


def refused_and_untouched(path: Path) -> str:
    """Return the refusal of a file that must stay what it was."""
    before = path.read_bytes()
    with pytest.raises(NotebookError) as refusal:
        open_notebook(path)
    assert path.read_bytes() == before
    assert str(path) in str(refusal.value)
    return str(refusal.value)


def test_a_newer_notebook_is_refused(file: Path) -> None:
    with closing(sqlite3.connect(file)) as connection, connection:
        connection.execute("PRAGMA journal_mode = DELETE")
        connection.execute("UPDATE alembic_version SET version_num = '0942'")
    text = refused_and_untouched(file)
    assert "0942" in text
    assert FORMAT in text
    assert "newer Fourpatch" in text


@pytest.mark.parametrize("content", [bytes(5000), b"name = 'a car'\n", b"SQLite format 2\x00" + b"x" * 4000])
def test_a_file_of_something_else_is_refused(tmp_path: Path, content: bytes) -> None:
    path = tmp_path / "notebook.sqlite"
    path.write_bytes(content)
    assert "is not a notebook" in refused_and_untouched(path)


def test_a_database_of_another_program_is_refused(tmp_path: Path) -> None:
    path = tmp_path / "notebook.sqlite"
    with closing(sqlite3.connect(path)) as connection, connection:
        connection.execute("CREATE TABLE recipe (id INTEGER)")
    assert "another program" in refused_and_untouched(path)


@pytest.mark.parametrize("kept", [40, 1000, 5000, 50_000])
def test_a_notebook_cut_off_is_refused(file: Path, kept: int) -> None:
    file.write_bytes(file.read_bytes()[:kept])
    assert "damaged" in refused_and_untouched(file)


def test_a_folder_is_refused(tmp_path: Path) -> None:
    with pytest.raises(NotebookError, match="is a folder"):
        open_notebook(tmp_path)


def test_an_empty_file_becomes_a_notebook(tmp_path: Path) -> None:
    path = tmp_path / "notebook.sqlite"
    path.touch()  # what a process leaves that was killed while it made one
    with open_notebook(path) as made:
        assert made.cars.listed()


def test_an_empty_file_with_backups_is_refused(notebook: Notebook, file: Path) -> None:
    made = notebook.back_up()
    notebook.close()
    file.write_bytes(b"")
    assert str(made) in refused_and_untouched(file)


@pytest.mark.skipif(sys.platform != "linux", reason="needs a folder in which nobody may write")
def test_a_place_that_may_not_be_written_is_refused() -> None:
    with pytest.raises(NotebookError, match=r"/proc/.*cannot be made"):
        open_notebook("/proc/fourpatch/notebook.sqlite")
    with pytest.raises(NotebookError, match=r"cannot be opened. Check the rights"):
        open_notebook("/proc/notebook.sqlite")


def test_a_full_disk_is_said_and_nothing_is_half_kept(file: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    # max_page_count makes SQLite behave as on a full disk (result code SQLITE_FULL).
    monkeypatch.setattr(database, "_SETTINGS", (*database._SETTINGS, "PRAGMA max_page_count = 1"))
    with open_notebook(file) as full:
        car = full.cars.listed()[0]
        kept = [car]

        def rename() -> None:  # until the free pages of the file are used up
            for _ in range(20):
                revision = kept[-1].revision
                kept.append(full.cars.rename(car.id, f"{revision}", revision=revision, by="window 1"))

        with pytest.raises(NotebookError, match="no room left"):
            rename()
        assert full.cars.history(car.id)[::-1] == kept


MAKERS = """
import os, sys
from fourpatch.notebook.notebook import open_notebook

makers = []
for _ in range(4):
    makers.append(os.fork())
    if not makers[-1]:
        with open_notebook(sys.argv[1]) as notebook:
            os._exit(len(notebook.cars.listed()))
print([os.waitstatus_to_exitcode(os.waitpid(maker, 0)[1]) for maker in makers])
"""


@pytest.mark.skipif(not hasattr(os, "fork"), reason="needs processes that start at once")
def test_four_processes_that_start_at_once_make_one_notebook(tmp_path: Path) -> None:
    command = [sys.executable, "-c", MAKERS, str(tmp_path / "notebook.sqlite")]
    made = subprocess.run(command, capture_output=True, text=True, timeout=120)
    assert made.stderr == ""
    assert made.stdout == "[4, 4, 4, 4]\n"


def names_seen_by_another_process(file: Path) -> list[str]:
    """Return the names of all that a notebook holds; the other process opens its file and closes it."""
    script = (
        "import sqlite3, sys; connection = sqlite3.connect(sys.argv[1]); "
        "print(*(row[0] for row in connection.execute('SELECT name FROM revision')), sep='\\n'); "
        "connection.close()"
    )
    said = subprocess.run([sys.executable, "-c", script, str(file)], capture_output=True, check=True)
    return said.stdout.decode().splitlines()


@pytest.mark.parametrize("made", ["now", "before"])
def test_what_is_kept_after_another_process_left_is_kept(tmp_path: Path, filled: Path, made: str) -> None:
    # How to corrupt an SQLite database, 2.2: closing a file that SQLite has open lets go of this process's
    # locks, and who leaves next takes the journal away; what is written into that later is lost.
    file = tmp_path / "notebook.sqlite"
    if made == "before":
        shutil.copy(filled, file)
    with open_notebook(file) as notebook:
        notebook.styles.add(DriverStyle(), name="first", by="test")
        open_notebook(file).close()
        assert "first" in names_seen_by_another_process(file)
        notebook.styles.add(DriverStyle(), name="second", by="test")
        assert "second" in names_seen_by_another_process(file)
