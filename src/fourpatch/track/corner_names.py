"""What the corners of a track are called."""

from collections.abc import Sequence

from fourpatch.track.corners import Corner
from fourpatch.track.track import CornerName, Track


def names_of(track: Track, corners: Sequence[Corner], *, length: float) -> dict[int, str]:
    """Return the names of a track's corners by their numbers, for those that have one.

    Parameters
    ----------
    corners : of the track.
    length : of its centre line. [m]

    Notes
    -----
    A name belongs to the corner whose apex is nearest to its place, along the track, so that it stays where
    it is when corners before it are numbered anew.
    """
    found: dict[int, str] = {}
    for one in track.corner_names:
        if corners:
            found[_nearest(one.distance, corners, length).number] = one.name
    return found


def with_corner_name(
    track: Track, corners: Sequence[Corner], number: int, name: str, *, length: float
) -> Track:
    """Return a track with a corner called otherwise; an empty name takes its name away."""
    corner = next(one for one in corners if one.number == number)
    kept = [one for one in track.corner_names if _nearest(one.distance, corners, length).number != number]
    if name.strip():
        kept.append(CornerName(distance=round(corner.apex, 1), name=name.strip()))
    kept.sort(key=lambda one: one.distance)
    return track.model_copy(update={"corner_names": kept})


def _nearest(distance: float, corners: Sequence[Corner], length: float) -> Corner:
    def away(one: Corner) -> float:
        apart = abs(one.apex - distance) % length
        return min(apart, length - apart)

    return min(corners, key=away)
