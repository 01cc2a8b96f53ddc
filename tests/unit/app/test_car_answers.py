"""A car as a form, new cars, what revisions changed, files in and out."""

import io
import zipfile
from collections.abc import Iterator
from pathlib import Path

import pytest
from numpy.testing import assert_allclose

from fourpatch.app.answers.car import car_facts, car_sheet
from fourpatch.app.answers.car_changes import change_parameters, revisions
from fourpatch.app.answers.files import decoded, taken_file, written_in
from fourpatch.app.answers.new_car import keep_car, read_brief
from fourpatch.app.answers.notebook import import_zip, notebook_state, notebook_zip
from fourpatch.app.parts.brief_form import brief_fields
from fourpatch.app.parts.parameter_form import form_groups
from fourpatch.car.demo import demo_car
from fourpatch.car.estimate import estimate_car
from fourpatch.car.gravity import GRAVITY
from fourpatch.car.paths import parameters
from fourpatch.errors import FieldsError, FileError, NotebookConflict
from fourpatch.notebook.entries import Document
from fourpatch.notebook.kinds import Written
from fourpatch.notebook.notebook import Notebook, open_notebook

BRIEF = {
    "name": "Mine",
    "mass": "1180 kg",
    "front_weight_share": "61 %",
    "wheelbase": "2540 mm",
    "driven": "front",
    "power": "170 PS",
    "front_tyre": "205/50R16",
    "rear_tyre": "205/50R16",
    "grip": "semi-slick",
    "body": "hatchback",
    "downforce": "none",
    "top_speed": "",
}


@pytest.fixture
def notebook(tmp_path: Path) -> Iterator[Notebook]:
    with open_notebook(tmp_path / "notebook.sqlite") as opened:
        yield opened


def test_a_car_of_ten_numbers_is_kept_with_its_origins_and_a_set_up(notebook: Notebook) -> None:
    made = keep_car(notebook, estimate_car(read_brief(BRIEF)), reason="test", by="test")
    sheet = car_sheet(notebook.cars.read(made.entry.id))
    rows = {row.path: row for row in sheet.parameters}
    assert rows["chassis.mass"].source == "given"
    assert rows["chassis.yaw_inertia"].source == "estimated"
    # 8 % of the value, as the estimate says of itself
    assert_allclose(rows["chassis.yaw_inertia"].spread, 0.08 * rows["chassis.yaw_inertia"].value, rtol=1e-12)
    assert notebook.setups.get(made.setup.setup_id).head.car_id == made.entry.id
    groups = form_groups(sheet)
    assert sum(len(group["rows"]) for group in groups) == len(sheet.parameters)
    words = {row["mark"]["word"] for group in groups for row in group["rows"]}
    assert "given" in words
    assert "estimated ± 8 %" in words


def test_what_cannot_be_meant_stands_at_its_field() -> None:
    with pytest.raises(FieldsError) as refused:
        read_brief(BRIEF | {"mass": "9000 kg", "front_tyre": "round", "wheelbase": "", "body": "boat"})
    fields = refused.value.fields
    assert set(fields) == {"mass", "front_tyre", "wheelbase", "body"}
    assert "250 to 4000 kg" in fields["mass"]
    assert fields["wheelbase"] == "is still empty."
    with pytest.raises(FieldsError, match="together"):
        read_brief(BRIEF | {"front_downforce_area": "0.5 m²"})


def test_what_is_not_known_may_be_left_open_and_words_of_about_are_read() -> None:
    brief = read_brief(BRIEF | {"front_weight_share": "about 45", "power": "", "rear_tyre": "?"})
    assert (brief.front_weight_share, brief.power, brief.rear_tyre) == (0.45, None, None)


def test_the_form_of_a_brief_has_every_field_of_one() -> None:
    fields = {field["key"]: field for field in brief_fields()}
    assert BRIEF.keys() <= fields.keys()
    assert fields["mass"]["unit"] == "kg"
    assert fields["driven"]["choices"] == ["front", "rear", "all"]
    assert fields["top_speed"]["optional"]
    assert not fields["mass"]["optional"]


def test_facts_are_those_of_the_masses_and_follow_the_definitions() -> None:
    car = demo_car("gt")
    facts = {fact.name: fact for fact in car_facts(car)}
    loads = facts["Tyre loads at rest"].values
    weight = (car.chassis.mass + car.fuel.mass) * GRAVITY
    # the loads at rest carry the weight: rounding alone
    assert_allclose(sum(load or 0.0 for load in loads.values()), weight, rtol=1e-9)
    assert facts["Mass"].texts == {"car": "1370"}
    assert facts["Damping, slow movement"].unit == "%"


def test_a_revision_says_what_it_changed_and_another_window_is_not_overwritten(notebook: Notebook) -> None:
    car = notebook.cars.listed()[0]
    kept = change_parameters(notebook, car.id, {"chassis.mass": "1600 kg"}, revision=1, by="one")
    assert kept.revision == 2
    told = revisions(notebook, car.id)
    assert told[0].changes == ["chassis.mass 1650 kg → 1600 kg"]
    assert told[1].changes == []
    with pytest.raises(NotebookConflict, match="one"):
        change_parameters(notebook, car.id, {"chassis.mass": "1500 kg"}, revision=1, by="two")
    assert notebook.cars.read(car.id).chassis.mass == 1600.0


def test_files_are_taken_whole_or_refused(notebook: Notebook) -> None:
    text = notebook.cars.get(1).written.text
    assert written_in({"a.toml": "\ufeff" + text}).text == text
    with pytest.raises(FileError, match="2 TOML files"):
        written_in({"a.toml": text, "b.toml": text})
    with pytest.raises(FileError, match="does not name"):
        written_in({"a.toml": text, "b.csv": "1,2"})
    with pytest.raises(FileError, match="UTF-8"):
        decoded({"a.toml": b"\xff\xfe\x00"})


def test_what_has_csv_files_is_given_as_a_zip(notebook: Notebook) -> None:
    entry = notebook.tracks.listed()[0]
    alone = taken_file(notebook.tracks.get(entry.id))
    assert alone.name == "Demo chicanes.toml"
    beside = Document(entry=entry, written=Written(text='x.file = "a.csv"', beside={"a.csv": "1,2"}))
    packed = taken_file(beside)
    with zipfile.ZipFile(io.BytesIO(packed.content)) as archive:
        assert sorted(archive.namelist()) == ["Demo chicanes.toml", "a.csv"]


def test_all_of_a_notebook_goes_to_another(notebook: Notebook, tmp_path: Path) -> None:
    made = keep_car(notebook, estimate_car(read_brief(BRIEF)), reason="test", by="test")
    packed = notebook_zip(notebook)
    with open_notebook(tmp_path / "other.sqlite") as other:
        told = import_zip(other, packed.content, by="test")
        assert any("Mine" in name for name in told.added)
        state = notebook_state(other)
        assert (state.cars, state.setups) == (5, 5)
        (mine,) = (car for car in other.cars.listed() if car.name == "Mine")
        before = {found.path: found.value for found in parameters(notebook.cars.read(made.entry.id))}
        assert before == {found.path: found.value for found in parameters(other.cars.read(mine.id))}
