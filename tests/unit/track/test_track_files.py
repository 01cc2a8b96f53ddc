# ruff: noqa: E501  (tables of whole messages, a case a line)
"""Track files: read, written, and refused with all their faults at once."""

import os
import re
from pathlib import Path
from typing import get_args

import numpy as np
import pytest
from numpy.testing import assert_allclose

from fourpatch.document.meaning import meaning
from fourpatch.document.part import Part
from fourpatch.errors import FileError, TrackError
from fourpatch.track import builder, curvature_line, points, track, track_kerb
from fourpatch.track.checks import require_sound, track_faults
from fourpatch.track.curvature_line import CurvatureLine, CurvatureTable
from fourpatch.track.demo import demo_track, demo_track_names
from fourpatch.track.files import load_track, save_track
from fourpatch.track.layout import lay_out
from fourpatch.track.points import PointLine, Points
from fourpatch.track.surface_profile import SurfaceProfile
from fourpatch.track.track import MeasuredSurface, Track, mirrored, reversed_direction
from fourpatch.units import Unit


def refusal(folder: Path, text: str) -> str:
    """Return what is said of a track file with this text."""
    path = folder / "my_track.toml"
    path.write_text(text, encoding="utf-8")
    with pytest.raises(FileError) as error:
        load_track(path)
    return str(error.value)


def with_files(given: Track) -> Track:
    """A track that keeps its line and a surface in CSV files."""
    layout = lay_out(given, spacing=4.0)
    random = np.random.default_rng(1)
    distance = np.arange(0.0, layout.length - 600.0 + 0.05, 0.05)
    left, right = 1e-3 * random.normal(size=(2, distance.size))
    surface = MeasuredSurface(
        start=600.0,
        file="bumps.csv",
        profile=SurfaceProfile(distance=distance, left=left, right=right),
    )
    line = PointLine(file="line.csv", accuracy=0.02, points=Points(x=layout.x[:-1], y=layout.y[:-1]))
    road = given.road.model_copy(update={"surface": [given.road.surface[0], surface]})
    return given.model_copy(update={"centre_line": line, "road": road})


# Round trips


def test_track_of_the_documentation_is_read(tmp_path: Path, club: Track, club_text: str) -> None:
    (tmp_path / "track.toml").write_text(club_text, encoding="utf-8")
    assert load_track(tmp_path / "track.toml") == club
    assert load_track(str(tmp_path / "track.toml")) == club


@pytest.mark.parametrize("name", demo_track_names())
def test_saved_demo_track_reads_back_the_same(tmp_path: Path, name: str) -> None:
    for number, one in enumerate(
        (demo_track(name), mirrored(demo_track(name)), reversed_direction(demo_track(name)))
    ):
        save_track(one, tmp_path / f"{number}.toml")
        assert load_track(tmp_path / f"{number}.toml") == one
    assert sorted(os.listdir(tmp_path)) == ["0.toml", "1.toml", "2.toml"]


def test_track_with_csv_files_reads_back_the_same(tmp_path: Path, club: Track) -> None:
    given = with_files(club)
    save_track(given, tmp_path / "track.toml")
    assert sorted(os.listdir(tmp_path)) == ["bumps.csv", "line.csv", "track.toml"]
    read = load_track(tmp_path / "track.toml")
    assert read == given
    save_track(read, tmp_path / "track.toml")  # the CSV files are there and say the same
    assert reversed_direction(reversed_direction(read)).centre_line == read.centre_line


def test_track_of_curvature_reads_back_the_same(tmp_path: Path, club: Track) -> None:
    layout = lay_out(club, spacing=1.0)
    table = CurvatureTable(distance=layout.distance, curvature=layout.curvature + 1e-5)
    given = club.model_copy(update={"centre_line": CurvatureLine(file="turns.csv", table=table)})
    save_track(given, tmp_path / "track.toml")
    assert load_track(tmp_path / "track.toml") == given


def test_saved_track_says_what_keys_mean(tmp_path: Path, club: Track) -> None:
    save_track(club, tmp_path / "track.toml")
    text = (tmp_path / "track.toml").read_text(encoding="utf-8")
    assert "closed = true # Whether it is a lap: the end is the start\n" in text
    assert '    {kind = "arc", radius = "60 m", angle = "151.352 deg", direction = "left"},\n' in text


# Nothing half-written


def test_csv_file_that_says_something_else_is_kept(tmp_path: Path, club: Track) -> None:
    (tmp_path / "line.csv").write_text(
        "x [m], y [m]\n" + "".join(f"{at}, 0\n" for at in range(9)), encoding="utf-8"
    )
    with pytest.raises(FileError, match=r"says something else than the track's own line.csv"):
        save_track(with_files(club), tmp_path / "track.toml")
    assert os.listdir(tmp_path) == ["line.csv"]


@pytest.mark.parametrize("in_the_way", [".track.toml.unfinished", ".bumps.csv.unfinished", "track.toml"])
def test_failed_save_leaves_nothing(tmp_path: Path, club: Track, in_the_way: str) -> None:
    (tmp_path / in_the_way).mkdir()
    with pytest.raises(FileError, match=r"cannot be written"):
        save_track(with_files(club), tmp_path / "track.toml")
    assert os.listdir(tmp_path) == [in_the_way]


def test_save_into_a_folder_that_is_not_there(tmp_path: Path, club: Track) -> None:
    with pytest.raises(FileError, match=r"cannot be written: No such file or directory"):
        save_track(club, tmp_path / "none" / "track.toml")


# One change of the track of the documentation; what is said of it.
CLOTHOID = '    { kind = "clothoid", length = "30 m" },\n'
REFUSALS = [
    # quantities and keys
    ('radius = "60 m"', 'radius = "60"', 'centre_line.sections.3.radius is "60", without a unit. Write "60 m"'),
    ('radius = "60 m"', 'radius = "-60 m"', 'centre_line.sections.3.radius is "-60 m", outside 3 to 10000 m. Did you mean "60 m"?'),
    ('angle = "151.352 deg"', 'angle = "151.352 m"', "centre_line.sections.3.angle is \"151.352 m\", which measures something else"),
    ('direction = "left"', 'direction = "port"', 'centre_line.sections.3.direction is "port", not one of "left", "right".'),
    ('kind = "straight"', 'kind = "strait"', 'centre_line.sections.1 has kind = "strait", not one of "straight", "arc", "clothoid". Did you mean straight?'),
    ('kind = "sections"', 'kind = "section"', 'centre_line has kind = "section", not one of "sections", "points", "curvature".'),
    ('road_class = "A"', 'road_class = "I"', 'road.surface.1.road_class is "I", not one of "A", "B"'),
    ('[road]', '[raod]', "raod is not known here. Did you mean road?"),
    ('name = "Invented club lap"', "", "name is missing. What the track is called. Add it."),
    ('tooth_length = "0.5 m"', 'tooth_length = "0.3 m"', "road.kerbs.1 does not hold together: saw-tooth kerb: length 20 m is 66.6667 teeth of 0.3 m"),
    ('width = "1.2 m", shape = { kind = "saw-tooth"', 'width = "0.15 m", shape = { kind = "saw-tooth"', "road.kerbs.1 does not hold together: two side ramps of 0.1 m do not fit into a width of 0.15 m."),
    ('[centre_line]\n', "", "centre_line is missing. The line along which distance is counted."),
    ('centre_line]\nkind = "sections"', 'centre_line]\nkind = ["points"]\nfile = "a.csv"', "centre_line has kind = a list, not one of"),
    ('surface = [\n    { kind = "road-class", start = "0 m", road_class = "A" },\n    { kind = "spectrum", start = "600 m", roughness = "40e-6 m**3", waviness = 2.1 },\n]', "surface = []", "road.surface has 0 entries; at least 1 are needed."),
    # the line
    ('"150 m" },\n    { kind = "clothoid"', '"170 m" },\n    { kind = "clothoid"', "centre_line cannot be drawn: the line does not close: the end lies 20 m from the start"),
    (CLOTHOID, 2 * CLOTHOID, "centre_line cannot be drawn: sections 2 and 3 are two clothoids that meet"),
    ('angle = "151.352 deg", direction = "left" },\n    { kind = "clothoid", length = "30 m" },\n    { kind = "straight", length = "300 m" }', 'angle = "151.352 deg", direction = "right" },\n    { kind = "clothoid", length = "30 m" },\n    { kind = "straight", length = "300 m" }', "centre_line cannot be drawn: the line does not close: left and right turns add up to 0 deg."),
    # the road
    ('{ distance = "0 m", left = "6 m", right = "6 m" }', '{ distance = "0 m", left = "0 m", right = "0 m" }', "road.width.1 leaves 0 m of road at 0 m (left 0 m, right 0 m); a car needs 2.5 m."),
    ('{ distance = "500 m", left = "5 m", right = "6 m" }', '{ distance = "0 m", left = "5 m", right = "6 m" }', "road.width.2.distance is 0 m, not beyond the entry before it, 0 m. Put the entries in driving order"),
    ('{ distance = "500 m", left = "5 m"', '{ distance = "1500 m", left = "5 m"', "road.width.2.distance is 1500 m, beyond the track: it is 1036.99 m long; a lap ends where it starts, at 0 m."),
    ('{ distance = "500 m", height = "8 m" }', '{ distance = "500 m", height = "300 m" }', "road.elevation gives a gradient of"),
    ('start = "600 m", roughness', 'start = "2 km", roughness', "road.surface.2.start is 2000 m, beyond the track"),
    ('start = "0 m", road_class', 'start = "5 m", road_class', "road.surface.1.start is 5 m, and nothing says what the road before it is like."),
    # kerbs
    ('side = "left", start = "240 m"', 'side = "left", start = "1240 m"', "road.kerbs.1.start is 1240 m, so the kerb, 20 m long, lies beyond the end of the track, which is 1036.99 m long."),
    ('offset = "1.2 m"', 'offset = "1.3 m"', "road.kerbs.2.offset is 1.3 m: the kerb lies so far outside the left edge of the road, with nothing to run on in between."),
    ('start = "245 m"', 'start = "237 m"', "road.kerbs.2.offset is 1.2 m: the kerb lies so far outside"),
    ('start = "380 m", width', 'start = "380 m", offset = "-6.5 m", width', "road.kerbs.3.offset is -6.5 m, so the kerb would begin beyond the centre line: the right edge is 6 m from it there."),
]  # fmt: skip


@pytest.mark.parametrize(("old", "new", "says"), REFUSALS)
def test_refusal_names_file_line_key_value_and_remedy(
    tmp_path: Path, club_text: str, old: str, new: str, says: str
) -> None:
    assert old in club_text
    said = refusal(tmp_path, club_text.replace(old, new, 1))
    assert says in said
    assert said.startswith("my_track.toml")
    assert "{" not in said.replace("{ kind", "")


def test_all_faults_are_said_at_once_each_with_its_line(tmp_path: Path, club_text: str) -> None:
    text = club_text
    for old, new in (
        ('length = "150 m"', 'length = "150"'),
        ('right = "6 m" },\n]', 'right = "x" },\n]'),
        ('height = "8 m"', 'hight = "8 m"'),
        ('side = "right"', 'side = "outside"'),
    ):
        assert old in text
        text = text.replace(old, new, 1)
    said = refusal(tmp_path, text).split("\n\n")
    lines = text.splitlines()
    assert len(said) == 5  # the unknown key, and the one it stands for
    for paragraph in said:
        number = int(paragraph.split("line ")[1].split(":")[0])
        assert any(sign in lines[number - 1] for sign in ('"150"', '"x"', "hight", "outside"))


def test_faults_between_numbers_are_said_beside_those_of_single_numbers(
    tmp_path: Path, club_text: str
) -> None:
    text = club_text.replace('note = "', 'nota = "', 1).replace(
        '"150 m" },\n    { kind = "c', '"170 m" },\n    { kind = "c', 1
    )
    text = text.replace('{ distance = "500 m", left = "5 m"', '{ distance = "0 m", left = "1 m"', 1).replace(
        '"6 m" },\n]', '"1 m" },\n]', 1
    )
    said = refusal(tmp_path, text)
    for part in ("nota is not known", "does not close", "not beyond the entry before", "leaves 2 m of road"):
        assert part in said


def test_faults_of_csv_files_are_said_with_those_of_the_track(tmp_path: Path, club: Track) -> None:
    save_track(with_files(club), tmp_path / "track.toml")
    text = (tmp_path / "track.toml").read_text(encoding="utf-8")
    points_text = (tmp_path / "line.csv").read_text(encoding="utf-8").splitlines()
    (tmp_path / "line.csv").write_text(
        "\n".join([*points_text[:9], "1.0, oops", *points_text[10:]]), encoding="utf-8"
    )
    said = refusal(tmp_path, text.replace("bumps.csv", "bump.csv").replace('left = "6 m"', 'left = "0 m"'))
    for part in (
        'centre_line.file is "line.csv", which cannot be used:\nline.csv, line 10: y is "oops", not a number',
        'road.surface.2.file is "bump.csv", which cannot be used:',
        "there is no such file",
    ):
        assert part in said
    assert "is missing" not in said


def test_rows_do_not_stand_in_the_track_file(tmp_path: Path, club_text: str) -> None:
    text = club_text.replace(
        '{ kind = "road-class", start = "0 m", road_class = "A" }',
        '{ kind = "profile", start = "0 m", file = "b.csv", profile = 5 }',
    )
    said = refusal(tmp_path, text)
    assert "road.surface.1.profile stands in the file that `file` names. Delete it here." in said
    assert "b.csv: there is no such file" in said
    said = refusal(tmp_path, text.replace(', file = "b.csv", profile = 5', ""))
    assert "road.surface.1.file is missing. CSV beside the track file" in said
    assert "profile is missing" not in said


def test_profile_that_is_too_short_or_too_coarse_is_refused(tmp_path: Path, club: Track) -> None:
    given = with_files(club)
    save_track(given, tmp_path / "track.toml")
    text = (tmp_path / "track.toml").read_text(encoding="utf-8")
    said = refusal(tmp_path, text.replace('start = "600 m"', 'start = "590 m"'))
    assert 'file is "bumps.csv", which runs from 0 m to' in said
    assert "begin another surface where the file ends" in said
    rows = (tmp_path / "bumps.csv").read_text(encoding="utf-8").splitlines()
    (tmp_path / "bumps.csv").write_text("\n".join([rows[0], *rows[1::3], rows[-1]]), encoding="utf-8")
    said = refusal(tmp_path, text)
    assert "with points up to 0.15 m apart; at slowest_speed = 36 km/h" in said
    assert "no more than 0.0833 m apart" in said
    (tmp_path / "track.toml").write_text(text.replace("36 km/h", "66 km/h"), encoding="utf-8")
    load_track(tmp_path / "track.toml")


# Faults that need more than one change


EIGHT = """
name = "crossing itself, invented"
[centre_line]
kind = "sections"
closed = false
sections = [
    { kind = "straight", length = "100 m" },
    { kind = "arc", radius = "40 m", angle = "270 deg", direction = "left" },
    { kind = "straight", length = "100 m" },
]
[road]
width = [ { distance = "0 m", left = "5 m", right = "5 m" } ]
surface = [ { kind = "road-class", start = "0 m", road_class = "A" } ]
"""


def test_line_that_crosses_itself_is_refused(tmp_path: Path) -> None:
    said = refusal(tmp_path, EIGHT)
    # the loop comes back over the first straight 40 m before its end, and 40 m beyond the arc's, to half a
    # piece of 2 m
    places = re.search(
        r"line 3: centre_line crosses itself: near (\d+) m and (\d+) m it is at the same place", said
    )
    assert places
    assert_allclose([float(one) for one in places.groups()], [60.0, 140.0 + 60.0 * np.pi], rtol=0, atol=1.5)
    assert "bridge" in said


def test_lap_that_crosses_itself_twice_is_refused(tmp_path: Path) -> None:
    # Turns by 360 deg in all, but loops: 4 x 270 left and 4 x 180 right.
    sections = (
        """
    { kind = "straight", length = "100 m" },
    { kind = "arc", radius = "20 m", angle = "270 deg", direction = "left" },
    { kind = "straight", length = "100 m" },
    { kind = "arc", radius = "60 m", angle = "180 deg", direction = "right" },
"""
        * 4
    )
    text = (
        EIGHT.split("sections = [")[0].replace("closed = false", "closed = true")
        + f"sections = [{sections}]\n[road]"
        + EIGHT.split("[road]")[1]
    )
    assert "centre_line crosses itself" in refusal(tmp_path, text)


def test_road_that_overlaps_itself_is_refused(tmp_path: Path) -> None:
    # out and back 20 m apart, 12 m wide inward at either end
    text = EIGHT.replace('"270 deg"', '"180 deg"').replace('radius = "40 m"', 'radius = "10 m"')
    rows = ", ".join(
        f'{{ distance = "{at} m", left = "{left} m", right = "4 m" }}'
        for at, left in ((0, 12), (90, 4), (140, 4), (231, 12))
    )
    said = refusal(tmp_path, text.replace('{ distance = "0 m", left = "5 m", right = "5 m" }', rows))
    assert "road.width makes the road overlap itself: its edges meet near" in said
    assert "or move the two parts of the track apart" in said


def test_inner_edge_that_folds_is_refused(tmp_path: Path) -> None:
    text = (
        EIGHT.replace('"270 deg"', '"90 deg"')
        .replace('radius = "40 m"', 'radius = "8 m"')
        .replace('left = "5 m"', 'left = "9 m"')
    )
    said = refusal(tmp_path, text)
    assert "road.width reaches 9 m inward at 1" in said
    assert "has a radius of 8 m: the inner edge would run backwards" in said


def test_kerb_beyond_the_end_of_an_open_track_is_refused(tmp_path: Path) -> None:
    text = EIGHT.replace('"270 deg"', '"90 deg"')
    kerb = '{ side = "left", start = "255 m", width = "1 m", shape = { kind = "half-sine", height = "30 mm", length = "10 m" } }'
    assert "road.kerbs.1.start is 255 m, so the kerb, 10 m long, lies beyond the end" in refusal(
        tmp_path, text + f"kerbs = [ {kerb} ]\n"
    )


def test_kerb_longer_than_its_lap_is_refused(tmp_path: Path) -> None:
    circle = (
        EIGHT.replace('"270 deg"', '"360 deg"')
        .replace("closed = false", "closed = true")
        .replace('    { kind = "straight", length = "100 m" },\n', "")
    )
    kerb = '{ side = "left", start = "0 m", width = "1 m", shape = { kind = "half-sine", height = "30 mm", length = "400 m" } }'
    assert "road.kerbs.1.shape.length is 400 m, longer than the track, 251.33 m" in refusal(
        tmp_path, circle + f"kerbs = [ {kerb} ]\n"
    )


def test_track_made_in_python_is_checked_before_it_is_laid_out(club: Track) -> None:
    assert track_faults(club) == []
    require_sound(club)
    kerb = club.road.kerbs[0].model_copy(update={"start": 5000.0})
    road = club.road.model_copy(update={"kerbs": [kerb]})
    with pytest.raises(TrackError, match=r"track Invented club lap: road.kerbs.1.start is 5000 m"):
        lay_out(club.model_copy(update={"road": road}))


# What every part promises


PARTS = [
    kind
    for module in (builder, curvature_line, points, track, track_kerb)
    for kind in vars(module).values()
    if isinstance(kind, type) and issubclass(kind, Part) and kind.__module__ == module.__name__
]


@pytest.mark.parametrize("part", PARTS, ids=lambda part: part.__name__)
def test_every_key_has_a_sentence_and_every_number_a_unit(part: type[Part]) -> None:
    for name, field in part.model_fields.items():
        assert name == "kind" or meaning(part, name), name
        if field.annotation is float:
            (unit,) = (one for one in field.metadata if isinstance(one, Unit))
            assert unit.low < unit.high


def test_documentation_names_every_key(club_text: str) -> None:
    page = Path(__file__).parents[3].joinpath("docs", "track-file.md").read_text(encoding="utf-8")
    for part in PARTS:
        for name, field in part.model_fields.items():
            if name not in ("points", "table", "profile", "note", "name"):
                assert any(form.format(name) in page for form in ("`{}`", "`[{}]`", "{} =")), name
            for choice in get_args(field.annotation):
                if isinstance(choice, str) and len(choice) > 1:
                    assert choice in page


def test_numbers_of_a_csv_file_may_stand_in_quotes(tmp_path: Path, club: Track) -> None:
    save_track(with_files(club), tmp_path / "track.toml")
    for name in ("line.csv", "bumps.csv"):
        head, *rows = (tmp_path / name).read_text(encoding="utf-8").splitlines()
        quoted = [", ".join(f'"{cell.strip()}"' for cell in row.split(",")) for row in (head, *rows)]
        (tmp_path / name).write_text("\n".join(quoted), encoding="utf-8")
    assert load_track(tmp_path / "track.toml") == with_files(club)
