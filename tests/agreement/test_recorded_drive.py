"""A lap of the drive, recorded by sensors of stated quality and read again, against the lap itself."""

from pathlib import Path

import numpy as np
import pytest
from numpy.testing import assert_allclose

from fourpatch.analysis.lap_drive import study_drive
from fourpatch.analysis.recorded_laps import study_recording
from fourpatch.car.demo import demo_car
from fourpatch.recording.opened import open_recording
from fourpatch.recording.recorder import joined, record, sensed, usual_sensors, write_recording
from fourpatch.runs.history import lap_run
from fourpatch.track.demo import demo_track


@pytest.fixture(scope="module")
def driven():
    return study_drive(demo_car("gt"), demo_track("chicanes"), pace=0.9)


def test_corners_of_a_recorded_lap_are_those_of_the_drive(driven, tmp_path: Path):
    lap = sensed(lap_run(driven.run, 0, driven.road, "baseline"), demo_car("gt"))
    path = tmp_path / "laps.parquet"
    write_recording(record(joined([lap, lap, lap]), usual_sensors(), seed=4), path)
    opened = open_recording(path, folder=tmp_path)
    assert opened.proposal.questions == ()
    assert opened.proposal.unread == ()
    assert opened.faults == ()  # a car's own lag is no delay of a sensor
    assert not any(one.reversed for one in opened.mapping.columns)
    study = study_recording(opened.run, track=demo_track("chicanes"))
    assert study.laps is not None
    # 20 positions a second of 0.2 m, at 200 km/h.
    assert_allclose([one.duration for one in study.laps.usual], driven.lap.lap_time, atol=0.05)
    for corner in driven.lap.corners:
        rows = [one for one in study.corner_rows if one.corner == str(corner.corner.number)]
        assert rows, corner.corner.number
        for row in rows:
            assert row.direction == corner.corner.direction
            assert_allclose(row.slowest_speed, corner.slowest_speed, rtol=0.03)
            # Places are told to a few metres, at 20 to 50 m/s.
            assert_allclose(row.time, corner.time, atol=0.15)
    travel = opened.run["damper_travel"]
    assert np.isfinite(travel.values).all()
