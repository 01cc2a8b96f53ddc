"""Tracks from files with and without times: every kind of line, and what cannot be one."""

import math
from collections.abc import Sequence
from pathlib import Path

import numpy as np
import pytest
from numpy.testing import assert_allclose

from fourpatch.errors import RecordingError, TrackError
from fourpatch.recording.line_file import track_from_file
from fourpatch.recording.mapping import MappedColumn
from fourpatch.recording.signals import EARTH_RADIUS
from fourpatch.track.layout import TrackLayout, lay_out

from .conftest import LAP, TRACK, on_track

PLACE = (math.radians(51.0), math.radians(7.0))


@pytest.fixture(autouse=True)
def own_sources(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setenv("FOURPATCH_SOURCES", str(tmp_path / "sources"))


def written(folder: Path, heading: str, rows: Sequence[np.ndarray], name: str = "line.csv") -> Path:
    path = folder / name
    lines = (",".join(f"{one:.8f}" for one in row) for row in np.column_stack(rows))
    path.write_text(f"{heading}\n" + "\n".join(lines) + "\n", encoding="utf-8")
    return path


def places(count: int = 2000, *, laps: float = 1.0, off: float = 0.5) -> tuple[np.ndarray, np.ndarray]:
    at = np.linspace(0.0, laps * LAP, count, endpoint=False) + 300.0
    noise = off * np.random.default_rng(5).normal(size=(2, count))
    return on_track(TRACK.x, at) + noise[0], on_track(TRACK.y, at) + noise[1]


def degrees(x: np.ndarray, y: np.ndarray) -> tuple[np.ndarray, np.ndarray]:
    latitude = PLACE[0] + y / EARTH_RADIUS
    return np.degrees(latitude), np.degrees(PLACE[1] + x / (EARTH_RADIUS * np.cos(PLACE[0])))


def made(path: Path, **about: object) -> TrackLayout:
    return lay_out(track_from_file(path, name="A day", width=11.0, **about).track)  # type: ignore[arg-type]


def test_two_thousand_noisy_latitudes_and_longitudes(tmp_path: Path) -> None:
    path = written(tmp_path, "lat,lon", degrees(*places()))
    made_track = track_from_file(path, name="A day", width=11.0)
    layout = lay_out(made_track.track)
    # Smoothing rounds corners off, by less than the tenth of a percent; the projection is the recorder's own.
    assert_allclose(layout.length, LAP, rtol=2e-3)
    assert_allclose(layout.left + layout.right, 11.0)
    assert "off the smooth line" in made_track.told
    assert "closes by itself" in made_track.told


@pytest.mark.parametrize("heading", ["x [m],y [m]", "x [ft],y [ft]", "East,North"])
def test_places_in_a_plane(tmp_path: Path, heading: str) -> None:
    x, y = places(1200, off=0.1)
    scale = 0.3048 if "ft" in heading else 1.0
    assert_allclose(made(written(tmp_path, heading, (x / scale, y / scale))).length, LAP, rtol=1e-3)


def test_columns_without_a_heading_are_what_is_said(tmp_path: Path) -> None:
    x, y = places(800, off=0.1)
    path = written(tmp_path, f"{x[0]:.3f},{y[0]:.3f}", (x[1:], y[1:]))
    with pytest.raises(RecordingError, match="holds no line that is known"):
        made(path)
    said = [
        MappedColumn(column="column 1", channel="position_x", unit="m"),
        MappedColumn(column="column 2", channel="position_y", unit="m"),
    ]
    assert_allclose(made(path, columns=said).length, LAP, rtol=1e-3)


@pytest.mark.parametrize("kind", ["curvature", "yaw rate"])
def test_distance_and_how_it_bends(tmp_path: Path, kind: str) -> None:
    at = np.arange(0.0, LAP, 1.0)
    bend = on_track(TRACK.curvature, at) + 2e-4 * np.random.default_rng(2).normal(size=at.size)
    if kind == "curvature":
        path = written(tmp_path, "distance [m],curvature [1/m]", (at, bend))
    else:
        speed = np.full(at.size, 100.0)
        turn = np.degrees(bend * 100.0 / 3.6)
        path = written(tmp_path, "distance [m],speed [km/h],yaw rate [deg/s]", (at, speed, turn))
    layout = made(path)
    assert_allclose(layout.length, LAP, rtol=2e-3)
    share = np.linspace(0.0, 1.0, 500, endpoint=False)
    found = np.interp(share * layout.length, layout.distance, layout.curvature)
    # The mean over 9 m rounds the ends of corners off; the rest is the noise's own over nine.
    assert np.sqrt(np.mean((found - on_track(TRACK.curvature, share * LAP)) ** 2)) < 4e-4


def test_speed_and_yaw_rate_of_one_lap(tmp_path: Path) -> None:
    time = np.arange(0.0, 200.0, 0.02)
    speed = 30.0 + 3.0 * np.sin(0.2 * time)
    driven = np.concatenate(([0.0], np.cumsum(0.5 * (speed[1:] + speed[:-1]) * 0.02)))
    time, speed, driven = (row[driven < LAP] for row in (time, speed, driven))
    turn = np.degrees(speed * on_track(TRACK.curvature, driven))
    path = written(tmp_path, "time [s],speed [km/h],yaw rate [deg/s]", (time, 3.6 * speed, turn))
    # Nothing else in such a file tells left from right: that is asked, and answered here.
    assert_allclose(made(path, agreed=("all",)).length, LAP, rtol=2e-3)


def gpx(folder: Path, *, timed: bool, laps: float = 1.0) -> Path:
    latitude, longitude = degrees(*places(900, off=0.3, laps=laps))
    stamp = "<time>2026-05-01T10:{:02d}:{:05.2f}Z</time>"
    points = "".join(
        f'<trkpt lat="{a:.8f}" lon="{b:.8f}">'
        + (stamp.format(int(k * 0.1 // 60), k * 0.1 % 60) if timed else "")
        + "</trkpt>"
        for k, (a, b) in enumerate(zip(latitude, longitude, strict=True))
    )
    path = folder / "lap.gpx"
    path.write_text(
        '<?xml version="1.0"?><gpx version="1.1" creator="test" xmlns="http://www.topografix.com/GPX/1/1">'
        f"<trk><trkseg>{points}</trkseg></trk></gpx>",
        encoding="utf-8",
    )
    return path


@pytest.mark.parametrize("timed", [True, False])
def test_one_lap_of_a_receiver(tmp_path: Path, timed: bool) -> None:
    assert_allclose(made(gpx(tmp_path, timed=timed)).length, LAP, rtol=2e-3)


def test_an_open_road_has_two_ends(tmp_path: Path) -> None:
    path = written(tmp_path, "x [m],y [m]", places(700, laps=0.5, off=0.1))
    with pytest.raises(TrackError, match="does not close"):
        made(path)
    layout = made(path, closed=False)
    assert not layout.closed
    assert_allclose(layout.length, 0.5 * LAP, rtol=3e-3)


def spoiled(which: str, latitude: np.ndarray, longitude: np.ndarray) -> tuple[np.ndarray, np.ndarray]:
    whole = np.floor(latitude)
    return {
        "minutes": (100.0 * whole + 60.0 * (latitude - whole), longitude),
        "ten-millionths": (latitude * 1e7, longitude * 1e7),
        "exchanged": (longitude + 130.0, latitude),
    }[which]


@pytest.mark.parametrize(
    ("which", "said"),
    [
        ("minutes", r"are 51\.\d+ degrees. Write decimal degrees"),
        ("ten-millionths", r"Ten-millionths of a degree would be 5[01]\.\d+ degrees"),
        ("exchanged", "the two may be exchanged"),
    ],
)
def test_degrees_that_are_none(tmp_path: Path, which: str, said: str) -> None:
    path = written(tmp_path, "latitude,longitude", spoiled(which, *degrees(*places(400))))
    with pytest.raises(RecordingError, match=said):
        made(path)


def test_rows_without_a_fix_are_left_out(tmp_path: Path) -> None:
    latitude, longitude = degrees(*places(1000, off=0.1))
    latitude[:5] = longitude[:5] = 0.0
    assert_allclose(made(written(tmp_path, "lat,lon", (latitude, longitude))).length, LAP, rtol=1e-2)


def test_a_distance_that_falls_is_said_with_its_row(tmp_path: Path) -> None:
    at = np.concatenate((np.arange(0.0, 500.0, 5.0), np.arange(0.0, 500.0, 5.0)))
    path = written(tmp_path, "distance [m],curvature [1/m]", (at, np.full(at.size, 0.01)))
    with pytest.raises(RecordingError, match=r"falls from 495\.0 m to 0\.0 m at row 101"):
        made(path)
