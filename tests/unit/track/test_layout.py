"""A track read at even distances: line, widths, banking, elevation; mirrored and reversed."""

import math

import numpy as np
import pytest
from numpy.testing import assert_allclose, assert_array_equal

from fourpatch.errors import TrackError
from fourpatch.track.builder import SectionLine, StraightSection
from fourpatch.track.demo import demo_track, demo_track_names
from fourpatch.track.layout import lay_out
from fourpatch.track.track import (
    Banking,
    ClassSurface,
    Elevation,
    Road,
    Track,
    Width,
    mirrored,
    reversed_direction,
)


def road(**rows: object) -> Road:
    given = {
        "width": [Width(distance=0.0, left=5.0, right=6.0)],
        "surface": [ClassSurface(start=0.0, road_class="A")],
    }
    return Road(**{**given, **rows})  # type: ignore[arg-type]


def straight(length: float, **rows: object) -> Track:
    line = SectionLine(closed=False, sections=[StraightSection(length=length)])
    return Track(name="straight, invented", centre_line=line, road=road(**rows))


def test_places_are_evenly_spaced_and_a_lap_ends_where_it_starts(club: Track) -> None:
    layout = lay_out(club, spacing=3.0)
    assert layout.closed
    assert 2.9 < layout.spacing <= 3.0
    assert_allclose(np.diff(layout.distance), layout.spacing, rtol=1e-9)
    for row in ("x", "y", "curvature", "banking", "elevation", "gradient", "left", "right"):
        values = getattr(layout, row)
        # closed to 1e-9 m, by the builder
        assert_allclose(values[-1], values[0], rtol=0, atol=1e-8, err_msg=row)
    assert_allclose(layout.heading[-1] - layout.heading[0], 2.0 * math.pi, rtol=1e-12)
    assert "closed by changing lengths" in layout.adjustment


def test_what_is_given_is_met_and_widths_are_straight_between() -> None:
    track = straight(
        400.0,
        width=[Width(distance=100.0, left=4.0, right=6.0), Width(distance=300.0, left=6.0, right=5.0)],
        banking=[
            Banking(distance=0.0, angle=0.0),
            Banking(distance=100.0, angle=0.0),
            Banking(distance=200.0, angle=0.1),
            Banking(distance=300.0, angle=0.1),
        ],
        elevation=[
            Elevation(distance=0.0, height=5.0),
            Elevation(distance=200.0, height=9.0),
            Elevation(distance=400.0, height=5.0),
        ],
    )
    layout = lay_out(track, spacing=50.0)
    assert_allclose(layout.left, [4.0, 4.0, 4.0, 4.5, 5.0, 5.5, 6.0, 6.0, 6.0], rtol=1e-15)
    assert_allclose(layout.right, [6.0, 6.0, 6.0, 5.75, 5.5, 5.25, 5.0, 5.0, 5.0], rtol=1e-15)
    assert_allclose(layout.banking[[0, 2, 4, 8]], [0.0, 0.0, 0.1, 0.1], rtol=1e-15)
    assert np.all((layout.banking >= 0.0) & (layout.banking <= 0.1))
    # natural cubic spline through 0, 4, 0 over two spans L: 1.5 s/L - 0.5 (s/L)³ of 4 m, by hand
    share = np.array([0.0, 0.25, 0.5, 0.75, 1.0, 0.75, 0.5, 0.25, 0.0])
    assert_allclose(layout.elevation, 5.0 + 4.0 * (1.5 * share - 0.5 * share**3), rtol=1e-12)
    assert_allclose(layout.gradient[[0, 4]], [4.0 * 1.5 / 200.0, 0.0], rtol=0, atol=1e-12)


def test_elevation_of_a_lap_is_smooth_over_the_start_line() -> None:
    track = demo_track("long-corners")
    layout = lay_out(track, spacing=0.5)
    rise = np.diff(layout.elevation) / layout.spacing
    middle = 0.5 * (layout.gradient[1:] + layout.gradient[:-1])
    # trapezoid rule: spacing² / 12 times the change of vertical curvature, below 1e-6 1/m² here
    assert_allclose(rise, middle, rtol=0, atol=1e-6)
    bend = np.diff(layout.gradient) / layout.spacing
    assert_allclose(bend[0], bend[-1], rtol=0, atol=2e-6)
    assert_allclose(np.sum(layout.gradient[:-1]) * layout.spacing, 0.0, atol=1e-6)


def test_level_road_needs_no_rows() -> None:
    layout = lay_out(straight(100.0), spacing=10.0)
    for row in (layout.elevation, layout.gradient, layout.banking):
        assert_array_equal(row, np.zeros(11))
    one = lay_out(
        straight(
            100.0,
            banking=[Banking(distance=0.0, angle=0.05)],
            elevation=[Elevation(distance=0.0, height=7.0)],
        )
    )
    assert_array_equal(one.banking, np.full(101, 0.05))
    assert_array_equal(one.elevation, np.full(101, 7.0))
    assert_array_equal(one.gradient, np.zeros(101))


def test_rows_are_read_only() -> None:
    with pytest.raises(ValueError, match="read-only"):
        lay_out(straight(100.0)).x[0] = 1.0


def test_spacing_without_sense_is_refused() -> None:
    with pytest.raises(TrackError, match="spacing is 0 m"):
        lay_out(straight(100.0), spacing=0.0)


@pytest.mark.parametrize("name", demo_track_names())
def test_mirrored_track(name: str) -> None:
    track = demo_track(name)
    there, here = lay_out(mirrored(track), spacing=7.0), lay_out(track, spacing=7.0)
    # the same operations with the sign changed, the closing solved from a mirrored start: 1e-9 m
    assert_allclose(there.y, -here.y, rtol=0, atol=1e-8)
    assert_allclose(there.curvature, -here.curvature, rtol=0, atol=1e-10)
    assert_allclose(there.banking, -here.banking, rtol=0, atol=1e-12)
    assert_allclose(there.left, here.right, rtol=0, atol=1e-12)
    assert_allclose(there.elevation, here.elevation, rtol=0, atol=1e-8)
    assert mirrored(mirrored(track)) == track


@pytest.mark.parametrize("name", demo_track_names())
def test_reversed_track(name: str) -> None:
    track = demo_track(name)
    back, here = lay_out(reversed_direction(track), spacing=7.0), lay_out(track, spacing=7.0)
    # distances are counted from the other end: rounding of some 5000 m, and closing to 1e-9 m
    assert_allclose(back.length, here.length, rtol=1e-11)
    assert_allclose(back.banking[::-1], -here.banking, rtol=0, atol=1e-9)
    assert_allclose(back.left[::-1], here.right, rtol=0, atol=1e-9)
    assert_allclose(back.elevation[::-1], here.elevation, rtol=0, atol=1e-8)
    assert_allclose(back.gradient[::-1], -here.gradient, rtol=0, atol=1e-10)
    # away from joins, where either side may be met, curvature changes sign only
    inner = np.abs(back.curvature[::-1] + here.curvature)
    assert np.median(inner) < 1e-10
    there, turn = here.x + 1j * here.y, np.exp(1j * (here.heading[-1] + math.pi))
    assert_allclose(there[-1] + turn * (back.x + 1j * back.y)[::-1], there, rtol=0, atol=1e-7)
