"""Tracks at the command line: listed, exported, checked, analysed, and every broken one refused at once."""

import json
from collections.abc import Callable
from pathlib import Path
from typing import Any

import numpy as np
import pytest
from click.testing import Result
from numpy.testing import assert_allclose

from fourpatch.track.demo import demo_track, demo_track_names
from fourpatch.track.files import load_track
from fourpatch.track.layout import lay_out

Command = Callable[..., Result]
Answered = Callable[..., Any]
Refused = Callable[..., str]


SMOOTH = '{ kind = "road-class", start = "0 m", road_class = "A" }'


def small_track(
    sections: str, surface: str = '{ kind = "road-class", start = "0 m", road_class = "A" }'
) -> str:
    return f"""
name = "small, invented"
[centre_line]
kind = "sections"
closed = false
sections = [{sections}]
[road]
width = [{{ distance = "0 m", left = "4 m", right = "4 m" }}]
surface = [{surface}]
"""


@pytest.fixture
def broken(fourpatch: Command, tmp_path: Path) -> Callable[..., Path]:
    """Write a demo track to a file with pieces of its text replaced."""

    def write(name: str, *replaced: tuple[str, str]) -> Path:
        path = tmp_path / "my-track.toml"
        assert fourpatch("export", "track", name, str(path), "--force").exit_code == 0
        text = path.read_text(encoding="utf-8")
        for old, new in replaced:
            assert old in text, f"{old} is not in the file"
            text = text.replace(old, new, 1)
        path.write_text(text, encoding="utf-8")
        return path

    return write


def test_all_demo_tracks_are_listed(fourpatch: Command, answered: Answered) -> None:
    assert [one["name"] for one in answered("list", "tracks")["tracks"]] == list(demo_track_names())
    shown = fourpatch("list", "tracks").stdout
    assert all(name in shown for name in demo_track_names())
    assert "nvented" in shown


@pytest.mark.parametrize("name", demo_track_names())
def test_an_exported_track_is_the_same_track(name: str, fourpatch: Command) -> None:
    assert fourpatch("export", "track", name, "mine.toml").exit_code == 0
    assert load_track("mine.toml") == demo_track(name)
    again = fourpatch("export", "track", name, "mine.toml")
    assert again.exit_code == 2
    assert "--force" in again.stderr


def test_checking_a_track_says_how_it_closes(fourpatch: Command, answered: Answered) -> None:
    fourpatch("export", "track", "chicanes", "mine.toml")
    layout = lay_out(demo_track("chicanes"))
    found = answered("check", "track", "mine.toml")
    assert found["track"] == "Demo chicanes"
    assert found["closed"] is True
    assert found["length"] == {"value": layout.length, "unit": "m"}
    assert found["adjustment"] == layout.adjustment
    shown = " ".join(fourpatch("check", "track", "mine.toml").stdout.split())
    assert f"no faults. It is a lap, {layout.length:.2f} m long" in shown
    assert layout.adjustment in shown


# Analysing


def test_analysis_gives_what_the_library_finds(answered: Answered) -> None:
    found = answered("analyse", "track", "chicanes", "--car-width", "1.8 m", "--margin", "500 mm")
    assert found["car_width"] == {"value": 1.8, "unit": "m"}
    assert found["margin"] == {"value": 0.5, "unit": "m"}
    summary = found["summary"]
    assert summary["narrowest"] == {"value": 11.0, "unit": "m"}
    corners = summary["corners"]
    assert [one["corner"] for one in corners] == [str(k) for k in range(1, 11)]
    assert [one["chicane"] for one in corners[:3]] == ["1", "1", ""]
    # the hairpin of the file: 15 m, 105.55 deg of arc and half of each clothoid, 2 * 10 m / (2 * 15 m)
    assert corners[2]["direction"] == "left"
    assert_allclose(corners[2]["apex_radius"]["value"], 15.0, rtol=1e-3)
    turned = np.radians(105.55) + 10.0 / 15.0
    # what lies beyond 400 m is not the corner's, (15/400)² of the clothoids; closing changes lengths
    assert_allclose(corners[2]["angle"]["value"], turned, rtol=2e-3)
    wider = answered("analyse", "track", "chicanes", "--margin", "1 m")["summary"]
    assert summary["line_length"]["value"] < wider["line_length"]["value"] < summary["length"]["value"]


def test_analysis_is_written_for_people(fourpatch: Command) -> None:
    shown = fourpatch("analyse", "track", "long-corners").stdout
    assert "radius of" in shown
    assert shown.count("medium, long") == 6
    assert shown.count("fast, long") == 1
    assert "turning is to the right" in " ".join(shown.split())
    assert "Least curvature is not least time" in " ".join(shown.split())


def test_a_straight_has_no_corners(fourpatch: Command, tmp_path: Path) -> None:
    path = tmp_path / "straight.toml"
    path.write_text(small_track('{ kind = "straight", length = "400 m" }'), encoding="utf-8")
    result = fourpatch("analyse", "track", str(path))
    assert result.exit_code == 0, result.stderr
    assert "nothing on it counts as a corner" in result.stdout
    assert "From start to end of 400.0 m, 8.0 m wide" in result.stdout


def test_map_is_drawn(fourpatch: Command, tmp_path: Path) -> None:
    result = fourpatch("analyse", "track", "chicanes", "--figure", str(tmp_path / "map.svg"))
    assert result.exit_code == 0, result.stderr
    assert "<svg" in (tmp_path / "map.svg").read_text(encoding="utf-8")


# Broken


SURFACE = '{kind = "road-class", start = "450 m", road_class = "C"}'

BROKEN = {
    "does not close": (
        ("chicanes", ('angle = "105.55 deg"', 'angle = "95.55 deg"')),
        "centre_line cannot be drawn: the line does not close",
    ),
    "zero width": (
        ("chicanes", ('left = "5.5 m", right = "5.5 m"', 'left = "0 m", right = "0 m"')),
        "leaves 0 m of road at 0 m",
    ),
    "narrow at the inside": (
        ("chicanes", ('left = "5.5 m"', 'left = "15.5 m"')),
        "the inner edge would run backwards",
    ),
    "kerb beyond the track": (
        ("chicanes", ('start = "2153 m"', 'start = "2453 m"')),
        "lies beyond the end of the track",
    ),
    "kerb off the edge": (
        ("long-corners", ('offset = "0 m"', 'offset = "3 m"')),
        "lies so far outside the right edge",
    ),
    "kerb across the middle": (
        ("long-corners", ('offset = "0 m"', 'offset = "-8 m"')),
        "would begin beyond the centre line",
    ),
    "places out of order": (
        ("long-corners", ('distance = "900 m", left', 'distance = "500 m", left')),
        "not beyond the entry before it",
    ),
    "too steep": (
        ("chicanes", ('height = "8 m"', 'height = "300 m"')),
        "no road is steeper",
    ),
    "surface file missing": (
        ("chicanes", (SURFACE, '{kind = "profile", start = "450 m", file = "bumps.csv"}')),
        "bumps.csv",
    ),
}


@pytest.mark.parametrize("case", BROKEN)
@pytest.mark.parametrize("command", ["check", "analyse"])
def test_a_broken_track_is_refused_with_one_message(
    case: str, command: str, broken: Callable[..., Path], refused: Refused
) -> None:
    (name, *replaced), text = BROKEN[case]
    path = broken(name, *replaced)
    said = refused(command, "track", str(path))
    assert text in " ".join(said.split())
    assert path.name in said
    assert "line " in said
    # one fault, one paragraph
    assert len(said.strip().split("\n\n")) == 1


def test_a_track_that_crosses_itself_is_refused(tmp_path: Path, refused: Refused) -> None:
    loop = '{ kind = "arc", radius = "40 m", angle = "270 deg", direction = "left" }'
    straight = '{ kind = "straight", length = "150 m" }'
    path = tmp_path / "loop.toml"
    path.write_text(small_track(f"{straight}, {loop}, {straight}"), encoding="utf-8")
    said = " ".join(refused("check", "track", str(path)).split())
    # the straight ends at 150 m under the start of the loop; 40 m back it is met again 40 m behind the loop
    loop_length = 40.0 * 1.5 * np.pi
    assert "crosses itself: near 110 m and" in said.replace("109 m", "110 m").replace("111 m", "110 m")
    assert any(f"and {150.0 + loop_length + 40.0 + off:.0f} m" in said for off in (-1.0, 0.0, 1.0))


@pytest.mark.parametrize(
    ("rows", "text"),
    [
        (np.delete(np.arange(0.0, 200.01, 0.05), np.arange(1000, 1020)), "gap"),
        (np.arange(0.0, 150.01, 0.05), "runs from 0 m to 150 m; the surface is 200 m long"),
        (np.arange(0.0, 200.01, 0.5), "must be no more than"),
    ],
)
def test_a_profile_with_holes_is_refused(
    rows: np.ndarray, text: str, tmp_path: Path, refused: Refused
) -> None:
    lines = ["distance [m], left [mm], right [mm]", *(f"{at:.2f}, 0.1, 0.1" for at in rows)]
    (tmp_path / "bumps.csv").write_text("\n".join(lines), encoding="utf-8")
    surface = '{ kind = "profile", start = "0 m", file = "bumps.csv" }'
    path = tmp_path / "rough.toml"
    path.write_text(small_track('{ kind = "straight", length = "200 m" }', surface), encoding="utf-8")
    said = " ".join(refused("check", "track", str(path)).split())
    assert text in said
    assert "bumps.csv" in said


def test_a_row_without_a_number_is_refused(tmp_path: Path, refused: Refused) -> None:
    lines = ["distance [m], left [mm], right [mm]", *(f"{0.05 * k:.2f}, 0.1, 0.1" for k in range(4001))]
    lines[101] = "5.00, , 0.1"
    (tmp_path / "bumps.csv").write_text("\n".join(lines), encoding="utf-8")
    surface = '{ kind = "profile", start = "0 m", file = "bumps.csv" }'
    path = tmp_path / "rough.toml"
    path.write_text(small_track('{ kind = "straight", length = "200 m" }', surface), encoding="utf-8")
    said = refused("check", "track", str(path))
    assert "line 102" in said


def test_names_that_are_none(refused: Refused) -> None:
    said = refused("analyse", "track", "chicane")
    assert "there is no demo track of that name and no such file. Did you mean chicanes?" in said
    assert "chicane.toml" in refused("export", "track", "chicane", "x.toml")
    assert "nowhere.toml" in refused("check", "track", "nowhere.toml")


def test_a_car_too_wide_is_refused(broken: Callable[..., Path], refused: Refused) -> None:
    said = refused("analyse", "track", "chicanes", "--margin", "5 m")
    assert "the road is 11 m wide; a car of 1.9 m with a margin of 5 m" in said
    assert "0.5 to 3 m" in refused("analyse", "track", "chicanes", "--car-width", "30 m")


def test_json_is_json_alone(fourpatch: Command) -> None:
    result = fourpatch("analyse", "track", "long-corners", "--json", "--figure", "map.png")
    assert result.exit_code == 0
    assert json.loads(result.stdout)["track"] == "Demo long corners"
    assert "Drew map.png" in result.stderr


def test_a_sketch_is_printed_filled_in_and_made_a_track(fourpatch: Command, tmp_path: Path) -> None:
    sketch = tmp_path / "sketch.txt"
    sketch.write_text(fourpatch("estimate", "track", "--example").stdout, encoding="utf-8")
    result = fourpatch(
        "estimate", "track", str(sketch), "--output", "told.toml", "--car", "gt", "--name", "Told"
    )
    assert result.exit_code == 0, result.stderr
    assert "Corner 1: long, so 140 deg; gear 2" in result.stdout
    assert "instead of" in result.stdout
    made = lay_out(load_track(tmp_path / "told.toml"))
    assert made.closed
    # Drawn from right-hand corners, driven the other way it turns left.
    assert made.heading[-1] < 0.0
    again = fourpatch("estimate", "track", str(sketch), "--output", "round.toml", "--reversed")
    assert again.exit_code == 0, again.stderr
    assert lay_out(load_track(tmp_path / "round.toml")).heading[-1] > 0.0


def test_a_sketch_that_cannot_be_meant_is_refused(
    refused: Refused, fourpatch: Command, tmp_path: Path
) -> None:
    sketch = tmp_path / "sketch.txt"
    sketch.write_text("straight 300 m\nlft, 40 m\n", encoding="utf-8")
    assert "Did you mean left" in refused("estimate", "track", str(sketch), "--output", "told.toml")
    assert fourpatch("estimate", "track", str(sketch)).exit_code == 2
