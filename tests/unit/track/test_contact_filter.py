"""The rolling circle and the mean over the patch against geometry; reading between points."""

import math
from collections.abc import Callable

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st
from numpy.testing import assert_allclose, assert_array_equal

from fourpatch.errors import TrackError
from fourpatch.track.contact_filter import sample_profile, tyre_path
from fourpatch.track.kerb import SausageKerb, Side, kerbed_straight

RADIUS = 0.32
PATCH = 0.13
POINT = 1e-9
"""A patch so short that the mean over it is the value at its middle."""

profiles = st.lists(st.floats(-0.1, 0.1), min_size=2, max_size=60).map(lambda z: np.array(z))
spacings = st.floats(0.005, 0.5)
patches = st.floats(0.001, 0.6)


def assert_rests_on_polygon(heights: np.ndarray, spacing: float, at: int) -> None:
    """Try the circle over one point against every corner of the polygon and very many places between."""
    path = tyre_path(heights, spacing, contact_length=POINT, tyre_radius=RADIUS)
    x = np.arange(heights.size) * spacing
    corners = x - x[at]
    offset = np.concatenate((np.linspace(-RADIUS, RADIUS, 20_001), corners[np.abs(corners) < RADIUS]))
    tried = np.interp(x[at] + offset, x, heights) + np.sqrt(RADIUS**2 - offset**2) - RADIUS
    # Places are 32 um apart: a straight piece of slope s is touched up to 16 um from one, which by the
    # curvature of the circle there, (1 + s²)^(3/2) / R, misses half the square of it.  The patch of 1 nm adds
    # less than 1 nm times the slope.
    steepest = np.max(np.abs(np.diff(heights))) / spacing
    missed = (RADIUS / 20_000) ** 2 / (2.0 * RADIUS) * (1.0 + steepest**2) ** 1.5
    assert_allclose(path[at], np.max(tried), rtol=0.0, atol=missed + POINT * (1.0 + steepest))


@given(height=st.floats(-5.0, 5.0), spacing=spacings, patch=patches)
def test_flat_road_is_unchanged(height: float, spacing: float, patch: float):
    path = tyre_path(np.full(40, height), spacing, contact_length=patch, tyre_radius=RADIUS)
    # Rounding of heights of a few metres.
    assert_allclose(path, height, rtol=0.0, atol=1e-14)


@given(slope=st.floats(-1.5, 1.5), spacing=st.floats(0.01, 0.2), patch=patches)
def test_constant_slope_is_lifted_by_the_circle_alone(slope: float, spacing: float, patch: float):
    distance = np.arange(200) * spacing
    path = tyre_path(slope * distance, spacing, contact_length=patch, tyre_radius=RADIUS)
    margin = RADIUS + patch / 2.0 + spacing
    inside = (distance > margin) & (distance < distance[-1] - margin)
    # R (1/cos A - 1), 1/cos² = 1 + slope²; rounding of heights up to 60 m.
    lift = RADIUS * (math.sqrt(1.0 + slope**2) - 1.0)
    assert_allclose((path - slope * distance)[inside], lift, rtol=0.0, atol=1e-12)


@given(heights=profiles, spacing=spacings, data=st.data())
def test_circle_rests_on_any_polygon(heights: np.ndarray, spacing: float, data: st.DataObject):
    assert_rests_on_polygon(heights, spacing, data.draw(st.integers(0, heights.size - 1)))


@pytest.mark.parametrize("slope", [0.3, 1.0, 1.9, 6.0])
def test_circle_rests_on_a_ramp_and_its_top(slope: float):
    spacing = 0.005
    heights = np.clip(slope * (np.arange(240) - 80) * spacing, 0.0, 0.6)
    for at in range(240):
        assert_rests_on_polygon(heights, spacing, at)


@given(heights=profiles, spacing=spacings, patch=patches)
def test_nothing_is_felt_above_the_crest_or_below_the_ground(
    heights: np.ndarray, spacing: float, patch: float
):
    path = tyre_path(heights, spacing, contact_length=patch, tyre_radius=RADIUS)
    # Rounding.
    assert np.max(path) <= np.max(heights) + 1e-14
    assert np.min(path) >= np.min(heights) - 1e-14


@given(heights=profiles, spacing=spacings)
def test_the_circle_never_sinks_into_the_ground(heights: np.ndarray, spacing: float):
    path = tyre_path(heights, spacing, contact_length=POINT, tyre_radius=RADIUS)
    # A patch of 1 nm reaches 1 nm down slopes of up to 40: 4e-8 m at most, by a quarter of it on average.
    assert np.all(path >= heights - 4e-8)


@given(heights=profiles, spacing=spacings, patch=patches)
def test_driven_backwards_the_path_is_the_same(heights: np.ndarray, spacing: float, patch: float):
    forward = tyre_path(heights, spacing, contact_length=patch, tyre_radius=RADIUS)
    backward = tyre_path(heights[::-1].copy(), spacing, contact_length=patch, tyre_radius=RADIUS)
    # Rounding: on slopes of up to 40, heights of pieces reach 40 R.
    assert_allclose(backward[::-1], forward, rtol=0.0, atol=1e-12)


@given(heights=profiles, spacing=spacings, patch=patches, lift=st.floats(-1.0, 1.0))
def test_lifting_the_road_lifts_the_path(heights: np.ndarray, spacing: float, patch: float, lift: float):
    path = tyre_path(heights, spacing, contact_length=patch, tyre_radius=RADIUS)
    lifted = tyre_path(heights + lift, spacing, contact_length=patch, tyre_radius=RADIUS)
    # Rounding: a height rounded by 1e-16 may turn its slope, and with it the piece touched, by 40 R as much.
    assert_allclose(lifted, path + lift, rtol=0.0, atol=1e-11)


@given(heights=profiles, spacing=spacings, patch=patches, data=st.data())
def test_raising_one_point_lowers_the_path_nowhere(
    heights: np.ndarray, spacing: float, patch: float, data: st.DataObject
):
    raised = heights.copy()
    raised[data.draw(st.integers(0, heights.size - 1))] += 0.02
    path = tyre_path(heights, spacing, contact_length=patch, tyre_radius=RADIUS)
    # Rounding, as in the test above.
    assert np.all(tyre_path(raised, spacing, contact_length=patch, tyre_radius=RADIUS) >= path - 1e-11)


def test_edge_is_met_ahead_along_the_circle():
    # Upright but for one spacing; the top begins at point 400.
    spacing, height = 0.002, 0.05
    heights = np.where(np.arange(801) >= 400, height, 0.0)
    path = tyre_path(heights, spacing, contact_length=POINT, tyre_radius=RADIUS)
    ahead = (400 - np.arange(401)) * spacing
    reach = math.sqrt(2.0 * RADIUS * height - height**2)
    over_edge = np.sqrt(RADIUS**2 - np.minimum(ahead, reach) ** 2) - RADIUS + height
    # Exact geometry: rounding only, and the patch of 1 nm on a slope below 1.
    assert_allclose(path[:401], np.maximum(over_edge, 0.0), rtol=0.0, atol=1e-9)


def test_over_a_round_hump_the_centre_runs_on_the_circle_of_both_radii():
    hump, spacing = SausageKerb(height=0.08, length=0.6), 0.002
    profile = kerbed_straight(kerb=hump, start=2.0, side=Side.BOTH, length=4.6, spacing=spacing)
    path = tyre_path(profile.left, spacing, contact_length=POINT, tyre_radius=RADIUS)
    from_top = profile.distance - 2.3
    both = hump.radius + RADIUS
    near = np.abs(from_top) < both
    # Or on the ground, at either side.
    expected = np.maximum(np.sqrt(both**2 - from_top[near] ** 2) - both + hump.height, 0.0)
    # A chord lies within its arc by chord²/(8 radius), 1 um for a chord of one spacing.  At an angle A from
    # the top, chords are longer by 1/cos A and lower the path by 1/cos A of it; A is 30 degrees at the foot.
    room = spacing**2 / (8.0 * hump.radius) / math.cos(math.radians(30.0)) ** 3
    assert_allclose(path[near], expected, rtol=0.0, atol=room)


def test_a_short_hole_is_bridged():
    # Walls upright but for one spacing; the rims are 0.16 m apart, on points 460 and 540.
    spacing, depth, width = 0.002, 0.08, 0.16
    heights = np.zeros(1001)
    heights[461:540] = -depth
    path = tyre_path(heights, spacing, contact_length=POINT, tyre_radius=RADIUS)
    sink = RADIUS - math.sqrt(RADIUS**2 - width**2 / 4.0)
    # Between its two rims the wheel hangs on the nearer; exact geometry, rounding only, and the patch.
    assert_allclose(-np.min(path), sink, rtol=0.0, atol=1e-9)
    assert sink < 0.13 * depth
    felt = tyre_path(heights, spacing, contact_length=PATCH, tyre_radius=RADIUS)
    assert -np.min(felt) < sink


@pytest.mark.parametrize("patch", [0.0504, 0.13, 0.2])
@pytest.mark.parametrize("wavelength", [0.2, 0.5, 2.0])
def test_waves_are_averaged_over_the_patch_without_delay(patch: float, wavelength: float):
    spacing, amplitude = 0.002, 1e-7
    x = np.arange(2001) * spacing
    wave = amplitude * np.sin(2.0 * np.pi * x / wavelength)
    path = tyre_path(wave, spacing, contact_length=patch, tyre_radius=RADIUS)
    inside = (x > 1.0) & (x < 3.0)
    expected = np.sinc(patch / wavelength) * wave
    # The circle lifts slopes by R slope²/2; chords lie within (2 pi spacing / wavelength)²/8 of the wave.
    steepest = 2.0 * np.pi * amplitude / wavelength
    chord = (2.0 * np.pi * spacing / wavelength) ** 2 / 8.0
    room = RADIUS * steepest**2 / 2.0 + chord * amplitude
    assert_allclose(path[inside], expected[inside], rtol=0.0, atol=room)


@given(patch=patches, spacing=spacings)
def test_mean_over_the_patch_is_exact_for_straight_pieces(patch: float, spacing: float):
    # One low, wide triangle; the mean over the patch about its top is known for any patch.
    half_base = 50
    offset = np.abs(np.arange(-200, 201))
    heights = 1e-9 * np.maximum(0.0, 1.0 - offset / half_base)
    path = tyre_path(heights, spacing, contact_length=patch, tyre_radius=RADIUS)
    over = min(1.0, patch / 2.0 / (half_base * spacing))
    reach = min(patch / 2.0, half_base * spacing)
    mean = 1e-9 * (1.0 - over / 2.0) * reach / (patch / 2.0)
    # The circle on slopes of 1e-9 / 0.25 lifts by R slope² / 2 = 3e-18 at most.
    assert_allclose(path[200], mean, rtol=1e-12, atol=3e-18)


def test_input_is_left_alone():
    heights = np.linspace(0.0, 1.0, 50) ** 2
    before = heights.copy()
    tyre_path(heights, 0.05, contact_length=PATCH, tyre_radius=RADIUS)
    assert_array_equal(heights, before)


# Reading between points


@given(
    coefficients=st.lists(st.floats(-1.0, 1.0), min_size=4, max_size=4),
    at=st.lists(st.floats(0.0, 3.0), min_size=1, max_size=20),
)
def test_cubics_are_read_exactly(coefficients: list[float], at: list[float]):
    cubic = np.polynomial.Polynomial(coefficients)
    distance = np.linspace(0.0, 3.0, 13)
    height, slope = sample_profile(distance, cubic(distance), np.array(at))
    # Rounding of values up to 40, and of slopes over steps of 0.25.
    assert_allclose(height, cubic(np.array(at)), rtol=0.0, atol=1e-12)
    assert_allclose(slope, cubic.deriv()(np.array(at)), rtol=0.0, atol=1e-11)


def test_error_falls_with_the_fourth_power_of_spacing_and_the_slopes_with_the_third():
    read_at = np.linspace(3.0, 7.0, 4001)
    errors = []
    for points in (81, 161):
        distance = np.linspace(0.0, 10.0, points)
        height, slope = sample_profile(distance, np.sin(3.0 * distance), read_at)
        errors.append(
            (
                np.max(np.abs(height - np.sin(3.0 * read_at))),
                np.max(np.abs(slope - 3.0 * np.cos(3.0 * read_at))),
            )
        )
    orders = np.log2(np.array(errors[0]) / np.array(errors[1]))
    # Next term of the error is two orders higher: (3 * 0.125)² = 14 % of it at the wider spacing, and its
    # change between the two spacings moves the order by less than 0.2.
    assert_allclose(orders, [4.0, 3.0], rtol=0.0, atol=0.2)


def test_points_are_met_and_the_ends_are_held():
    distance = np.array([1.0, 2.0, 4.0, 5.0, 7.0])
    heights = np.array([0.3, -0.1, 0.2, 0.2, 0.5])
    height, slope = sample_profile(distance, heights, np.array([-5.0, *distance, 100.0]))
    # Rounding.
    assert_allclose(height, [0.3, *heights, 0.5], rtol=0.0, atol=1e-14)
    assert slope[0] == slope[-1] == 0.0
    assert slope[1] != 0.0


def test_shape_of_the_question_is_the_shape_of_the_answer():
    distance = np.linspace(0.0, 1.0, 11)
    height, slope = sample_profile(distance, distance**2, np.full((3, 4), 0.5))
    assert height.shape == slope.shape == (3, 4)


ROW = np.zeros(10)
REFUSALS: dict[str, tuple[Callable[[], object], tuple[str, ...]]] = {
    "spacing": (
        lambda: tyre_path(ROW, 0.0, contact_length=PATCH, tyre_radius=RADIUS),
        ("spacing is 0 m", "Give the distance"),
    ),
    "patch": (
        lambda: tyre_path(ROW, 0.1, contact_length=-0.1, tyre_radius=RADIUS),
        ("contact length is -0.1 m", "0.08 to 0.20 m"),
    ),
    "radius": (
        lambda: tyre_path(ROW, 0.1, contact_length=PATCH, tyre_radius=math.nan),
        ("tyre radius is nan m", "0.25 to 0.40 m"),
    ),
    "patch longer than the tyre": (
        lambda: tyre_path(ROW, 0.1, contact_length=130.0, tyre_radius=RADIUS),
        ("contact length is 130 m", "0.32 m", "Check the units"),
    ),
    "two rows": (
        lambda: tyre_path(np.zeros((2, 5)), 0.1, contact_length=PATCH, tyre_radius=RADIUS),
        ("shape (2, 5)", "one side at a time"),
    ),
    "a gap": (
        lambda: tyre_path(np.array([0.0, math.inf]), 0.1, contact_length=PATCH, tyre_radius=RADIUS),
        ("heights at point 1 is inf", "Fill the gap"),
    ),
    "fewer heights": (
        lambda: sample_profile(np.arange(10.0), np.zeros(9), np.zeros(1)),
        ("9 for 10 distances", "same length"),
    ),
    "one point": (
        lambda: sample_profile(np.zeros(1), np.zeros(1), np.zeros(1)),
        ("profile distance has shape (1,)", "at least two"),
    ),
    "repeated distance": (
        lambda: sample_profile(np.array([0.0, 1.0, 1.0]), np.zeros(3), np.zeros(1)),
        ("point 2 lies 0 m after point 1", "must rise", "Sort the points"),
    ),
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
