"""Laps of recordings as timed laps: a day driven again, everything a hundredth quicker."""

from dataclasses import replace

import pytest
from numpy.testing import assert_allclose

from fourpatch.advice.change_effect import change_effect
from fourpatch.advice.recorded_changes import REST, recorded_laps
from fourpatch.analysis.recorded_laps import study_recording
from fourpatch.errors import RecordingError
from fourpatch.track.demo import demo_track

QUICKER = 0.99


@pytest.fixture(scope="module")
def before(day):
    kept = ("speed", "yaw_rate", "lateral_acceleration", "distance", "latitude", "longitude")
    return replace(day, channels={name: day[name] for name in kept})


@pytest.fixture(scope="module")
def after(before):
    """The same ways in less time."""
    rates = {"speed": 1.0, "yaw_rate": 1.0, "lateral_acceleration": 2.0}
    channels = {
        name: replace(one, time=one.time * QUICKER, values=one.values / QUICKER ** rates.get(name, 0.0))
        for name, one in before.channels.items()
    }
    return replace(before, channels=channels)


@pytest.fixture(scope="module")
def studies(before, after):
    track = demo_track("long-corners")
    found = {name: study_recording(run, track=track) for name, run in (("A", before), ("B", after))}
    return [("A", found["A"]), ("B", found["B"]), ("A", found["A"])]


def test_a_hundredth_of_the_lap_and_of_each_part(studies):
    found = change_effect(recorded_laps(studies))
    # Places of the start line are found to a metre: a hundredth of a second at this speed.
    assert_allclose(found.lap.change, (QUICKER - 1.0) * found.usual, atol=0.02)
    assert found.lap.verdict == "quicker"
    assert found.parts[-1].name == REST
    assert_allclose(sum(one.change for one in found.parts), found.lap.change, atol=0.05)
    assert all(one.change < 0.0 for one in found.parts)


def test_corners_by_themselves_are_the_groups_apart(studies):
    grouped = recorded_laps(studies)
    apart = recorded_laps(studies, each_corner=True)
    for one, other in zip(grouped, apart, strict=True):
        if REST in one.parts:
            assert_allclose(one.time - one.parts[REST], sum(other.parts.values()), atol=1e-9)
    numbers = {name for one in apart for name in one.parts}
    assert numbers == {f"corner {one.number}" for one in studies[0][1].corners}


def test_what_has_no_laps_or_other_corners_is_refused(before, studies):
    with pytest.raises(RecordingError, match="taken as one stretch"):
        recorded_laps([*studies, ("C", study_recording(before, one_stretch=True))])
    fewer = replace(studies[1][1], corners=studies[1][1].corners[1:])
    with pytest.raises(RecordingError, match="Name the track"):
        recorded_laps([studies[0], ("B", fewer)])
    moved = replace(
        studies[1][1], corners=tuple(replace(one, start=one.start + 100.0) for one in studies[1][1].corners)
    )
    with pytest.raises(RecordingError, match="Name the track"):
        recorded_laps([studies[0], ("B", moved)])
