"""The road of a track changed between two places, over the start line too, and what cannot be."""

import math

import numpy as np
import pytest
from numpy.testing import assert_allclose

from fourpatch.errors import TrackError
from fourpatch.track.builder import ArcSection, SectionLine, StraightSection
from fourpatch.track.demo import demo_track
from fourpatch.track.editing import (
    KERB_KINDS,
    TRANSITION,
    with_bump,
    with_kerb,
    with_surface,
    with_width,
    without_kerbs,
)
from fourpatch.track.layout import lay_out
from fourpatch.track.track import ClassSurface, Road, Track, Width
from fourpatch.track.track_road import track_road


def track(*, closed: bool = True) -> Track:
    half = ArcSection(radius=60.0, angle=math.pi, direction="left")
    sections = [StraightSection(length=300.0), half] * (2 if closed else 1)
    return Track(
        name="invented",
        centre_line=SectionLine(closed=closed, sections=sections),
        road=Road(
            width=[Width(distance=0.0, left=5.0, right=5.0)],
            surface=[ClassSurface(start=0.0, road_class="A")],
        ),
    )


LENGTH = 600.0 + 120.0 * math.pi


@pytest.mark.parametrize(("start", "end"), [(100.0, 200.0), (LENGTH - 50.0, 40.0), (2.0, 100.0)])
def test_the_road_is_wider_between_two_places_and_as_before_elsewhere(start: float, end: float) -> None:
    layout = lay_out(with_width(track(), start, end, left=7.0, right=6.0), spacing=0.5)
    behind = np.mod(layout.distance - start, LENGTH)
    length = (end - start) % LENGTH
    inside = behind <= length
    beyond = (behind > length + TRANSITION) & (behind < LENGTH - TRANSITION)
    # Places are rounded to a millimetre, on a slope of 2 m in 10 m.
    assert_allclose(layout.left[inside], 7.0, atol=1e-3)
    assert_allclose(layout.right[inside], 6.0, atol=1e-3)
    assert_allclose(layout.left[beyond], 5.0, atol=1e-3)
    assert np.all((layout.left >= 5.0 - 1e-3) & (layout.left <= 7.0 + 1e-3))


def test_changes_may_lie_on_each_other() -> None:
    changed = with_width(
        with_width(track(), 100.0, 200.0, left=7.0, right=7.0), 150.0, 300.0, left=4.0, right=4.0
    )
    layout = lay_out(changed, spacing=1.0)
    assert_allclose(
        np.interp([120.0, 160.0, 250.0, 330.0], layout.distance, layout.left), [7.0, 4.0, 4.0, 5.0]
    )
    whole = with_width(changed, 0.0, LENGTH, left=6.0, right=6.0)
    assert whole.road.width == [Width(distance=0.0, left=6.0, right=6.0)]


def classes(changed: Track) -> list[tuple[float, str]]:
    return [
        (round(one.start, 3), one.road_class) for one in changed.road.surface if isinstance(one, ClassSurface)
    ]


def test_surfaces_give_way_and_alike_ones_grow_together() -> None:
    rough = with_surface(track(), 100.0, 200.0, road_class="C")
    assert classes(rough) == [(0.0, "A"), (100.0, "C"), (200.0, "A")]
    over = with_surface(rough, LENGTH - 30.0, 120.0, road_class="B")
    assert classes(over) == [(0.0, "B"), (120.0, "C"), (200.0, "A"), (round(LENGTH - 30.0, 3), "B")]
    assert classes(with_surface(rough, 100.0, 200.0, road_class="A")) == [(0.0, "A")]
    assert classes(with_surface(rough, 0.0, LENGTH, road_class="D")) == [(0.0, "D")]


@pytest.mark.parametrize("kind", KERB_KINDS)
def test_a_kerb_of_every_kind_lies_where_it_was_put(kind: str) -> None:
    changed = with_kerb(track(), LENGTH - 1.0, 3.0, side="right", kind=kind, height=0.05, width=0.8)
    (kerb,) = changed.road.kerbs
    assert (kerb.side, kerb.shape.kind, kerb.shape.height) == ("right", kind, 0.05)
    assert_allclose((kerb.start, kerb.length), (LENGTH - 1.0, 4.0))
    assert without_kerbs(changed, [0]).road.kerbs == []


def test_both_wheels_feel_a_bump_at_its_place() -> None:
    from fourpatch.track.racing_line import least_curvature_line

    changed = with_bump(track(), 150.0, height=0.02, length=3.0)
    even = track()
    line = least_curvature_line(changed)
    felt = track_road(changed, line, track_width=1.6, spacing=0.05, seed=1)
    flat = track_road(even, line, track_width=1.6, spacing=0.05, seed=1)
    rise = np.asarray(felt.left) - np.asarray(flat.left)
    assert_allclose(rise.max(), 0.02, atol=1e-4)


@pytest.mark.parametrize(
    ("change", "said"),
    [
        (lambda: with_width(track(), 10.0, 10.1, left=5.0, right=5.0), "is no stretch"),
        (lambda: with_width(track(closed=False), 200.0, 100.0, left=5.0, right=5.0), "before the second"),
        (lambda: with_width(track(), 10.0, 90.0, left=1.0, right=1.0), "a car needs 2.5 m"),
        (
            lambda: with_width(track(), 320.0, 400.0, left=70.0, right=1.0),
            "outside 0 to 40 m|would run backwards",
        ),
        (lambda: with_bump(track(), 100.0, height=0.05, length=2.0), "50 mm high is no road"),
        (lambda: with_bump(track(closed=False), 0.5, height=0.02, length=2.0), "is no stretch"),
    ],
)
def test_what_cannot_be_is_said_without_names_of_keys(change: object, said: str) -> None:
    with pytest.raises((TrackError, ValueError), match=said) as refused:
        change()  # type: ignore[operator]
    assert "road." not in str(refused.value)


def test_demo_tracks_can_be_changed() -> None:
    for name in ("chicanes", "long-corners"):
        changed = with_surface(demo_track(name), 50.0, 90.0, road_class="D")
        assert any(one.start == 50.0 for one in changed.road.surface)
