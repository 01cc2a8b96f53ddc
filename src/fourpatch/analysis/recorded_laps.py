"""Laps, corners and phases of a run that was recorded: speeds and times in each."""

from collections.abc import Iterator, Sequence
from dataclasses import dataclass
from typing import Annotated, Final

import numpy as np
from numpy.typing import NDArray

from fourpatch.analysis.quantity import ACCELERATION, ALONG, SPEED, TIME, Findings
from fourpatch.events.phase import PHASES, corner_phases
from fourpatch.recording.laps import Lap, Laps, find_laps, stations
from fourpatch.recording.recorded_track import driven_layout, lap_places, match_track, open_layout
from fourpatch.recording.way import Way, way_of
from fourpatch.runs.run import Run
from fourpatch.track.corners import Corner, find_corners
from fourpatch.track.layout import TrackLayout, lay_out
from fourpatch.track.track import Track

Array = NDArray[np.float64]

BEFORE: Final = 300.0
"""How far before a corner its braking may begin. [m]"""

_AFTER = 150.0  # behind a corner, within which steering is unwound [m]
_STEP = 0.02  # of the time in which phases are told [s]
_SMOOTHED = 15  # steps over which the acceleration is averaged for it
_PEDAL = 0.05  # from which on a pedal counts as used


class CornerRecorded(Findings):
    """How one lap passed a corner."""

    lap: str
    """Number of the lap."""
    corner: str
    """Its number, counted from the start line."""
    direction: str
    """Which way it turns: left or right."""
    start: Annotated[float, ALONG]
    """Along the line from the start line, where its radius falls below 400 m."""
    end: Annotated[float, ALONG]
    """Where that is beyond 400 m again."""
    entry_speed: Annotated[float, SPEED]
    """At the start."""
    slowest_speed: Annotated[float, SPEED]
    """Between start and end."""
    exit_speed: Annotated[float, SPEED]
    """At the end."""
    time: Annotated[float, TIME]
    """From start to end."""
    lateral_acceleration: Annotated[float, ACCELERATION]
    """Largest between start and end, whichever way: speed squared times the bend of the path."""
    braking: Annotated[float, TIME]
    """How long the phase of braking lasts; 0 if there is none."""
    entry: Annotated[float, TIME]
    """How long the entry lasts."""
    mid: Annotated[float, TIME]
    """How long the mid lasts."""
    exit: Annotated[float, TIME]
    """How long the exit lasts."""


class LapRecorded(Findings):
    """One lap of a recording."""

    lap: str
    """Its number, in the order they were driven."""
    kind: str
    """Whether it is like the others, or shorter or longer than they are."""
    start: Annotated[float, TIME]
    """When it begins, since the first row of the file."""
    time: Annotated[float, TIME]
    """It took."""
    length: Annotated[float, ALONG]
    """Driven."""
    highest_speed: Annotated[float, SPEED]
    """On it."""
    lowest_speed: Annotated[float, SPEED]
    """On it."""


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class RecordedLaps:
    """Laps and corners of a recording."""

    way: Way
    laps: Laps | None
    """None for a stretch that is taken as one."""
    layout: TrackLayout
    """Along which corners were found: of the track, else the driven line."""
    corners: tuple[Corner, ...]
    lap_rows: tuple[LapRecorded, ...]
    corner_rows: tuple[CornerRecorded, ...]
    """Of all laps that are like the others, lap by lap."""
    agreement: float
    """Correlation of the driven bends with those of the track; 1 without one."""


def study_recording(run: Run, *, track: Track | None = None, one_stretch: bool = False) -> RecordedLaps:
    """Find laps, corners and phases of a run.

    Parameters
    ----------
    track : whose corners they are; if left out, corners are those of the driven line.
    one_stretch : whether the run is taken as one, without laps.

    Raises
    ------
    RunError, RecordingError, TrackError
        If channels are missing for it, no lap is complete, or the recording is of another track.
    """
    way = way_of(run)
    if one_stretch:
        layout = open_layout(way)
        whole = Lap(
            number=1,
            begin=0.0,
            end=float(way.distance[-1]),
            start=float(way.time[0]),
            finish=float(way.time[-1]),
            like_others=True,
        )
        corners = tuple(find_corners(layout))
        rows = tuple(_corner_rows(run, way, whole, way.distance, corners, layout.length))
        return RecordedLaps(
            way=way,
            laps=None,
            layout=layout,
            corners=corners,
            lap_rows=(_lap_row(way, whole),),
            corner_rows=rows,
            agreement=1.0,
        )
    return _study_laps(run, way, track)


def _study_laps(run: Run, way: Way, track: Track | None) -> RecordedLaps:
    laps = find_laps(run, way)
    driven = driven_layout(way, laps)
    layout, along, agreement = driven, driven.distance, 1.0
    if track is not None:
        layout = lay_out(track)
        places = lap_places(way, laps.fastest, driven.distance)
        match = match_track(driven, layout, name=track.name, places=places)
        along, agreement = match.station, match.correlation
    corners = tuple(find_corners(layout))
    rows: list[CornerRecorded] = []
    for lap in laps.usual:
        on_driven = stations(way, lap, laps.fastest)
        on_track = np.interp(on_driven, driven.distance, along)
        rows += _corner_rows(run, way, lap, on_track, corners, layout.length)
    return RecordedLaps(
        way=way,
        laps=laps,
        layout=layout,
        corners=corners,
        lap_rows=tuple(_lap_row(way, one) for one in laps.laps),
        corner_rows=tuple(rows),
        agreement=agreement,
    )


def _lap_row(way: Way, lap: Lap) -> LapRecorded:
    speed = way.speed[way.part(lap.begin, lap.end)]
    return LapRecorded(
        lap=str(lap.number),
        kind="like the others" if lap.like_others else "of another length",
        start=lap.start,
        time=lap.duration,
        length=lap.length,
        highest_speed=float(speed.max()),
        lowest_speed=float(speed.min()),
    )


def _corner_rows(
    run: Run, way: Way, lap: Lap, station: Array, corners: Sequence[Corner], length: float
) -> Iterator[CornerRecorded]:
    """Yield how a lap passed each corner.

    Parameters
    ----------
    station : of each place of the lap, rising; it may begin anywhere on the track. [m]
    length : of the track, after which stations count from 0 again. [m]
    """
    driven = way.distance[way.part(lap.begin, lap.end)]
    for corner in corners:
        begin = _driven_at(corner.start, station, driven, length)
        end = _driven_at(corner.end, station, driven, length)
        if end < begin:
            end += lap.length  # the lap's own start line lies within: it ends in the next
        if not lap.begin - 1.0 <= begin < end <= way.distance[-1]:
            continue
        yield _passed(run, way, lap, corner, begin, end)


def _driven_at(place: float, station: Array, driven: Array, length: float) -> float:
    wrapped = station[0] + np.mod(place - station[0], length)
    return float(np.interp(wrapped, station, driven))


def _passed(run: Run, way: Way, lap: Lap, corner: Corner, begin: float, end: float) -> CornerRecorded:
    inside = way.part(begin, end)
    speed = way.speed[inside]
    lasting = _phases(run, way, begin, end)
    start, finish = way.when(begin), way.when(end)
    return CornerRecorded(
        lap=str(lap.number),
        corner=str(corner.number),
        direction=corner.direction,
        start=corner.start,
        end=corner.end,
        entry_speed=float(np.interp(begin, way.distance, way.speed)),
        slowest_speed=float(speed.min()),
        exit_speed=float(np.interp(end, way.distance, way.speed)),
        time=float(finish - start),
        lateral_acceleration=float(np.max(np.abs(speed**2 * way.curvature[inside]))),
        **lasting,
    )


def _phases(run: Run, way: Way, begin: float, end: float) -> dict[str, float]:
    """Return how long each phase of a corner lasts [s].

    Notes
    -----
    By the definitions of the computed ones, `events.phase.corner_phases`. Those ask for the tyres' own
    acceleration; a recording has the car's, drag and slope included. Where both pedals are recorded,
    acceleration counts only while its pedal is used, so that drag is no brake.
    """
    first, last = way.when(max(begin - BEFORE, 0.0)), way.when(min(end + _AFTER, float(way.distance[-1])))
    time = np.arange(0.0, float(last - first), _STEP)
    if time.size < 10:
        return dict.fromkeys(PHASES, 0.0)
    at = time + first
    speed = np.interp(at, way.time, way.speed)
    along = _averaged(np.gradient(speed, _STEP))
    if "longitudinal_acceleration" in run:
        felt = run["longitudinal_acceleration"].at(at)
        along = _averaged(np.where(np.isfinite(felt), felt, along))
    pedals = [_used(run, names, at) for names in (_BRAKES, _THROTTLES)]
    if pedals[0] is not None and pedals[1] is not None:
        along = np.where(along < 0.0, along * pedals[0], along * pedals[1])
    curvature = np.interp(at, way.time, way.curvature)
    inside = way.part(begin, end)
    slowest = way.time[inside][int(np.argmin(way.speed[inside]))]
    marks = [float(one - first) for one in (way.when(begin), slowest, way.when(end))]
    told = corner_phases(time, along=along, curvature=curvature, marks=marks)
    found = {one.name: one.end - one.start for one in told}
    return {name: float(found.get(name, 0.0)) for name in PHASES}


_BRAKES = ("brake", "front_brake_pressure", "brake_pressure")
_THROTTLES = ("throttle",)


def _averaged(row: Array) -> Array:
    padded = np.pad(row, (_SMOOTHED // 2, _SMOOTHED // 2), mode="edge")
    return np.convolve(padded, np.full(_SMOOTHED, 1.0 / _SMOOTHED), mode="valid")


def _used(run: Run, names: Sequence[str], at: Array) -> Array | None:
    """Say where a pedal is used, 0 or 1; None if none of the channels is there."""
    name = next((one for one in names if one in run), None)
    if name is None:
        return None
    row = run[name].at(at)
    full = float(np.nanpercentile(run[name].values, 99.5))
    if not full > 0.0:
        return None
    return np.asarray(np.nan_to_num(row / full, nan=1.0) > _PEDAL, dtype=np.float64)
