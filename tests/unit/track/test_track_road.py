"""The road laid along a track: surfaces joined without steps, kerbs where the wheels are."""

import numpy as np
import pytest
from numpy.testing import assert_allclose, assert_array_equal

from fourpatch.errors import TrackError
from fourpatch.track.builder import ArcSection, SectionLine, StraightSection
from fourpatch.track.kerb import FlatToppedKerb, RampedKerb
from fourpatch.track.layout import lay_out
from fourpatch.track.road import RoadClass, RoadProfile, rough_road
from fourpatch.track.surface_profile import SurfaceProfile
from fourpatch.track.track import (
    ClassSurface,
    MeasuredSurface,
    Road,
    SpectrumSurface,
    Surface,
    Track,
    Width,
    mirrored,
    reversed_direction,
)
from fourpatch.track.track_kerb import FlatTopped, Ramped, SawTooth, TrackKerb
from fourpatch.track.track_road import JOIN_LENGTH, LateralOffset, track_road

TRACK_WIDTH = 1.6


def flat_profile(length: float, height: float = 0.0) -> SurfaceProfile:
    distance = np.linspace(0.0, length, round(length / 0.05) + 1)
    return SurfaceProfile(
        distance=distance, left=np.full_like(distance, height), right=np.full_like(distance, height)
    )


def flat(start: float, length: float, height: float = 0.0) -> MeasuredSurface:
    return MeasuredSurface(start=start, file="flat.csv", profile=flat_profile(length, height))


def straight(
    length: float, *, kerbs: list[TrackKerb] | None = None, surface: list[Surface] | None = None
) -> Track:
    return Track(
        name="straight, invented",
        centre_line=SectionLine(closed=False, sections=[StraightSection(length=length)]),
        road=Road(
            width=[Width(distance=0.0, left=4.0, right=5.0)],
            surface=surface or [flat(0.0, length)],
            kerbs=kerbs or [],
        ),
    )


def stadium(surface: list[Surface], kerbs: list[TrackKerb] | None = None) -> Track:
    half_circle = ArcSection(radius=50.0, angle=np.pi, direction="left")
    side = StraightSection(length=200.0)
    return Track(
        name="stadium, invented",
        centre_line=SectionLine(sections=[side, half_circle, side, half_circle]),
        road=Road(width=[Width(distance=0.0, left=4.0, right=5.0)], surface=surface, kerbs=kerbs or []),
    )


def laid(track: Track, offset: LateralOffset = 0.0, *, spacing: float = 0.05, seed: int = 1) -> RoadProfile:
    return track_road(track, offset=offset, spacing=spacing, seed=seed, track_width=TRACK_WIDTH)


LAP = 400.0 + 100.0 * np.pi


# Surfaces


@pytest.mark.parametrize("road_class", ["A", "C"])
def test_one_class_is_the_rough_road_of_that_class(road_class: str) -> None:
    profile = laid(stadium([ClassSurface(start=0.0, road_class=road_class)]))  # type: ignore[arg-type]
    spacing = profile.spacing
    expected = rough_road(
        roughness=RoadClass[road_class], length=LAP, spacing=spacing, seed=1, track_width=TRACK_WIDTH
    )
    # the shares of the surfaces add up to 1 but for rounding
    assert_allclose(profile.left, expected.left, rtol=0, atol=1e-15)
    assert_allclose(profile.right, expected.right, rtol=0, atol=1e-15)
    assert_allclose(profile.distance[-1], LAP, rtol=1e-12)


@pytest.mark.parametrize("closed", [True, False])
def test_roughness_changes_over_a_join_without_a_step(closed: bool) -> None:
    surfaces: list[Surface] = [
        ClassSurface(start=0.0, road_class="A"),
        SpectrumSurface(start=300.0, roughness=1024e-6),
    ]
    track = stadium(surfaces) if closed else straight(700.0, surface=surfaces)
    profile = laid(track)
    whole = rough_road(
        roughness=16e-6, length=profile.length, spacing=profile.spacing, seed=1, track_width=TRACK_WIDTH
    )
    before = (profile.distance > 0.5 * JOIN_LENGTH) & (profile.distance < 300.0 - 0.5 * JOIN_LENGTH)
    after = (profile.distance > 300.0 + 0.5 * JOIN_LENGTH) & (
        profile.distance < profile.length - 0.5 * JOIN_LENGTH
    )
    # Gd(n0) 64 times as large is 8 times as high; rounding
    assert_allclose(profile.left[before], whole.left[before], rtol=0, atol=1e-15)
    assert_allclose(profile.left[after], 8.0 * whole.left[after], rtol=1e-12, atol=1e-15)
    # nowhere steeper than the rougher road alone and the change of height, 7 times, at the smooth step's
    # steepest, 15/8 per join length
    allowed = 8.0 * np.max(np.abs(np.diff(whole.left))) + (
        7.0 * np.max(np.abs(whole.left)) * 15.0 / 8.0 / JOIN_LENGTH * profile.spacing
    )
    assert np.max(np.abs(np.diff(profile.left))) <= allowed


@pytest.mark.parametrize(
    "surface", [[flat(0.0, LAP, 0.01)], [flat(0.0, 100.0, 0.01), flat(100.0, LAP, -0.02)]]
)
def test_a_lap_repeats_smoothly(surface: list[Surface]) -> None:
    profile = laid(stadium(surface))
    for row in (profile.left, profile.right):
        assert_allclose(row[-1], row[0], rtol=0, atol=1e-15)
        around = np.concatenate((row[-41:-1], row[:41]))
        # second difference of the join: 10/sqrt(3) (the step's largest curvature) * 0.03 m * (0.05/10)²
        assert np.max(np.abs(np.diff(around, 2))) < 6.0 * 0.03 * (0.05 / JOIN_LENGTH) ** 2


def test_measured_surfaces_lie_where_they_belong() -> None:
    random = np.random.default_rng(2)
    distance = np.arange(0.0, 60.05, 0.05)
    bumps = SurfaceProfile(
        distance=distance,
        left=1e-3 * random.normal(size=distance.size),
        right=1e-3 * random.normal(size=distance.size),
    )
    surface: list[Surface] = [
        flat(0.0, 40.0, 0.005),
        MeasuredSurface(start=40.0, file="bumps.csv", profile=bumps),
    ]
    profile = laid(straight(100.0, surface=surface))
    first, second = profile.distance < 34.9, profile.distance > 45.1
    assert_allclose(profile.left[first], 0.005, rtol=1e-12)
    # points fall on points: rounding of distances times the slope between them
    along = np.round((profile.distance[second] - 40.0) / 0.05).astype(int)
    assert_allclose(profile.left[second], bumps.left[along], rtol=0, atol=1e-9)
    assert_allclose(profile.right[second], bumps.right[along], rtol=0, atol=1e-9)


def test_the_same_seed_lays_the_same_bumps() -> None:
    track = stadium([ClassSurface(start=0.0, road_class="B")])
    assert_array_equal(laid(track, seed=4).left, laid(track, seed=4).left)
    assert np.max(np.abs(laid(track, seed=4).left - laid(track, seed=5).left)) > 1e-3


def test_short_lap_holds_no_wave_longer_than_itself() -> None:
    circle = SectionLine(sections=[ArcSection(radius=12.0, angle=2.0 * np.pi, direction="left")])
    track = stadium([ClassSurface(start=0.0, road_class="A")]).model_copy(update={"centre_line": circle})
    profile = laid(track)
    assert_allclose(np.mean(profile.left[:-1]), 0.0, atol=1e-12)


# Kerbs


def kerb(**changes: object) -> TrackKerb:
    given = {
        "side": "left",
        "start": 20.0,
        "width": 1.0,
        "side_ramp": 0.2,
        "shape": Ramped(height=0.05, length=2.0),
    }
    return TrackKerb(**{**given, **changes})  # type: ignore[arg-type]


RAMP = RampedKerb(height=0.05, length=2.0)


def onto(offset: float, start: float = 20.0, end: float = 22.0) -> LateralOffset:
    """A path on the road but from start to end, where the middle of the car is at an offset."""
    return lambda distance: np.where((distance >= start) & (distance <= end), offset, 0.0)


def test_kerb_is_met_by_the_wheels_over_it_and_only_by_them() -> None:
    track = straight(50.0, kerbs=[kerb()])
    # left edge at 4 m, kerb to 5 m, left wheel at offset + 0.8 m
    on, beside, half, far = (laid(track, onto(offset), spacing=0.02) for offset in (3.7, 3.1, 3.3, 4.1))
    assert_allclose(on.left, RAMP.height_at(on.distance - 20.0), rtol=0, atol=1e-12)
    assert_array_equal(beside.left, np.zeros_like(beside.left))
    # 0.1 m onto a side ramp of 0.2 m: half the height
    assert_allclose(half.left, 0.5 * RAMP.height_at(half.distance - 20.0), rtol=0, atol=1e-12)
    assert_allclose(far.left, half.left, rtol=0, atol=1e-12)
    for profile in (on, beside, half, far):
        assert_array_equal(profile.right, np.zeros_like(profile.right))


def test_right_hand_kerb_and_mirror_image() -> None:
    track = straight(50.0, kerbs=[kerb(side="right")])
    # right edge at 5 m, right wheel at offset - 0.8 m
    profile = laid(track, onto(-4.7), spacing=0.02)
    assert_allclose(profile.right, RAMP.height_at(profile.distance - 20.0), rtol=0, atol=1e-12)
    image = laid(mirrored(track), onto(4.7), spacing=0.02)
    assert_array_equal(image.left, profile.right)
    assert_array_equal(image.right, profile.left)


def test_reversed_kerb_drops_first_and_a_reversed_track_reverses_the_road() -> None:
    track = straight(50.0, kerbs=[kerb(reversed=True)])
    profile = laid(track, onto(3.7), spacing=0.02)
    assert_allclose(profile.left, RAMP.height_at(22.0 - profile.distance), rtol=0, atol=1e-12)
    back = laid(reversed_direction(track), onto(-3.7, 28.0, 30.0), spacing=0.02)
    # rounding of distances, 50 m * 2e-16, times the steepest slope, 1
    assert_allclose(back.right[::-1], profile.left, rtol=0, atol=1e-12)


def test_kerb_on_the_road_and_the_higher_of_two() -> None:
    low = kerb(offset=-2.0, width=2.0, shape=FlatTopped(height=0.03, length=4.0, ramp_length=0.1))
    profile = laid(straight(50.0, kerbs=[kerb(offset=-1.5), low]), 2.2, spacing=0.02)
    expected = np.maximum(
        RAMP.height_at(profile.distance - 20.0),
        FlatToppedKerb(height=0.03, length=4.0, ramp_length=0.1).height_at(profile.distance - 20.0),
    )
    assert_allclose(profile.left, expected, rtol=0, atol=1e-12)


def test_path_that_crosses_a_kerb_meets_no_step() -> None:
    long_kerb = kerb(start=5.0, width=1.5, shape=FlatTopped(height=0.05, length=40.0))
    profile = laid(
        straight(50.0, kerbs=[long_kerb]),
        lambda distance: 2.0 + 2.0 * np.exp(-(((distance - 25.0) / 8.0) ** 2)),
        spacing=0.01,
    )
    assert np.max(profile.left) == pytest.approx(0.05)
    # across at most 2 * sqrt(2/e)/8 = 0.21 m per m, up 0.05 m on 0.2 m: 0.054 m per m
    assert np.max(np.abs(np.diff(profile.left))) < 0.06 * profile.spacing


def test_kerb_over_the_start_line_of_a_lap() -> None:
    shape = FlatTopped(height=0.05, length=10.0, ramp_length=0.5)

    def over(distance: np.ndarray) -> np.ndarray:
        return np.where((distance <= 6.0) | (distance >= LAP - 4.0), 3.7, 0.0)

    profile = laid(stadium([flat(0.0, LAP)], [kerb(start=LAP - 4.0, shape=shape)]), over)
    cross_section = FlatToppedKerb(height=0.05, length=10.0, ramp_length=0.5)
    expected = cross_section.height_at(profile.distance + 4.0) + cross_section.height_at(
        profile.distance - LAP + 4.0
    )
    # rounding of distances, 700 m * 2e-16, times the slope of a ramp, 0.1
    assert_allclose(profile.left, expected, rtol=0, atol=1e-12)
    assert_allclose(profile.left[[0, -1]], 0.05, rtol=1e-9)


# Refusals


def test_wheel_off_the_road_is_refused() -> None:
    track = straight(50.0, kerbs=[kerb()])
    with pytest.raises(TrackError, match=r"left wheels leave the road at 0.0 m and get up to 0.5 m"):
        laid(track, 3.7, spacing=0.02)
    with pytest.raises(TrackError, match=r"left wheels leave the road at 22.0 m"):
        laid(track, onto(3.7, 20.0, 23.0), spacing=0.02)


def test_refusals_of_the_road() -> None:
    track = straight(50.0, kerbs=[kerb()])
    with pytest.raises(TrackError, match=r"shortest piece of kerb 1 \(ramped\) 0.05 m.*0.025 m or less"):
        laid(track, onto(3.7), spacing=0.05)
    laid(track, onto(3.7), spacing=0.025)
    with pytest.raises(TrackError, match="right wheels leave the road"):
        laid(track, -4.5)
    with pytest.raises(TrackError, match="returned shape"):
        laid(track, lambda distance: distance[:-1])
    with pytest.raises(TrackError, match="Let the path close"):
        laid(stadium([flat(0.0, LAP)]), lambda distance: distance / LAP)
    with pytest.raises(TrackError, match="track width is 0 m"):
        track_road(track, offset=0.0, spacing=0.05, seed=1, track_width=0.0)
    with pytest.raises(TrackError, match="a wave needs at least 4 points"):
        laid(stadium([ClassSurface(start=0.0, road_class="A")]), spacing=0.1)


def test_saw_tooth_kerb_keeps_its_teeth(club: Track) -> None:
    layout = lay_out(club)
    teeth = next(one for one in club.road.kerbs if isinstance(one.shape, SawTooth))

    def path(distance: np.ndarray) -> np.ndarray:
        edge = np.interp(distance, layout.distance, layout.left)
        over = (distance > teeth.start) & (distance < teeth.start + teeth.length)
        return np.where(over, edge + 0.6 - 0.5 * TRACK_WIDTH, 0.0)

    rough = laid(club, 0.0, spacing=0.01)
    profile = laid(club, path, spacing=0.01)
    kerb_only = profile.left - rough.left
    # tops between two points 0.01 m apart are cut: 0.01 * s1 s2 / (s1 + s2), slopes 0.04/0.45 and 0.8
    cut = 0.01 * (0.04 / 0.45) * 0.8 / (0.04 / 0.45 + 0.8)
    assert np.max(kerb_only) == pytest.approx(0.04, abs=cut)
    tops = (kerb_only[1:-1] > kerb_only[:-2]) & (kerb_only[1:-1] >= kerb_only[2:]) & (kerb_only[1:-1] > 0.03)
    assert np.count_nonzero(tops) == 40
