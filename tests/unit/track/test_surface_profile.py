"""Measured surfaces and the CSV files that hold rows of numbers."""

from pathlib import Path

import numpy as np
import pytest
from numpy.testing import assert_allclose, assert_array_equal

from fourpatch.errors import FileError, TrackError
from fourpatch.track.columns import MOST_FAULTS
from fourpatch.track.contact_filter import tyre_path
from fourpatch.track.surface_profile import (
    SurfaceProfile,
    coarsest_spacing,
    load_surface_profile,
    surface_profile_text,
)
from fourpatch.units import Unit

GOOD = """# invented
distance [m], left [mm], right [mm]
0.0, 1.0, -1
0.1, 2.5, 0
# a comment between
0.2, 3.0, 1e0
"""


def written(folder: Path, text: str) -> Path:
    path = folder / "bumps.csv"
    path.write_text(text, encoding="utf-8")
    return path


def test_units_of_the_heading_count(tmp_path: Path) -> None:
    profile = load_surface_profile(written(tmp_path, GOOD))
    # rounding of one multiplication
    assert_allclose(profile.distance, [0.0, 0.1, 0.2], rtol=1e-15)
    assert_allclose(profile.left, [1e-3, 2.5e-3, 3e-3], rtol=1e-15)
    assert_allclose(profile.right, [-1e-3, 0.0, 1e-3], rtol=1e-15)


@pytest.mark.parametrize(
    "text",
    [
        GOOD.replace(", ", ";"),
        GOOD.replace(", ", "\t"),
        GOOD.replace("left [mm]", "Left [ mm ]"),
        GOOD.replace("\n", "\r\n"),
        "\ufeff" + GOOD,
        "\n".join(
            line if line.startswith("#") else f"{line}, {'time [s]' if 'left' in line else '0.5'}"
            for line in GOOD.splitlines()
        ),
    ],
    ids=["semicolons", "tabs", "capitals", "Windows", "byte order mark", "further column"],
)
def test_ways_to_write_the_same(tmp_path: Path, text: str) -> None:
    assert load_surface_profile(written(tmp_path, text)) == load_surface_profile(written(tmp_path, GOOD))


def test_written_profile_reads_back_exactly(tmp_path: Path) -> None:
    random = np.random.default_rng(3)
    profile = SurfaceProfile(
        distance=np.cumsum(random.uniform(0.05, 0.1, 200)),
        left=random.normal(scale=0.01, size=200),
        right=random.normal(scale=0.01, size=200),
    )
    assert load_surface_profile(written(tmp_path, surface_profile_text(profile))) == profile


REFUSALS = [
    ("", ["bumps.csv: has no rows", "distance [m], left [mm], right [mm]"]),
    (GOOD.replace("left [mm]", "links [mm]"), ["line 2: column left is missing", "Add left [mm]"]),
    (GOOD.replace("left [mm]", "left"), ["line 2: column left has no unit", "left [mm]"]),
    (GOOD.replace("left [mm]", "left [kg]"), ["line 2: column left has a wrong unit", "Use mm or m"]),
    (GOOD.replace("2.5", ""), ["line 4: left has no value: a gap"]),
    (GOOD.replace("2.5", "nan"), ['line 4: left is "nan", a gap']),
    (GOOD.replace("2.5", "2.5 mm"), ['line 4: left is "2.5 mm", not a number', "heading only"]),
    (GOOD.replace(", ", ";").replace("2.5", "2,5"), ['left is "2,5". The decimal sign is a point: 2.5']),
    (GOOD.replace("0.1, 2.5, 0", "0.1"), ["line 4: left has no value", "line 4: right has no value"]),
    (GOOD.replace("2.5", "2500"), ["line 4: left is 2500 mm, outside -300 to 300 mm"]),
    (GOOD.replace("0.1,", "0.3,"), ["line 6: this point lies 0.1 m before the one above", "Sort the points"]),
    (
        GOOD + "0.3, 0, 0\n0.9, 0, 0\n1.0, 0, 0\n1.0, 0, 0\n",
        [
            "line 8: this point lies 0.6 m after the one above",
            "mostly 0.1 m apart: a gap",
            "line 10: this point",
        ],
    ),
]


@pytest.mark.parametrize(("text", "says"), REFUSALS)
def test_refusal_names_line_value_and_remedy(tmp_path: Path, text: str, says: list[str]) -> None:
    with pytest.raises(FileError) as error:
        load_surface_profile(written(tmp_path, text))
    for part in says:
        assert part in str(error.value)


def test_many_faults_are_counted(tmp_path: Path) -> None:
    rows = "".join(f"{0.1 * at:.1f}, x, 0\n" for at in range(30))
    with pytest.raises(FileError) as error:
        load_surface_profile(written(tmp_path, "distance [m], left [mm], right [mm]\n" + rows))
    assert str(error.value).count("not a number") == 20
    assert "and 10 more like these" in str(error.value)


def test_files_that_cannot_be_read(tmp_path: Path) -> None:
    with pytest.raises(FileError, match="there is no such file"):
        load_surface_profile(tmp_path / "none.csv")
    path = tmp_path / "bumps.csv"
    path.write_bytes(b"distance [m], left [mm]\xff")
    with pytest.raises(FileError, match="UTF-8"):
        load_surface_profile(path)


def test_profile_from_arrays_is_checked() -> None:
    row = np.arange(4.0)
    with pytest.raises(TrackError, match="same length"):
        SurfaceProfile(distance=row, left=row[:3], right=row)
    with pytest.raises(TrackError, match="left of point 2 is nan: a gap"):
        SurfaceProfile(distance=row, left=np.array([0.0, np.nan, 0.0, 0.0]), right=row)
    with pytest.raises(TrackError, match="point 4 lies 7 m after"):
        SurfaceProfile(distance=np.array([0.0, 1.0, 2.0, 9.0]), left=row, right=row)
    with pytest.raises(TrackError, match="two points or more"):
        SurfaceProfile(distance=row[:1], left=row[:1], right=row[:1])


def test_mirrored_and_reversed() -> None:
    profile = SurfaceProfile(distance=np.arange(5.0) + 0.25, left=np.arange(5.0) * 1e-3, right=np.zeros(5))
    assert profile.mirrored().mirrored() == profile
    assert profile.reversed(4.0).reversed(4.0) == profile
    assert_array_equal(profile.reversed(4.0).distance, np.arange(5.0) - 0.25)
    assert_array_equal(profile.reversed(4.0).right, profile.left[::-1])
    assert profile != profile.mirrored()
    assert profile != "bumps.csv"


def test_coarsest_spacing() -> None:
    # by hand: 30 m/s over 30 Hz is a wave of 1 m, a quarter of it; slower than 3 m/s the patch decides
    assert_allclose(coarsest_spacing(speed=30.0), 0.25, rtol=1e-15)
    assert_allclose(coarsest_spacing(speed=1.0), 0.025, rtol=1e-15)
    with pytest.raises(TrackError, match="slowest speed"):
        coarsest_spacing(speed=0.0)


def test_what_is_finer_than_the_coarsest_spacing_a_tyre_does_not_feel() -> None:
    """The reason given for the 0.1 m: a wave as short as a short patch leaves next to nothing."""
    distance = np.arange(0.0, 4.0, 0.0025)
    wave = 0.002 * np.cos(2.0 * np.pi * distance / 0.1)
    felt = tyre_path(wave, 0.0025, contact_length=0.1, tyre_radius=0.3)[400:-400]
    # the rolling circle rides on the crests, then the mean over one wave of what is left is level
    assert np.ptp(felt) < 0.01 * np.ptp(wave)


def test_of_many_rows_out_of_range_only_those_that_are_said_are_put_into_words(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    path = tmp_path / "bumps.csv"
    rows = [f"{0.1 * k:.1f}, 9e9, 9e9" for k in range(500)]
    path.write_text("\n".join(["distance [m], left [mm], right [mm]", *rows]), encoding="utf-8")
    worded = []
    check = Unit.check

    def counted(unit: Unit, value: float, *, written: str = "") -> float:
        worded.append(value)
        return check(unit, value, written=written)

    monkeypatch.setattr(Unit, "check", counted)
    with pytest.raises(FileError, match=f"and {1000 - MOST_FAULTS} more like these"):
        load_surface_profile(path)
    assert len(worded) == MOST_FAULTS
