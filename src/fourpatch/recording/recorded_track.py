"""A track and a recording: the recording's own line, a track made of it, and a known track found in it."""

from dataclasses import dataclass
from itertools import pairwise
from typing import NamedTuple

import numpy as np
from numpy.typing import NDArray

from fourpatch.errors import RecordingError
from fourpatch.recording.laps import Lap, Laps, mean_bend, shift_of
from fourpatch.recording.way import Way
from fourpatch.runs.run import Run
from fourpatch.track.curvature_line import CurvatureLine, CurvatureTable
from fourpatch.track.layout import TrackLayout
from fourpatch.track.points import PointLine
from fourpatch.track.rough_points import ACCURACY, RoughLine, rough_line
from fourpatch.track.track import ClassSurface, Road, Track, Width

Array = NDArray[np.float64]

_ALIKE = 0.7  # correlation of the bends of a recording and a track, from which on they are one
_LONGER = 0.08  # share by which a driven lap may differ in length from the centre line
_ROUNDS = 8  # of turning and moving the driven line onto the track
_FURTHEST = 20.0  # that a place is moved along the track in one of them [m]
_KEPT = 3.0  # between rows of a track made from bends [m]
_SMOOTHED = 9  # metres over which the mean bend is smoothed once more


def driven_layout(way: Way, laps: Laps) -> TrackLayout:
    """Return the driven line of a lap as a track without width, along the fastest lap.

    Notes
    -----
    Its curvature is the mean of all laps that are like each other, so that one odd line counts little. A lap
    turns once; what the yaw rate's zero adds to that is taken out evenly.
    """
    distance, bend = mean_bend(way, laps.usual, laps.fastest)
    return _layout(distance, _smoothed(bend), closed=True)


def open_layout(way: Way) -> TrackLayout:
    """Return the driven line of a stretch that is no lap."""
    return _layout(way.distance - way.distance[0], _smoothed(way.curvature), closed=False)


def _smoothed(bend: Array) -> Array:
    from scipy.ndimage import uniform_filter1d

    return np.asarray(uniform_filter1d(bend, _SMOOTHED, mode="nearest"))


def _layout(distance: Array, bend: Array, *, closed: bool) -> TrackLayout:
    step = float(distance[1] - distance[0])
    turned = np.concatenate([[0.0], np.cumsum(0.5 * (bend[1:] + bend[:-1]) * step)])
    if closed:
        whole = 2.0 * np.pi * round(float(turned[-1]) / (2.0 * np.pi))
        drift = (turned[-1] - whole) / distance[-1]
        bend = bend - drift
        turned = turned - drift * distance
    middle = 0.5 * (turned[1:] + turned[:-1])
    x = np.concatenate([[0.0], np.cumsum(step * np.cos(middle))])
    y = np.concatenate([[0.0], np.cumsum(step * np.sin(middle))])
    none = np.zeros_like(distance)
    return TrackLayout(
        closed=closed,
        adjustment="driven",
        distance=distance,
        x=x,
        y=y,
        heading=turned,
        curvature=bend,
        banking=none,
        elevation=none,
        gradient=none,
        left=none,
        right=none,
    )


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class Match:
    """How a driven lap lies on a track."""

    station: Array
    """Along the centre line, of each place of the driven layout; it may run over the start line. [m]"""
    correlation: float
    """Of the bends of both."""


def lap_places(way: Way, lap: Lap, distance: Array) -> Array | None:
    """Return where a lap was, (n, 2) at distances since its start [m]; None without positions."""
    if way.x is None or way.y is None:
        return None
    part = way.part(lap.begin, lap.end)
    along = way.distance[part] - lap.begin
    return np.column_stack([np.interp(distance, along, row[part]) for row in (way.x, way.y)])


def match_track(driven: TrackLayout, track: TrackLayout, *, name: str, places: Array | None = None) -> Match:
    """Find where on a track a driven lap was.

    Parameters
    ----------
    driven : of a lap.
    track : a lap too.
    name : of the track, for the error.
    places : where the driven lap was, (n, 2) at its distances, in a plane of its own. [m]

    Raises
    ------
    RecordingError
        If the recording is of another track, or of this one the other way round.

    Notes
    -----
    The curvatures of both, the driven one stretched to the length of the other, are laid over each other
    where their cyclic correlation is highest; then bends are shifted onto each other one by one, as between
    laps. With positions the driven line is then turned and moved onto the centre line (least squares; Kabsch,
    from memory), and each place belongs to the nearest station: bends alone are off where a driver cuts them.
    """
    if not track.closed or not driven.closed:
        raise RecordingError(f"{name}: is no lap, so the recording's laps cannot lie on it.")
    count = track.distance.size - 1
    own = np.interp(np.arange(count) / count, driven.distance / driven.length, driven.curvature)
    best, shift = _cyclic(own, track.curvature[:-1])
    if abs(driven.length / track.length - 1.0) > _LONGER or best < _ALIKE:
        raise RecordingError(_another(own, driven, track, best, name))
    station = driven.distance / driven.length * track.length + shift * track.spacing
    station = station + _local_shift(driven, track, station)
    if places is not None:
        for _ in range(_ROUNDS):
            station = _nearest_station(places, track, station)
    return Match(station=np.maximum.accumulate(station), correlation=best)


def _nearest_station(places: Array, track: TrackLayout, station: Array) -> Array:
    """Lay places on a track, given about where they belong, and return where they then belong [m]."""
    at = np.mod(station, track.length)
    there = np.column_stack([np.interp(at, track.distance, row) for row in (track.x, track.y)])
    a, b = places - places.mean(axis=0), there - there.mean(axis=0)
    turn, _, back = np.linalg.svd(a.T @ b)
    if np.linalg.det(turn @ back) < 0.0:
        turn[:, -1] *= -1.0  # a turn, never a mirror
    laid = a @ (turn @ back) + there.mean(axis=0)
    # Along the track, how far each place lies ahead of where it was thought to be.
    heading = np.interp(at, track.distance, track.heading)
    along = np.cos(heading) * (laid - there)[:, 0] + np.sin(heading) * (laid - there)[:, 1]
    return np.maximum.accumulate(station + np.clip(along, -_FURTHEST, _FURTHEST))


def _another(own: Array, driven: TrackLayout, track: TrackLayout, best: float, name: str) -> str:
    backward, _ = _cyclic(-own[::-1], track.curvature[:-1])
    mirrored, _ = _cyclic(-own, track.curvature[:-1])
    said = (
        f"the recording is not of {name}: its lap is {driven.length:.0f} m long, the track "
        f"{track.length:.0f} m, and their bends agree to {100.0 * max(best, 0.0):.0f} %"
    )
    if backward > _ALIKE:
        return f"{said}; driven the other way they agree. Turn the track round, or choose another."
    if mirrored > _ALIKE:
        return (
            f"{said}; with left and right exchanged they agree. Check the sign of yaw rate or acceleration."
        )
    return f"{said}. Choose another track, or leave it out: corners are then found in the recording itself."


def _cyclic(own: Array, other: Array) -> tuple[float, int]:
    """Return the highest cyclic correlation of two rows, and by how many places the first is moved for it."""
    a, b = own - own.mean(), other - other.mean()
    spread = float(np.sqrt((a @ a) * (b @ b)))
    if spread <= 0.0:
        return 0.0, 0
    row = np.fft.irfft(np.conj(np.fft.rfft(a)) * np.fft.rfft(b), n=a.size) / spread
    shift = int(np.argmax(row))
    return float(row[shift]), shift


def _local_shift(driven: TrackLayout, track: TrackLayout, station: Array) -> Array:
    """Return how much further along the track places lie than lengths in proportion say."""
    bend = np.interp(np.mod(station, track.length), track.distance, track.curvature)
    pieces = np.linspace(0, station.size, 17).astype(int)
    middles = 0.5 * (pieces[1:] + pieces[:-1])
    shifts = [shift_of(driven.curvature, bend, first, last) for first, last in pairwise(pieces)]
    return np.interp(np.arange(station.size), middles, shifts) * driven.spacing


class MadeTrack(NamedTuple):
    """A track that was made of measurements, and how."""

    track: Track
    told: str
    """What was done, in sentences."""


def track_of(run: Run, way: Way, laps: Laps, *, name: str, width: float) -> MadeTrack:
    """Make a track of a recording: its centre line is the mean of the lines driven.

    Parameters
    ----------
    way, laps : of the run.
    name : of the track.
    width : of the road, which no recording tells. [m]

    Raises
    ------
    TrackError
        If the points cannot be a line, or the line cannot be closed.

    Notes
    -----
    From positions where there are any, else from curvature, closed as `CurvatureLine` does.
    """
    count = len(laps.usual)
    of = f"{count} recorded laps" if count > 1 else "a recorded lap"
    if way.x is not None and way.y is not None:
        line = rough_line(*_points_of(run, laps))
        return track_along(
            point_line(line, name), f"the positions of {of}", str(line), name=name, width=width
        )
    layout = driven_layout(way, laps)
    curved = curvature_line(layout.distance, layout.curvature, name)
    return track_along(curved, f"the bends of {of}", "", name=name, width=width)


def point_line(line: RoughLine, name: str) -> PointLine:
    """Return the centre line of rough points."""
    return PointLine(
        closed=line.line.closed,
        accuracy=ACCURACY,
        file=f"{_file_name(name)}-points.csv",
        points=line.points,
    )


def curvature_line(distance: Array, curvature: Array, name: str, *, closed: bool = True) -> CurvatureLine:
    """Return the centre line of a curvature that is known every metre or so; every third place is kept."""
    spacing = float(np.median(np.diff(distance)))
    every = max(round(_KEPT / spacing), 1)
    places = np.unique(np.append(np.arange(0, distance.size, every), distance.size - 1))
    table = CurvatureTable(distance=distance[places], curvature=curvature[places])
    return CurvatureLine(
        closed=closed, largest_change=0.01, file=f"{_file_name(name)}-curvature.csv", table=table
    )


def track_along(line: PointLine | CurvatureLine, by: str, told: str, *, name: str, width: float) -> MadeTrack:
    """Lay a road along a line.

    Parameters
    ----------
    by : what the line was made from.
    told : how, in sentences.

    Notes
    -----
    Edges, surface, banking and slopes are not known: even width, class B of ISO 8608 and level are put in;
    the note says so.
    """
    track = Track(
        name=name,
        note=f"Made from {by}: the centre line is the line driven. Width, surface and slopes are assumed.",
        centre_line=line,
        road=Road(
            width=[Width(distance=0.0, left=0.5 * width, right=0.5 * width)],
            surface=[ClassSurface(start=0.0, road_class="B")],
        ),
    )
    return MadeTrack(track, f"Made from {by}. {told}".strip())


def _points_of(run: Run, laps: Laps) -> tuple[Array, Array]:
    """Return the recorded positions of laps, lap after lap."""
    time = run["position_x"].time
    within = [np.flatnonzero((time >= one.start) & (time < one.finish)) for one in laps.usual]
    places = np.concatenate(within)
    return run["position_x"].values[places], run["position_y"].at(time[places])


def _file_name(name: str) -> str:
    kept = "".join(letter if letter.isalnum() else "-" for letter in name.lower())
    return "-".join(part for part in kept.split("-") if part) or "track"
