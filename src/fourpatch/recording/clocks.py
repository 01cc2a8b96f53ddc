"""The time of each row of a recording: found among its columns, mended where it jumps."""

from typing import NamedTuple

import numpy as np
from numpy.typing import NDArray

from fourpatch.errors import RecordingError
from fourpatch.recording.mapping import Mapping
from fourpatch.recording.raw import Array, RawColumn, RawRecording
from fourpatch.recording.vocabulary import is_time
from fourpatch.recording.written_units import scale_of

_TIME_UNITS = ("s", "ms", "us", "ns", "min", "h")
_USUAL_STEP = (2e-4, 2.0)  # between rows of a recording [s]


class TimeColumn(NamedTuple):
    """A column that may be the time."""

    column: str
    unit: str
    score: float


def time_column(raw: RawRecording, clock: int = 0) -> TimeColumn | None:
    """Find the column that is the time of the rows: it rises nearly everywhere, by nearly even steps."""
    best: TimeColumn | None = None
    for one in raw.columns:
        if one.clock != clock:
            continue
        found = _as_time(one)
        if found and (best is None or found.score > best.score):
            best = found
    return best


def _as_time(column: RawColumn) -> TimeColumn | None:
    values = column.values[np.isfinite(column.values)]
    if values.size < 0.9 * column.values.size or values.size < 3:
        return None
    steps = np.diff(values)
    rising = float(np.mean(steps > 0.0))
    step = float(np.median(steps))
    if rising < 0.5 or step < 0.0 or np.ptp(values) <= 0.0:
        return None
    step = step or float(np.mean(steps[steps > 0.0]))
    named = is_time(column.name)
    said = column.unit.strip().lower()
    if said and scale_of(said, "s") is None:
        return None
    units = [said] if said else [one for one in _TIME_UNITS if _usual(step, one)]
    if not units or (not named and not said and rising < 0.999):
        return None
    even = float(np.mean(np.abs(steps - step) < 0.5 * step)) if step else 0.0
    score = 0.5 * named + 0.2 * bool(said) + 0.15 * rising + 0.15 * even
    return TimeColumn(column.name, units[0], score) if score >= 0.3 else None


def _usual(step: float, unit: str) -> bool:
    scale = scale_of(unit, "s")
    return scale is not None and _USUAL_STEP[0] <= step * scale[0] <= _USUAL_STEP[1]


def clock_times(raw: RawRecording, mapping: Mapping) -> list[Array]:
    """Return the times of every clock's rows as the file has them [s].

    Raises
    ------
    RecordingError
        If nothing says the time.
    """
    found = []
    told = mapping.column_of("time")
    for number, clock in enumerate(raw.clocks):
        if clock is not None:
            found.append(clock)
            continue
        column = next(
            (one for one in raw.columns if told and one.name == told.column and one.clock == number), None
        )
        if column is not None and told is not None:
            factor, _ = scale_of(told.unit or "s", "s") or (1.0, 0.0)
            found.append(column.values * factor)
        elif mapping.rate > 0.0:
            rows = next(one.values.size for one in raw.columns if one.clock == number)
            found.append(np.arange(rows) / mapping.rate)
        else:
            raise RecordingError(
                f"{raw.name}: no column is the time. Say which it is, or how many rows make a second: "
                "--rate 100."
            )
    return found


class MendedClock(NamedTuple):
    """Times that rise, and what was wrong with them."""

    time: Array
    """Rising, of the rows that are kept. [s]"""
    rows: NDArray[np.intp]
    """Which rows are kept, in the order of time."""
    backwards: list[float]
    """Times before which the clock went back. [s]"""
    jumps: list[tuple[float, float]]
    """Time before which it jumped ahead, and by how much; gaps of dropped rows are such too. [s]"""
    repeated: int
    """Rows with the time of the row before, apart from a clock coarser than the rows."""
    coarse: bool
    """Whether the clock ticks slower than rows come; they were spread evenly between its ticks."""


_GAP = 2.5  # times the usual step, from which on rows are missing


def mended_clock(time: Array) -> MendedClock:
    """Bring times into a rising order.

    Parameters
    ----------
    time : of the rows as the file has them. [s]

    Notes
    -----
    Where the clock goes back, as where two files were glued together or it was set, what follows is moved
    behind what was, a usual step later. Rows without a time are left out.
    """
    rows = np.flatnonzero(np.isfinite(time))
    kept = time[rows]
    if kept.size < 2:
        return MendedClock(kept, rows, [], [], 0, coarse=False)
    steps = np.diff(kept)
    positive = steps[steps > 0.0]
    usual = float(np.median(positive)) if positive.size else 1.0
    coarse = float(np.mean(steps == 0.0)) > 0.2
    if coarse:
        kept = _spread(kept)
        steps = np.diff(kept)
        usual = float(np.median(steps[steps > 0.0])) if np.any(steps > 0.0) else usual
    back = np.flatnonzero(steps < 0.0)
    shift = np.zeros(kept.size)
    for place in back:
        shift[place + 1 :] += -steps[place] + usual
    moved = kept + shift
    again = np.concatenate([[False], np.diff(moved) <= 0.0])
    ahead = np.flatnonzero(np.diff(moved) > _GAP * usual)
    return MendedClock(
        time=moved[~again],
        rows=rows[~again],
        backwards=[float(kept[place]) for place in back],
        jumps=[(float(moved[place]), float(moved[place + 1] - moved[place])) for place in ahead],
        repeated=int(again.sum()),
        coarse=coarse,
    )


def _spread(time: Array) -> Array:
    """Spread rows of the same time evenly up to the next tick."""
    first = np.flatnonzero(np.concatenate([[True], np.diff(time) != 0.0]))
    ticks = np.append(time[first], 2.0 * time[first[-1]] - time[first[-2]] if first.size > 1 else time[-1])
    return np.asarray(np.interp(np.arange(time.size), np.append(first, time.size), ticks))
