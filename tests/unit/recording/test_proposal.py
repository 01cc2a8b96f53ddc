"""Columns told by names, units, ranges and physics: recordings whose truth is known, changed in every way."""

from dataclasses import replace
from pathlib import Path

import numpy as np
import pytest
from numpy.testing import assert_allclose, assert_array_equal

from fourpatch.errors import RecordingError
from fourpatch.recording.files import read_file
from fourpatch.recording.loading import load_run
from fourpatch.recording.mapping import MappedColumn, Mapping, keep_mapping, kept_mapping
from fourpatch.recording.opened import open_recording
from fourpatch.recording.proposal import propose
from fourpatch.recording.recorder import record, usual_sensors, write_recording
from fourpatch.recording.vocabulary import meanings
from fourpatch.recording.written_units import scale_of
from fourpatch.runs.channels import CHANNELS, OF_WHEELS

SENSORS = usual_sensors()
PLACES = ("latitude", "longitude")
TURNING = ("yaw_rate", "lateral_acceleration", "steering_wheel_angle")


def recorded(run, *, without=(), names=None, units=None, **changes):
    """Record a run with sensors left out or changed by channel, columns renamed, units struck out."""
    sensors = [replace(one, **changes.get(one.channel, {})) for one in SENSORS if one.channel not in without]
    raw = record(run, sensors, seed=3)
    columns = tuple(
        replace(
            one,
            name=(names or {}).get(one.name, one.name),
            unit=one.unit if units is None else units.get(one.name, ""),
        )
        for one in raw.columns
    )
    return replace(raw, columns=columns)


def assert_is_truth(run, mapping, raw, *, but=()):
    """The channels of the mapping are those of the run, within a few standard deviations of each sensor."""
    found, _ = load_run(raw, mapping)
    noise = {one.channel: one.noise + abs(one.bias) for one in SENSORS}
    for name, channel in found.channels.items():
        if name in but or name not in noise:
            continue
        time = channel.time[5:-5]
        true = run[name].at(time + run["speed"].time[0])
        off = np.abs(channel.values[5:-5] - true)
        scale = scale_of(next(one.unit for one in SENSORS if one.channel == name), CHANNELS[name].unit)
        # Five standard deviations, and a digit of the sensor.
        least = 5.0 * noise[name] + 0.2 * scale[0]
        assert np.nanpercentile(off, 99.0) < least, name


@pytest.mark.parametrize("ending", [".csv", ".parquet", ".mf4"])
def test_a_recording_is_read_back_as_what_was_driven(tmp_path: Path, day, ending):
    if ending == ".mf4":
        pytest.importorskip("asammdf")
    path = tmp_path / f"day{ending}"
    write_recording(record(day, SENSORS, seed=3), path)
    raw = read_file(path)
    proposal = propose(raw)
    assert proposal.questions == ()
    assert proposal.unread == ()
    assert {one.channel for one in proposal.mapping.columns} - {"time"} == {one.channel for one in SENSORS}
    assert not any(one.reversed for one in proposal.mapping.columns)
    assert_is_truth(day, proposal.mapping, raw)


def test_units_that_nobody_wrote_are_told_by_physics(day):
    raw = recorded(day, units={})
    proposal = propose(raw)
    assert proposal.questions == ()
    assert_is_truth(day, proposal.mapping, raw)


@pytest.mark.parametrize("unit", ["km/h", "m/s", "mph"])
@pytest.mark.parametrize("of_acceleration", ["g", "m/s**2"])
def test_speed_and_acceleration_tell_each_others_units(day, unit, of_acceleration):
    along = {"unit": of_acceleration, "resolution": 0.0}
    raw = recorded(
        day,
        without=(*PLACES, "rolling_speed"),
        units={},
        speed={"unit": unit},
        longitudinal_acceleration=along,
    )
    found = {one.channel: one.unit for one in propose(raw).mapping.columns}
    assert found["speed"] == unit
    assert scale_of(found["longitudinal_acceleration"], "m/s**2") == scale_of(of_acceleration, "m/s**2")


@pytest.mark.parametrize(
    "turned", [("yaw_rate",), ("lateral_acceleration",), TURNING, ("longitudinal_acceleration",)]
)
@pytest.mark.parametrize("without", [(), PLACES], ids=["positions", "wheel speeds alone"])
def test_signs_are_told_by_positions_and_by_the_outer_wheels(day, turned, without):
    raw = recorded(day, without=without, **{name: {"reversed": True} for name in turned})
    proposal = propose(raw)
    assert proposal.questions == ()
    assert {one.channel for one in proposal.mapping.columns if one.reversed} == set(turned)
    assert_is_truth(day, proposal.mapping, raw)


def test_signs_are_told_by_the_dampers_that_are_compressed(day):
    raw = recorded(day, without=(*PLACES, "rolling_speed"), **{name: {"reversed": True} for name in TURNING})
    proposal = propose(raw)
    assert proposal.questions == ()
    assert_is_truth(day, proposal.mapping, raw)


def test_where_nothing_knows_left_from_right_the_driver_is_asked(day):
    raw = recorded(
        day,
        without=(*PLACES, "rolling_speed", "damper_travel"),
        **{name: {"reversed": True} for name in TURNING},
    )
    proposal = propose(raw)
    (question,) = proposal.questions
    # The track is driven clockwise: its hardest bends go right, and read with the wrong sign, left.
    assert "goes left. Did it go right?" in question.text
    agreed = proposal.agreed([question.key])
    assert agreed.questions == ()
    assert_is_truth(day, agreed.mapping, raw)


def test_an_upside_down_sensor_is_told_by_gravity(day):
    proposal = propose(recorded(day, vertical_acceleration={"reversed": True}))
    assert [one.column for one in proposal.mapping.columns if one.reversed] == ["Acc vert"]


def test_dampers_that_count_rebound_are_turned(day):
    raw = recorded(day, damper_travel={"reversed": True})
    proposal = propose(raw)
    assert proposal.questions == ()
    assert_is_truth(day, proposal.mapping, raw)


@pytest.mark.parametrize(
    ("swapped", "said"),
    [
        ({"FL": "FR", "FR": "FL", "RL": "RR", "RR": "RL"}, "left and right"),
        ({"FL": "RL", "RL": "FL", "FR": "RR", "RR": "FR"}, "front and rear"),
        ({"FL": "FR", "FR": "FL"}, "FL and FR"),
        ({"RL": "RR", "RR": "RL"}, "RL and RR"),
    ],
)
def test_swapped_corners_are_asked_about_and_changed_back(day, swapped, said):
    raw = recorded(day, names={f"Damper {one}": f"Damper {other}" for one, other in swapped.items()})
    proposal = propose(raw)
    (question,) = proposal.questions
    assert said in question.text
    assert_is_truth(day, proposal.agreed(["swapped damper travel"]).mapping, raw)


def test_a_unit_that_is_written_and_wrong_is_asked_about(day):
    units = {one.name: one.unit for one in recorded(day).columns} | {"Speed": "m/s"}
    raw = recorded(day, units=units)
    proposal = propose(raw)
    (question,) = proposal.questions
    assert '"Speed" says m/s, but against the positions it is in km/h' in question.text
    assert proposal.mapping.column_of("speed").unit == "m/s"  # at its word, until somebody agrees
    assert_is_truth(day, proposal.agreed(["all"]).mapping, raw)


def test_columns_without_a_telling_name_are_asked_about(day):
    raw = recorded(day, names={"Acc lat": "Ch 7", "Yaw rate": "Ch 8", "Acc long": "Ch 9"})
    proposal = propose(raw)
    assert {one.key for one in proposal.questions} == {"Ch 7", "Ch 8", "Ch 9"}
    assert proposal.mapping.column_of("yaw_rate") is None
    assert_is_truth(day, proposal.agreed(["all"]).mapping, raw)


def test_words_of_other_languages(day):
    names = {
        "Speed": "Geschwindigkeit",
        "Acc long": "Längsbeschleunigung",
        "Acc lat": "Querbeschleunigung",
        "Yaw rate": "Gierrate",
        "Steering angle": "Lenkradwinkel",
        "Throttle": "Fahrpedal",
        "Brake": "Bremse",
        "Damper FL": "Federweg VL",
        "Damper FR": "Federweg VR",
        "Damper RL": "Federweg HL",
        "Damper RR": "Federweg HR",
        "Latitude": "Breitengrad",
        "Longitude": "Längengrad",
    }
    raw = recorded(day, names=names)
    proposal = propose(raw)
    assert proposal.questions == ()
    assert proposal.unread == ()
    assert_is_truth(day, proposal.mapping, raw)


@pytest.mark.parametrize("channel", sorted(CHANNELS))
def test_our_own_names_mean_what_they_say(channel):
    if "_" not in channel:
        return  # single words, such as slip, mean what the vocabulary says
    found = meanings(f"{channel} RL" if channel in OF_WHEELS else channel)[0]
    assert (found.channel, found.wheel) == (channel, "RL" if channel in OF_WHEELS else "")


def test_a_name_may_be_of_two_things_and_the_numbers_decide(day):
    raw = recorded(
        day, names={"Acc lat": "G Lat", "Latitude": "Lat", "Acc long": "G Long", "Longitude": "Long"}
    )
    mapping = propose(raw).mapping
    assert mapping.column_of("latitude").column == "Lat"
    assert mapping.column_of("lateral_acceleration").column == "G Lat"


def test_a_mapping_is_kept_for_the_next_file_of_its_source(tmp_path: Path, day):
    raw = recorded(day, names={"Acc lat": "Ch 7"})
    path, folder = tmp_path / "day.parquet", tmp_path / "sources"
    write_recording(raw, path)
    first = open_recording(path, agreed=["Ch 7"], folder=folder)
    keep_mapping(first.mapping, folder)
    again = open_recording(path, folder=folder)
    assert again.kept
    assert again.mapping == first.mapping
    assert "lateral_acceleration" in again.run
    assert not open_recording(path, afresh=True, folder=folder).kept
    assert kept_mapping("of another layout", folder) is None
    (folder / f"{first.mapping.layout}.json").write_text("{", encoding="utf-8")
    assert kept_mapping(first.mapping.layout, folder) is None


def test_what_the_user_says_of_a_column_counts(tmp_path: Path, day):
    path = tmp_path / "day.parquet"
    write_recording(recorded(day), path)
    said = [
        MappedColumn(column="Acc vert", channel="lateral_acceleration", unit="g", reversed=True),
        MappedColumn(column="Throttle", channel="none"),
    ]
    opened = open_recording(path, columns=said, folder=tmp_path)
    assert opened.mapping.column_of("lateral_acceleration").column == "Acc vert"
    assert_allclose(np.nanmedian(opened.run["lateral_acceleration"].values), -9.8, atol=0.1)
    assert "throttle" not in opened.run
    assert "vertical_acceleration" not in opened.run


@pytest.mark.parametrize(
    ("column", "said"),
    [
        ({"channel": "sped"}, "is no channel"),
        ({"channel": "speed", "unit": "bar"}, "does not measure that"),
        ({"channel": "travel", "unit": "mm"}, "say which: FL"),
        ({"channel": "speed", "unit": "m/s", "wheel": "FL"}, "leave the wheel out"),
    ],
)
def test_what_cannot_be_meant_of_a_column_is_refused(day, column, said):
    raw = recorded(day)
    with pytest.raises(RecordingError, match=said):
        load_run(raw, Mapping(columns=[MappedColumn(column="Speed", **column)]))


def test_a_recording_without_time_needs_a_rate(tmp_path: Path):
    path = tmp_path / "day.csv"
    rows = "".join(f"{120 + 20 * np.sin(k / 30):.4f},{k % 7}\n" for k in range(400))
    path.write_text("Speed [km/h],Gear\n" + rows, encoding="utf-8")
    with pytest.raises(RecordingError, match="--rate 100"):
        open_recording(path, folder=tmp_path)
    opened = open_recording(path, rate=50.0, folder=tmp_path)
    assert_array_equal(opened.run["speed"].time, np.arange(400) / 50.0)


def test_no_such_question(day):
    with pytest.raises(RecordingError, match='"left" is no question'):
        propose(recorded(day)).agreed(["left"])
