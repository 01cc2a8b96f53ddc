"""The demo tracks: invented, sound, and what they are there for."""

import numpy as np
import pytest

from fourpatch.errors import TrackError
from fourpatch.track.corners import find_corners
from fourpatch.track.demo import demo_track, demo_track_names
from fourpatch.track.layout import lay_out
from fourpatch.track.line_at import line_at
from fourpatch.track.track import ClassSurface
from fourpatch.track.track_kerb import FlatTopped
from fourpatch.track.track_road import track_road


@pytest.mark.parametrize("name", demo_track_names())
def test_demo_track_says_that_it_is_invented(name: str) -> None:
    track = demo_track(name)
    assert track.name == f"Demo {name.replace('-', ' ')}"
    assert track.note.startswith("Invented for demonstration:")
    assert "No real circuit was measured or copied." in track.note
    assert lay_out(track).closed


def test_long_corners_is_smooth_with_long_corners() -> None:
    track = demo_track("long-corners")
    corners = find_corners(lay_out(track))
    assert len(corners) == 7
    assert all(one.length_class == "long" and one.speed_class != "slow" for one in corners)
    assert all(one.chicane is None for one in corners)
    assert all(isinstance(one, ClassSurface) and one.road_class == "A" for one in track.road.surface)
    assert all(isinstance(one.shape, FlatTopped) and one.shape.height <= 0.025 for one in track.road.kerbs)


def test_chicanes_is_bumpy_with_heavy_kerbs_and_chicanes() -> None:
    track = demo_track("chicanes")
    corners = find_corners(lay_out(track))
    assert len(corners) == 10
    assert {one.chicane for one in corners} == {None, 1, 2}
    assert sum(one.speed_class == "slow" for one in corners) >= 9
    assert {one.road_class for one in track.road.surface if isinstance(one, ClassSurface)} == {"B", "C"}
    assert max(one.shape.height for one in track.road.kerbs) >= 0.1
    # a kerb on the inside of every tight corner
    for one in corners:
        inside = [
            kerb
            for kerb in track.road.kerbs
            if kerb.side == one.direction and kerb.start <= one.apex <= kerb.start + kerb.length
        ]
        assert inside or one.apex_radius > 60.0


@pytest.mark.parametrize(("name", "rms"), [("long-corners", 0.0038), ("chicanes", 0.0076)])
def test_whole_lap_is_laid_and_repeats(name: str, rms: float) -> None:
    track = demo_track(name)
    road = track_road(track, line_at(track, 0.0), spacing=0.05, seed=2, track_width=1.6)
    assert road.left[0] == road.left[-1]
    # class A, or B with a share of C, twice as high: the band 0.01 to 5 cycle/m of each class
    assert rms < np.std(road.left) < 2.0 * rms


def test_unknown_demo_track_is_refused() -> None:
    with pytest.raises(TrackError, match="there are chicanes, long-corners"):
        demo_track("oval")
