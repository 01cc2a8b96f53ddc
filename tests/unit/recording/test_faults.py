"""What is wrong with a recording: each fault put in, found, named and mended; none found where none is."""

import re
from dataclasses import replace

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st
from numpy.testing import assert_allclose
from scipy.signal import correlate

from fourpatch.errors import RecordingError
from fourpatch.recording.clocks import mended_clock
from fourpatch.recording.faults import delay_between, find_faults, mended
from fourpatch.recording.loading import load_run
from fourpatch.recording.proposal import propose
from fourpatch.recording.raw import RawColumn, RawRecording
from fourpatch.recording.recorder import record, usual_sensors
from fourpatch.recording.signals import cross_correlation

SENSORS = usual_sensors()


def faults_of(run, **changes):
    sensors = [replace(one, **changes.get(one.channel, {})) for one in SENSORS]
    raw = record(run, sensors, seed=5)
    found, clocks = load_run(raw, propose(record(run, SENSORS, seed=5)).mapping)
    return found, find_faults(found, clocks)


def test_a_good_recording_has_none(day):
    assert faults_of(day)[1] == []


def test_a_delay_is_found_and_taken_back(day):
    run, faults = faults_of(day, lateral_acceleration={"delay": 0.15})
    (fault,) = faults
    assert "s after yaw rate" in fault.text
    # One step of the even times at which both are read.
    assert_allclose(float(re.search(r"comes ([0-9.]+) s", fault.text)[1]), 0.15, atol=0.02)
    again = mended(run, faults, ["delay lateral acceleration"])
    assert find_faults(again) == []


def test_late_positions_are_found_and_taken_back(day):
    run, faults = faults_of(day, latitude={"delay": 0.4}, longitude={"delay": 0.4})
    (fault,) = faults
    assert fault.key == "delay position"
    assert "0.4" in fault.text
    assert find_faults(mended(run, faults, ["all"])) == []


def test_a_channel_at_its_stop(day):
    run, faults = faults_of(day, lateral_acceleration={"full_scale": 3.0})
    (fault,) = faults
    assert fault.key == "at its stop lateral acceleration"
    again = mended(run, faults, [fault.key])["lateral_acceleration"].values
    # Whoever reads it now meets nothing where the sensor could not say more; rounding to its last digit.
    assert np.nanmax(np.abs(again)) < 3.0 - 1e-4
    assert np.isnan(again).sum() == (np.abs(run["lateral_acceleration"].values) >= 3.0 - 1e-3).sum()


def test_a_dead_channel_is_left_out_on_request(day):
    raw = record(day, SENSORS, seed=5)
    columns = tuple(
        replace(one, values=np.zeros_like(one.values)) if one.name in ("Brake", "Damper RL") else one
        for one in raw.columns
    )
    run, clocks = load_run(raw, propose(raw).mapping)
    run, clocks = load_run(replace(raw, columns=columns), propose(raw).mapping)
    faults = find_faults(run, clocks)
    assert [one.key for one in faults] == ["dead brake", "dead damper travel RL"]
    again = mended(run, faults, ["all"])
    assert "brake" not in again
    assert np.isnan(again["damper_travel"].values[:, 2]).all()
    assert np.isfinite(again["damper_travel"].values[:, 0]).all()


def test_a_slow_channel_held_on_a_fast_clock(day):
    raw = record(day, SENSORS, seed=5)
    slow = raw.column("Yaw rate")
    held = np.repeat(slow.values[::5], 5)[: slow.values.size]
    columns = tuple(replace(one, values=held) if one is slow else one for one in raw.columns)
    run, clocks = load_run(replace(raw, columns=columns), propose(raw).mapping)
    faults = [one for one in find_faults(run, clocks) if one.key == "held yaw rate"]
    assert "comes 20 times a second" in faults[0].text
    again = mended(run, faults, ["all"])["yaw_rate"]
    assert_allclose(again.interval, 0.05)


def test_lost_values_and_spikes(day):
    run, faults = faults_of(day, throttle={"drop_out": 0.05})
    assert [one.key for one in faults] == ["missing throttle"]
    steering = run["steering_wheel_angle"].values
    spoiled = steering.copy()
    spoiled[1000:9000:400] = 9.0
    run.channels["steering_wheel_angle"].values[:] = spoiled
    (spikes,) = [one for one in find_faults(run) if one.key == "spikes steering wheel angle"]
    assert " 20 times" in spikes.text
    assert np.isnan(spikes.mend(run)["steering_wheel_angle"].values).sum() == 20


def test_unknown_faults_are_refused(day):
    run, faults = faults_of(day)
    with pytest.raises(RecordingError, match='"dead brake" is no fault'):
        mended(run, faults, ["dead brake"])


@given(st.integers(-40, 40), st.floats(0.3, 3.0))
def test_a_delay_of_a_closed_form(steps, frequency):
    time = np.arange(0.0, 40.0, 0.02)
    row = np.sin(frequency * time) + 0.5 * np.sin(2.7 * frequency * time + 1.0)
    late = np.sin(frequency * (time - 0.02 * steps)) + 0.5 * np.sin(
        2.7 * frequency * (time - 0.02 * steps) + 1.0
    )
    found, alike = delay_between(late, row, step=0.02)
    # What hangs over at both ends, part of a period of up to 21 s in 40 s, moves the peak by some steps.
    assert abs(found - 0.02 * steps) < 0.06
    assert alike > 0.9


@given(st.integers(1, 60), st.integers(0, 2**32 - 1))
def test_cross_correlation_is_that_of_scipy(size, seed):
    a, b = np.random.default_rng(seed).normal(size=(2, size))
    # Rounding of transforms of so few numbers of size 1.
    assert_allclose(cross_correlation(a, b), correlate(a, b, mode="full"), atol=1e-12 * size)


# Clocks


def test_a_clock_that_goes_back_jumps_and_repeats():
    time = np.concatenate([np.arange(0.0, 1.0, 0.01), np.arange(0.5, 1.0, 0.01), np.arange(3.0, 3.5, 0.01)])
    time = np.insert(time, 20, time[20])
    found = mended_clock(time)
    assert np.all(np.diff(found.time) > 0.0)
    assert found.repeated == 1
    assert_allclose(found.backwards, [0.99])
    (gap,) = found.jumps
    assert_allclose(gap[1], 2.01, atol=1e-9)
    assert found.time.size == time.size - 1
    assert not found.coarse


def test_a_coarse_clock_is_spread_evenly():
    true = np.arange(0.0, 2.0, 0.01)
    found = mended_clock(np.floor(true * 10.0 + 1e-9) / 10.0)
    assert found.coarse
    assert_allclose(found.time, true, atol=1e-9)


@given(st.lists(st.floats(-1e4, 1e4) | st.just(float("nan")), max_size=60))
def test_mended_times_always_rise(times):
    found = mended_clock(np.array(times, dtype=float))
    assert np.all(np.diff(found.time) > 0.0)
    assert found.time.size == found.rows.size


def test_two_files_glued_together_are_said_to_be(day):
    raw = record(day, [one for one in SENSORS if one.rate == 100.0], seed=5)
    (clock,) = raw.clocks
    glued = RawRecording(
        name="glued",
        format="CSV",
        columns=(
            RawColumn(name="Time", unit="s", values=np.concatenate([clock, clock])),
            *(replace(one, values=np.concatenate([one.values, one.values])) for one in raw.columns),
        ),
    )
    run, clocks = load_run(glued, propose(glued).mapping)
    faults = {one.key: one.text for one in find_faults(run, clocks)}
    assert "two recordings in one file" in faults["clock goes back"]
    assert_allclose(run["yaw_rate"].time[-1], 2.0 * clock[-1] + 0.01, atol=1e-6)


def test_rows_that_are_missing_are_said_and_not_bridged(day):
    raw = record(day, [one for one in SENSORS if one.rate == 100.0], seed=5)
    (clock,) = raw.clocks
    keep = (clock < 20.0) | (clock > 25.0)
    cut = replace(
        raw,
        columns=tuple(replace(one, values=one.values[keep]) for one in raw.columns),
        clocks=(clock[keep],),
    )
    run, clocks = load_run(cut, propose(cut).mapping)
    (fault,) = [one for one in find_faults(run, clocks) if one.key == "rows missing"]
    assert "5.02 s in all, first at 19.99 s" in fault.text
    assert np.isnan(run["yaw_rate"].at(np.array([22.0]))).all()
