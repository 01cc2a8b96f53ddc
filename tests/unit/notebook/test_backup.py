"""Backups: whole, made in time, few."""

from collections.abc import Callable
from datetime import datetime, timedelta, tzinfo
from pathlib import Path
from typing import Self

import pytest

from fourpatch.errors import NotebookError
from fourpatch.notebook import backup
from fourpatch.notebook.backup import MOST, back_up, backup_folder, backups
from fourpatch.notebook.notebook import Notebook, open_notebook


class Clock(datetime):
    """A clock that is set by hand."""

    ahead = timedelta()

    @classmethod
    def now(cls, tz: tzinfo | None = None) -> Self:
        return super().now(tz) + cls.ahead


@pytest.fixture
def later(monkeypatch: pytest.MonkeyPatch) -> Callable[[timedelta], None]:
    """Let time pass."""
    monkeypatch.setattr(Clock, "ahead", timedelta())
    monkeypatch.setattr(backup, "datetime", Clock)

    def wait(time: timedelta) -> None:
        Clock.ahead += time

    return wait


def test_a_backup_holds_what_was_committed_while_others_have_it_open(notebook: Notebook) -> None:
    car = notebook.cars.listed()[0]
    notebook.cars.rename(car.id, "just renamed", revision=1, by="window 1")
    copy = notebook.back_up()
    assert sorted(copy.parent.iterdir(), reverse=True) == notebook.backups()  # and nothing unfinished
    assert notebook.backups()[0] == copy
    with open_notebook(copy) as restored:
        assert restored.cars.get(car.id) == notebook.cars.get(car.id)


def test_one_is_made_a_day_and_ten_are_kept(file: Path, later: Callable[[timedelta], None]) -> None:
    open_notebook(file).close()
    (first,) = backups(file)
    open_notebook(file).close()
    later(timedelta(hours=23, minutes=59))
    open_notebook(file).close()
    assert backups(file) == [first]
    for day in range(MOST + 3):
        later(timedelta(days=1))
        open_notebook(file).close()
        assert len(backups(file)) == min(day + 2, MOST)
    assert first not in backups(file)
    assert backups(file) == sorted(backups(file), reverse=True)


def test_other_files_in_the_folder_are_left_alone(file: Path, later: Callable[[timedelta], None]) -> None:
    folder = backup_folder(file)
    folder.mkdir()
    (folder / "before the season.sqlite").write_bytes(b"mine")
    for _ in range(MOST + 2):
        back_up(file)
        later(timedelta(days=1))
    assert (folder / "before the season.sqlite").read_bytes() == b"mine"
    assert len(list(folder.iterdir())) == MOST + 1


def test_a_notebook_opens_though_its_backup_fails_and_says_so(file: Path) -> None:
    backup_folder(file).write_bytes(b"a file where the folder should be")
    with pytest.raises(NotebookError, match="backup cannot be written"):
        back_up(file)
    with open_notebook(file) as opened:
        assert "backup cannot be written" in opened.without_backup
        assert opened.cars.listed()
