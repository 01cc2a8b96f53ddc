"""Our own recorder: noise, bias, delay, rates and drop-outs are as stated, and hang on the seed alone."""

from dataclasses import replace
from pathlib import Path

import numpy as np
import pytest
from numpy.testing import assert_allclose, assert_array_equal

from fourpatch.errors import FileError, RecordingError
from fourpatch.recording.recorder import Sensor, joined, record, usual_sensors, write_recording

PLAIN = Sensor(channel="speed", name="Speed", unit="m/s")


def test_a_perfect_sensor_says_the_truth(day):
    raw = record(day, [PLAIN], seed=1)
    (clock,) = raw.clocks
    assert_array_equal(raw.columns[0].values, day["speed"].at(clock))


def test_noise_bias_and_delay_are_as_stated(day):
    raw = record(day, [replace(PLAIN, noise=0.2, bias=0.7, delay=0.3)], seed=1)
    (clock,) = raw.clocks
    off = raw.columns[0].values - day["speed"].at(np.maximum(clock - 0.3, 0.0))
    # Of n draws the mean scatters by sigma / sqrt(n), the deviation by sigma / sqrt(2 n): four times that.
    assert_allclose(off.mean(), 0.7, atol=4.0 * 0.2 / np.sqrt(off.size))
    assert_allclose(off.std(), 0.2, atol=4.0 * 0.2 / np.sqrt(2.0 * off.size))


def test_drop_outs_rates_ends_of_range_and_digits(day):
    raw = record(
        day,
        [
            replace(PLAIN, drop_out=0.2),
            replace(PLAIN, rate=10.0, full_scale=30.0),
            replace(PLAIN, unit="km/h", resolution=0.5, reversed=True),
        ],
        seed=1,
    )
    lost, clipped, coarse = (one.values for one in raw.columns)
    # Stretches of ten values: 1 in 5 of 1500 or more, four deviations.
    stretches = lost.size / 10
    assert_allclose(np.isnan(lost).mean(), 0.2, atol=4.0 * 0.4 / np.sqrt(stretches))
    assert clipped.max() == 30.0
    assert [one.size for one in raw.clocks] == [lost.size, clipped.size]
    assert_allclose(np.mod(coarse, 0.5), 0.0, atol=1e-9)
    # A digit of 0.5 km/h is off by half of it at the most.
    assert_allclose(-coarse / 3.6, day["speed"].at(raw.clocks[0]), atol=0.25 / 3.6 + 1e-9)


def test_the_seed_alone_decides(day):
    first, again, other = (record(day, usual_sensors(), seed=seed) for seed in (1, 1, 2))
    for one, same, differs in zip(first.columns, again.columns, other.columns, strict=True):
        assert_array_equal(one.values, same.values)
        assert not np.array_equal(one.values, differs.values)


def test_what_cannot_be_recorded_is_refused(day, tmp_path: Path):
    with pytest.raises(RecordingError, match="none of the sensors"):
        record(day, [replace(PLAIN, channel="tyre_load")], seed=1)
    with pytest.raises(RecordingError, match='"bar" does not measure speed'):
        record(day, [replace(PLAIN, unit="bar")], seed=1)
    raw = record(day, [PLAIN], seed=1)
    with pytest.raises(RecordingError, match=r"\.csv, \.parquet or \.mf4"):
        write_recording(raw, tmp_path / "day.xls")
    with pytest.raises(FileError, match="there is no folder"):
        write_recording(raw, tmp_path / "no" / "day.csv")


def test_laps_are_joined_at_the_line(day):
    twice = joined([day, day])
    assert [one.name for one in twice.phases] == ["lap 1", "lap 2"]
    assert np.all(np.diff(twice["speed"].time) > 0.0)
    assert_allclose(twice.phases[1].end, 2.0 * day.phases[0].end)
