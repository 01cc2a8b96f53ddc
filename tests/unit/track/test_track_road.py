"""The road laid along a track: surfaces joined without steps, kerbs where the wheels are."""

import numpy as np
import pytest
from numpy.testing import assert_allclose, assert_array_equal

from fourpatch.errors import TrackError
from fourpatch.track.builder import ArcSection, SectionLine, StraightSection
from fourpatch.track.kerb import FlatToppedKerb, RampedKerb
from fourpatch.track.kerb_passage import kerb_passages
from fourpatch.track.layout import lay_out
from fourpatch.track.line_at import LateralOffset, line_at
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
from fourpatch.track.track_road import JOIN_LENGTH, track_road

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


def laid(
    track: Track, offset: LateralOffset = 0.0, *, spacing: float | None = 0.05, seed: int = 1
) -> RoadProfile:
    return track_road(track, line_at(track, offset), spacing=spacing, seed=seed, track_width=TRACK_WIDTH)


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
        "offset": -1.0,
        "width": 1.0,
        "side_ramp": 0.2,
        "shape": Ramped(height=0.05, length=2.0),
    }
    return TrackKerb(**{**given, **changes})  # type: ignore[arg-type]


RAMP = RampedKerb(height=0.05, length=2.0)


def test_kerb_is_met_by_the_wheels_over_it_and_only_by_them() -> None:
    track = straight(50.0, kerbs=[kerb()])
    # left edge at 4 m, kerb from 3 m, left wheel at offset + 0.8 m
    on, beside, half, far = (laid(track, offset, spacing=0.02) for offset in (2.7, 2.1, 2.3, 3.1))
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
    profile = laid(track, -3.7, spacing=0.02)
    assert_allclose(profile.right, RAMP.height_at(profile.distance - 20.0), rtol=0, atol=1e-12)
    image = laid(mirrored(track), 3.7, spacing=0.02)
    assert_array_equal(image.left, profile.right)
    assert_array_equal(image.right, profile.left)


def test_reversed_kerb_drops_first_and_a_reversed_track_reverses_the_road() -> None:
    track = straight(50.0, kerbs=[kerb(reversed=True)])
    profile = laid(track, 2.7, spacing=0.02)
    assert_allclose(profile.left, RAMP.height_at(22.0 - profile.distance), rtol=0, atol=1e-12)
    back = laid(reversed_direction(track), -2.7, spacing=0.02)
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
    long_kerb = kerb(start=5.0, offset=0.0, width=1.5, shape=FlatTopped(height=0.05, length=40.0))
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
    profile = laid(stadium([flat(0.0, LAP)], [kerb(start=LAP - 4.0, shape=shape)]), 2.7)
    cross_section = FlatToppedKerb(height=0.05, length=10.0, ramp_length=0.5)
    # behind the start line a straight; before it an arc of 50 m, driven 2.7 m inside, its kerb at the wheel
    before = (profile.length - profile.distance) * 50.0 / (50.0 - 2.7)
    expected = cross_section.height_at(profile.distance + 4.0) + cross_section.height_at(4.0 - before)
    # Stations of a line with places 1 m apart: the spline swings by 0.09 m times the change of slope, 0.057,
    # at the foot of the arc, and 3.7 times less at each place on; a ramp of 0.1 ends 3.5 m from there.
    assert_allclose(profile.left, expected, rtol=0, atol=2.0 * 0.09 * 0.057 * 0.1 / 3.7**3.5)
    assert_allclose(profile.left[[0, -1]], 0.05, rtol=1e-9)


# Refusals


def test_wheel_off_the_road_is_refused() -> None:
    track = straight(50.0, kerbs=[kerb(offset=0.0)])
    with pytest.raises(TrackError, match=r"left wheels leave the road at 0.0 m and get up to 0.5 m"):
        laid(track, 3.7, spacing=0.02)
    # the kerb ends at 22 m; the line there is longer than the road, and the wheel lies behind it
    with pytest.raises(TrackError, match=r"left wheels leave the road at 22\.\d m"):
        laid(track, lambda distance: 3.7 * np.exp(-(((distance - 23.0) / 6.0) ** 2)), spacing=0.02)
    with pytest.raises(TrackError, match="right wheels leave the road"):
        laid(track, -4.5)


def test_refusals_of_the_road() -> None:
    track = straight(50.0, kerbs=[kerb()])
    with pytest.raises(TrackError, match=r"shortest piece of kerb 1 \(ramped\) 0.05 m;.*0.025 m or less"):
        laid(track, 2.7, spacing=0.05)
    laid(track, 2.7, spacing=0.025)
    with pytest.raises(TrackError, match="track width is 0 m"):
        track_road(track, line_at(track, 0.0), spacing=0.05, seed=1, track_width=0.0)
    with pytest.raises(TrackError, match="a wave needs at least 4 points"):
        laid(stadium([ClassSurface(start=0.0, road_class="A")]), spacing=0.1)
    with pytest.raises(TrackError, match=r"runs to 60.0 m.*that of the track is 50.0 m long"):
        track_road(track, line_at(straight(60.0), 0.0), seed=1, track_width=TRACK_WIDTH)


def test_saw_tooth_kerb_keeps_its_teeth(club: Track) -> None:
    layout = lay_out(club)
    teeth = next(one for one in club.road.kerbs if isinstance(one.shape, SawTooth))

    def with_kerbs(kerbs: list[TrackKerb]) -> Track:
        return club.model_copy(update={"road": club.road.model_copy(update={"kerbs": kerbs})})

    def path(distance: np.ndarray) -> np.ndarray:
        edge = np.interp(distance, layout.distance, layout.left)
        return np.asarray(edge - 0.6 - 0.5 * TRACK_WIDTH)

    rough = laid(with_kerbs([]), path, spacing=0.01)
    profile = laid(with_kerbs([teeth.model_copy(update={"offset": -1.2})]), path, spacing=0.01)
    kerb_only = profile.left - rough.left
    # tops between two points 0.01 m apart are cut: 0.01 * s1 s2 / (s1 + s2), slopes 0.04/0.45 and 0.8
    cut = 0.01 * (0.04 / 0.45) * 0.8 / (0.04 / 0.45 + 0.8)
    assert np.max(kerb_only) == pytest.approx(0.04, abs=cut)
    tops = (kerb_only[1:-1] > kerb_only[:-2]) & (kerb_only[1:-1] >= kerb_only[2:]) & (kerb_only[1:-1] > 0.03)
    assert np.count_nonzero(tops) == 40


# Along the line


def test_bumps_are_true_along_the_driven_line() -> None:
    """Round a circle of 50 m, 3 m inside: the road is as long as the way, and of its class there."""
    circle = SectionLine(sections=[ArcSection(radius=50.0, angle=2.0 * np.pi, direction="left")])
    track = stadium([ClassSurface(start=0.0, road_class="C")]).model_copy(update={"centre_line": circle})
    profile = laid(track, 3.0)
    assert_allclose(profile.length, 2.0 * np.pi * 47.0, rtol=1e-9)
    expected = rough_road(
        roughness=RoadClass.C, length=profile.length, spacing=profile.spacing, seed=1, track_width=TRACK_WIDTH
    )
    assert_allclose(profile.left, expected.left, rtol=0, atol=1e-14)


def test_teeth_round_a_corner_are_closer_on_the_inside() -> None:
    teeth = SawTooth(height=0.04, length=20.0, tooth_length=0.5)
    track = stadium([flat(0.0, LAP)], [kerb(start=230.0, width=3.0, offset=-3.0, shape=teeth)])
    profile = laid(track, 2.2, spacing=None)
    on = np.flatnonzero(profile.left > 0.0)
    # the foot and the drop of the outermost teeth are lower than a point sees
    ends = (on[-1] - on[0]) * profile.spacing
    assert_allclose(ends, 20.0 * (50.0 - 2.2) / 50.0, rtol=0, atol=0.04 * 0.5 + 2.0 * profile.spacing)
    # as coarse as half the drop of a tooth, seen along the line, with 5 % to spare
    assert 0.9 * 0.025 * 47.8 / 50.0 < profile.spacing <= 0.025 * 47.8 / 50.0


def test_wheel_of_a_car_across_the_road_meets_the_kerb_where_it_is() -> None:
    shape = FlatTopped(height=0.05, length=10.0, ramp_length=0.5)
    track = straight(50.0, kerbs=[kerb(start=20.0, width=4.0, offset=-4.0, shape=shape)])
    slant = 0.05
    profile = laid(track, lambda distance: slant * (distance - 25.0) + 1.5, spacing=0.02)
    secant = np.sqrt(1.0 + slant**2)
    # the left wheels lie 0.8 m square to the line, so behind it along the road
    station = profile.distance / secant - 0.8 * slant / secant
    expected = FlatToppedKerb(height=0.05, length=10.0, ramp_length=0.5).height_at(station - 20.0)
    assert_allclose(profile.left, expected, rtol=0, atol=1e-12)


def test_passages_along_a_straight_and_over_the_start_line() -> None:
    kerbs = [
        kerb(),
        kerb(start=30.0, side="right"),
        kerb(start=10.0, shape=FlatTopped(height=0.03, length=20.0)),
    ]
    track = straight(50.0, kerbs=kerbs)
    found = kerb_passages(track, line_at(track, 2.7), track_width=TRACK_WIDTH, spacing=0.01)
    assert [(one.kerb, one.side, one.wheels) for one in found] == [(3, "left", "left"), (1, "left", "left")]
    # to a spacing; the ramp's top lies on a point
    assert_allclose([found[0].start, found[0].end], [10.0, 30.0], rtol=0, atol=0.01)
    assert_allclose([found[1].start, found[1].end], [20.0, 22.0], rtol=0, atol=0.01)
    assert_allclose([one.highest for one in found], [0.03, 0.05], rtol=1e-9)
    lap = stadium([flat(0.0, LAP)], [kerb(start=LAP - 4.0, shape=FlatTopped(height=0.05, length=10.0))])
    line = line_at(lap, 2.7)
    (over,) = kerb_passages(lap, line, track_width=TRACK_WIDTH, spacing=0.02)
    assert_allclose(over.end, 6.0, rtol=0, atol=0.02)
    assert_allclose(line.length - over.start, 4.0 * (50.0 - 2.7) / 50.0, rtol=0, atol=0.02)


@pytest.mark.parametrize("drop_first", [False, True])
def test_highest_of_a_passage_over_the_start_line_lies_on_either_side_of_it(drop_first: bool) -> None:
    ramp = kerb(start=LAP - 2.0, reversed=drop_first, shape=Ramped(height=0.05, length=4.0))
    lap = stadium([flat(0.0, LAP)], [ramp])
    (over,) = kerb_passages(lap, line_at(lap, 2.7), track_width=TRACK_WIDTH, spacing=0.01)
    assert over.end < over.start
    # its top may lie between two points: 0.01 m of a drop of 1 and a slope of 0.0127
    assert_allclose(over.highest, 0.05, rtol=0, atol=0.01 * 0.0127)


def test_mirrored_passages_are_on_the_other_side() -> None:
    track = straight(50.0, kerbs=[kerb()])
    (here,) = kerb_passages(track, line_at(track, 2.7), track_width=TRACK_WIDTH)
    (there,) = kerb_passages(mirrored(track), line_at(mirrored(track), -2.7), track_width=TRACK_WIDTH)
    assert (there.side, there.wheels, there.start, there.end) == ("right", "right", here.start, here.end)
