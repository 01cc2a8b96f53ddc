"""`fourpatch read`: a recording's channels, questions, faults, laps and corners; a track made of it."""

import json
from collections.abc import Callable
from dataclasses import replace
from pathlib import Path
from typing import Any

import numpy as np
import pytest
from click.testing import Result

from fourpatch.recording.recorder import record, usual_sensors, write_recording
from fourpatch.runs.run import Channel, Run
from fourpatch.track.demo import demo_track
from fourpatch.track.files import load_track
from fourpatch.track.layout import lay_out

Command = Callable[..., Result]
Answered = Callable[..., Any]
Refused = Callable[..., str]


@pytest.fixture(scope="module")
def recording(tmp_path_factory: pytest.TempPathFactory) -> Path:
    """Two and a half even laps of a demo track at 25 m/s, lateral acceleration without a telling name."""
    track = lay_out(demo_track("chicanes"))
    time = np.arange(0.0, 2.5 * track.length / 25.0, 0.02)
    place = np.mod(25.0 * time + 700.0, track.length)
    bend = np.interp(place, track.distance, track.curvature)
    rows = {
        # A little faster on the straights, so that there is a fastest place.
        "speed": 25.0 + 3.0 * np.exp(-(((place - 200.0) / 100.0) ** 2)),
        "yaw_rate": 25.0 * bend,
        "lateral_acceleration": 625.0 * bend,
        "steering_wheel_angle": 40.0 * bend,
    }
    channels = {name: Channel(name=name, time=time, values=row) for name, row in rows.items()}
    run = Run(name="invented", source="drive", setup="", channels=channels)
    raw = record(run, usual_sensors(), seed=2)
    columns = tuple(replace(one, name="P7") if one.name == "Acc lat" else one for one in raw.columns)
    path = tmp_path_factory.mktemp("recording") / "day.csv"
    write_recording(replace(raw, columns=columns), path)
    return path


@pytest.fixture(autouse=True)
def own_sources(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setenv("FOURPATCH_SOURCES", str(tmp_path / "sources"))


def test_what_is_asked_is_answered_and_kept(fourpatch: Command, answered: Answered, recording: Path) -> None:
    text = fourpatch("read", "recording", str(recording)).stdout
    assert 'P7: Is "P7" the lateral acceleration in' in text
    assert "Nothing in the recording tells left from right" in text
    said = fourpatch("read", "recording", str(recording), "--agree", "P7")
    assert "is kept for the next file of this source" in said.stderr
    again = answered("read", "recording", str(recording))
    assert {one["column"]: one["channel"] for one in again["channels"]}["P7"] == "lateral_acceleration"
    assert "as you said" in {one["reason"] for one in again["channels"]}
    afresh = answered("read", "recording", str(recording), "--afresh")
    assert "P7" not in {one["column"] for one in afresh["channels"]}


def test_laps_and_corners_of_a_track(answered: Answered, recording: Path) -> None:
    found = answered("read", "recording", str(recording), "--track", "chicanes")
    assert found["mode"] == "recording"
    # Chicanes of 30 m are smoothed over 0.3 s, which is 8 m here, and the speed's bump stretches distance.
    assert found["agreement"]["value"] > 0.9
    track = lay_out(demo_track("chicanes"))
    for lap in found["laps"]:
        # Speed is written as 25 m/s with a bump of 3 m/s where it is fastest, distance follows from it.
        assert abs(lap["length"]["value"] / track.length - 1.0) < 0.05
        assert lap["length"]["unit"] == "m"
    assert {one["direction"] for one in found["corners"]} == {"left", "right"}
    assert found["without_laps"] == ""


def test_a_track_is_written_and_can_be_read(fourpatch: Command, recording: Path, tmp_path: Path) -> None:
    result = fourpatch("read", "track", str(recording), "made.toml", "--name", "Made", "--width", "9")
    assert result.exit_code == 0, result.stderr
    made = load_track(tmp_path / "made.toml")
    assert made.name == "Made"
    assert made.road.width[0].left == 4.5
    assert fourpatch("check", "track", "made.toml").exit_code == 0
    again = fourpatch("read", "track", str(recording), "made.toml")
    assert again.exit_code == 2
    assert "is there already" in again.stderr


def test_what_is_wrong_is_refused(refused: Refused, recording: Path) -> None:
    file = str(recording)
    assert "cannot be read" in refused("read", "recording", "none.csv")
    assert "is not of Demo long corners" in refused("read", "recording", file, "--track", "long-corners")
    assert '"lateral_acc" is no channel. Did you mean' in refused(
        "read", "recording", file, "--column", "P7=lateral_acc"
    )
    assert "write COLUMN=CHANNEL" in refused("read", "recording", file, "--column", "P7")
    assert "does not measure that" in refused("read", "recording", file, "--column", "P7=yaw_rate,bar")
    assert "has no column" in refused("read", "recording", file, "--column", "P8=yaw_rate,deg/s")
    assert "is no question" in refused("read", "recording", file, "--agree", "P9")
    assert "is no fault" in refused("read", "recording", file, "--mend", "dead brake")


def test_a_recording_without_laps_still_says_its_channels(fourpatch: Command, tmp_path: Path) -> None:
    path = tmp_path / "short.csv"
    path.write_text(
        "Time [s],Speed [km/h],Throttle [%]\n"
        + "".join(f"{k / 50:.2f},{100 + k / 30:.2f},{50 + k % 40}\n" for k in range(900)),
        encoding="utf-8",
    )
    result = fourpatch("read", "recording", "short.csv")
    assert result.exit_code == 0
    assert "No laps and corners: short.csv has no position x" in result.stdout
    content = json.loads(fourpatch("read", "recording", "short.csv", "--json").stdout)
    assert content["laps"] == []
    assert content["agreement"]["value"] is None
