"""Laps, places on them, corners and tracks: against the invented track that was driven."""

from dataclasses import replace

import numpy as np
import pytest
from numpy.testing import assert_allclose

from fourpatch.analysis.recorded_laps import study_recording
from fourpatch.errors import RecordingError, RunError
from fourpatch.recording.laps import find_laps, stations
from fourpatch.recording.loading import load_run
from fourpatch.recording.proposal import propose
from fourpatch.recording.recorded_track import driven_layout, match_track, track_of
from fourpatch.recording.recorder import record, usual_sensors
from fourpatch.recording.way import way_of
from fourpatch.runs.run import Channel
from fourpatch.track.corners import find_corners
from fourpatch.track.demo import demo_track
from fourpatch.track.layout import lay_out
from fourpatch.track.track import mirrored, reversed_direction

from .conftest import LAP, TRACK, driven

POSITIONS = ("latitude", "longitude")
SETS = {
    "all": (),
    "no positions": POSITIONS,
    "speed and lateral acceleration alone": (
        *POSITIONS, "yaw_rate", "rolling_speed", "steering_wheel_angle", "damper_travel", "throttle", "brake",
        "longitudinal_acceleration", "vertical_acceleration",
    ),
    "positions alone": tuple(one.channel for one in usual_sensors() if one.channel not in POSITIONS),
}  # fmt: skip


@pytest.fixture(scope="module", params=SETS)
def recorded(request, day):
    raw = record(day, [one for one in usual_sensors() if one.channel not in SETS[request.param]], seed=9)
    return load_run(raw, propose(raw).mapping)[0], request.param


def test_laps_are_as_long_as_the_track(recorded):
    run, channels = recorded
    laps = find_laps(run, way_of(run))
    assert len(laps.usual) >= 2
    for lap in laps.usual:
        # A place of the way, 1 m, at either end; positions are smoothed along 2.4 s, which cuts corners.
        assert_allclose(lap.length, LAP, atol=2.5, err_msg=channels)


def test_corners_are_those_of_the_track_that_was_driven(recorded):
    run, channels = recorded
    study = study_recording(run, track=demo_track("long-corners"))
    true = {one.number: one for one in find_corners(lay_out(demo_track("long-corners")))}
    assert {one.corner for one in study.corner_rows} == {str(number) for number in true}
    assert study.agreement > 0.99
    own = study_recording(run).corners
    assert sorted(one.direction for one in own) == sorted(one.direction for one in true.values())
    radii = sorted(one.apex_radius for one in true.values())
    # The path of yaw rate is smoothed over 0.3 s, that of positions over 2.4 s.
    off = 0.12 if channels == "positions alone" else 0.03
    assert_allclose(sorted(one.apex_radius for one in own), radii, rtol=off)
    assert_allclose(sorted(one.angle for one in own), sorted(one.angle for one in true.values()), atol=0.05)


def test_times_and_speeds_in_a_corner_are_those_that_were_driven(recorded, day):
    run, _ = recorded
    study = study_recording(run, track=demo_track("long-corners"))
    distance, time, speed = day["distance"].values, day["distance"].time, day["speed"].values
    corner = find_corners(lay_out(demo_track("long-corners")))[3]
    laps = np.floor(distance[0] / LAP) + np.array([1.0, 2.0])
    begin, end = (np.interp(laps * LAP + at, distance, time) for at in (corner.start, corner.end))
    inside = (time > begin[0]) & (time < end[0])
    rows = [one for one in study.corner_rows if one.corner == "4"]
    assert len(rows) >= 2
    # Places are told to a few metres at 130 km/h: a tenth of a second.
    assert_allclose([one.time for one in rows], np.full(len(rows), (end - begin)[0]), atol=0.12)
    assert_allclose(rows[0].slowest_speed, speed[inside].min(), rtol=0.02)
    assert rows[0].direction == corner.direction == "left"


def test_phases_fill_the_time_in_which_the_car_turns(day):
    study = study_recording(day, track=demo_track("long-corners"))
    place = np.arange(0.0, LAP, 0.5)
    time_at = np.interp(2.0 * LAP + place, day["distance"].values, day["distance"].time)
    curvature = np.interp(place, TRACK.distance, TRACK.curvature)
    for corner in study.corners[:-1]:
        near = (place > corner.start - 100.0) & (place < corner.end + 100.0)
        # By definition from a tenth of the tightest curve on to a tenth of it.
        bend = curvature if corner.direction == "left" else -curvature
        turning = near & (bend > 0.1 / corner.apex_radius)
        due = np.ptp(time_at[turning])
        for row in study.corner_rows:
            if row.corner == str(corner.number):
                # The path is smoothed over 0.3 s, the acceleration too.
                assert_allclose(row.entry + row.mid + row.exit, due, atol=0.35)
                assert row.braking > 0.3
                assert min(row.entry, row.mid, row.exit) > 0.0


def test_places_of_laps_lie_beside_each_other(recorded):
    run, _ = recorded
    way = way_of(run)
    laps = find_laps(run, way)
    first = laps.usual[0]
    for lap in laps.usual[1:]:
        part = way.part(lap.begin, lap.end)
        at = stations(way, lap, first)
        assert np.all(np.diff(at) >= 0.0)
        bend = np.interp(at, way.distance[way.part(first.begin, first.end)] - first.begin,
                         way.curvature[way.part(first.begin, first.end)])  # fmt: skip
        # Bends of the same place: noise of the sensors, a tenth of the tightest at the most.
        assert np.percentile(np.abs(bend - way.curvature[part]), 95.0) < 0.1 * np.abs(TRACK.curvature).max()


def test_another_track_is_noticed_and_so_is_the_other_way_round(day):
    way = way_of(day)
    driven_one = driven_layout(way, find_laps(day, way))
    there = lay_out(demo_track("long-corners"))
    assert match_track(driven_one, there, name="it").correlation > 0.99
    for track, said in (
        (demo_track("chicanes"), "Choose another track"),
        (reversed_direction(demo_track("long-corners")), "driven the other way they agree"),
        (mirrored(demo_track("long-corners")), "left and right exchanged they agree"),
    ):
        with pytest.raises(RecordingError, match=said):
            match_track(driven_one, lay_out(track), name="it")


def test_a_track_is_made_of_a_recording(recorded):
    run, channels = recorded
    way = way_of(run)
    laps = find_laps(run, way)
    made = lay_out(track_of(run, way, laps, name="A day", width=11.0).track)
    assert_allclose(made.length, LAP, rtol=1e-3)
    assert_allclose(made.left + made.right, 11.0)
    true = sorted(one.apex_radius for one in find_corners(TRACK))
    off = 0.12 if channels == "positions alone" else 0.06
    assert_allclose(sorted(one.apex_radius for one in find_corners(made)), true, rtol=off)
    if "alone" not in channels:
        match = match_track(driven_layout(way, laps), made, name="itself")
        assert match.correlation > 0.98


def test_laps_the_recorder_counted_come_first(day):
    distance = day["distance"]
    count = Channel(name="lap_number", time=distance.time, values=np.floor(distance.values / LAP))
    run = day.with_channels(count)
    laps = find_laps(run, way_of(run))
    assert "counted" in laps.told_by
    starts = np.interp([one.start for one in laps.laps], distance.time, distance.values)
    # At the start line, where the count changes: between two rows, and to the spacing of the way.
    assert_allclose(np.mod(starts + 0.5 * LAP, LAP), 0.5 * LAP, atol=1.0)


def test_a_run_without_a_lap_says_so():
    run = driven(laps=0.7)
    with pytest.raises(RecordingError, match="nothing is driven twice"):
        study_recording(run)
    study = study_recording(run, one_stretch=True)
    assert study.laps is None
    assert study.corner_rows


def test_what_is_missing_for_a_way_is_named(day):
    only = replace(day, channels={"throttle": day["throttle"]})
    with pytest.raises(RunError, match="has no speed"):
        way_of(only)
    still = replace(day, channels={"speed": day["speed"], "yaw_rate": day["yaw_rate"]})
    still.channels["speed"] = Channel(name="speed", time=day["speed"].time, values=0.0 * day["speed"].values)
    with pytest.raises(RunError, match="the car moves 0 m"):
        way_of(still)
