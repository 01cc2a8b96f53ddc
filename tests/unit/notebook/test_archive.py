"""All as one zip: it comes back whole, twice is as once, and a bad one brings nothing."""

import hashlib
import json
import shutil
import zipfile
from collections.abc import Callable, Iterator
from contextlib import suppress
from pathlib import Path
from typing import Any

import pytest
from sqlalchemy import event

from fourpatch.car.files import load_car, load_setup
from fourpatch.errors import FileError, FourpatchError, NotebookError
from fourpatch.events.driver_style import DriverStyle
from fourpatch.events.style_file import load_style
from fourpatch.notebook import zip_file
from fourpatch.notebook.entries import Version
from fourpatch.notebook.kinds import Written
from fourpatch.notebook.notebook import Notebook, open_notebook
from fourpatch.track.files import load_track

POINTS = """name = "measured, invented"
[centre_line]
kind = "points"
closed = false
file = "line.csv"
[road]
width = [{ distance = "0 m", left = "5 m", right = "5 m" }]
surface = [{ kind = "road-class", start = "0 m", road_class = "A" }]
"""
LINE = "\n".join(["x [m],y [m]", *(f"{5.0 * k:.1f},{0.002 * k * k:.3f}" for k in range(60)), ""])


@pytest.fixture
def other(filled: Path, tmp_path: Path) -> Iterator[Notebook]:
    """The notebook of another machine."""
    with open_notebook(shutil.copy(filled, tmp_path / "other.sqlite")) as opened:
        yield opened


@pytest.fixture
def lived_in(notebook: Notebook) -> Notebook:
    """A notebook with something of each kind in it."""
    gt = next(one.id for one in notebook.cars.listed() if one.name == "Demo GT")
    text = notebook.cars.get(gt).written.text
    mine = notebook.cars.add(Written(text=f"# mine\n{text}"), name="Größe 走行: a/b", by="window 1")
    notebook.cars.rename(mine.id, "Größe 走行: a/c", revision=1, by="window 1")
    notebook.cars.delete(notebook.cars.add(Written(text=text), name="gone", by="w").id, by="w")
    for name in ("measured, invented", "measured, again"):
        notebook.tracks.add(Written(text=POINTS, beside={"line.csv": LINE}), name=name, by="window 1")
    notebook.styles.add(DriverStyle(preview=0.7), name="calm", by="window 1")
    (base,) = notebook.setups.listed(gt)
    first = notebook.setups.change(base.id, head=base.head.id, note="wet", reason="rain", by="window 1")
    branch = notebook.setups.branch(base.head.id, name="dry", by="window 1")
    notebook.setups.go_back(base.id, to=branch.id, head=first.id, by="window 2")
    said = notebook.complaints.add(first.id, "loose", answer={"a": [1, None]}, by="window 1")
    notebook.complaints.tried(
        said.id, {"fuel": 10.0}, version_id=branch.id, outcome="worked", note="better", by="window 1"
    )
    return notebook


def content(notebook: Notebook) -> Any:
    """Return all that is in a notebook, without the ids, which are each notebook's own."""

    def version(one: Version | None) -> Any:
        return one and one.model_dump(exclude={"id", "setup_id", "car_id", "parent_id", "source_id"})

    def at(id: int | None) -> Version | None:
        return None if id is None else notebook.setups.version(id)

    shelves = (notebook.cars, notebook.tracks, notebook.styles)
    entries = [(shelf, one) for shelf in shelves for one in (*shelf.listed(), *shelf.deleted())]
    documents = [
        (
            one.model_dump(exclude={"id"}),
            [shelf.get(one.id, back.revision).written for back in shelf.history(one.id)],
        )
        for shelf, one in entries
    ]
    setups = [
        [
            (version(one), version(at(one.parent_id)), version(at(one.source_id)))
            for one in notebook.setups.history(line.id)
        ]
        for car in notebook.cars.listed()
        for line in notebook.setups.listed(car.id)
    ]
    complaints = [
        (
            one.model_dump(exclude={"id", "car_id", "version_id", "trials"}),
            version(at(one.version_id)),
            [(version(at(t.version_id)), t.model_dump(exclude={"id", "version_id"})) for t in one.trials],
        )
        for car in notebook.cars.listed()
        for one in notebook.complaints.listed(car.id)
    ]
    return sorted(documents, key=str), sorted(setups, key=str), sorted(complaints, key=str)


def emptied(notebook: Notebook) -> Notebook:
    """Put all that a new notebook holds away, under names that nothing else has."""
    for shelf in (notebook.cars, notebook.tracks, notebook.styles):
        for one in shelf.listed():
            shelf.delete(one.id, by="test")
    return notebook


def test_all_of_it_comes_to_another_machine(lived_in: Notebook, other: Notebook, tmp_path: Path) -> None:
    lived_in.export_all(tmp_path / "all.zip")
    put_away = len(emptied(other).cars.deleted())
    said = other.import_all(tmp_path / "all.zip", by="import")
    assert said.second == said.known == []
    documents, setups, complaints = content(other)
    arrived = [one for one in documents if one[0]["deleted_by"] != "test"]
    assert (arrived, setups, complaints) == content(lived_in)
    assert len(other.cars.deleted()) == put_away + 1


def test_a_second_time_changes_nothing(lived_in: Notebook, other: Notebook, tmp_path: Path) -> None:
    lived_in.export_all(tmp_path / "all.zip")
    other.import_all(tmp_path / "all.zip", by="import")
    before = content(other)
    again = other.import_all(tmp_path / "all.zip", by="import")
    assert again.added == again.second == []
    assert content(other) == before
    own = content(lived_in)
    assert lived_in.import_all(tmp_path / "all.zip", by="import").added == []
    assert content(lived_in) == own


def test_of_the_same_name_a_second_one_is_made(notebook: Notebook, other: Notebook, tmp_path: Path) -> None:
    style = notebook.styles.add(DriverStyle(preview=0.7), name="calm", by="a")
    gt = next(one for one in notebook.cars.listed() if one.name == "Demo GT")
    text = notebook.cars.get(gt.id).written.text
    notebook.cars.change(gt.id, Written(text=f"# lighter\n{text}"), revision=1, by="a")
    (base,) = notebook.setups.listed(gt.id)
    notebook.setups.change(base.id, head=base.head.id, note="of a", by="a")
    notebook.export_all(tmp_path / "a.zip")
    mine = other.styles.add(DriverStyle(preview=0.9), name="calm", by="b")
    before = other.cars.get(gt.id)
    said = other.import_all(tmp_path / "a.zip", by="import")
    (second,) = [name for name in said.second if name.startswith("calm")]
    assert second.startswith("calm (imported 20")
    assert other.styles.read(mine.id).preview == 0.9
    arrived = {one.name: one.id for one in other.styles.listed()}
    assert other.styles.read(arrived[second]) == notebook.styles.read(style.id)
    assert other.cars.get(gt.id) == before
    cars = {one.name: one.id for one in other.cars.listed()}
    (car,) = [name for name in said.second if name.startswith("Demo GT (imported")]
    assert "# lighter" in other.cars.get(cars[car]).written.text
    assert other.cars.read(cars[car]).name == car
    (setup,) = other.setups.listed(cars[car])
    assert (setup.head.note, setup.versions) == ("of a", 2)
    assert other.setups.opened(setup.head.id).faults == []
    assert other.setups.listed(gt.id)[0].versions == 1
    assert other.import_all(tmp_path / "a.zip", by="import").second == []


def test_setups_that_parted_stand_side_by_side(notebook: Notebook, other: Notebook, tmp_path: Path) -> None:
    car = notebook.cars.listed()[0]
    for one, note in ((notebook, "of a"), (other, "of b")):
        (base,) = one.setups.listed(car.id)
        one.setups.change(base.id, head=base.head.id, note=note, by=note)
    notebook.export_all(tmp_path / "a.zip")
    other.import_all(tmp_path / "a.zip", by="import")
    mine, theirs = other.setups.listed(car.id)
    assert (mine.head.name, mine.head.note) == ("baseline", "of b")
    assert theirs.head.name.startswith("baseline (imported")
    assert theirs.head.note == "of a"


def test_what_is_in_the_zip_is_read_by_the_command_line(lived_in: Notebook, tmp_path: Path) -> None:
    lived_in.export_all(tmp_path / "all.zip")
    with zipfile.ZipFile(tmp_path / "all.zip") as packed:
        packed.extractall(tmp_path / "out")
    out = tmp_path / "out"
    assert load_car(out / "cars" / "Größe 走行- a-c.toml").name == "Größe 走行: a/c"
    gt = load_car(out / "cars" / "Demo GT.toml")
    assert load_setup(out / "setups" / "Demo GT" / "dry.toml", gt).name == "dry"
    assert load_style(out / "styles" / "calm.toml") == DriverStyle(preview=0.7)
    for name in ("measured, invented", "measured, again"):
        assert load_track(out / "tracks" / name / f"{name}.toml").name == name
    assert load_track(out / "tracks" / "Demo chicanes.toml")


def repacked(path: Path, change: Callable[[dict[str, bytes]], None]) -> None:
    """Change the files of a zip."""
    with zipfile.ZipFile(path) as packed:
        files = {name: packed.read(name) for name in packed.namelist()}
    change(files)
    with zipfile.ZipFile(path, "w") as packed:
        for name, text in files.items():
            packed.writestr(name, text)


def resigned(files: dict[str, bytes]) -> None:
    """Let the manifest agree with the files, as a forger would."""
    manifest = json.loads(files["manifest.json"])
    for name in manifest["files"]:
        manifest["files"][name] = hashlib.sha256(files[name]).hexdigest()
    files["manifest.json"] = json.dumps(manifest).encode()


@pytest.mark.parametrize("share", [0.0, 0.01, 0.3, 0.9, 0.999])
def test_a_zip_cut_off_brings_nothing(
    lived_in: Notebook, other: Notebook, tmp_path: Path, share: float
) -> None:
    path = tmp_path / "all.zip"
    lived_in.export_all(path)
    path.write_bytes(path.read_bytes()[: int(share * path.stat().st_size)])
    before = content(other)
    with pytest.raises(NotebookError, match=r"all\.zip: .*Nothing was imported"):
        other.import_all(path, by="import")
    assert content(other) == before


def test_a_byte_changed_anywhere_brings_nothing(notebook: Notebook, tmp_path: Path) -> None:
    path = tmp_path / "all.zip"
    notebook.export_all(path)
    whole = path.read_bytes()
    before = content(notebook)
    for place in range(40, len(whole) - 400, len(whole) // 60):
        path.write_bytes(whole[:place] + bytes([whole[place] ^ 0x55]) + whole[place + 1 :])
        with suppress(FourpatchError):  # a byte may mean nothing, such as the time in the header of a file
            said = notebook.import_all(path, by="import")
            assert said.added == said.second == []
    assert content(notebook) == before


def test_a_file_edited_in_the_zip_is_named(notebook: Notebook, tmp_path: Path) -> None:
    path = tmp_path / "all.zip"
    notebook.export_all(path)

    def edit(files: dict[str, bytes]) -> None:
        files["cars/Demo GT.toml"] += b"\n# by hand\n"

    repacked(path, edit)
    with pytest.raises(NotebookError, match=r"cars/Demo GT\.toml: changed since it was written"):
        notebook.import_all(path, by="import")


def test_bad_toml_is_refused_with_its_line_and_brings_nothing(
    lived_in: Notebook, other: Notebook, tmp_path: Path
) -> None:
    path = tmp_path / "all.zip"
    lived_in.export_all(path)

    def spoil(files: dict[str, bytes]) -> None:
        name = "cars/Größe 走行- a-c.toml"
        files[name] = files[name].replace(b'mass = "1320 kg"', b'mass = "-1 kg"')
        resigned(files)

    repacked(path, spoil)
    before = content(other)
    with pytest.raises(FileError, match=r"line \d+: chassis\.mass(.|\n)*Nothing was imported"):
        other.import_all(path, by="import")
    assert content(other) == before


@pytest.mark.parametrize("what", ["setups", "complaints", "documents"])
def test_a_history_that_names_what_is_not_there_brings_nothing(
    lived_in: Notebook, other: Notebook, tmp_path: Path, what: str
) -> None:
    path = tmp_path / "all.zip"
    lived_in.export_all(path)

    def spoil(files: dict[str, bytes]) -> None:
        history = json.loads(files["history.json"])
        first = history[what][0]
        first.update(
            {"setups": {"car": 999}, "complaints": {"version": 999}, "documents": {"file": "no"}}[what]
        )
        files["history.json"] = json.dumps(history).encode()
        resigned(files)

    repacked(path, spoil)
    before = content(other)
    with pytest.raises(NotebookError, match="Nothing was imported"):
        other.import_all(path, by="import")
    assert content(other) == before


def infinite(history: dict[str, Any]) -> None:
    history["setups"][0]["versions"][-1]["values"]["front bar"] = float("inf")


def not_a_number(history: dict[str, Any]) -> None:
    history["complaints"][0]["answer"] = {"share": float("nan")}


def tried_without_end(history: dict[str, Any]) -> None:
    history["complaints"][0]["trials"][0]["changes"]["fuel"] = float("-inf")


def nameless(history: dict[str, Any]) -> None:
    history["setups"][0]["versions"][0]["name"] = ""


def too_long(history: dict[str, Any]) -> None:
    history["documents"][0]["revisions"][0]["name"] = "x" * 500


def with_an_escape(history: dict[str, Any]) -> None:
    history["documents"][0]["revisions"][0]["name"] = "red \x1b[31m"


def out_of_order(history: dict[str, Any]) -> None:
    history["documents"][0]["revisions"][0]["revision"] = 0


def twice(history: dict[str, Any]) -> None:
    history["documents"].append(history["documents"][0])


def beyond_the_calendar(history: dict[str, Any]) -> None:
    history["setups"][0]["versions"][0]["made"] = "9999-12-31T23:59:59Z"


@pytest.mark.parametrize(
    "spoil",
    [
        infinite,
        not_a_number,
        tried_without_end,
        nameless,
        too_long,
        with_an_escape,
        out_of_order,
        twice,
        beyond_the_calendar,
    ],
)
def test_what_could_not_be_typed_is_not_imported(
    lived_in: Notebook, other: Notebook, tmp_path: Path, spoil: Callable[[dict[str, Any]], None]
) -> None:
    path = tmp_path / "all.zip"
    lived_in.export_all(path)

    def change(files: dict[str, bytes]) -> None:
        history = json.loads(files["history.json"])
        spoil(history)
        files["history.json"] = json.dumps(history).encode()
        resigned(files)

    repacked(path, change)
    before = content(other)
    with pytest.raises(NotebookError, match="Nothing was imported"):
        other.import_all(path, by="import")
    assert content(other) == before


def test_too_many_files_are_refused_before_they_are_looked_at(
    notebook: Notebook, tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    path = tmp_path / "all.zip"
    with zipfile.ZipFile(path, "w") as packed:
        for number in range(200):
            packed.writestr(f"{number}", "")
    monkeypatch.setattr(zip_file, "MOST_FILES", 100)

    def opened(*_: object) -> None:
        raise AssertionError("its directory was read")

    monkeypatch.setattr(zipfile, "ZipFile", opened)
    with pytest.raises(NotebookError, match="more than 100 files"):
        notebook.import_all(path, by="import")
    path.write_bytes(
        path.read_bytes().replace(b"PK\x05\x06\0\0\0\0\xc8\0\xc8\0", b"PK\x05\x06\0\0\0\0\1\0\1\0")
    )
    monkeypatch.undo()
    with pytest.raises(NotebookError, match="Nothing was imported"):  # its end lies
        notebook.import_all(path, by="import")


@pytest.mark.parametrize("change", ["more", "twice"])
def test_a_directory_that_is_not_the_manifests_brings_nothing(
    notebook: Notebook, tmp_path: Path, change: str
) -> None:
    path = tmp_path / "all.zip"
    notebook.export_all(path)
    with zipfile.ZipFile(path, "a") as packed:
        if change == "more":
            packed.writestr("cars/stowaway.toml", "")
        else:
            with pytest.warns(UserWarning, match="Duplicate"):
                packed.writestr("history.json", packed.read("history.json"))
    with pytest.raises(NotebookError, match="each once"):
        notebook.import_all(path, by="import")


def test_an_import_takes_as_many_questions_for_many_setups_as_for_few(
    notebook: Notebook, other: Notebook, tmp_path: Path
) -> None:
    car = notebook.cars.listed()[0].id
    (base,) = notebook.setups.listed(car)

    def reads(path: Path) -> int:
        notebook.export_all(path)
        asked = 0

        def count(*told: Any) -> None:
            nonlocal asked
            asked += str(told[2]).startswith("SELECT")

        engine = other._database._engine
        event.listen(engine, "before_cursor_execute", count)
        other.import_all(path, by="import")
        event.remove(engine, "before_cursor_execute", count)
        return asked

    notebook.setups.branch(base.head.id, name="first", by="test")
    few = reads(tmp_path / "few.zip")
    for number in range(30):
        notebook.setups.branch(base.head.id, name=f"{number}", by="test")
    assert reads(tmp_path / "many.zip") == few
    names = {one.head.name for one in other.setups.listed(car)}
    assert names == {one.head.name for one in notebook.setups.listed(car)}


def test_a_zip_of_a_newer_fourpatch_is_refused(notebook: Notebook, tmp_path: Path) -> None:
    path = tmp_path / "all.zip"
    notebook.export_all(path)

    def renew(files: dict[str, bytes]) -> None:
        manifest = json.loads(files["manifest.json"])
        files["manifest.json"] = json.dumps({**manifest, "format": 99, "news": 1}).encode()

    repacked(path, renew)
    with pytest.raises(NotebookError, match="newer Fourpatch"):
        notebook.import_all(path, by="import")


def test_any_other_zip_and_no_zip_are_refused(
    notebook: Notebook, tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    path = tmp_path / "other.zip"
    with pytest.raises(NotebookError, match="cannot be read"):
        notebook.import_all(path, by="import")
    with zipfile.ZipFile(path, "w") as packed:
        packed.writestr("recipe.txt", "flour")
    with pytest.raises(NotebookError, match="is no zip of a notebook"):
        notebook.import_all(path, by="import")
    monkeypatch.setattr(zip_file, "LARGEST", 4)
    with pytest.raises(NotebookError, match="more than 0 MB"):
        notebook.import_all(path, by="import")
    with pytest.raises(NotebookError, match=r"more than 0 MB.*Take a backup"):
        notebook.export_all(tmp_path / "large.zip")


def test_a_zip_that_cannot_be_written_leaves_nothing(notebook: Notebook, tmp_path: Path) -> None:
    with pytest.raises(NotebookError, match="cannot be written"):
        notebook.export_all(tmp_path / "no folder" / "all.zip")
    (tmp_path / "taken.zip").mkdir()
    with pytest.raises(NotebookError, match="cannot be written"):
        notebook.export_all(tmp_path / "taken.zip")
    assert not list(tmp_path.glob(".*"))
