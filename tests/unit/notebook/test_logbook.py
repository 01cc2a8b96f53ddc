"""Meetings in the notebook: the timeline, search over everything, what carries over."""

import sqlite3
from collections.abc import Callable
from pathlib import Path

import pytest
from alembic import command
from alembic.config import Config

from fourpatch.car.setup import baseline_setup
from fourpatch.errors import NotebookConflict
from fourpatch.notebook import database
from fourpatch.notebook.backup import backups
from fourpatch.notebook.database import format_of
from fourpatch.notebook.notebook import Notebook, open_notebook
from fourpatch.notebook.tables import FORMAT
from fourpatch.recording.demo_meeting import demo_meeting
from fourpatch.recording.meeting import Meeting


def test_the_timeline_is_by_date_the_latest_first(notebook: Notebook) -> None:
    for name, date in (("First", "2026-03-01"), ("Undated", ""), ("Last", "2026-05-01")):
        notebook.meetings.add(Meeting(name=name, date=date, track="Hill"), by="test")
    entry = notebook.meetings.add(Meeting(name="Gone", date="2026-06-01"), by="test")
    notebook.meetings.delete(entry.id, by="test")
    assert [one.name for one in notebook.logbook.timeline()] == ["Last", "First", "Undated"]
    assert notebook.logbook.timeline()[0].track == "Hill"


def test_a_changed_meeting_stands_once_as_it_is_now(notebook: Notebook) -> None:
    entry = notebook.meetings.add(demo_meeting(), by="test")
    changed = demo_meeting().model_copy(update={"track": "Other hill"})
    notebook.meetings.change(entry.id, changed, revision=1, by="test")
    (line,) = notebook.logbook.timeline()
    assert (line.track, line.revision) == ("Other hill", 2)
    with pytest.raises(NotebookConflict):
        notebook.meetings.change(entry.id, demo_meeting(), revision=1, by="test")


def test_search_finds_meetings_set_ups_and_complaints(notebook: Notebook) -> None:
    entry = notebook.meetings.add(demo_meeting(), by="test")
    car = notebook.cars.listed()[0]
    version = notebook.setups.listed(car.id)[0].head
    made = notebook.setups.add(
        car.id,
        baseline_setup(notebook.cars.read(car.id)).model_copy(
            update={"name": "Wet", "note": "for a WAIT in rain"}
        ),
        by="test",
    )
    complaint = notebook.complaints.add(version.id, "has to wait on entry", by="test")
    found = notebook.logbook.search("wait")
    assert [(one.kind, one.id) for one in found] == [
        ("meeting", entry.id),
        ("set-up", made.setup_id),
        ("complaint", complaint.id),
    ]
    assert found[0].lines == ["Morning, run 1: pushes, has to wait for the nose"]
    assert notebook.logbook.search("wait snow") == []
    assert notebook.logbook.search("100% _") == []
    assert notebook.logbook.search("  ") == []
    assert [one.kind for one in notebook.logbook.search("chicanes")] == ["meeting", "track"]


def test_what_carries_over_comes_from_the_same_track_and_car_first(notebook: Notebook) -> None:
    for name, date, track, car in (
        ("Same car", "2026-05-01", "Hill", "Demo GT"),
        ("Same track", "2026-02-01", "Demo chicanes", "Other"),
        ("Nothing", "2026-06-01", "Hill", "Other"),
    ):
        notebook.meetings.add(Meeting(name=name, date=date, track=track, car=car), by="test")
    notebook.meetings.add(demo_meeting(), by="test")
    found = notebook.logbook.take_along(track="demo CHICANES", car="Demo GT")
    assert [(one.meeting.name, one.why) for one in found] == [
        ("Spring test (invented)", "same track and same car"),
        ("Same track", "same track"),
        ("Same car", "same car"),
    ]
    assert found[0].tried == ["rear bar +2 against the push: worked"]
    assert found[0].setup == "A"


def test_meetings_go_to_another_machine(notebook: Notebook, tmp_path: Path) -> None:
    notebook.meetings.add(demo_meeting(), by="test")
    notebook.export_all(tmp_path / "all.zip")
    with open_notebook(tmp_path / "other.sqlite") as other:
        came = other.import_all(tmp_path / "all.zip", by="test")
        assert "Spring test (invented)" in came.added
        (line,) = other.logbook.timeline()
        assert other.meetings.read(line.id) == demo_meeting()


def test_a_meeting_that_cannot_be_read_is_named_and_hides_nothing(
    file: Path, window: Callable[[], Notebook]
) -> None:
    opened = window()
    opened.meetings.add(demo_meeting(), by="test")
    broken = opened.meetings.add(Meeting(name="Broken day", note="wait"), by="test")
    opened.close()
    with sqlite3.connect(file) as connection:
        connection.execute("UPDATE revision SET text = 'wait = [' WHERE document_id = ?", (broken.id,))
    opened = window()
    assert [one.name for one in opened.logbook.timeline()] == ["Spring test (invented)", "Broken day"]
    assert [one.name for one in opened.logbook.search("wait nose")] == ["Spring test (invented)"]
    assert any("Broken day" in one for one in opened.unreadable())


def test_a_notebook_of_the_first_format_keeps_everything(file: Path) -> None:
    with open_notebook(file) as opened:
        cars = [one.name for one in opened.cars.listed()]
        told = opened.complaints.add(opened.setups.listed(1)[0].head.id, "pushes", by="test")
    # Back to what the first version made: the second adds nothing but an index.
    with sqlite3.connect(file) as connection:
        connection.execute("DROP INDEX ix_document_kind")
        connection.execute("UPDATE alembic_version SET version_num = '0001'")
    connection.close()
    first = file.with_name("first.sqlite")
    made = database.Database(first)
    with made.remaking() as fresh:
        config = Config(attributes={"connection": fresh})
        config.set_main_option("script_location", str(database._MIGRATIONS))
        command.upgrade(config, "0001")
    made.close()
    assert _tables(first) == _tables(file)
    with open_notebook(file) as opened:
        assert [one.name for one in opened.cars.listed()] == cars
        assert opened.complaints.get(told.id) == told
        opened.meetings.add(demo_meeting(), by="test")
    assert format_of(file) == FORMAT
    assert "0001" in [format_of(one) for one in backups(file)]  # made before the change


def _tables(path: Path) -> set[tuple[str, str]]:
    with sqlite3.connect(path) as connection:
        return set(connection.execute("SELECT name, sql FROM sqlite_master WHERE sql IS NOT NULL"))
