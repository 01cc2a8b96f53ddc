"""A garage screen kept in the notebook: pasted lines, the car's text, its set-ups carried over."""

from collections.abc import Iterator
from pathlib import Path

import pytest

from fourpatch.app.answers.garage import garage_lines, keep_garage, pasted, refused
from fourpatch.car.garage import GarageRow
from fourpatch.errors import FieldsError, NotebookConflict
from fourpatch.notebook.notebook import Notebook, open_notebook


@pytest.fixture
def notebook(tmp_path: Path) -> Iterator[Notebook]:
    opened = open_notebook(tmp_path / "notebook.sqlite")
    yield opened
    opened.close()


def gt(notebook: Notebook) -> int:
    return next(one.id for one in notebook.cars.listed() if one.name == "Demo GT")


def rows_of(notebook: Notebook, car: int) -> dict[str, GarageRow]:
    return {one.row.key: one.row for one in garage_lines(notebook, car)}


def test_pasted_lines_find_their_rows(notebook: Notebook) -> None:
    rows = list(rows_of(notebook, gt(notebook)).values())
    text = """
    Front bump: 7 of 11
    rear rebound low-speed = 3/20
    Brake balance\t54,5 %
    rear anti-roll bar 2
    front spring 6 of 10
    rear ride height 2.5 of 8
    front ride height 5 in
    front toe 0 of 4
    Fr. thing 9
    tea two sugars
    """
    found = pasted(rows, text)
    by = {one.key: one for one in found.rows}
    assert (by["front bump"].have, by["front bump"].now, by["front bump"].highest) == (True, "7", "11")
    assert (by["rear rebound, low speed"].now, by["rear rebound, low speed"].highest) == ("3", "20")
    # Outside 60 to 75, where this car has it: the scale is moved, nothing refused; 127 mm likewise.
    assert (by["brake bias"].lowest, by["brake bias"].now, by["brake bias"].highest) == ("47", "54,5 %", "62")
    assert (by["front ride height"].lowest, by["front ride height"].highest) == ("117", "137")
    assert found.moved == ["brake bias", "front ride height"]
    # Positions, whatever their unit is: not 10 N/mm at most, nor from the 68 mm that the car had.
    for key, scale in {
        "front spring": ("1", "10", "1", "6"),
        "rear ride height": ("1", "8", "0.5", "2.5"),
        "front toe": ("0", "4", "1", "0"),
    }.items():
        row = by[key]
        assert (row.lowest, row.highest, row.step, row.now, row.unit) == (*scale, "not known")
    assert by["rear bar"].now == "2"
    assert found.unread == ["Fr. thing 9", "tea two sugars"]


def test_a_garage_is_kept_and_set_ups_go_along(notebook: Notebook) -> None:
    car = gt(notebook)
    entry = notebook.cars.get(car).entry
    (setup,) = notebook.setups.listed(car)
    before = dict(notebook.setups.version(setup.head.id).values)
    hard = notebook.setups.change(
        setup.id, head=setup.head.id, values=before | {"front bump, low speed": 17.0}, by="test"
    )
    rows = rows_of(notebook, car)
    rows["front bump, low speed"] = rows["front bump, low speed"].model_copy(
        update={"lowest": "0", "highest": "40", "now": "20", "unit": "not known"}
    )
    kept = keep_garage(notebook, car, list(rows.values()), revision=entry.revision, by="test")
    assert (kept.setups, kept.told) == (1, [])
    head = notebook.setups.get(setup.id).head
    assert head.values["front bump, low speed"] == 40.0
    assert head.parent_id == hard.id
    text = notebook.cars.get(car).written.text
    assert "# " in text  # what the file said beside its numbers is still there
    # The same once more changes nothing.
    again = keep_garage(
        notebook, car, list(rows_of(notebook, car).values()), revision=kept.entry.revision, by="test"
    )
    assert again.setups == 0


def test_faults_are_told_by_row_and_an_older_page_overwrites_nothing(notebook: Notebook) -> None:
    car = gt(notebook)
    entry = notebook.cars.get(car).entry
    rows = rows_of(notebook, car)
    rows["front spring"] = rows["front spring"].model_copy(update={"highest": "20"})
    with pytest.raises(FieldsError) as error:
        keep_garage(notebook, car, list(rows.values()), revision=entry.revision, by="test")
    assert "not above the lowest" in refused(error.value)["front spring"]["highest"]
    assert notebook.cars.get(car).entry.revision == entry.revision
    notebook.cars.rename(car, "Another", revision=entry.revision, by="test")
    with pytest.raises(NotebookConflict):
        keep_garage(notebook, car, list(rows_of(notebook, car).values()), revision=entry.revision, by="test")
