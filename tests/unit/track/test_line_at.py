"""Lines beside the centre line, against circles, straights and closed forms."""

import numpy as np
import pytest
from numpy.testing import assert_allclose

from fourpatch.errors import TrackError
from fourpatch.track.builder import ArcSection, SectionLine, StraightSection
from fourpatch.track.demo import demo_track, demo_track_names
from fourpatch.track.layout import lay_out
from fourpatch.track.line import Line
from fourpatch.track.line_at import LateralOffset, line_at
from fourpatch.track.road import FloatArray
from fourpatch.track.track import Banking, ClassSurface, Elevation, Road, Track, Width

RADIUS = 50.0
SIDE = 200.0
SMOOTH = ClassSurface(start=0.0, road_class="A")


def track_of(line: SectionLine, **road: object) -> Track:
    given = {"width": [Width(distance=0.0, left=6.0, right=6.0)], "surface": [SMOOTH]}
    return Track(name="invented", centre_line=line, road=Road(**{**given, **road}))  # type: ignore[arg-type]


CIRCLE = track_of(SectionLine(sections=[ArcSection(radius=RADIUS, angle=2.0 * np.pi, direction="left")]))
HALF = ArcSection(radius=RADIUS, angle=np.pi, direction="left")
STADIUM = track_of(SectionLine(sections=[StraightSection(length=SIDE), HALF] * 2))


def straight(**road: object) -> Track:
    return track_of(SectionLine(closed=False, sections=[StraightSection(length=SIDE)]), **road)


# Curvature and length


@pytest.mark.parametrize("name", demo_track_names())
def test_offset_of_nothing_is_the_centre_line(name: str) -> None:
    track = demo_track(name)
    layout, line = lay_out(track), line_at(track, 0.0)
    for row in ("distance", "x", "y", "heading", "curvature", "banking"):
        assert_allclose(getattr(line, row), getattr(layout, row), rtol=0, atol=1e-9)
    assert_allclose(line.station, line.distance, rtol=0, atol=1e-9)
    # a cubic through points 1 m apart of a cubic spline with knots some hundred metres apart
    assert_allclose(line.gradient, layout.gradient, rtol=0, atol=1e-6)


@pytest.mark.parametrize("offset", [5.0, -5.0])
def test_constant_offset_on_a_circle_is_a_circle(offset: float) -> None:
    line = line_at(CIRCLE, offset)
    assert_allclose(line.curvature, 1.0 / (RADIUS - offset), rtol=1e-12)
    assert_allclose(line.length, 2.0 * np.pi * (RADIUS - offset), rtol=1e-12)
    assert_allclose(np.hypot(line.x, line.y - RADIUS), RADIUS - offset, rtol=1e-12)


def eccentric(station: FloatArray) -> FloatArray:
    """Offset from the circle's centre line of a circle of 48 m about a point 3 m off its centre."""
    angle = station / RADIUS
    return RADIUS - 3.0 * np.cos(angle) - np.sqrt(48.0**2 - 9.0 * np.sin(angle) ** 2)


def test_circle_about_another_centre_has_its_own_curvature() -> None:
    line = line_at(CIRCLE, eccentric)
    # cubic spline of points 1 m apart, n'''' = 3 m / 50⁴ m⁴: its second derivative is off by h² n''''/12 and
    # the trapezoids of u by h² k n''/12
    error = 3.0 / RADIUS**4
    assert_allclose(line.curvature, 1.0 / 48.0, rtol=0, atol=error)
    assert_allclose(line.length, 2.0 * np.pi * 48.0, rtol=1e-6)


def test_wave_along_a_straight_is_the_plane_curve() -> None:
    wave = 2.0 * np.pi / 80.0
    line = line_at(straight(), lambda station: 2.0 * np.sin(wave * station))
    slope = 2.0 * wave * np.cos(wave * line.station)
    expected = -2.0 * wave**2 * np.sin(wave * line.station) / (1.0 + slope**2) ** 1.5
    # second derivative of a cubic spline: h² n''''/12, some three times as much beside its ends
    assert_allclose(line.curvature, expected, rtol=0, atol=3.0 * 2.0 * wave**4 / 12.0)
    # slope of a cubic spline: h³ n''''/24
    assert_allclose(line.heading, np.arctan(slope), rtol=0, atol=2.0 * wave**4 / 24.0 * 3.0)
    assert_allclose(line.offset, 2.0 * np.sin(wave * line.x), rtol=0, atol=2.0 * wave**4 / 384.0 * 3.0)


def test_constant_offset_on_a_stadium_has_its_straights_and_arcs() -> None:
    line = line_at(STADIUM, 4.0, spacing=0.5)
    assert_allclose(line.length, 2.0 * SIDE + 2.0 * np.pi * (RADIUS - 4.0), rtol=1e-12)
    arc = np.pi * (RADIUS - 4.0)
    along = line.distance % (SIDE + arc)
    inside = np.minimum(np.abs(along - SIDE), np.minimum(along, SIDE + arc - along)) > 1e-6
    expected = np.where(along > SIDE, 1.0 / (RADIUS - 4.0), 0.0)
    assert_allclose(line.curvature[inside], expected[inside], rtol=0, atol=1e-12)


def drifting(station: FloatArray) -> FloatArray:
    length = STADIUM.centre_line.draw().line.length
    return 4.0 * np.sin(2.0 * np.pi * station / length * 3.0 + 1.0)


def test_line_across_the_foot_of_an_arc_has_no_kink() -> None:
    line = line_at(STADIUM, drifting)
    turned = np.diff(line.heading)
    # in no step does it turn more than its curvature allows
    most = 1.01 * line.spacing * np.maximum(np.abs(line.curvature[1:]), np.abs(line.curvature[:-1]))
    jump = np.abs(np.diff(line.curvature)) > 0.01
    assert np.count_nonzero(jump) == 4
    assert np.all(np.abs(turned[jump]) <= most[jump])
    point = line.x + 1j * line.y
    # chords point along the heading half-way, but for a jump of curvature within: dk h / 8
    halfway = np.exp(0.5j * (line.heading[1:] + line.heading[:-1]))
    assert_allclose(np.angle(np.diff(point) / halfway), 0.0, atol=0.022 / 8.0)


@pytest.mark.parametrize("name", demo_track_names())
def test_smooth_offset_on_clothoids_is_the_closed_form(name: str) -> None:
    track = demo_track(name)
    centre = track.centre_line.draw().line
    wave = 2.0 * np.pi * 12.0 / centre.length

    def offset(station: FloatArray, of: int = 0) -> FloatArray:
        return 3.0 * wave**of * np.sin(wave * station + of * 0.5 * np.pi)

    line = line_at(track, offset, spacing=0.5)
    station = line.station
    k, n, n1, n2 = centre.at(station).curvature, *(offset(station, of) for of in range(3))
    change = (centre.at(station + 1e-4).curvature - centre.at(station - 1e-4).curvature) / 2e-4
    along = 1.0 - k * n
    speed = np.hypot(along, n1)
    expected = (k + (along * n2 + n1 * (change * n + k * n1)) / speed**2) / speed
    # where a clothoid begins, the spline passes from one second derivative to the next over a few points
    joints = np.abs(np.gradient(np.gradient(k))) > 1e-7
    far = ~np.convolve(joints, np.ones(25), mode="same").astype(bool)
    assert np.count_nonzero(far) > 0.5 * far.size
    # the trapezoids of u: h² k n''/12 of the curvature, and h² n''''/12
    assert_allclose(line.curvature[far], expected[far], rtol=0, atol=2e-6)
    # distance is the integral of the speed along the station
    fine = np.linspace(0.0, centre.length, 200_001)
    speed = np.hypot(1.0 - centre.at(fine).curvature * offset(fine), offset(fine, 1))
    assert_allclose(line.length, np.trapezoid(speed, fine), rtol=1e-6)
    at = np.interp(line.station, fine, np.append(0.0, np.cumsum(0.5 * (speed[1:] + speed[:-1]) * fine[1])))
    assert_allclose(line.distance, at, rtol=0, atol=1e-3)


def test_lap_ends_where_it_starts_and_its_offsets_may_be_given_as_a_row() -> None:
    by_function = line_at(STADIUM, drifting)
    length = STADIUM.centre_line.draw().line.length
    by_row = line_at(STADIUM, drifting(np.linspace(0.0, length, 2001)))
    for line in (by_function, by_row):
        for row in ("x", "y", "offset", "curvature", "gradient"):
            value = getattr(line, row)
            assert_allclose(value[-1], value[0], rtol=0, atol=1e-9)
        assert_allclose(line.heading[-1] - line.heading[0], 2.0 * np.pi, rtol=1e-9)
        assert_allclose(line.station[[0, -1]], [0.0, length], rtol=0, atol=1e-9)
    # both splines are off by 5/384 h⁴ n'''' and what the jumps of curvature leave
    assert_allclose(by_row.offset, by_function.offset, rtol=0, atol=1e-3)


# Slopes


def test_line_across_an_inclined_plane() -> None:
    """On the plane z = 0.05 x + tan(3 deg) y, along y = 0.1 x - 4."""
    lean = np.tan(np.radians(3.0))
    plane = straight(
        elevation=[Elevation(distance=at, height=0.05 * at) for at in (0.0, 70.0, 200.0)],
        banking=[Banking(distance=0.0, angle=np.radians(3.0))],
    )
    line = line_at(plane, lambda station: 0.1 * station - 4.0)
    secant = np.sqrt(1.01)
    assert_allclose(line.gradient, (0.05 + 0.1 * lean) / secant, rtol=1e-9)
    assert_allclose(np.tan(line.banking), (lean - 0.1 * 0.05) / secant, rtol=1e-9)
    assert_allclose(line.vertical_curvature, 0.0, atol=1e-9)


def test_crest_and_dip_are_the_bends_of_the_elevation() -> None:
    hill = track_of(
        SectionLine(sections=[StraightSection(length=SIDE), HALF] * 2),
        elevation=[Elevation(distance=at, height=h) for at, h in ((0.0, 0.0), (180.0, 9.0), (420.0, 2.0))],
    )
    layout, line = lay_out(hill), line_at(hill, 0.0)
    second = np.gradient(layout.gradient, layout.spacing)
    # central differences: h²/6 of the fourth derivative, none of a cubic, but beside a knot h/4 of the jump
    # of the third, some 1e-5
    assert_allclose(line.vertical_curvature[1:-1], second[1:-1], rtol=0, atol=5e-6)
    crest = np.argmax(layout.elevation)
    assert line.vertical_curvature[crest] < 0.0 < line.vertical_curvature[np.argmin(layout.elevation)]
    # on the same hill 4 m inside, the way round is shorter and the slope steeper
    inner = line_at(hill, 4.0)
    at = np.searchsorted(inner.station, SIDE + 20.0)
    assert_allclose(
        inner.gradient[at],
        np.interp(inner.station[at], layout.distance, layout.gradient) * RADIUS / (RADIUS - 4.0),
        rtol=1e-4,
    )


# Refusals


@pytest.mark.parametrize(
    ("track", "offset", "text"),
    [
        (CIRCLE, 50.0, "50 m at 0.0 m, where the centre line has a radius of 50 m"),
        (CIRCLE, lambda station: station / 300.0, "Let the path close"),
        (CIRCLE, lambda station: station[:-1], "shape"),
        (CIRCLE, np.array([0.0, np.nan, 0.0]), "not finite"),
        (CIRCLE, np.zeros((2, 2)), "shape"),
    ],
)
def test_offsets_that_cannot_be_are_refused(track: Track, offset: LateralOffset, text: str) -> None:
    with pytest.raises(TrackError, match=text):
        line_at(track, offset)


def test_spacing_must_be_positive_and_is_the_most() -> None:
    with pytest.raises(TrackError, match="spacing is 0 m"):
        line_at(CIRCLE, 0.0, spacing=0.0)
    line: Line = line_at(CIRCLE, 0.0, spacing=3.0)
    assert 2.9 < line.spacing <= 3.0
    assert not line.curvature.flags.writeable
