"""One record that says what none can say is named; all others are there as before."""

import shutil
import sqlite3
from collections.abc import Iterator
from contextlib import closing
from pathlib import Path

import pytest

from fourpatch.app.shop import Shop
from fourpatch.errors import NotebookError
from fourpatch.notebook.notebook import Notebook, open_notebook
from fourpatch.notebook.tables import UNKNOWN_TIME

SPOILT = {
    "value without end": """UPDATE version SET "values" = '{"front bar": Infinity}' WHERE id = 2""",
    "value that is text": """UPDATE version SET "values" = '{"front bar": "stiff"}' WHERE id = 2""",
    "values cut off": """UPDATE version SET "values" = '{"front' WHERE id = 2""",
    "a car of an older make": "UPDATE revision SET text = 'name = \"Demo GT\"' WHERE name = 'Demo GT'",
    "a car that is no file": "UPDATE revision SET text = 'name = [' WHERE name = 'Demo GT'",
    "files of a car cut off": "UPDATE revision SET beside = '{' WHERE name = 'Demo GT'",
    "a track that is no file": "UPDATE revision SET text = 'name = [' WHERE name = 'Demo chicanes'",
    "a style that is no file": "UPDATE revision SET text = 'preview = [' WHERE name = 'Usual style'",
    "an answer cut off": "UPDATE complaint SET answer = '{'",
    "an outcome that is none": "UPDATE trial SET outcome = 'splendid'",
}


@pytest.fixture
def told(notebook: Notebook, file: Path) -> Path:
    """A notebook with something of each kind."""
    gt = next(one.id for one in notebook.cars.listed() if one.name == "Demo GT")
    (base,) = notebook.setups.listed(gt)
    said = notebook.complaints.add(base.head.id, "loose", by="test")
    notebook.complaints.tried(said.id, {"fuel": 10.0}, by="test")
    notebook.close()
    assert base.head.id == 2
    return file


@pytest.fixture(params=SPOILT)
def spoilt(told: Path, request: pytest.FixtureRequest) -> Iterator[Notebook]:
    """The same, with one record spoilt."""
    with closing(sqlite3.connect(told)) as connection, connection:
        assert connection.execute(SPOILT[request.param]).rowcount == 1
    with open_notebook(told) as opened:
        yield opened


def listed(notebook: Notebook) -> set[str]:
    """Return the names of all that is shown."""
    cars = notebook.cars.listed()
    return {
        *(one.name for shelf in (notebook.cars, notebook.tracks, notebook.styles) for one in shelf.listed()),
        *(f"{car.name}: {one.head.name}" for car in cars for one in notebook.setups.listed(car.id)),
        *(one.text for car in cars for one in notebook.complaints.listed(car.id)),
    }


def test_it_is_named_and_the_rest_is_shown(spoilt: Notebook, filled: Path) -> None:
    (fault,) = spoilt.unreadable()
    assert "cannot be read" in fault
    with open_notebook(filled) as whole:
        assert len((listed(whole) | {"loose"}) - listed(spoilt)) <= 1


def test_the_app_opens_something_that_can_be_read(spoilt: Notebook) -> None:
    shop = Shop(spoilt)
    assert shop.can_open()
    desk = shop.desk({"setup": "2", "a": "2"})
    assert desk.car.adjusters
    drawn, faults = shop.laps.tracks()
    assert len(drawn) + len(faults) == len(spoilt.tracks.listed())
    assert len(faults) <= 1


def test_what_is_exported_can_be_imported(spoilt: Notebook, filled: Path, tmp_path: Path) -> None:
    (left_out,) = spoilt.export_all(tmp_path / "all.zip")
    assert "cannot be read" in left_out or "line" in left_out or "missing" in left_out
    with open_notebook(shutil.copy(filled, tmp_path / "other.sqlite")) as other:
        other.import_all(tmp_path / "all.zip", by="test")
        assert other.unreadable() == []


@pytest.mark.parametrize("time", ["yesterday", "9999-12-31T23:59:59+00:00", "0001-01-01T00:00:00"])
def test_a_time_that_no_clock_shows_hides_nothing(told: Path, time: str) -> None:
    with closing(sqlite3.connect(told)) as connection, connection:
        connection.execute("UPDATE version SET made = ? WHERE id = 2", (time,))
    with open_notebook(told) as opened:
        assert opened.setups.version(2).made == UNKNOWN_TIME
        assert opened.unreadable() == []


def test_no_car_that_can_be_read_is_said(told: Path) -> None:
    with closing(sqlite3.connect(told)) as connection, connection:
        connection.execute("UPDATE revision SET text = 'name = [' FROM document WHERE kind = 'car'")
    with open_notebook(told) as opened:
        shop = Shop(opened)
        assert not shop.can_open()
        with pytest.raises(NotebookError, match="can be read"):
            shop.desk({})
