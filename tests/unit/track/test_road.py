"""Random roads: what is promised of every seed, and what is refused."""

import math
from collections.abc import Callable

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st
from numpy.testing import assert_allclose, assert_array_equal
from scipy.integrate import quad

from fourpatch.errors import TrackError
from fourpatch.track.road import (
    RoadClass,
    RoadProfile,
    band_variance,
    displacement_spectrum,
    fade_in,
    rough_road,
    straight_distance,
    track_cross_spectrum,
)

SMALL_ROAD = {
    "roughness": RoadClass.B,
    "length": 200.0,
    "spacing": 0.05,
    "seed": 7,
    "track_width": 1.6,
}


def small_road(**changes: object) -> RoadProfile:
    return rough_road(**(SMALL_ROAD | changes))  # type: ignore[arg-type]


def profile_of(heights: np.ndarray) -> RoadProfile:
    return RoadProfile(distance=np.arange(heights.size) * 0.1, left=heights, right=-heights)


def test_the_same_seed_gives_the_same_road_and_another_seed_another():
    once, again, other = small_road(), small_road(), small_road(seed=8)
    assert_array_equal(once.left, again.left)
    assert_array_equal(once.right, again.right)
    # Independent roads differ by about sqrt(2) of their own height; half of it is far from coincidence.
    assert np.std(once.left - other.left) > 0.5 * np.std(once.left)


def test_global_random_state_plays_no_part():
    state = np.random.get_state()  # noqa: NPY002
    small_road()
    assert_array_equal(state[1], np.random.get_state()[1])  # noqa: NPY002


@settings(max_examples=25, deadline=None)
@given(
    roughness=st.floats(1e-7, 1e-1),
    waviness=st.sampled_from([1.0, 1.5, 2.0, 2.3, 3.0]),
    longest=st.floats(5.0, 90.0),
    shortest=st.floats(0.4, 4.0),
    seed=st.integers(0, 2**32),
)
def test_mean_square_of_each_track_is_the_band_variance_for_every_seed(
    roughness: float, waviness: float, longest: float, shortest: float, seed: int
):
    road = rough_road(
        roughness=roughness,
        length=90.0,
        spacing=0.1,
        seed=seed,
        track_width=1.5,
        waviness=waviness,
        longest_wavelength=longest,
        shortest_wavelength=shortest,
    )
    expected, _ = quad(
        lambda n: float(displacement_spectrum(np.array(n), roughness=roughness, waviness=waviness)),
        1.0 / longest,
        1.0 / shortest,
        epsabs=0.0,
        epsrel=1e-11,
    )
    for track in (road.left, road.right):
        # Rounding, and the quadrature's own 1e-11.
        assert_allclose(np.mean(track[:-1] ** 2), expected, rtol=1e-9)
        # Rounding of a sum of 900 heights.
        assert_allclose(np.mean(track[:-1]), 0.0, atol=1e-12 * math.sqrt(expected) * 900)


@pytest.mark.parametrize("waviness", [1.0, 1.0 + 1e-9, 1.7, 2.0, 3.1])
def test_band_variance_is_the_integral_of_the_spectrum(waviness: float):
    expected, _ = quad(
        lambda n: float(displacement_spectrum(np.array(n), roughness=64e-6, waviness=waviness)),
        0.02,
        3.0,
        epsabs=0.0,
        epsrel=1e-11,
    )
    actual = band_variance(np.array(0.02), np.array(3.0), roughness=RoadClass.B, waviness=waviness)
    # Rounding, and the quadrature's own 1e-11.
    assert_allclose(actual, expected, rtol=1e-10)


def test_road_is_periodic_with_its_length():
    road = small_road()
    assert road.left[0] == road.left[-1]
    assert road.right[0] == road.right[-1]
    # Joined end to end, all power of two periods lies on the lines of one: odd lines of the double are empty.
    doubled = np.fft.rfft(np.concatenate((road.left[:-1], road.left[:-1])))
    # Rounding of a transform of 8000 points.
    assert_allclose(np.abs(doubled[1::2]), 0.0, atol=1e-12 * np.max(np.abs(doubled)))


def test_band_holds_all_the_power():
    road = small_road(longest_wavelength=40.0, shortest_wavelength=0.5)
    power = np.abs(np.fft.rfft(road.left[:-1])) ** 2
    n = np.arange(power.size) / road.length
    outside = (n < 1 / 40.0 - 0.5 / road.length) | (n > 2.0 + 0.5 / road.length)
    # Rounding, squared.
    assert_allclose(power[outside], 0.0, atol=1e-24 * np.max(power))


def test_heights_grow_with_the_root_of_roughness():
    # Rounding.
    assert_allclose(small_road(roughness=256e-6).left, 2.0 * small_road().left, rtol=1e-12, atol=1e-15)


def test_a_class_is_its_geometric_mean():
    assert_array_equal(small_road(roughness=64e-6).left, small_road(roughness=RoadClass.B).left)


def test_tracks_close_together_are_one_and_tracks_far_apart_are_strangers():
    close = small_road(track_width=1e-6)
    # 1 - g = u²/2 (ln(2/u) + 0.08) < 1e-8 at the shortest wave (u = 3e-5): left - right is of the order 1e-4.
    assert_allclose(close.left, close.right, atol=1e-4 * np.std(close.left))
    far = small_road(track_width=1e5)
    # g = 0: heave and roll share the power equally, at every line.
    heave, roll = (far.left + far.right)[:-1], (far.left - far.right)[:-1]
    assert_allclose(np.var(heave), np.var(roll), rtol=1e-9)


def test_cross_spectrum_falls_from_one_to_zero():
    n = np.geomspace(1e-6, 1e3, 400)
    share = track_cross_spectrum(n, track_width=1.6)
    # 1 - g = u²/2 (ln(2/u) + 0.08), 6e-10 at u = 1e-5; e^-u has left nothing at u = 1e4.
    assert_allclose(share[[0, -1]], [1.0, 0.0], rtol=0.0, atol=1e-9)
    assert np.all(np.diff(share) <= 0.0)


def test_fade_in_starts_flat_and_leaves_the_rest_alone():
    road = small_road()
    faded = fade_in(road, lead_in=20.0)
    beyond = road.distance >= 20.0
    assert_array_equal(faded.left[beyond], road.left[beyond])
    assert_array_equal(faded.right[beyond], road.right[beyond])
    assert faded.left[0] == faded.right[0] == 0.0
    # The share is below 10 t³, t = 1/400 at the first point: 1.6e-7 of the largest height there.
    assert abs(faded.left[1]) <= 10.0 * (0.05 / 20.0) ** 3 * np.max(np.abs(road.left))
    # A polynomial of odd symmetry about the middle: half the height there.
    middle = round(10.0 / 0.05)
    assert_allclose(faded.left[middle], 0.5 * road.left[middle], rtol=1e-12)


def test_profile_keeps_its_own_copy_and_does_not_change():
    heights = np.zeros(5)
    profile = RoadProfile(distance=np.arange(5.0), left=heights, right=heights)
    heights[2] = 1.0
    assert profile.left[2] == 0.0
    with pytest.raises(ValueError, match="read-only"):
        profile.left[2] = 1.0


def test_profiles_add_up_height_by_height():
    road = small_road()
    total = road + road
    assert_array_equal(total.left, 2.0 * road.left)
    assert_array_equal(total.right, 2.0 * road.right)
    assert_array_equal(total.distance, road.distance)


def test_straight_distance_holds_both_ends():
    distance = straight_distance(length=5.0, spacing=0.05)
    assert distance.size == 101
    # Rounding.
    assert_allclose(distance[[0, -1]], [0.0, 5.0], rtol=1e-14)


REFUSALS: dict[str, tuple[Callable[[], object], tuple[str, ...]]] = {
    "roughness": (lambda: small_road(roughness=-1e-6), ("roughness", "-1e-06 m³", "16e-6")),
    "length": (lambda: small_road(length=0.0), ("length is 0 m", "Give the distance")),
    "length not finite": (lambda: small_road(length=math.inf), ("length is inf m", "finite")),
    "spacing": (lambda: small_road(spacing=-0.05), ("spacing is -0.05 m", "0.05 m apart")),
    "track width": (lambda: small_road(track_width=0.0), ("track width is 0 m", "1.2 to 1.8 m")),
    "waviness": (lambda: small_road(waviness=0.0), ("waviness is 0", "have 2")),
    "shortest": (lambda: small_road(shortest_wavelength=0.0), ("shortest wavelength is 0 m", "bridge")),
    "longest": (lambda: small_road(longest_wavelength=math.nan), ("longest wavelength is nan m", "100 m")),
    "seed": (lambda: small_road(seed=-3), ("seed is -3", "Drop the sign")),
    "swapped": (
        lambda: small_road(shortest_wavelength=50.0, longest_wavelength=1.0),
        ("50 m", "1 m", "Swap them"),
    ),
    "too short a road": (
        lambda: small_road(length=60.0),
        ("length is 60 m", "100 m", "set the longest wavelength to 60 m"),
    ),
    "too coarse": (lambda: small_road(spacing=0.06), ("spacing is 0.06 m", "0.2 m", "0.05 m or less")),
    "lead-in": (lambda: fade_in(small_road(), lead_in=0.0), ("lead-in is 0 m", "car lengths")),
    "lead-in too long": (
        lambda: fade_in(small_road(), lead_in=300.0),
        ("lead-in is 300 m", "200 m", "Shorten the lead-in"),
    ),
    "spacing above length": (
        lambda: straight_distance(length=1.0, spacing=2.0),
        ("spacing is 2 m", "length 1 m", "smaller spacing"),
    ),
    "rows of unequal length": (
        lambda: RoadProfile(distance=np.arange(3.0), left=np.zeros(3), right=np.zeros(4)),
        ("right has shape (4,)", "(3,)", "one height per side"),
    ),
    "one point": (
        lambda: RoadProfile(distance=np.zeros(1), left=np.zeros(1), right=np.zeros(1)),
        ("shape (1,)", "at least 2"),
    ),
    "a gap": (lambda: profile_of(np.array([0.0, np.nan, 0.0])), ("left at point 1 is nan m", "Fill the gap")),
    "uneven": (
        lambda: RoadProfile(distance=np.array([0.0, 1.0, 3.0]), left=np.zeros(3), right=np.zeros(3)),
        ("1 m apart", "1.5 m", "even distances"),
    ),
    "backward": (
        lambda: RoadProfile(distance=-np.arange(3.0), left=np.zeros(3), right=np.zeros(3)),
        ("-1 m apart", "must rise"),
    ),
    "added to another grid": (
        lambda: small_road() + profile_of(np.zeros(5)),
        ("4001 points 0.05 m", "5 points 0.1 m", "same length and spacing"),
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
