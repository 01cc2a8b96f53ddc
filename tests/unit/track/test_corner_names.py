"""Names of corners: each with the corner nearest to its place, over the line and the other way round."""

from pathlib import Path

from fourpatch.track.corner_names import names_of, with_corner_name
from fourpatch.track.corners import find_corners
from fourpatch.track.demo import demo_track
from fourpatch.track.files import load_track, save_track
from fourpatch.track.layout import lay_out
from fourpatch.track.track import CornerName, Track, mirrored, reversed_direction


def named(track: Track) -> dict[int, str]:
    layout = lay_out(track)
    return names_of(track, find_corners(layout), length=layout.length)


def with_name(track: Track, number: int, name: str) -> Track:
    layout = lay_out(track)
    return with_corner_name(track, find_corners(layout), number, name, length=layout.length)


def test_a_name_stays_with_its_corner(tmp_path: Path) -> None:
    track = with_name(with_name(demo_track("chicanes"), 3, "The Elm"), 1, "First")
    assert named(track) == {1: "First", 3: "The Elm"}
    last = len(find_corners(lay_out(track)))
    assert named(reversed_direction(track)) == {last: "First", last - 2: "The Elm"}
    assert named(mirrored(track)) == named(track)
    assert named(with_name(track, 3, "Elm")) == {1: "First", 3: "Elm"}
    assert named(with_name(track, 3, " ")) == {1: "First"}
    save_track(track, tmp_path / "named.toml")
    assert load_track(tmp_path / "named.toml") == track


def test_a_place_just_behind_the_start_line_belongs_to_the_corner_before_it() -> None:
    track = demo_track("chicanes")
    layout = lay_out(track)
    corners = find_corners(layout)
    gap = layout.length - corners[-1].apex
    near = 0.1 if gap < corners[0].apex else layout.length - 0.1
    one = track.model_copy(update={"corner_names": [CornerName(distance=near, name="Line")]})
    expected = corners[-1].number if gap < corners[0].apex else corners[0].number
    assert named(one) == {expected: "Line"}
