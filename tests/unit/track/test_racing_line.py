"""The line of least curvature against closed forms, and as a driver would look at it."""

import time
from typing import NamedTuple

import numpy as np
import pytest
from numpy.testing import assert_allclose
from scipy.integrate import quad

from fourpatch.errors import TrackError
from fourpatch.track.builder import ArcSection, SectionLine, StraightSection
from fourpatch.track.demo import demo_track, demo_track_names
from fourpatch.track.kerb_passage import kerb_passages
from fourpatch.track.layout import lay_out
from fourpatch.track.line import Line
from fourpatch.track.racing_line import least_curvature_line
from fourpatch.track.track import ClassSurface, Road, Track, Width, mirrored, reversed_direction
from fourpatch.track.track_kerb import FlatTopped, TrackKerb

WIDTH = 1.9
MARGIN = 0.3
HALF = 5.0
ROOM = HALF - 0.5 * WIDTH - MARGIN
"""By which the middle of the car may leave the centre line. [m]"""

STEP = 2.0
"""Between the stations at which the offset is sought. [m]"""


def track_of(line: SectionLine, kerbs: list[TrackKerb] | None = None) -> Track:
    return Track(
        name="invented",
        centre_line=line,
        road=Road(
            width=[Width(distance=0.0, left=HALF, right=HALF)],
            surface=[ClassSurface(start=0.0, road_class="A")],
            kerbs=kerbs or [],
        ),
    )


def bend(radius: float, angle: float, kerbs: list[TrackKerb] | None = None) -> Track:
    """Return a left-hand bend between long straights."""
    side = StraightSection(length=200.0)
    arc = ArcSection(radius=radius, angle=np.radians(angle), direction="left")
    return track_of(SectionLine(closed=False, sections=[side, arc, side]), kerbs)


def driven(track: Track, *, margin: float = MARGIN, kerb_share: float = 0.0, flat_kerb: float = 0.03) -> Line:
    return least_curvature_line(
        track, car_width=WIDTH, margin=margin, kerb_share=kerb_share, flat_kerb=flat_kerb
    )


def bending(line: Line) -> float:
    """Return the integral of squared curvature. [1/m]"""
    return float(np.trapezoid(line.curvature**2, line.distance))


class Elastica(NamedTuple):
    """The curve of least bending from an outer edge to the inner edge at the middle of a bend."""

    sharpness: float
    """Change of curvature per distance where it leaves the outer edge. [1/m²]"""
    tightest: float
    """Curvature at the apex. [1/m]"""
    bending: float
    """Integral of squared curvature, both halves. [1/m]"""


def elastica(radius: float, angle: float, room: float) -> Elastica:
    """Solve the bend in closed form.

    An elastic rod of free length has k'' + k³/2 = 0.  From the outer edge with k = 0 and k' = a, at a heading
    h to it, k' = a cos h and k² = 2 a sin h; the distance from the edge is the integral of sin h / k over h,
    which at half the angle must be that from the outer edge to the apex on the inner one.
    """
    half = 0.5 * np.radians(angle)
    way = (radius + room) - (radius - room) * np.cos(half)
    integral = quad(lambda heading: np.sqrt(np.sin(heading)), 0.0, half)[0]
    sharpness = 0.5 * (integral / way) ** 2
    return Elastica(sharpness, np.sqrt(2.0 * sharpness * np.sin(half)), 4.0 * sharpness * way)


@pytest.mark.parametrize(("radius", "angle"), [(30.0, 90.0), (60.0, 60.0), (25.0, 120.0), (15.0, 180.0)])
def test_bend_is_an_elastic_rod(radius: float, angle: float) -> None:
    line, expected = driven(bend(radius, angle)), elastica(radius, angle, ROOM)
    # The rod is bent by chords of 2 m, (k h)²/12 of it, and may lie in the margin by its bulge, h² k / 8,
    # which shortens the way from edge to apex.
    bulge = STEP**2 * expected.tightest / 8.0
    share = (STEP * expected.tightest) ** 2 / 12.0 + 2.0 * bulge / (radius + ROOM)
    assert_allclose(bending(line), expected.bending, rtol=share)
    # at the apex curvature comes to a point, which may lie between two stations
    cut = expected.sharpness * STEP + share * expected.tightest
    assert_allclose(np.max(line.curvature), expected.tightest, rtol=0, atol=cut)
    assert_allclose(line.offset[[0, -1]], -ROOM, rtol=0, atol=0.1)
    if angle < 150.0:  # round a hairpin it may be shifted along the straights
        apex = int(np.argmax(line.offset))
        assert_allclose(line.station[apex], 0.5 * line.station[-1], rtol=0, atol=STEP)
        assert_allclose(line.offset[apex], ROOM, rtol=0, atol=bulge)


@pytest.mark.parametrize(("radius", "angle"), [(30.0, 90.0), (60.0, 60.0)])
def test_bend_costs_less_than_the_largest_arc_that_fits_and_is_tighter(radius: float, angle: float) -> None:
    half = np.cos(0.5 * np.radians(angle))
    # tangent to both outer edges, and to the inner one at the apex
    arc = ((radius + ROOM) / half - (radius - ROOM)) / (1.0 / half - 1.0)
    line = driven(bend(radius, angle))
    assert bending(line) < np.radians(angle) / arc
    assert np.max(line.curvature) > 1.0 / arc


def test_chicane_is_straightened_and_is_its_own_image() -> None:
    straight, between = StraightSection(length=150.0), StraightSection(length=10.0)
    right = ArcSection(radius=25.0, angle=np.radians(40.0), direction="right")
    left = ArcSection(radius=25.0, angle=np.radians(40.0), direction="left")
    line = driven(track_of(SectionLine(closed=False, sections=[straight, right, between, left, straight])))
    # half a turn about its middle; the search stops when the line moves by less than 1 cm
    assert_allclose(line.offset, -line.offset[::-1], rtol=0, atol=0.01)
    assert bending(line) < 0.2 * 2.0 * np.radians(40.0) / 25.0
    first, second = (np.argmin(line.offset), np.argmax(line.offset))
    assert 150.0 < line.station[first] < line.station[second] < line.station[-1] - 150.0


def test_mirror_image_and_other_direction_are_the_same_line() -> None:
    track = demo_track("chicanes")
    line = driven(track)
    image, back = driven(mirrored(track)), driven(reversed_direction(track))
    # the search stops when the line moves by less than 1 cm
    assert_allclose(image.offset, -line.offset, rtol=0, atol=0.01)
    at = np.linspace(0.0, line.length, 500)
    there = np.interp(at, line.distance, line.offset)
    assert_allclose(np.interp(back.length - at, back.distance, -back.offset), there, rtol=0, atol=0.05)


@pytest.mark.parametrize("name", demo_track_names())
def test_demo_line_keeps_within_the_edges_and_turns_less(name: str) -> None:
    track = demo_track(name)
    layout = lay_out(track)
    begin = time.perf_counter()
    line = driven(track)
    # on any machine that runs the tests; measured are 0.4 s
    assert time.perf_counter() - begin < 5.0
    bulge = STEP**2 / 8.0 * (np.max(np.abs(layout.curvature)) + np.max(np.abs(line.curvature)))
    for edge, side in ((layout.left, 1.0), (layout.right, -1.0)):
        room = np.interp(line.station, layout.distance, edge) - side * line.offset - 0.5 * WIDTH
        assert np.min(room) > MARGIN - bulge
    assert bending(line) < 0.85 * np.trapezoid(layout.curvature**2, layout.distance)
    assert line.closed
    assert_allclose(line.curvature[-1], line.curvature[0], rtol=0, atol=1e-9)
    # as smooth as a rod: between contacts k' stays, at a contact it jumps, curvature never does
    assert np.max(np.abs(np.diff(line.curvature))) < 0.004


def test_wider_margin_is_a_tighter_line() -> None:
    bendings = [bending(driven(bend(30.0, 90.0), margin=margin)) for margin in (0.0, 0.5, 1.0, 3.0)]
    assert np.all(np.diff(bendings) > 0.0)


def test_straight_is_driven_straight() -> None:
    line = driven(track_of(SectionLine(closed=False, sections=[StraightSection(length=300.0)])))
    assert_allclose(line.curvature, 0.0, atol=1e-9)


# Kerbs


def kerb(**changes: object) -> TrackKerb:
    given = {"side": "left", "start": 195.0, "width": 1.0, "shape": FlatTopped(height=0.03, length=60.0)}
    return TrackKerb(**{**given, **changes})  # type: ignore[arg-type]


def test_flat_kerbs_widen_the_road_by_their_share() -> None:
    track = bend(30.0, 90.0, [kerb()])
    assert np.max(driven(track).offset) < ROOM + 0.05
    line = driven(track, kerb_share=0.5)
    assert_allclose(np.max(line.offset), ROOM + 0.5, rtol=0, atol=0.05)
    high = bend(30.0, 90.0, [kerb(shape=FlatTopped(height=0.04, length=60.0))])
    assert np.max(driven(high, kerb_share=1.0).offset) < ROOM + 0.05
    assert np.max(driven(high, kerb_share=1.0, flat_kerb=0.05).offset) > ROOM + 0.9


def test_high_kerb_on_the_road_is_kept_clear_of() -> None:
    high = kerb(offset=-1.0, shape=FlatTopped(height=0.1, length=60.0))
    assert_allclose(np.max(driven(bend(30.0, 90.0, [high])).offset), ROOM - 1.0, rtol=0, atol=0.05)


def test_kerb_behind_another_is_reached_only_over_it() -> None:
    behind = kerb(offset=1.0)
    line = driven(bend(30.0, 90.0, [behind, kerb()]), kerb_share=1.0)
    assert_allclose(np.max(line.offset), ROOM + 2.0, rtol=0, atol=0.05)
    # half of the nearer one does not lead up to the other
    half = driven(bend(30.0, 90.0, [behind, kerb()]), kerb_share=0.5)
    assert_allclose(np.max(half.offset), ROOM + 0.5, rtol=0, atol=0.05)
    blocked = kerb(shape=FlatTopped(height=0.1, length=60.0))
    assert np.max(driven(bend(30.0, 90.0, [behind, blocked]), kerb_share=1.0).offset) < ROOM + 0.05


@pytest.mark.parametrize("name", demo_track_names())
def test_line_over_kerbs_leaves_the_road_only_where_they_are(name: str) -> None:
    track = demo_track(name)
    line = driven(track, margin=0.0, kerb_share=0.9, flat_kerb=0.06)
    # a wheel beyond road and kerbs is refused; the tread's middle lies 0.15 m inside the car's side
    met = kerb_passages(track, line, track_width=WIDTH - 0.3)
    assert len(met) >= 3
    assert all(one.highest <= 0.06 for one in met)


# Refusals


@pytest.mark.parametrize(
    ("given", "text"),
    [
        ({"car_width": 0.0}, "car width is 0 m"),
        ({"margin": -0.1}, "margin is -0.1 m"),
        ({"flat_kerb": 1.0}, "flat kerb is 1 m"),
        ({"kerb_share": 1.5}, "kerb share is 1.5"),
        ({"margin": 4.5}, "the road is 10 m wide; a car of 1.9 m with a margin of 4.5 m"),
    ],
)
def test_what_cannot_be_is_refused(given: dict[str, float], text: str) -> None:
    with pytest.raises(TrackError, match=text):
        least_curvature_line(bend(30.0, 90.0), **given)  # type: ignore[arg-type]
