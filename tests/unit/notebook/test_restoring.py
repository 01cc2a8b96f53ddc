"""A backup comes back whole, whatever became of the notebook, and nothing is thrown away for it."""

import sqlite3
import subprocess
import sys
from contextlib import closing
from pathlib import Path

import pytest

from fourpatch.errors import NotebookError, NotebookMissing
from fourpatch.events.driver_style import DriverStyle
from fourpatch.notebook import restoring
from fourpatch.notebook.notebook import Notebook, open_notebook
from fourpatch.notebook.restoring import newest_sound_backup, restore


def styles(path: Path) -> list[str]:
    """Return the names of the styles in a notebook."""
    with open_notebook(path) as opened:
        return [one.name for one in opened.styles.listed()]


@pytest.fixture
def backup(file: Path) -> Path:
    """A backup that has the style "kept", and not "later", which the notebook has."""
    with open_notebook(file) as opened:
        opened.styles.add(DriverStyle(), name="kept", by="test")
        made = opened.back_up()
        opened.styles.add(DriverStyle(), name="later", by="test")
    return made


def test_what_stood_there_is_kept_and_can_be_restored_too(file: Path, backup: Path) -> None:
    aside = restore(file, backup)
    assert styles(file) == ["kept", "Usual style"]
    assert aside is not None
    assert "later" in styles(aside)
    restore(file, aside)
    assert "later" in styles(file)


def after_a_kill(file: Path) -> None:
    """Leave file and journal as a process does that is killed while it has the notebook open."""
    with open_notebook(file) as opened:
        for number in range(40):
            opened.styles.add(DriverStyle(), name=f"{number}", by="test")
        there = {Path(f"{file}{ending}"): Path(f"{file}{ending}").read_bytes() for ending in ("", "-wal")}
    for path, content in there.items():
        path.write_bytes(content)
    assert Path(f"{file}-wal").stat().st_size


def test_after_a_kill_the_journal_does_not_spoil_what_is_restored(file: Path, backup: Path) -> None:
    after_a_kill(file)
    aside = restore(file, backup)
    assert styles(file) == ["kept", "Usual style"]
    assert aside is not None
    assert {"later", "39"} <= set(styles(aside))


@pytest.mark.parametrize("damage", ["head", "cut", "page", "gone", "empty", "other"])
def test_whatever_became_of_the_notebook_the_backup_is_in_its_place(
    file: Path, backup: Path, damage: str
) -> None:
    after_a_kill(file)
    whole = file.read_bytes()
    match damage:
        case "head":
            file.write_bytes(bytes(100) + whole[100:])
        case "cut":
            file.write_bytes(whole[:30_000])
        case "page":
            file.write_bytes(whole[:8192] + bytes(4096) + whole[12_288:])
        case "gone":
            file.unlink()
        case "empty":
            file.write_bytes(b"")
        case "other":
            file.write_bytes(b"recipe")
    if damage in ("head", "other"):
        Path(f"{file}-wal").unlink()  # SQLite would mend it from there
    spoiled = file.read_bytes() if file.exists() else None
    aside = restore(file, backup)
    assert styles(file) == ["kept", "Usual style"]
    with closing(sqlite3.connect(file)) as connection:
        assert connection.execute("PRAGMA integrity_check").fetchall() == [("ok",)]
    assert (aside is None) == (spoiled is None)
    if aside and damage in ("head", "other"):
        assert aside.read_bytes() == spoiled  # as it is, for whoever can still read something in it


def test_while_another_process_has_it_open_nothing_is_changed(
    file: Path, backup: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    monkeypatch.setattr(restoring, "PATIENCE", 0.1)
    script = (
        "import sqlite3, sys; notebook = sqlite3.connect(sys.argv[1]); "
        "notebook.execute('SELECT * FROM document').fetchall(); print('open', flush=True); sys.stdin.read()"
    )
    command = [sys.executable, "-c", script, str(file)]
    with subprocess.Popen(command, stdin=subprocess.PIPE, stdout=subprocess.PIPE) as other:
        assert other.stdout is not None
        other.stdout.readline()
        with pytest.raises(NotebookError, match="another program has it open"):
            restore(file, backup)
        other.communicate(b"")
    assert "later" in styles(file)


def test_a_backup_that_is_not_sound_is_refused_and_passed_over(file: Path, backup: Path) -> None:
    with open_notebook(file) as opened:
        spoiled = opened.back_up()
    whole = spoiled.read_bytes()
    spoiled.write_bytes(whole[:8192] + bytes(4096) + whole[12_288:])
    before = file.read_bytes()
    with pytest.raises(NotebookError, match="damaged"):
        restore(file, spoiled)
    assert file.read_bytes() == before
    assert newest_sound_backup(file) == backup


@pytest.mark.parametrize("what", ["none", "text", "itself"])
def test_what_is_no_backup_is_refused(file: Path, tmp_path: Path, what: str) -> None:
    path = file if what == "itself" else tmp_path / "backup.sqlite"
    if what == "text":
        path.write_text("a letter", encoding="utf-8")
    before = file.read_bytes()
    with pytest.raises(NotebookError):
        restore(file, path)
    assert file.read_bytes() == before


def test_without_a_sound_backup_it_says_so(file: Path) -> None:
    with pytest.raises(NotebookError, match="no sound backup"):
        newest_sound_backup(file)


def test_an_open_notebook_remembers_nothing_of_what_it_was(notebook: Notebook) -> None:
    made = notebook.back_up()
    style = notebook.styles.add(DriverStyle(preview=0.7), name="a", by="test")
    assert notebook.styles.read(style.id).preview == 0.7
    notebook.restore(made)
    with pytest.raises(NotebookMissing):
        notebook.styles.get(style.id)
    again = notebook.styles.add(DriverStyle(preview=0.9), name="b", by="test")
    assert again.id == style.id  # the number is given anew: the notebook is another
    assert notebook.styles.read(again.id).preview == 0.9
