"""Backups: whole, made in time, few."""

import sqlite3
from collections.abc import Callable
from contextlib import closing
from datetime import UTC, datetime, timedelta, tzinfo
from pathlib import Path
from typing import Self

import pytest

from fourpatch.errors import NotebookError
from fourpatch.notebook import backup
from fourpatch.notebook.backup import MOST, NEWEST, back_up, backup_folder, backups, kept
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


def test_one_is_made_a_day(file: Path, later: Callable[[timedelta], None]) -> None:
    open_notebook(file).close()
    (first,) = backups(file)
    open_notebook(file).close()
    later(timedelta(hours=23, minutes=59))
    open_notebook(file).close()
    assert backups(file) == [first]
    for day in range(3):
        later(timedelta(days=1))
        open_notebook(file).close()
        assert len(backups(file)) == day + 2
    assert backups(file)[-1] == first
    assert backups(file) == sorted(backups(file), reverse=True)


def test_many_in_an_hour_leave_those_of_earlier_days(file: Path, later: Callable[[timedelta], None]) -> None:
    made = []
    for _ in range(6):
        made.append(back_up(file))
        later(timedelta(days=1))
    for _ in range(12):
        last = back_up(file)
        later(timedelta(minutes=1))
    assert backups(file)[0] == last
    assert set(made) <= set(backups(file))
    assert len(backups(file)) == len(made) + NEWEST


def test_used_every_day_for_two_years_they_grow_fewer_with_age() -> None:
    begin = datetime(2031, 1, 1, 9, tzinfo=UTC)
    there: set[datetime] = set()
    for day in range(730):
        now = begin + timedelta(days=day)
        there = kept([*there, now])
        ages = sorted((now - one).days for one in there)
        assert ages[: min(day + 1, 7)] == list(range(min(day + 1, 7)))
        assert len(there) <= MOST
        if day > 31:
            assert any(8 <= age <= 31 for age in ages)
        if day > 200:
            assert ages[-1] >= 120  # four whole months are between: 28 + 31 + 30 + 31


def test_a_notebook_left_for_a_year_keeps_what_it_had() -> None:
    old = [datetime(2031, 1, day, tzinfo=UTC) for day in range(1, 7)]
    assert kept([*old, datetime(2032, 3, 1, tzinfo=UTC)]) >= set(old)


def destroy_a_page(file: Path) -> None:
    """Let a page in the middle be zeros, as a failing disk does."""
    with closing(sqlite3.connect(file)) as connection:
        (size,) = connection.execute("PRAGMA page_size").fetchone()
        (page,) = connection.execute("SELECT rootpage FROM sqlite_master WHERE name = 'revision'").fetchone()
    with file.open("r+b") as opened:
        opened.seek((page - 1) * size)
        opened.write(bytes(size))


def test_a_destroyed_page_is_no_backup_and_is_said(file: Path, later: Callable[[timedelta], None]) -> None:
    sound = back_up(file)
    later(timedelta(days=2))
    destroy_a_page(file)
    with pytest.raises(NotebookError, match="damaged") as refusal:
        back_up(file)
    assert "fourpatch notebook restore" in str(refusal.value)
    assert backups(file) == [sound]
    assert list(backup_folder(file).iterdir()) == [sound]
    with open_notebook(file) as opened:
        assert "damaged" in opened.without_backup


def test_other_files_in_the_folder_are_left_alone(file: Path, later: Callable[[timedelta], None]) -> None:
    folder = backup_folder(file)
    folder.mkdir()
    (folder / "before the season.sqlite").write_bytes(b"mine")
    for _ in range(NEWEST + 2):
        back_up(file)
        later(timedelta(minutes=1))
    assert (folder / "before the season.sqlite").read_bytes() == b"mine"
    assert len(list(folder.iterdir())) == NEWEST + 1


def test_a_notebook_opens_though_its_backup_fails_and_says_so(file: Path) -> None:
    backup_folder(file).write_bytes(b"a file where the folder should be")
    with pytest.raises(NotebookError, match="backup cannot be written"):
        back_up(file)
    with open_notebook(file) as opened:
        assert "backup cannot be written" in opened.without_backup
        assert opened.cars.listed()
