"""The road of a track changed between two places: its width, its surface, kerbs and bumps."""

import math
from collections.abc import Sequence
from typing import Final, get_args

import numpy as np

from fourpatch.errors import TrackError
from fourpatch.track.centre_line import CentreLine
from fourpatch.track.checks import track_faults
from fourpatch.track.road_shape import widths_at
from fourpatch.track.track import ClassSurface, MeasuredSurface, Surface, Track, Width
from fourpatch.track.track_kerb import HalfSine, KerbShape, TrackKerb, TrackSide

TRANSITION: Final = 10.0
"""Over which the road becomes wider or narrower before and behind a stretch. [m]"""

HIGHEST_BUMP: Final = 0.03
"""Of a bump across the road: what is higher nobody drives over as if it were road. [m]"""

_BLEND = 0.1  # over which a bump rises from either side [m]
_SHORTEST = 0.5  # stretch of a road [m]
_ROOM = 1e-3  # for rounding of places [m]


def with_width(track: Track, start: float, end: float, *, left: float, right: float) -> Track:
    """Return a track whose edges lie elsewhere between two places.

    Parameters
    ----------
    start, end : along the centre line; on a lap the stretch may run over the start line. [m]
    left, right : from the centre line to each edge. [m]

    Raises
    ------
    TrackError
        If the stretch is not on the track, or the road cannot be so.
    """
    line = track.centre_line.draw().line
    length = _stretch(line, start, end)
    own = Width(distance=0.0, left=left, right=right)
    if length > line.length - 2.0 * TRANSITION:
        return _changed(track, width=[own])
    known = [one.distance for one in track.road.width]
    kept = [
        one
        for one in known
        if not _behind(one, start - TRANSITION, line) <= length + 2.0 * TRANSITION + _ROOM
    ]
    places = [start - TRANSITION, start, end, end + TRANSITION]
    inside = [one for one in places if line.closed or 0.0 <= one <= line.length]
    at = np.unique(np.round(np.mod(inside + kept, line.length) if line.closed else inside + kept, 3))
    sides = widths_at(track.road.width, at, line=line)
    rows = []
    for distance, before_left, before_right in zip(at, *sides, strict=True):
        here = _behind(float(distance), start, line) <= length + _ROOM
        rows.append(
            Width(
                distance=float(distance),
                left=left if here else float(before_left),
                right=right if here else float(before_right),
            )
        )
    return _changed(track, width=rows)


def with_surface(track: Track, start: float, end: float, *, road_class: str) -> Track:
    """Return a track with another class of ISO 8608 between two places; raises as `with_width`.

    A measured surface cannot be cut, for its file counts from its start.
    """
    line = track.centre_line.draw().line
    length = _stretch(line, start, end)
    own = ClassSurface.model_validate({"start": 0.0, "road_class": road_class})
    if length > line.length - _SHORTEST:
        return _changed(track, surface=[own])
    surfaces = track.road.surface
    starts = [one.start for one in surfaces]
    inside = [one % line.length if line.closed else one for one in (start, end)]
    places = sorted({0.0, *starts, *(one for one in inside if one < line.length)})
    found: list[Surface] = []
    for place in places:
        under = surfaces[int(np.searchsorted(starts, place, side="right")) - 1]
        here = _behind(place, start, line) < length - _ROOM
        one = own if here else under
        if isinstance(under, MeasuredSurface) and not here and place != under.start:
            raise TrackError(
                f"the surface measured from {under.start:.0f} m on cannot be cut at {place:.0f} m: its file "
                "counts from its start. Choose a stretch up to its start or its end."
            )
        one = one.model_copy(update={"start": place})
        alike = found and found[-1].model_copy(update={"start": place}) == one
        if not alike or isinstance(one, MeasuredSurface):
            found.append(one)
    return _changed(track, surface=found)


def with_kerb(
    track: Track, start: float, end: float, *, side: TrackSide, kind: str, height: float, width: float
) -> Track:
    """Return a track with one more kerb along an edge; raises as `with_width`.

    Parameters
    ----------
    kind : of `KERB_KINDS`.
    height, width : [m]
    """
    line = track.centre_line.draw().line
    length = _stretch(line, start, end)
    about = {"kind": kind, "height": height, "length": length}
    if kind == "saw-tooth":  # some teeth of half a metre
        about |= {"tooth_length": length / max(round(length / 0.5), 1)}
    kerb = TrackKerb.model_validate(
        {
            "side": side,
            "start": start % line.length if line.closed else start,
            "width": width,
            "shape": about,
        }
    )
    return _changed(track, kerbs=[*track.road.kerbs, kerb])


KERB_KINDS: Final = tuple(
    str(get_args(one.model_fields["kind"].annotation)[0]) for one in get_args(KerbShape)
)
"""Cross-sections that a kerb may have."""


def with_bump(track: Track, place: float, *, height: float, length: float) -> Track:
    """Return a track with a bump all across the road; raises as `with_width`.

    It is half a sine wave from foot to foot, laid as two kerbs that meet at the centre line.

    Parameters
    ----------
    place : of its top, along the centre line. [m]
    height, length : up to 30 mm, so that it is driven over as road. [m]
    """
    if height > HIGHEST_BUMP:
        raise TrackError(
            f"a bump {1e3 * height:.0f} mm high is no road: up to {1e3 * HIGHEST_BUMP:.0f} mm is driven over "
            "as if it were. Take a kerb at an edge instead."
        )
    line = track.centre_line.draw().line
    start = place - 0.5 * length
    _stretch(line, start, start + length)
    at = np.array([start % line.length if line.closed else start])
    kerbs = []
    for side, (edge,) in zip(get_args(TrackSide), widths_at(track.road.width, at, line=line), strict=True):
        reach = round(float(edge), 3)
        kerbs.append(
            TrackKerb(
                side=side,
                start=float(at[0]),
                offset=-reach,
                width=reach,
                side_ramp=_BLEND,
                shape=HalfSine(height=height, length=length),
            )
        )
    return _changed(track, kerbs=[*track.road.kerbs, *kerbs])


def without_kerbs(track: Track, places: Sequence[int]) -> Track:
    """Return a track without some of its kerbs, by their places in its list."""
    kept = [one for place, one in enumerate(track.road.kerbs) if place not in places]
    return _changed(track, kerbs=kept)


def _stretch(line: CentreLine, start: float, end: float) -> float:
    """Return how long a stretch is, or refuse it."""
    length = (end - start) % line.length if line.closed else end - start
    if line.closed and abs(end - start) >= line.length - _SHORTEST:
        length = line.length
    on_it = line.closed or (start >= 0.0 and end <= line.length + 1e-6)
    if length < _SHORTEST or not on_it:
        raise TrackError(
            f"from {start:.1f} to {end:.1f} m is no stretch of this track: it is {line.length:.0f} m long. "
            "Give two places along it, half a metre apart or more"
            + (", the first before the second in driving direction." if not line.closed else ".")
        )
    return length


def _behind(place: float, start: float, line: CentreLine) -> float:
    """Return how far behind a start a place lies, in driving direction; infinite before it. [m]"""
    behind = place - start
    if line.closed:
        behind = behind % line.length
        return 0.0 if behind > line.length - _ROOM else behind
    return behind if behind > -_ROOM else math.inf


_SUBJECTS = {"width": "The road", "surface": "The surface", "kerbs": "The kerb"}


def _changed(track: Track, **road: object) -> Track:
    """Return a track with another road, or say in a driver's words what cannot be."""
    changed = track.model_copy(update={"road": track.road.model_copy(update=road)})
    faults = track_faults(changed)
    if faults:
        told = [
            f"{_SUBJECTS.get(str(fault.key[1:2] and fault.key[1]), 'The track')} {fault.text}"
            for fault in faults
        ]
        raise TrackError("\n".join(told))
    return changed
