"""A track from whatever file holds its line: positions, curvature, speed and yaw rate; timed or not."""

from collections.abc import Sequence
from pathlib import Path
from typing import Final

import numpy as np

from fourpatch.errors import RecordingError
from fourpatch.recording.clocks import time_column
from fourpatch.recording.draft import Draft, drafts
from fourpatch.recording.files import read_file
from fourpatch.recording.laps import find_laps, whole_as_lap
from fourpatch.recording.mapping import MappedColumn
from fourpatch.recording.opened import open_recording, require_there
from fourpatch.recording.raw import Array, RawRecording
from fourpatch.recording.recorded_track import (
    MadeTrack,
    curvature_line,
    open_layout,
    point_line,
    track_along,
    track_of,
)
from fourpatch.recording.signals import level_plane
from fourpatch.recording.vocabulary import is_time
from fourpatch.recording.way import way_of
from fourpatch.recording.written_units import scale_of
from fourpatch.runs.channels import CHANNELS
from fourpatch.runs.run import Run
from fourpatch.track.rough_points import rough_line

_SLOWEST = 3.0  # below which yaw rate over speed says nothing of the way [m/s]
_EVEN = 1.0  # between places to which a table of curvature is brought [m]
_MEAN = 9  # places over which curvature is smoothed
_LEAST_ROWS = 12
_DEGREES = frozenset({"deg", "°", "degrees", "degree"})
_WANTED: Final = (
    "x and y, latitude and longitude, distance and curvature, or speed and yaw rate with time or distance"
)
_LINES: Final = (
    "position_x",
    "position_y",
    "latitude",
    "longitude",
    "distance",
    "lap_distance",
    "path_curvature",
    "speed",
    "yaw_rate",
)


def track_from_file(
    path: str | Path,
    *,
    name: str,
    width: float,
    closed: bool = True,
    columns: Sequence[MappedColumn] = (),
    agreed: Sequence[str] = (),
    mend: Sequence[str] = (),
    rate: float = 0.0,
    afresh: bool = False,
) -> MadeTrack:
    """Make a track of a file that holds its line.

    Parameters
    ----------
    path : a recording of laps, or a table of positions or curvature in driving order without times.
    name : of the track.
    width : of the road, which no such file tells. [m]
    closed : whether it is a lap; else a road from the first row to the last.
    columns, agreed, mend, rate, afresh : as `fourpatch.recording.opened.open_recording`.

    Raises
    ------
    RecordingError, RunError
        If the file cannot be read or holds no line.
    TrackError
        If the line cannot be a road; a `PointsError` says where.

    Notes
    -----
    A recording with times in which a lap is driven twice has its laps told apart and its start line where
    those begin. Everything else is one line in the order of its rows.
    """
    raw = read_file(path)
    require_there(raw, columns)
    if _has_times(raw, rate, columns):
        opened = open_recording(path, columns=columns, agreed=agreed, mend=mend, rate=rate, afresh=afresh)
        return _of_run(opened.run, name=name, width=width, closed=closed)
    return _of_rows(_rows(raw, columns), raw, name=name, width=width, closed=closed)


def _has_times(raw: RawRecording, rate: float, columns: Sequence[MappedColumn]) -> bool:
    """Say whether something that is called a time, or is in seconds, tells when each row was."""
    if (
        rate > 0.0
        or any(one is not None for one in raw.clocks)
        or any(one.channel == "time" for one in columns)
    ):
        return True
    found = time_column(raw)
    if found is None:
        return False
    return is_time(found.column) or scale_of(raw.column(found.column).unit.strip().lower(), "s") is not None


def _of_run(run: Run, *, name: str, width: float, closed: bool) -> MadeTrack:
    """Make a track of a recording with times."""
    way = way_of(run)
    positions = "position_x" in run and "position_y" in run
    if closed:
        try:
            return track_of(run, way, find_laps(run, way), name=name, width=width)
        except RecordingError:  # nothing is driven twice: one lap, with or without a gap
            if not positions:
                return track_of(run, way, whole_as_lap(run.name, way), name=name, width=width)
    if not positions:
        layout = open_layout(way)
        line = curvature_line(layout.distance, layout.curvature, name, closed=False)
        return track_along(line, "the bends of a recorded stretch", "", name=name, width=width)
    x = run["position_x"]
    return _of_positions(x.values, run["position_y"].at(x.time), name=name, width=width, closed=closed)


def _of_rows(
    found: dict[str, Array], raw: RawRecording, *, name: str, width: float, closed: bool
) -> MadeTrack:
    """Make a track of rows without times."""
    if "latitude" in found and "longitude" in found:
        x, y = level_plane(found["latitude"], found["longitude"])
        return _of_positions(x, y, name=name, width=width, closed=closed)
    if "position_x" in found and "position_y" in found:
        x, y = found["position_x"], found["position_y"]
        return _of_positions(x, y, name=name, width=width, closed=closed)
    distance = found.get("distance", found.get("lap_distance"))
    curvature = found.get("path_curvature")
    if curvature is None and "speed" in found and "yaw_rate" in found:
        speed = found["speed"]
        slow = speed < _SLOWEST
        curvature = np.where(slow, 0.0, found["yaw_rate"] / np.where(slow, 1.0, speed))
    if distance is None or curvature is None:
        have = ", ".join(f'"{one.name}"' for one in raw.columns[:8])
        raise RecordingError(
            f"{raw.name}: holds no line that is known here; its columns are {have}. A track is made of "
            f"{_WANTED}. Name the columns so in the first line of the file."
        )
    return _of_curvature(distance, curvature, raw.name, name=name, width=width, closed=closed)


def _of_positions(x: Array, y: Array, *, name: str, width: float, closed: bool) -> MadeTrack:
    line = rough_line(x, y, closed=closed)
    return track_along(point_line(line, name), "positions", str(line), name=name, width=width)


def _of_curvature(
    distance: Array, curvature: Array, file: str, *, name: str, width: float, closed: bool
) -> MadeTrack:
    """Make a track of curvature against distance, brought to even places."""
    known = np.isfinite(distance) & np.isfinite(curvature)
    distance, curvature = distance[known], curvature[known]
    if distance.size < _LEAST_ROWS:
        raise RecordingError(
            f"{file}: has {distance.size} rows with both distance and curvature; a line needs {_LEAST_ROWS}. "
            "Give one every 1 to 5 m."
        )
    back = np.flatnonzero(np.diff(distance) < 0.0)
    if back.size:
        at = int(back[0])
        raise RecordingError(
            f"{file}: the distance falls from {distance[at]:.1f} m to {distance[at + 1]:.1f} m at row "
            + f"{at + 2}{f', and {back.size - 1} times more' if back.size > 1 else ''}"
            + ". Give one lap, or one stretch, from its start to its end."
        )
    distance = distance - distance[0]
    even = np.linspace(0.0, distance[-1], max(round(distance[-1] / _EVEN), _LEAST_ROWS) + 1)
    bend = _smoothed(np.interp(even, distance, curvature))
    line = curvature_line(even, bend, name, closed=closed)
    drawn = line.draw()  # refused here, not by whoever draws it first
    return track_along(line, "curvature", f"As given, {drawn.adjustment}.", name=name, width=width)


def _smoothed(bend: Array) -> Array:
    from scipy.ndimage import uniform_filter1d

    return np.asarray(uniform_filter1d(bend, _MEAN, mode="nearest"))


def _rows(raw: RawRecording, columns: Sequence[MappedColumn]) -> dict[str, Array]:
    """Return the columns that say where a line goes, in SI, by what they are."""
    said = {one.column: one for one in columns}
    rows = {one.name: one.values for one in raw.columns if one.name not in said}
    found: dict[str, Array] = {}
    for draft in drafts(rows, {one.name: one for one in raw.columns}):
        if draft.channel in _LINES:
            _require_degrees(draft, raw.name)
            found[draft.channel] = draft.si
    for one in columns:
        if one.channel in _LINES:
            scale = scale_of(one.unit, CHANNELS[one.channel].unit) if one.unit else (1.0, 0.0)
            if scale is None:
                raise RecordingError(
                    f'{raw.name}: "{one.column}" is said to be {one.channel} in "{one.unit}", which does '
                    f"not measure that. Give a unit that can be turned into {CHANNELS[one.channel].unit}."
                )
            sign = -1.0 if one.reversed else 1.0
            found[one.channel] = sign * (raw.column(one.column).values * scale[0] + scale[1])
    return _with_fix(found)


def _with_fix(found: dict[str, Array]) -> dict[str, Array]:
    """Leave out places at zero latitude and zero longitude, which receivers write while they know none."""
    if "latitude" in found and "longitude" in found:
        none = (found["latitude"] == 0.0) & (found["longitude"] == 0.0)
        if none.any():
            found = {key: np.where(none, np.nan, row) for key, row in found.items()}
    return found


def _require_degrees(draft: Draft, file: str) -> None:
    """Refuse a latitude or longitude that cannot be one, with how it may have been written."""
    if draft.channel not in ("latitude", "longitude") or draft.units[0].lower() not in _DEGREES:
        return
    most = 90.0 if draft.channel == "latitude" else 180.0
    row = draft.row[np.isfinite(draft.row)]
    beyond = np.flatnonzero(np.abs(row) > most)
    if not beyond.size:
        return
    one = float(row[beyond[0]])
    if np.abs(row).max() <= 180.0:
        read = "Longitude reaches 180: the two may be exchanged"
    elif np.abs(row).max() <= 100.0 * most:
        degrees, minutes = divmod(abs(one), 100.0)
        read = (
            f"Degrees and minutes in one, as {degrees:.0f} degrees {minutes:.5g} minutes, are "
            f"{degrees + minutes / 60.0:.7g} degrees"
        )
    elif np.abs(row).max() <= 1e7 * most:
        read = f"Ten-millionths of a degree would be {one * 1e-7:.7g} degrees"
    else:
        read = "It may be metres: then call the columns x and y"
    raise RecordingError(
        f'{file}: "{draft.column.name}" is {one:.10g} in row {int(beyond[0]) + 1}; {draft.channel} ends at '
        f"{most:.0f} degrees. {read}. Write decimal degrees."
    )
