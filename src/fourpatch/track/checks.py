"""Whether a track can exist, as far as only several of its numbers together can tell.

The limits of single numbers are in their `Unit`.  Every check yields what is wrong and where in the file.
"""

from collections.abc import Callable, Iterable, Iterator, Sequence
from functools import partial
from itertools import pairwise
from typing import Final, Protocol

import numpy as np

from fourpatch.document.fault import Fault, Key
from fourpatch.errors import TrackError
from fourpatch.track.centre_line import CentreLine
from fourpatch.track.crossing import ComplexArray, first_crossing
from fourpatch.track.road import FloatArray
from fourpatch.track.road_shape import elevation_at, widths_at
from fourpatch.track.spacing import even_distances
from fourpatch.track.surface_profile import coarsest_spacing
from fourpatch.track.track import MeasuredSurface, Track
from fourpatch.track.track_kerb import TrackKerb

LEAST_WIDTH: Final = 2.5
"""Of a road for one car.  Chosen here. [m]"""

STEEPEST: Final = 0.4
"""Gradient beyond any road for cars; the steepest streets have 0.35 (from memory). [-]"""

_CHECK_SPACING = 2.0  # of the places at which the road is looked at [m]
_ROOM = 1e-6  # for rounding of distances [m]


def track_faults(track: Track) -> list[Fault]:
    """Return everything that keeps a track from existing, each with its place in the file."""
    return [fault for check in track_checks() for fault in check(track)]


def require_sound(track: Track) -> None:
    """Refuse a track that cannot be.

    Raises
    ------
    TrackError
        With everything that is wrong with it, a paragraph each.
    """
    faults = track_faults(track)
    if faults:
        raise TrackError(
            "\n\n".join(f"track {track.name}: {_dotted(fault.key)} {fault.text}" for fault in faults)
        )


def track_checks() -> tuple[Callable[[Track], Iterable[Fault]], ...]:
    """Return the checks of one track, in the order of the file; they draw its line only once."""
    drawing = _Drawing()
    return (
        drawing.faults,
        places_rise,
        road_is_wide_enough,
        *(partial(drawing.check_along, check) for check in ALONG_THE_LINE),
    )


class _Drawing:
    """The line of one track, drawn when first asked for."""

    def __init__(self) -> None:
        self._line: CentreLine | None = None
        self._fault: str = ""

    def faults(self, track: Track) -> Iterator[Fault]:
        """Refuse a line that cannot be drawn."""
        self._draw(track)
        if self._fault:
            yield Fault(("centre_line",), f"cannot be drawn: {self._fault}")

    def check_along(
        self, check: Callable[[Track, CentreLine], Iterable[Fault]], track: Track
    ) -> Iterable[Fault]:
        """Run a check that needs the line, if there is one."""
        self._draw(track)
        return check(track, self._line) if self._line else ()

    def _draw(self, track: Track) -> None:
        if self._line is None and not self._fault:
            try:
                self._line = track.centre_line.draw().line
            except TrackError as error:
                self._fault = str(error)


# What needs no line


class _Place(Protocol):
    @property
    def distance(self) -> float: ...


def places_rise(track: Track) -> Iterator[Fault]:
    """Refuse places along the track that are out of order."""
    road = track.road
    lists: tuple[tuple[str, Sequence[_Place]], ...] = (
        ("width", road.width),
        ("banking", road.banking),
        ("elevation", road.elevation),
    )
    for name, rows in lists:
        yield from _out_of_order(("road", name), "distance", [row.distance for row in rows])
    starts = [surface.start for surface in road.surface]
    if starts and starts[0] != 0.0:
        yield Fault(
            ("road", "surface", 0, "start"),
            f"is {starts[0]:g} m, and nothing says what the road before it is like. Begin with "
            'start = "0 m".',
        )
    yield from _out_of_order(("road", "surface"), "start", starts)


def _out_of_order(key: Key, name: str, distances: Sequence[float]) -> Iterator[Fault]:
    for place in range(1, len(distances)):
        if distances[place] <= distances[place - 1]:
            yield Fault(
                (*key, place, name),
                f"is {distances[place]:g} m, not beyond the entry before it, {distances[place - 1]:g} m. Put "
                "the entries in driving order, each place once.",
            )


def road_is_wide_enough(track: Track) -> Iterator[Fault]:
    """Refuse a road without room for a car."""
    for at, one in enumerate(track.road.width):
        if one.left + one.right < LEAST_WIDTH:
            yield Fault(
                ("road", "width", at),
                f"leaves {one.left + one.right:g} m of road at {one.distance:g} m (left {one.left:g} m, "
                f"right {one.right:g} m); a car needs {LEAST_WIDTH:g} m. Give the distance from the centre "
                "line to each edge.",
            )


# What needs the line


def line_keeps_clear(track: Track, line: CentreLine) -> Iterator[Fault]:
    """Refuse a centre line that crosses itself."""
    distance, point, _ = _seen(line)
    crossing = first_crossing((point,), distance, closed=line.closed)
    if crossing:
        yield Fault(
            ("centre_line",),
            f"crosses itself: near {crossing.first:.0f} m and {crossing.second:.0f} m it is at the same "
            "place. Tracks with a bridge are not known here. Check angles, directions and lengths between.",
        )


def places_lie_on_track(track: Track, line: CentreLine) -> Iterator[Fault]:
    """Refuse places beyond the end of the track."""
    road = track.road
    rows = [
        *((("road", "width", at, "distance"), one.distance) for at, one in enumerate(road.width)),
        *((("road", "banking", at, "distance"), one.distance) for at, one in enumerate(road.banking)),
        *((("road", "elevation", at, "distance"), one.distance) for at, one in enumerate(road.elevation)),
        *((("road", "surface", at, "start"), one.start) for at, one in enumerate(road.surface)),
    ]
    for key, distance in rows:
        # The end of a lap is its start; of an open track the end may be said, but no surface begins there.
        may_end = not line.closed and key[1] != "surface"
        if distance > line.length + _ROOM or (not may_end and distance > line.length - _ROOM):
            again = "; a lap ends where it starts, at 0 m" if line.closed else ""
            yield Fault(
                key,
                f"is {distance:g} m, beyond the track: it is {line.length:.2f} m long{again}. Take a shorter "
                "distance.",
            )


def edges_keep_clear(track: Track, line: CentreLine) -> Iterator[Fault]:
    """Refuse a road that folds at the inside of a corner or runs over another part of itself."""
    if not _fit(track.road.width, line):
        return
    distance, point, across = _seen(line)
    left, right = widths_at(track.road.width, distance, line=line)
    curvature = line.at(distance).curvature
    inside = np.where(curvature > 0.0, left, right)
    if np.any(inside * np.abs(curvature) >= 1.0):
        at = int(np.argmax(inside * np.abs(curvature)))
        yield Fault(
            ("road", "width"),
            f"reaches {inside[at]:.3g} m inward at {distance[at]:.0f} m, where the centre line has a radius "
            f"of {1.0 / abs(curvature[at]):.3g} m: the inner edge would run backwards. Narrow the inner "
            "side there, or take a larger radius.",
        )
    elif not first_crossing((point,), distance, closed=line.closed):
        edges: tuple[ComplexArray, ...] = (point + across * left, point - across * right)
        crossing = first_crossing(edges, distance, closed=line.closed)
        if crossing:
            yield Fault(
                ("road", "width"),
                f"makes the road overlap itself: its edges meet near {crossing.first:.0f} m and "
                f"{crossing.second:.0f} m. Narrow it there, or move the two parts of the track apart.",
            )


def road_is_not_too_steep(track: Track, line: CentreLine) -> Iterator[Fault]:
    """Refuse a gradient beyond any road."""
    if not _fit(track.road.elevation, line):
        return
    distance = even_distances(line.length, spacing=_CHECK_SPACING)
    _, gradient = elevation_at(track.road.elevation, distance, line=line)
    at = int(np.argmax(np.abs(gradient)))
    if abs(gradient[at]) > STEEPEST:
        yield Fault(
            ("road", "elevation"),
            f"gives a gradient of {100.0 * gradient[at]:.0f} % at {distance[at]:.0f} m; no road is steeper "
            f"than {100.0 * STEEPEST:.0f} %. Check heights and distances there; between places they are "
            "joined by a smooth curve, so places close together with different heights swing.",
        )


def profiles_reach(track: Track, line: CentreLine) -> Iterator[Fault]:
    """Refuse measured surfaces that do not cover their stretch or are too coarse for the speed."""
    surfaces = track.road.surface
    ends = [*(one.start for one in surfaces[1:]), line.length]
    for at, (one, end) in enumerate(zip(surfaces, ends, strict=True)):
        if not isinstance(one, MeasuredSurface) or end <= one.start:
            continue
        key: Key = ("road", "surface", at, "file")
        profile, length = one.profile, end - one.start
        first, last = float(profile.distance[0]), float(profile.distance[-1])
        if first > profile.coarsest or last < length - profile.coarsest:
            yield Fault(
                key,
                f'is "{one.file}", which runs from {first:g} m to {last:g} m; the surface is {length:g} m '
                f"long, from {one.start:g} m to {end:g} m of the track, and the file's distance counts from "
                "its start: road without heights would be left. Measure the rest, shift the distances to "
                "begin with 0, or begin another surface where the file ends.",
            )
        finest = coarsest_spacing(speed=one.slowest_speed)
        if profile.coarsest > finest * (1.0 + _ROOM):
            yield Fault(
                key,
                f'is "{one.file}", with points up to {profile.coarsest:.3g} m apart; at slowest_speed = '
                f"{3.6 * one.slowest_speed:.3g} km/h the car feels waves so short that they must be no more "
                f"than {finest:.3g} m apart. Measure it finer, give a higher slowest_speed if it is one, or "
                "take a road class.",
            )


def kerbs_lie_on_track(track: Track, line: CentreLine) -> Iterator[Fault]:
    """Refuse kerbs beyond the ends of the track, off the road, or across its middle."""
    for at, kerb in enumerate(track.road.kerbs):
        key: Key = ("road", "kerbs", at)
        end = kerb.start + kerb.length
        if kerb.start > line.length - _ROOM or (not line.closed and end > line.length + _ROOM):
            yield Fault(
                (*key, "start"),
                f"is {kerb.start:g} m, so the kerb, {kerb.length:g} m long, lies beyond the end of the "
                f"track, which is {line.length:.2f} m long. Move it onto the track.",
            )
            continue
        if kerb.length > line.length:
            yield Fault(
                (*key, "shape", "length"),
                f"is {kerb.length:g} m, longer than the track, {line.length:.2f} m. Shorten the kerb.",
            )
            continue
        if kerb.offset > _ROOM and not any(
            _reaches(other, kerb, line) for other in track.road.kerbs if other is not kerb
        ):
            yield Fault(
                (*key, "offset"),
                f"is {kerb.offset:g} m: the kerb lies so far outside the {kerb.side} edge of the road, with "
                'nothing to run on in between. Write offset = "0 m", or lay another kerb from the edge '
                "up to it.",
            )
        yield from _across_the_middle(track, line, kerb, key)


def _across_the_middle(track: Track, line: CentreLine, kerb: TrackKerb, key: Key) -> Iterator[Fault]:
    if not _fit(track.road.width, line):
        return
    distance = kerb.start + even_distances(kerb.length, spacing=_CHECK_SPACING)
    left, right = widths_at(track.road.width, distance, line=line)
    half_width = float(np.min(left if kerb.side == "left" else right))
    if -kerb.offset > half_width + _ROOM:
        yield Fault(
            (*key, "offset"),
            f"is {kerb.offset:g} m, so the kerb would begin beyond the centre line: the {kerb.side} edge is "
            f"{half_width:.3g} m from it there. Lay it along the other side, or nearer to the edge.",
        )


def _reaches(other: TrackKerb, kerb: TrackKerb, line: CentreLine) -> bool:
    """Whether another kerb lies along all of a kerb and reaches up to it."""
    behind = kerb.start - other.start
    behind = behind % line.length if line.closed else behind
    return (
        other.side == kerb.side
        and other.offset < kerb.offset <= other.far_side + _ROOM
        and -_ROOM <= behind <= other.length - kerb.length + _ROOM
    )


ALONG_THE_LINE: Final = (
    line_keeps_clear,
    places_lie_on_track,
    edges_keep_clear,
    road_is_not_too_steep,
    profiles_reach,
    kerbs_lie_on_track,
)
"""Checks that need the line, drawn."""


def _seen(line: CentreLine) -> tuple[FloatArray, ComplexArray, ComplexArray]:
    """Places along the line, their points as x + i y, and the unit vectors to the left."""
    distance = even_distances(line.length, spacing=min(_CHECK_SPACING, line.length / 200.0))
    sample = line.at(distance)
    return distance, sample.x + 1j * sample.y, 1j * np.exp(1j * sample.heading)


def _fit(rows: Sequence[_Place], line: CentreLine) -> bool:
    """Whether places are in order and within the track, so that values between them can be told."""
    if not rows:
        return False
    distances = [row.distance for row in rows]
    reach = distances[-1] - distances[0] - (0.0 if line.closed else _ROOM)
    return reach < line.length and all(before < after for before, after in pairwise(distances))


def _dotted(key: Key) -> str:
    return ".".join(str(name + 1) if isinstance(name, int) else name for name in key)
