"""Columns and a mapping made a run: SI, our signs, every channel on its own rising clock."""

from collections.abc import Sequence

import numpy as np

from fourpatch.errors import RecordingError
from fourpatch.recording.clocks import MendedClock, clock_times, mended_clock
from fourpatch.recording.mapping import MappedColumn, Mapping
from fourpatch.recording.raw import Array, RawColumn, RawRecording
from fourpatch.recording.signals import level_plane
from fourpatch.recording.written_units import scale_of
from fourpatch.runs.channels import CHANNELS, OF_WHEELS, WHEELS
from fourpatch.runs.run import Channel, Run


def load_run(raw: RawRecording, mapping: Mapping) -> tuple[Run, list[MendedClock]]:
    """Return a recording as a run, and what its clocks were like.

    Parameters
    ----------
    mapping : columns that the recording has not are left out, so that one mapping serves files with fewer.

    Returns
    -------
    run
        Time counts from the first row. Where rows are missing for longer than a few steps, a value that is
        none stands in the gap, so that nothing is read across it. Positions in a level plane are added to
        latitude and longitude.
    clocks
        One for each of the file's.

    Raises
    ------
    RecordingError
        If nothing says the time, no column is mapped, or a mapped one cannot be what is said.
    """
    clocks = [mended_clock(one) for one in clock_times(raw, mapping)]
    begun = min((one.time[0] for one in clocks if one.time.size), default=0.0)
    channels: dict[str, Channel] = {}
    columns = {one.name: one for one in raw.columns}
    groups: dict[str, list[MappedColumn]] = {}
    for one in mapping.columns:
        if one.channel not in ("time", "none") and one.column in columns:
            _require_meant(raw, one)
            groups.setdefault(one.channel, []).append(one)
    for name, group in groups.items():
        channels[name] = _channel(name, group, columns, clocks, begun)
    if not channels:
        raise RecordingError(
            f"{raw.name}: no column is known to be a channel. Say what columns are: --column "
            f'"{raw.columns[0].name}=speed,km/h".'
        )
    run = Run(name=raw.name, source="recording", setup="", channels=channels)
    return _placed(run), clocks


def _require_meant(raw: RawRecording, one: MappedColumn) -> None:
    if one.channel not in CHANNELS:
        raise RecordingError(
            f'{raw.name}: "{one.column}" is mapped to "{one.channel}", which is no channel. docs/json.md '
            "lists them all."
        )
    if scale_of(one.unit, CHANNELS[one.channel].unit) is None and one.unit:
        raise RecordingError(
            f'{raw.name}: "{one.column}" is mapped to {one.channel} in "{one.unit}", which does not measure '
            f"that. It is in {CHANNELS[one.channel].unit} or a unit that can be turned into it."
        )
    if (one.channel in OF_WHEELS) != bool(one.wheel):
        due = "say which: FL, FR, RL or RR" if one.channel in OF_WHEELS else "leave the wheel out"
        raise RecordingError(f'{raw.name}: "{one.column}" is mapped to {one.channel}; {due}.')


def _channel(
    name: str,
    group: Sequence[MappedColumn],
    columns: dict[str, RawColumn],
    clocks: Sequence[MendedClock],
    begun: float,
) -> Channel:
    """Return a channel; one of wheels on the finest clock that one of them has."""
    finest = max((columns[one.column].clock for one in group), key=lambda clock: clocks[clock].time.size)
    rows = {
        one.wheel: _row(one, name, columns[one.column], clocks[columns[one.column].clock]) for one in group
    }
    time = clocks[finest].time
    values: Array
    if name in OF_WHEELS:
        values = np.full((time.size, 4), np.nan)
        for one in group:
            clock = columns[one.column].clock
            row = rows[one.wheel]
            values[:, WHEELS.index(one.wheel)] = (
                row if clock == finest else np.interp(time, clocks[clock].time, row)
            )
    else:
        values = rows[""]
    return Channel(name=name, **_known_rows(time - begun, values))


def _row(one: MappedColumn, name: str, column: RawColumn, clock: MendedClock) -> Array:
    factor, offset = (scale_of(one.unit, CHANNELS[name].unit) if one.unit else None) or (1.0, 0.0)
    sign = -1.0 if one.reversed else 1.0
    values = column.values if clock.rows.size == column.values.size else column.values[clock.rows]
    if factor == 1.0 and offset == 0.0 and sign == 1.0:
        return values
    return np.asarray(sign * (values * factor + offset))


_GAP = 2.5  # times the usual step between values, from which on some are missing


def _known_rows(time: Array, values: Array) -> dict[str, Array]:
    """Keep the rows in which something is known, as of a channel that comes more slowly than the file's rows.

    Where they are further apart than usual, a value that is none stands between.
    """
    known = np.isfinite(values) if values.ndim == 1 else np.isfinite(values).any(axis=1)
    if not known.all():
        time, values = time[known], values[known]
    steps = np.diff(time)
    gaps = np.flatnonzero(steps > _GAP * np.median(steps)) + 1 if steps.size else np.array([], dtype=np.intp)
    if not gaps.size:
        return {"time": time, "values": values}
    middles = 0.5 * (time[gaps - 1] + time[gaps])
    return {"time": np.insert(time, gaps, middles), "values": np.insert(values, gaps, np.nan, axis=0)}


def _placed(run: Run) -> Run:
    """Add where the car was in a level plane: east and north of the first place."""
    if "latitude" not in run or "longitude" not in run:
        return run
    latitude, longitude = run["latitude"], run["longitude"]
    x, y = level_plane(latitude.values, longitude.at(latitude.time))
    if not np.isfinite(x).any():
        return run
    return run.with_channels(
        Channel(name="position_x", time=latitude.time, values=x),
        Channel(name="position_y", time=latitude.time, values=y),
    )
