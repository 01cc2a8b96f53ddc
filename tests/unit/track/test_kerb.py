"""Kerb cross-sections against plane geometry."""

import math
from collections.abc import Callable
from typing import NamedTuple

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st
from numpy.testing import assert_allclose, assert_array_equal

from fourpatch.errors import TrackError
from fourpatch.track.contact_filter import tyre_path
from fourpatch.track.kerb import (
    FlatToppedKerb,
    HalfSineKerb,
    Kerb,
    RampedKerb,
    SausageKerb,
    SawToothKerb,
    Side,
    kerbed_straight,
)
from fourpatch.track.road import RoadClass, rough_road

FLAT_TOPPED = FlatToppedKerb(height=0.03, length=1.0, ramp_length=0.1)
SAW_TOOTH = SawToothKerb(height=0.02, length=1.6, tooth_length=0.4, edge_length=0.1)
RAMPED = RampedKerb(height=0.05, length=0.6, edge_length=0.1)
CAP_RADIUS = (0.3**2 + 0.1**2) / (2 * 0.1)
CAP_ANGLE = 2.0 * math.asin(0.3 / CAP_RADIUS)


class Geometry(NamedTuple):
    """A kerb and what plane geometry says of it."""

    kerb: Kerb
    top: float
    area: float
    steepest: float


# Area and steepest slope: trapezium, triangles, height / edge length; segment of a circle r² (A - sin A) / 2
# with the angle A at the centre, its tangent at the foot tan(A/2); half a sine 2 h L / pi, pi h / L.
CASES = {
    case.kerb.name: case
    for case in (
        Geometry(FLAT_TOPPED, 0.03, 0.03 * (1.0 + 0.8) / 2, 0.3),
        Geometry(RAMPED, 0.05, 0.05 * 0.6 / 2, 0.5),
        Geometry(SAW_TOOTH, 0.02, 4 * 0.02 * 0.4 / 2, 0.2),
        Geometry(
            SausageKerb(height=0.1, length=0.6),
            0.1,
            0.5 * CAP_RADIUS**2 * (CAP_ANGLE - math.sin(CAP_ANGLE)),
            math.tan(0.5 * CAP_ANGLE),
        ),
        Geometry(HalfSineKerb(height=0.04, length=0.8), 0.04, 2 * 0.04 * 0.8 / math.pi, math.pi * 0.04 / 0.8),
    )
}


@pytest.mark.parametrize("name", CASES)
def test_area_of_the_cross_section(name: str):
    kerb, _, area, steepest = CASES[name]
    spacing = 0.001
    x = np.arange(round(kerb.length / spacing) + 1) * spacing
    # Corners of the straight ones lie on points: rounding.  Trapezoid rule on the curved ones: spacing²/12
    # times the change of slope from foot to foot, twice the steepest.
    room = spacing**2 / 6.0 * steepest if name in {"sausage", "half-sine"} else 0.0
    assert_allclose(np.trapezoid(kerb.height_at(x), x), area, rtol=1e-12, atol=1.01 * room)


@pytest.mark.parametrize("name", CASES)
def test_top_and_feet(name: str):
    kerb, top, _, _ = CASES[name]
    height = kerb.height_at(np.linspace(0.0, kerb.length, 4801))
    # The top lies on a point of every kerb here: rounding only.
    assert_allclose(np.max(height), top, rtol=1e-12)
    assert_allclose(height[[0, -1]], 0.0, atol=1e-15)
    assert np.min(height) >= 0.0
    assert_array_equal(kerb.height_at(np.array([-10.0, -1e-9, kerb.length + 1e-9, kerb.length + 10.0])), 0.0)


@pytest.mark.parametrize("name", CASES)
def test_no_step_anywhere(name: str):
    kerb, _, _, steepest = CASES[name]
    x = np.linspace(-0.1, kerb.length + 0.1, 200_001)
    rise = np.abs(np.diff(kerb.height_at(x))) / (x[1] - x[0])
    # Rounding of heights of 0.1 m over steps of 1e-5 m; a curve is steepest at its very foot, and the first
    # step of 1e-5 m over it falls short by about that share of its length.
    assert np.max(rise) <= steepest * (1.0 + 1e-9)
    assert_allclose(np.max(rise), steepest, rtol=1e-4)


@given(
    height=st.floats(0.005, 0.2),
    length=st.floats(0.8, 5.0),
    at=st.floats(-1.0, 6.0),
)
def test_symmetric_kerbs_are_symmetric_and_within_their_height(height: float, length: float, at: float):
    kerbs: list[Kerb] = [
        FlatToppedKerb(height=height, length=length, ramp_length=0.3 * length),
        SausageKerb(height=height, length=length),
        HalfSineKerb(height=height, length=length),
    ]
    for kerb in kerbs:
        there, mirrored = kerb.height_at(np.array([at, length - at]))
        # Rounding of a position of a few metres on a slope of at most 4/3.
        assert_allclose(there, mirrored, atol=1e-14)
        assert 0.0 <= there <= height * (1.0 + 1e-12)


def test_ramped_kerb_rises_before_it_drops():
    # 0.5 m of slope to 0.05 m, then 0.1 m of drop: half-way up and half-way down.
    assert_allclose(RAMPED.height_at(np.array([0.25, 0.5, 0.55])), [0.025, 0.05, 0.025], rtol=1e-12)


def test_saw_tooth_repeats_its_tooth():
    assert SAW_TOOTH.teeth == 4
    x = np.linspace(0.0, 0.4, 81)
    one = SAW_TOOTH.height_at(x)
    for tooth in range(1, 4):
        # Rounding of distances near 1 m on a slope of 0.2.
        assert_allclose(SAW_TOOTH.height_at(x + 0.4 * tooth), one, atol=1e-15)


@pytest.mark.parametrize(
    ("side", "left", "right"), [(Side.LEFT, 1.0, 0.0), (Side.RIGHT, 0.0, 1.0), (Side.BOTH, 1.0, 1.0)]
)
def test_kerb_lies_where_it_is_put(side: Side, left: float, right: float):
    profile = kerbed_straight(kerb=FLAT_TOPPED, start=4.0, side=side, length=10.0, spacing=0.05)
    for track, share in ((profile.left, left), (profile.right, right)):
        # Rounding: start, ramps and top lie on points.
        assert_allclose(track[profile.distance < 4.01], 0.0, atol=1e-15)
        top = (profile.distance > 4.09) & (profile.distance < 4.91)
        assert_allclose(track[top], share * 0.03, rtol=1e-12)
        assert_allclose(track[profile.distance > 4.99], 0.0, atol=1e-15)
    assert profile.length == pytest.approx(10.0, rel=1e-12)


def test_kerb_lies_on_a_rough_road():
    kerb = kerbed_straight(kerb=FLAT_TOPPED, start=60.0, side=Side.LEFT, length=100.0, spacing=0.05)
    road = rough_road(roughness=RoadClass.A, length=100.0, spacing=0.05, seed=1, track_width=1.5)
    both = road + kerb
    assert_array_equal(both.right, road.right)
    # Rounding.
    assert_allclose(np.max(np.abs(both.left - road.left)), 0.03, rtol=1e-12)


def test_a_short_ramp_is_as_good_as_an_upright_edge_to_a_wheel():
    # Both tops begin at 2.10 m.  A circle of 0.30 m radius has the slope 0.166 / 0.25 where it meets a top of
    # 0.05 m, so it rolls over ramps shorter than 0.075 m without touching them.
    paths = []
    for ramp_length in (0.02, 0.07):
        kerb = FlatToppedKerb(height=0.05, length=1.0, ramp_length=ramp_length)
        profile = kerbed_straight(
            kerb=kerb, start=2.10 - ramp_length, side=Side.BOTH, length=4.0, spacing=0.01
        )
        paths.append(tyre_path(profile.left, 0.01, contact_length=0.12, tyre_radius=0.30))
    before_middle = slice(0, 250)
    # Rounding.
    assert_allclose(paths[0][before_middle], paths[1][before_middle], atol=1e-15)


def straight(kerb: Kerb, *, start: float = 1.0, length: float = 10.0, spacing: float = 0.01) -> object:
    return kerbed_straight(kerb=kerb, start=start, side=Side.BOTH, length=length, spacing=spacing)


REFUSALS: dict[str, tuple[Callable[[], object], tuple[str, ...]]] = {
    "height": (lambda: HalfSineKerb(height=0.0, length=1.0), ("half-sine kerb: height is 0 m", "its top")),
    "length": (lambda: SausageKerb(height=0.1, length=-1.0), ("sausage kerb: length is -1 m", "extent")),
    "upright": (
        lambda: FlatToppedKerb(height=0.1, length=1.0, ramp_length=0.0),
        ("flat-topped kerb: ramp length is 0 m", "short ramp"),
    ),
    "ramps too long": (
        lambda: FlatToppedKerb(height=0.1, length=1.0, ramp_length=0.6),
        ("ramps of 0.6 m", "length of 1 m", "Shorten the ramps"),
    ),
    "drop too long": (
        lambda: RampedKerb(height=0.1, length=0.5, edge_length=0.5),
        ("ramped kerb: edge length 0.5 m", "length 0.5 m", "Shorten the edge"),
    ),
    "tooth shorter than its drop": (
        lambda: SawToothKerb(height=0.02, length=0.4, tooth_length=0.04),
        ("edge length 0.05 m", "tooth length 0.04 m", "Shorten the edge"),
    ),
    "cut tooth": (
        lambda: SawToothKerb(height=0.02, length=1.0, tooth_length=0.3),
        ("1 m is 3.33333 teeth of 0.3 m", "whole number", "length of 0.9 m"),
    ),
    "less than a tooth": (
        lambda: SawToothKerb(height=0.02, length=0.1, tooth_length=0.3),
        ("0.333333 teeth", "length of 0.3 m"),
    ),
    "sausage too high": (
        lambda: SausageKerb(height=0.3, length=1.0),
        ("height 0.3 m", "length of 1 m", "lengthen the hump"),
    ),
    "longer than the straight": (
        lambda: straight(FLAT_TOPPED, length=1.5),
        ("flat-topped kerb: 1 m long, starting at 1 m", "straight of 1.5 m", "lengthen the straight"),
    ),
    "before the straight": (
        lambda: straight(FLAT_TOPPED, start=-0.5),
        ("starting at -0.5 m", "Move the kerb"),
    ),
    "start not a number": (lambda: straight(FLAT_TOPPED, start=math.nan), ("starting at nan m",)),
    "too coarse": (
        lambda: straight(SAW_TOOTH, spacing=0.1),
        ("saw-tooth kerb: spacing is 0.1 m", "piece of the kerb 0.1 m", "0.05 m or less"),
    ),
    "no spacing": (lambda: straight(SAW_TOOTH, spacing=0.0), ("spacing is 0 m",)),
}


@pytest.mark.parametrize("case", REFUSALS)
def test_refusal_says_what_was_found_what_is_allowed_and_what_to_do(case: str):
    attempt, words = REFUSALS[case]
    with pytest.raises(TrackError) as caught:
        attempt()
    message = str(caught.value)
    for word in words:
        assert word in message
    assert "{" not in message
