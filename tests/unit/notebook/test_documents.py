"""Cars, tracks and styles: kept as typed, never overwritten silently, never lost."""

from collections.abc import Callable
from pathlib import Path

import pytest

from fourpatch.car.demo import demo_car
from fourpatch.car.files import load_car, save_car
from fourpatch.errors import FileError, NotebookConflict, NotebookError
from fourpatch.events.driver_style import DriverStyle
from fourpatch.events.style_file import load_style
from fourpatch.notebook.kinds import Written, file_name
from fourpatch.notebook.notebook import Notebook
from fourpatch.track.files import load_track

Window = Callable[[], Notebook]

POINTS = """name = "measured, invented"
note = ""

[centre_line]
kind = "points"
closed = false
file = "line.csv"

[road]
width = [{ distance = "0 m", left = "5 m", right = "5 m" }]
surface = [{ kind = "road-class", start = "0 m", road_class = "A" }]
"""


@pytest.fixture
def gt(notebook: Notebook) -> int:
    """Id of the demo GT."""
    return next(one.id for one in notebook.cars.listed() if one.name == "Demo GT")


def text_of(notebook: Notebook, id: int) -> str:
    return notebook.cars.get(id).written.text


def test_comments_and_provenance_survive_word_for_word(notebook: Notebook, gt: int) -> None:
    text = text_of(notebook, gt).replace("[chassis]", "# weighed twice, 走行\n[chassis]")
    entry = notebook.cars.add(Written(text=text), by="window 1")
    assert text_of(notebook, entry.id) == text
    assert not entry.demo
    assert notebook.cars.read(entry.id) == demo_car("gt")


def test_a_text_that_cannot_be_meant_is_refused_with_its_line_and_nothing_kept(
    notebook: Notebook, gt: int
) -> None:
    bad = Written(text=text_of(notebook, gt).replace('mass = "1320 kg"', 'mass = "-1 kg"'))
    before = notebook.cars.listed()
    with pytest.raises(FileError, match=r"car\.toml, line \d+: chassis\.mass"):
        notebook.cars.add(bad, by="window 1")
    with pytest.raises(FileError, match=r"chassis\.mass"):
        notebook.cars.change(gt, bad, revision=1, by="window 1")
    assert notebook.cars.listed() == before


def test_every_revision_is_kept(notebook: Notebook, gt: int) -> None:
    first = text_of(notebook, gt)
    second = Written(text=first.replace('mass = "1320 kg"', 'mass = "1300 kg"'))
    entry = notebook.cars.change(gt, second, revision=1, by="window 1")
    assert (entry.revision, entry.changed_by) == (2, "window 1")
    assert notebook.cars.read(gt).chassis.mass == 1300.0
    assert notebook.cars.read(gt, revision=1).chassis.mass == 1320.0
    assert notebook.cars.get(gt, revision=1).written.text == first
    assert [one.revision for one in notebook.cars.history(gt)] == [2, 1]
    with pytest.raises(NotebookError, match="no revision 3"):
        notebook.cars.get(gt, revision=3)


def test_the_same_text_again_is_no_change(notebook: Notebook, gt: int) -> None:
    assert notebook.cars.change(gt, notebook.cars.get(gt).written, revision=1, by="window 1").revision == 1


def test_of_two_windows_the_second_is_told_of_the_first(window: Window, gt: int) -> None:
    one, other = window(), window()
    text = text_of(one, gt)
    lighter = Written(text=text.replace('mass = "1320 kg"', 'mass = "1300 kg"'))
    heavier = Written(text=text.replace('mass = "1320 kg"', 'mass = "1350 kg"'))
    one.cars.change(gt, lighter, revision=1, by="the window on the left")
    with pytest.raises(NotebookConflict, match=r"the window on the left, on \d{4}-\d\d-\d\d at .*revision 2"):
        other.cars.change(gt, heavier, revision=1, by="the window on the right")
    assert other.cars.read(gt).chassis.mass == 1300.0
    other.cars.change(gt, heavier, revision=2, by="the window on the right")
    assert one.cars.read(gt).chassis.mass == 1350.0


def test_what_is_deleted_elsewhere_is_not_changed_here(notebook: Notebook, gt: int) -> None:
    notebook.cars.delete(gt, by="window 2")
    with pytest.raises(NotebookConflict, match="deleted by window 2"):
        notebook.cars.rename(gt, "mine", revision=1, by="window 1")


def test_a_deleted_car_comes_back_with_its_setups(notebook: Notebook, gt: int) -> None:
    document, setups = notebook.cars.get(gt), notebook.setups.listed(gt)
    gone = notebook.cars.delete(gt, by="window 1")
    assert gone.deleted is not None
    assert gt not in [one.id for one in notebook.cars.listed()]
    assert [one.id for one in notebook.cars.deleted()] == [gt]
    assert notebook.cars.restore(gt) == document.entry
    assert notebook.cars.get(gt) == document
    assert notebook.setups.listed(gt) == setups
    assert notebook.cars.deleted() == []


def test_an_id_is_never_given_twice(notebook: Notebook) -> None:
    made = [notebook.styles.add(DriverStyle(), name="x", by="window 1").id for _ in range(3)]
    assert len(set(made)) == 3
    assert min(made) > max(one.id for one in notebook.tracks.listed())


def test_a_new_name_stands_in_the_file_too_and_nothing_else_changes(notebook: Notebook, gt: int) -> None:
    before = text_of(notebook, gt)
    notebook.cars.rename(gt, 'Größe 走行 "7"', revision=1, by="window 1")
    assert notebook.cars.read(gt).name == 'Größe 走行 "7"'
    assert text_of(notebook, gt).splitlines()[1:] == before.splitlines()[1:]
    for bad in ("", "  ", "x" * 81):
        with pytest.raises(NotebookError, match="1 to 80"):
            notebook.cars.rename(gt, bad, revision=2, by="window 1")


def test_a_style_has_no_name_in_its_file(notebook: Notebook) -> None:
    with pytest.raises(NotebookError, match="1 to 80"):
        notebook.styles.add(DriverStyle(), by="window 1")
    entry = notebook.styles.add(DriverStyle(preview=0.8), name="calm", by="window 1")
    entry = notebook.styles.change(entry.id, DriverStyle(preview=0.9), revision=1, by="window 1")
    assert (entry.name, entry.revision) == ("calm", 2)
    assert notebook.styles.rename(entry.id, "calmer", revision=2, by="window 1").name == "calmer"
    assert notebook.styles.read(entry.id).preview == 0.9


def test_a_car_goes_out_as_a_file_and_comes_in_the_same(notebook: Notebook, gt: int, tmp_path: Path) -> None:
    path = tmp_path / "my car.toml"
    notebook.cars.export_file(gt, path)
    assert path.read_text(encoding="utf-8") == text_of(notebook, gt)
    assert load_car(path) == demo_car("gt")
    save_car(demo_car("coupe"), path)
    entry = notebook.cars.import_file(path, by="import")
    assert notebook.cars.read(entry.id) == demo_car("coupe")


def test_a_style_goes_by_the_name_of_its_file(notebook: Notebook, tmp_path: Path) -> None:
    path = tmp_path / "wet hands.toml"
    path.write_text('arm_lag = "0.1 s"  # in the wet\n', encoding="utf-8")
    entry = notebook.styles.import_file(path, by="import")
    assert entry.name == "wet hands"
    assert "# in the wet" in notebook.styles.get(entry.id).written.text
    notebook.styles.export_file(entry.id, tmp_path / "out.toml")
    assert load_style(tmp_path / "out.toml") == notebook.styles.read(entry.id)


@pytest.fixture
def measured(tmp_path: Path) -> Path:
    """A track file that names another."""
    folder = tmp_path / "measured"
    folder.mkdir()
    rows = "\n".join(f"{5.0 * k:.1f},{0.002 * k * k:.3f}" for k in range(60))
    (folder / "line.csv").write_text(f"x [m],y [m]\n{rows}\n", encoding="utf-8")
    (folder / "track.toml").write_text(POINTS, encoding="utf-8")
    return folder / "track.toml"


def test_a_track_brings_the_file_it_names(notebook: Notebook, measured: Path, tmp_path: Path) -> None:
    track = load_track(measured)
    entry = notebook.tracks.import_file(measured, by="import")
    assert notebook.tracks.read(entry.id) == track
    out = tmp_path / "out"
    out.mkdir()
    notebook.tracks.export_file(entry.id, out / "again.toml")
    assert load_track(out / "again.toml") == track
    assert (out / "line.csv").read_bytes() == (measured.parent / "line.csv").read_bytes()


def test_no_file_beside_is_written_over(notebook: Notebook, measured: Path, tmp_path: Path) -> None:
    entry = notebook.tracks.import_file(measured, by="import")
    (tmp_path / "line.csv").write_text("x [m],y [m]\n0,0\n", encoding="utf-8")
    with pytest.raises(FileError, match=r"line\.csv: is there and says something else"):
        notebook.tracks.export_file(entry.id, tmp_path / "again.toml")
    assert not (tmp_path / "again.toml").exists()


@pytest.mark.parametrize("name", ["line.csv", "../line.csv", "/etc/hostname", ".."])
def test_a_text_reads_no_file_that_is_not_given_with_it(notebook: Notebook, name: str) -> None:
    with pytest.raises(FileError):
        notebook.tracks.add(Written(text=POINTS.replace("line.csv", name)), by="window 1")


@pytest.mark.parametrize("name", ["../line.csv", "/elsewhere/line.csv", ".."])
def test_a_text_writes_no_file_elsewhere(notebook: Notebook, name: str) -> None:
    text = POINTS.replace("line.csv", name)
    with pytest.raises(FileError, match=r"another folder|cannot be written"):
        notebook.tracks.add(Written(text=text, beside={name: "x [m],y [m]\n0,0\n"}), by="window 1")


def test_what_is_not_there_is_said(notebook: Notebook, gt: int) -> None:
    for missing in (notebook.cars.get, notebook.cars.read, notebook.cars.history, notebook.cars.restore):
        with pytest.raises(NotebookError, match="no car 12345"):
            missing(12345)
    with pytest.raises(NotebookError, match=f"no track {gt}"):
        notebook.tracks.get(gt)  # a car is no track


def test_half_of_a_sign_is_refused(notebook: Notebook, gt: int) -> None:
    with pytest.raises(FileError, match="half of a sign"):
        notebook.cars.add(Written(text=f"# \ud800\n{text_of(notebook, gt)}"), by="window 1")
    with pytest.raises(NotebookError, match="half of a sign"):
        notebook.cars.rename(gt, "\ud800", revision=1, by="window 1")


@pytest.mark.parametrize("name", ["con", "NUL", "com1", "LPT9.old", "aux "])
def test_no_file_has_a_name_that_windows_keeps_for_itself(name: str) -> None:
    assert file_name(name).startswith("_")


def test_a_file_beside_whose_name_is_none_is_refused(notebook: Notebook) -> None:
    text = POINTS.replace("line.csv", r"\u0000.csv")
    with pytest.raises(FileError, match="no file can be called"):
        notebook.tracks.add(Written(text=text, beside={"\0.csv": "x [m],y [m]"}), by="window 1")
