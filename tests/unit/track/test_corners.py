"""Corners of tracks whose corners are known: from the builder, exactly."""

import math

import numpy as np
import pytest
from numpy.testing import assert_allclose

from fourpatch.errors import TrackError
from fourpatch.track.builder import ArcSection, ClothoidSection, Section, SectionLine, StraightSection, corner
from fourpatch.track.corners import Corner, CornerLimits, find_corners
from fourpatch.track.layout import lay_out
from fourpatch.track.points import PointLine, Points
from fourpatch.track.track import ClassSurface, Road, Track, Width, mirrored, reversed_direction

SPACING = 1.0


def track_of(sections: list[Section], *, closed: bool = False) -> Track:
    return Track(
        name="invented",
        centre_line=SectionLine(closed=closed, sections=sections, largest_change=0.05),
        road=Road(
            width=[Width(distance=0.0, left=4.0, right=4.0)],
            surface=[ClassSurface(start=0.0, road_class="A")],
        ),
    )


def corners_of(
    *sections: Section | tuple[Section, ...], closed: bool = False, **limits: float
) -> list[Corner]:
    flat: list[Section] = []
    for one in sections:
        flat += one if isinstance(one, tuple) else [one]
    layout = lay_out(track_of(flat, closed=closed), spacing=SPACING)
    return find_corners(layout, limits=CornerLimits(**limits))


def straight(length: float) -> Section:
    return StraightSection(length=length)


def bend(radius: float, degrees: float, side: str, easement: float = 0.0) -> tuple[Section, ...]:
    return corner(radius=radius, angle=math.radians(degrees), direction=side, easement=easement)  # type: ignore[arg-type]


def test_corner_eased_by_clothoids() -> None:
    # 40 m clothoids to 50 m radius: curvature is 1/400 after 40 * 50/400 = 5 m of them
    (found,) = corners_of(straight(100.0), bend(50.0, 90.0, "left", 40.0), straight(100.0))
    arc = 50.0 * (0.5 * math.pi - 40.0 / 50.0)
    # linear interpolation is exact on a clothoid; the spacing is some 0.999 m
    assert_allclose(found.start, 105.0, rtol=0, atol=1e-9)
    assert_allclose(found.end, 100.0 + 80.0 + arc - 5.0, rtol=0, atol=1e-9)
    assert_allclose(found.length, 70.0 + arc, rtol=0, atol=1e-9)
    # the 2 % about the largest curvature reach 0.8 m into each clothoid alike; half a spacing of reading
    assert_allclose(found.apex, 140.0 + 0.5 * arc, rtol=0, atol=0.5 * SPACING)
    assert_allclose(found.apex_radius, 50.0, rtol=1e-12)
    # less what the first and last 5 m turn: 5² / (2 * 40 * 50) each; heading between places is linear,
    # wrong by spacing² / 8 of the clothoid's 1/2000 1/m²
    assert_allclose(found.angle, 0.5 * math.pi - 2.0 * 25.0 / 4000.0, rtol=0, atol=2.0 / 8.0 / 2000.0)
    assert (found.number, found.direction, found.chicane) == (1, "left", None)


def test_apex_lies_where_the_corner_is_tightest_not_in_its_middle() -> None:
    (found,) = corners_of(
        straight(100.0),
        ClothoidSection(length=60.0),
        ArcSection(radius=50.0, angle=0.5, direction="right"),
        ClothoidSection(length=10.0),
        straight(100.0),
    )
    # the arc runs from 160 to 185 m; within 2 % are 1.2 m of the clothoid before and 0.2 m of that after it
    assert_allclose(found.apex, 0.5 * (158.8 + 185.2), rtol=0, atol=0.5 * SPACING)


def test_corner_of_an_arc_alone_is_found_to_a_spacing() -> None:
    (found,) = corners_of(straight(100.0), bend(60.0, 75.0, "right"), straight(100.0))
    assert_allclose(found.start, 100.0, rtol=0, atol=SPACING)
    assert_allclose(found.length, 60.0 * math.radians(75.0), rtol=0, atol=2.0 * SPACING)
    assert_allclose(found.angle, math.radians(75.0), rtol=0, atol=2.0 * SPACING / 60.0)
    assert found.direction == "right"


def test_corners_are_numbered_from_the_start_line_also_across_it() -> None:
    quarter = bend(50.0, 90.0, "left", 20.0)
    half_arc = ArcSection(radius=50.0, angle=0.5 * (math.pi / 2.0 - 0.4), direction="left")
    found = corners_of(  # the start line lies 2 m before the middle of a corner
        ArcSection(radius=50.0, angle=half_arc.angle + 2.0 / 50.0, direction="left"),
        quarter[2],
        straight(150.0),
        quarter,
        straight(80.0),
        quarter,
        straight(150.0),
        quarter,
        straight(80.0),
        quarter[0],
        ArcSection(radius=50.0, angle=half_arc.angle - 2.0 / 50.0, direction="left"),
        closed=True,
    )
    assert [one.number for one in found] == [1, 2, 3, 4]
    assert np.all(np.diff([one.apex for one in found]) > 0.0)
    first = found[0]
    assert_allclose(first.apex, 2.0, rtol=0, atol=SPACING)
    assert first.start > first.end
    assert_allclose(first.length, found[1].length, rtol=0, atol=0.1 * SPACING)
    assert_allclose(first.angle, found[1].angle, rtol=0, atol=0.1 * SPACING / 50.0)


def test_circle_is_one_corner() -> None:
    (found,) = corners_of(ArcSection(radius=80.0, angle=2.0 * math.pi, direction="left"), closed=True)
    assert_allclose(found.angle, 2.0 * math.pi, rtol=1e-12)
    assert_allclose(found.length, 160.0 * math.pi, rtol=1e-12)
    assert found.length_class == "long"


def test_two_bends_the_same_way_are_one_corner_unless_parted() -> None:
    def double(gap: float) -> list[Corner]:
        return corners_of(
            straight(50.0), bend(40.0, 40.0, "left"), straight(gap), bend(30.0, 50.0, "left"), straight(50.0)
        )

    (merged,) = double(15.0)
    assert_allclose(merged.apex_radius, 30.0, rtol=1e-12)
    second = 50.0 + 40.0 * math.radians(40.0) + 15.0
    assert_allclose(merged.apex, second + 15.0 * math.radians(50.0), rtol=0, atol=SPACING)
    assert_allclose(merged.angle, math.radians(90.0), rtol=0, atol=2.0 * SPACING / 30.0)
    assert len(double(30.0)) == 2


def test_slight_and_wide_bends_are_no_corners() -> None:
    assert corners_of(straight(50.0), bend(100.0, 8.0, "left"), straight(50.0)) == []
    assert corners_of(straight(50.0), bend(500.0, 60.0, "left"), straight(50.0)) == []
    assert (
        len(corners_of(straight(50.0), bend(500.0, 60.0, "left"), straight(50.0), largest_radius=600.0)) == 1
    )


def test_chicane_is_two_corners_of_opposite_direction_close_together() -> None:
    found = corners_of(
        straight(80.0),
        bend(20.0, 40.0, "right", 8.0),
        straight(15.0),
        bend(20.0, 60.0, "left", 8.0),
        straight(80.0),
        bend(20.0, 60.0, "right"),
        straight(30.0),
        bend(20.0, 60.0, "right"),
        straight(80.0),
        bend(30.0, 50.0, "left", 20.0),
        bend(30.0, 50.0, "right", 20.0)[1:],  # through one clothoid from left to right
        straight(80.0),
    )
    assert [one.direction for one in found] == ["right", "left", "right", "right", "left", "right"]
    assert [one.chicane for one in found] == [1, 1, None, None, 2, 2]


def test_chicane_over_the_start_line() -> None:
    # Out and back along 45 deg; the chicane leads over from one to the other, across by 20 m.
    found = corners_of(
        straight(12.0),
        bend(20.0, 45.0, "left"),
        straight(100.0),
        bend(50.0, 180.0, "left", 10.0),
        straight(236.8),
        bend(40.0, 180.0, "left", 10.0),
        straight(100.0),
        bend(20.0, 45.0, "right"),
        closed=True,
    )
    assert [one.chicane for one in found] == [1, None, None, 1]


@pytest.mark.parametrize(
    ("radius", "degrees", "speed_class", "length_class"),
    [
        (20.0, 60.0, "slow", "short"),  # sqrt(12 * 20) = 15.5 m/s
        (74.0, 60.0, "slow", "short"),  # 29.8 m/s, 77 m
        (76.0, 80.0, "medium", "short"),  # 30.2 m/s, 106 m
        (200.0, 60.0, "medium", "long"),  # 49.0 m/s
        (220.0, 40.0, "fast", "long"),  # 51.4 m/s
        (20.0, 150.0, "slow", "long"),  # by its angle
    ],
)
def test_classes(radius: float, degrees: float, speed_class: str, length_class: str) -> None:
    (found,) = corners_of(straight(50.0), bend(radius, degrees, "left"), straight(50.0))
    assert (found.speed_class, found.length_class) == (speed_class, length_class)
    assert_allclose(found.apex_speed, math.sqrt(12.0 * radius), rtol=1e-12)


def test_speed_given_along_the_lap_classes_the_corner() -> None:
    layout = lay_out(track_of([straight(100.0), *bend(30.0, 60.0, "left"), straight(100.0)]))
    asked: list[float] = []

    def speed(distance: float) -> float:
        asked.append(distance)
        return 55.0

    (found,) = find_corners(layout, speed=speed)
    assert (found.speed_class, found.apex_speed) == ("fast", 55.0)
    assert asked == [found.apex]


def lap() -> Track:
    return track_of(
        [
            straight(300.0),
            *bend(60.0, 100.0, "left", 30.0),
            straight(200.0),
            *bend(25.0, 80.0, "left", 12.0),
            straight(150.0),
            *bend(30.0, 60.0, "right", 15.0),
            straight(20.0),
            *bend(30.0, 80.0, "left", 15.0),
            straight(180.0),
            *bend(120.0, 70.0, "left", 50.0),
            straight(150.0),
            *bend(20.0, 90.0, "left", 10.0),
        ],
        closed=True,
    )


@pytest.fixture(scope="module")
def closing_lap() -> Track:
    """Return a lap whose sections were closed once."""
    from fourpatch.track.builder import close_sections

    given = lap()
    assert isinstance(given.centre_line, SectionLine)
    return track_of(close_sections(given.centre_line.sections).sections, closed=True)


def test_mirrored_and_reversed_tracks_have_the_same_corners(closing_lap: Track) -> None:
    here = find_corners(lay_out(closing_lap, spacing=SPACING))
    other = find_corners(lay_out(mirrored(closing_lap), spacing=SPACING))
    assert [one.direction == "left" for one in other] == [one.direction == "right" for one in here]
    assert_allclose([one.apex for one in other], [one.apex for one in here], rtol=0, atol=1e-6)
    length = lay_out(closing_lap).length
    back = find_corners(lay_out(reversed_direction(closing_lap), spacing=SPACING))
    assert_allclose([length - one.apex for one in reversed(back)], [one.apex for one in here], atol=SPACING)
    assert_allclose([one.angle for one in reversed(back)], [one.angle for one in here], rtol=1e-3)


@pytest.mark.parametrize("seed", range(4))
def test_corners_are_found_from_points_that_are_off(closing_lap: Track, seed: int) -> None:
    true = find_corners(lay_out(closing_lap, spacing=SPACING))
    layout = lay_out(closing_lap, spacing=5.0)
    random = np.random.default_rng(seed)
    x, y = (row[:-1] + 0.1 * random.normal(size=row.size - 1) for row in (layout.x, layout.y))
    recorded = Track(
        name="recorded",
        centre_line=PointLine(file="lap.csv", accuracy=0.1, points=Points(x=x, y=y)),
        road=closing_lap.road,
    )
    found = find_corners(lay_out(recorded, spacing=SPACING))
    assert [one.direction for one in found] == [one.direction for one in true]
    assert [one.chicane for one in found] == [one.chicane for one in true]
    # an apex is known to about the step of the points, on the long arcs to a tenth of the corner
    away = np.array([one.apex - other.apex for one, other in zip(found, true, strict=True)])
    assert np.all(np.abs(away) < np.array([max(5.0, 0.25 * one.length) for one in true]))
    assert_allclose([one.angle for one in found], [one.angle for one in true], rtol=0, atol=math.radians(8.0))
    # the smoothing's stated limits: radii come out up to some 10 % small, scatter on top
    assert_allclose([one.apex_radius for one in found], [one.apex_radius for one in true], rtol=0.25)


@pytest.mark.parametrize(
    ("limits", "says"),
    [
        ({"largest_radius": -1.0}, "largest radius is -1 m"),
        ({"slow_below": 60.0}, "fast above is 50 m/s, slow below 60 m/s"),
    ],
)
def test_limits_without_sense_are_refused(limits: dict[str, float], says: str) -> None:
    with pytest.raises(TrackError, match=says):
        CornerLimits(**limits)
