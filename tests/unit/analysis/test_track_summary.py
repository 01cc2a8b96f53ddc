"""The summary of a track, against a stadium whose numbers are known."""

import numpy as np
from numpy.testing import assert_allclose

from fourpatch.analysis.track_summary import study_track
from fourpatch.track.builder import ArcSection, SectionLine, StraightSection
from fourpatch.track.demo import demo_track
from fourpatch.track.track import Banking, ClassSurface, Elevation, Road, Track, Width, mirrored

HALF = ArcSection(radius=50.0, angle=np.pi, direction="left")
STADIUM = Track(
    name="stadium, invented",
    centre_line=SectionLine(sections=[StraightSection(length=200.0), HALF] * 2),
    road=Road(
        width=[Width(distance=0.0, left=5.0, right=6.0), Width(distance=300.0, left=6.0, right=6.0)],
        banking=[Banking(distance=250.0, angle=-0.05), Banking(distance=500.0, angle=0.02)],
        elevation=[Elevation(distance=0.0, height=2.0), Elevation(distance=350.0, height=9.0)],
        surface=[ClassSurface(start=0.0, road_class="A")],
    ),
)


def test_numbers_of_a_stadium() -> None:
    study = study_track(STADIUM)
    found = study.summary
    assert_allclose(found.length, 400.0 + 100.0 * np.pi, rtol=1e-9)
    # the least and the largest lie at places of the layout to a spacing: 1 m of 300 m times the change, 1 m
    assert_allclose([found.narrowest, found.widest], [11.0, 12.0], rtol=0, atol=1.0 / 300.0)
    # heights are given where they are extreme; so too the banking
    assert_allclose(found.rise, 7.0, rtol=1e-3)
    assert_allclose(found.banking, 0.05, rtol=1e-3)
    assert [one.direction for one in found.corners] == ["left", "left"]
    for one in found.corners:
        assert_allclose(one.apex_radius, 50.0, rtol=1e-9)
        # an arc without clothoids is found to a spacing at either end
        assert_allclose(one.angle, np.pi, rtol=0, atol=2.0 / 50.0)
        assert_allclose(one.apex_speed, np.sqrt(12.0 * 50.0), rtol=1e-9)
    # a lap all to the left: a line n off the centre line is 2 pi n longer or shorter, n at most 5 m
    assert abs(found.line_length - found.length) < 2.0 * np.pi * 5.0


def test_radius_of_the_line_is_that_of_the_line_in_the_corner() -> None:
    study = study_track(demo_track("chicanes"))
    for one in study.summary.corners:
        within = (study.line.station >= one.start) & (study.line.station <= one.end)
        turning = study.line.curvature[within] * (1.0 if one.direction == "left" else -1.0)
        assert one.line_radius is not None
        assert_allclose(1.0 / one.line_radius, np.max(turning), rtol=1e-12)
        assert one.line_radius > one.apex_radius


def test_mirrored_track_has_the_mirrored_corners() -> None:
    track = demo_track("long-corners")
    here, there = study_track(track).summary, study_track(mirrored(track)).summary
    other = {"left": "right", "right": "left"}
    assert [other[one.direction] for one in here.corners] == [one.direction for one in there.corners]
    assert_allclose(
        [one.apex for one in here.corners], [one.apex for one in there.corners], rtol=0, atol=1e-6
    )
    # the line is found to 1 cm
    assert_allclose(here.line_length, there.line_length, rtol=0, atol=0.1)
