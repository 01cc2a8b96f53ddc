"""What is wrong with the channels of a recording: found, named, and mended where the user agrees."""

from collections.abc import Callable, Iterator, Sequence
from dataclasses import dataclass
from functools import partial
from typing import Final

import numpy as np
from numpy.typing import NDArray

from fourpatch.errors import RecordingError
from fourpatch.recording.clocks import MendedClock
from fourpatch.recording.signals import cross_correlation
from fourpatch.runs.channels import OF_WHEELS, WHEELS
from fourpatch.runs.run import Channel, Run

Array = NDArray[np.float64]


@dataclass(frozen=True, slots=True, kw_only=True)
class Fault:
    """Something wrong with a recording."""

    key: str
    """By which its mending is agreed to."""
    text: str
    """What is wrong, and where, in a sentence."""
    remedy: str
    """What mending does, the end of "Mended: ..."; empty if it is done already or cannot be."""
    mend: Callable[[Run], Run]
    """Returns the run without it."""


def _as_it_is(run: Run) -> Run:
    return run


def find_faults(run: Run, clocks: Sequence[MendedClock] = ()) -> list[Fault]:
    """Find what is wrong with a recording.

    Parameters
    ----------
    clocks : of the file, for what is wrong with its times.
    """
    found = [*_of_clocks(clocks), *_missing(run), *_delays(run)]
    for name, channel in run.channels.items():
        if name in _DERIVED:
            continue
        for place, row in enumerate(channel.values.reshape(channel.time.size, -1).T):
            wheel = WHEELS[place] if name in OF_WHEELS else ""
            if np.isfinite(row).any():
                found += _of_row(name, wheel, place, channel.time, row)
    return found


def mended(run: Run, faults: Sequence[Fault], agreed: Sequence[str]) -> Run:
    """Mend what was agreed to.

    Parameters
    ----------
    agreed : keys of faults, or "all".

    Raises
    ------
    RecordingError
        If there is no such fault.
    """
    known = {one.key: one for one in faults}
    odd = [key for key in agreed if key not in known and key != "all"]
    if odd:
        listed = ", ".join(f'"{key}"' for key in known) or "none"
        raise RecordingError(f'"{odd[0]}" is no fault of this recording. Those are: {listed}.')
    for key, one in known.items():
        if "all" in agreed or key in agreed:
            run = one.mend(run)
    return run


_DERIVED = frozenset({"position_x", "position_y"})
_RESTS: Final = frozenset(
    {
        "throttle",
        "brake",
        "front_brake_pressure",
        "rear_brake_pressure",
        "brake_pressure",
        "gear",
        "lap_number",
        "lap_distance",
        "distance",
        "speed",
        "rolling_speed",
        "wheel_speed",
        "engine_speed",
        "fuel_volume",
    }
)
"""Channels that rest at an end of their range, or count, without being at a stop."""

_WORTH_A_WORD = 0.005  # of the recording, from which on gaps of one channel are said
_HELD = 0.45  # of all steps that are none, from which on a channel counts as held
_AT_STOP, _IN_A_ROW = 0.002, 4  # share of rows at the largest value, and how many of them follow each other
_SPIKE = 12.0  # times the usual change from one row to the next


def _of_clocks(clocks: Sequence[MendedClock]) -> Iterator[Fault]:
    for one in clocks:
        if one.backwards:
            text = (
                f"The clock goes back {len(one.backwards)} times, first at {one.backwards[0]:.2f} s: two "
                "recordings in one file, or the clock was set. What follows was put behind what was."
            )
            yield Fault(key="clock goes back", text=text, remedy="", mend=_as_it_is)
        if one.jumps:
            lost = sum(gap for _, gap in one.jumps)
            text = (
                f"Rows are missing {len(one.jumps)} times, {lost:.2f} s in all, first at "
                f"{one.jumps[0][0] - one.time[0]:.2f} s from the beginning. Nothing is read across the gaps."
            )
            yield Fault(key="rows missing", text=text, remedy="", mend=_as_it_is)
        if one.repeated:
            text = f"{one.repeated} rows have the time of the row before; they were left out."
            yield Fault(key="rows repeated", text=text, remedy="", mend=_as_it_is)
        if one.coarse:
            text = "The clock ticks more slowly than rows come; rows were spread evenly between its ticks."
            yield Fault(key="coarse clock", text=text, remedy="", mend=_as_it_is)


def _missing(run: Run) -> Iterator[Fault]:
    """Find channels with gaps beyond those that all have."""
    lost = {
        (name, place): _gaps(channel.time, row)
        for name, channel in run.channels.items()
        if name not in _DERIVED
        for place, row in enumerate(channel.values.reshape(channel.time.size, -1).T)
        if np.isfinite(row).any()
    }
    shared = min((float(gaps.sum()) for gaps in lost.values()), default=0.0)
    for (name, place), gaps in lost.items():
        own = float(gaps.sum()) - shared
        if own > _WORTH_A_WORD * float(np.ptp(run[name].time)):
            said = f"{name.replace('_', ' ')} {WHEELS[place] if name in OF_WHEELS else ''}".strip()
            text = (
                f"{_capital(said)} is missing for {own:.2f} s in {gaps.size} gaps, the longest of "
                f"{float(gaps.max()):.2f} s. Nothing is read across them."
            )
            yield Fault(key=f"missing {said}", text=text, remedy="", mend=_as_it_is)


def _gaps(time: Array, row: Array) -> Array:
    """Return how long nothing is known, gap by gap [s]."""
    known = np.flatnonzero(np.isfinite(row))
    across = np.flatnonzero(np.diff(known) > 1)
    return np.asarray(time[known[across + 1]] - time[known[across]])


def _of_row(name: str, wheel: str, place: int, time: Array, row: Array) -> Iterator[Fault]:
    said = f"{name.replace('_', ' ')} {wheel}".strip()
    known = np.isfinite(row)
    values = row[known]
    if values.size > 20 and np.ptp(values) == 0.0 and name not in ("gear", "lap_number", "fuel_volume"):
        yield Fault(
            key=f"dead {said}",
            text=f"{_capital(said)} never moves: the sensor is dead or not connected.",
            remedy="it is left out",
            mend=partial(_blanked, name=name, place=place, where=known),
        )
        return
    if name not in _RESTS and (stuck := _at_stop(row)).any():
        level = float(np.nanmax(np.abs(row)))
        yield Fault(
            key=f"at its stop {said}",
            text=f"{_capital(said)} is at the end of its range ({level:.4g}, SI) in "
            f"{100.0 * float(np.mean(stuck)):.1f} % of the rows, first at "
            f"{time[int(np.argmax(stuck))]:.2f} s.",
            remedy="those values count as missing",
            mend=partial(_blanked, name=name, place=place, where=stuck),
        )
    every = _held(values)
    if every > 1 and name not in ("gear", "lap_number"):
        rate = 1.0 / (every * float(np.median(np.diff(time))))
        yield Fault(
            key=f"held {said}",
            text=f"{_capital(said)} comes {rate:.3g} times a second and is held in between.",
            remedy="only the rows in which it changes are kept",
            mend=partial(_unheld, name=name, place=place),
        )
    elif (spikes := _spikes(row)).any() and name not in ("gear", "lap_number", "lap_distance"):
        yield Fault(
            key=f"spikes {said}",
            text=f"{_capital(said)} jumps away for a single row {int(spikes.sum())} times, first at "
            f"{time[int(np.argmax(spikes))]:.2f} s.",
            remedy="those values count as missing",
            mend=partial(_blanked, name=name, place=place, where=spikes),
        )


def _capital(text: str) -> str:
    return text[0].upper() + text[1:]


def _longest(where: NDArray[np.bool_]) -> int:
    """Length of the longest row of true values."""
    edges = np.flatnonzero(np.diff(np.concatenate([[False], where, [False]]).astype(np.int8)))
    return int(np.max(edges[1::2] - edges[::2])) if edges.size else 0


def _at_stop(row: Array) -> NDArray[np.bool_]:
    """Say where a row is at its largest or smallest value for several rows together, as at a stop."""
    stuck = np.zeros(row.size, dtype=bool)
    for level in (np.nanmax(row), np.nanmin(row)):
        at = row == level
        if at.mean() > _AT_STOP and _longest(at) >= _IN_A_ROW and level != 0.0:
            stuck |= at
    # A row that is held is at any of its values for several rows.
    return stuck if _held(row[np.isfinite(row)]) == 1 else np.zeros(row.size, dtype=bool)


def _held(values: Array) -> int:
    """Return for how many rows each value is held; 1 if it is not."""
    if values.size < 50:
        return 1
    moves = np.flatnonzero(np.diff(values) != 0.0)
    if moves.size < 10 or moves.size > (1.0 - _HELD) * values.size:
        return 1
    between = np.diff(moves)
    every = int(np.median(between))
    # Held by a slower clock, steps come evenly; a sensor that is merely coarse moves when it likes.
    even = float(np.mean(np.abs(between % every if every else between) <= 1))
    return every if every > 1 and even > 0.8 and float(np.mean(between == every)) > 0.3 else 1


def _spikes(row: Array) -> NDArray[np.bool_]:
    """Say where a single value lies far off both its neighbours."""
    spikes = np.zeros(row.size, dtype=bool)
    if row.size < 20:
        return spikes
    middle = 0.5 * (row[:-2] + row[2:])
    off = np.abs(row[1:-1] - middle)
    usual = np.nanpercentile(off, 90.0)
    apart = np.abs(row[2:] - row[:-2])
    spread = np.nanpercentile(row, 99.0) - np.nanpercentile(row, 1.0)
    spikes[1:-1] = (off > _SPIKE * usual) & (off > 4.0 * apart) & (off > 0.3 * spread) & (usual > 0.0)
    return spikes


def _changed(run: Run, name: str, values: Array, time: Array | None = None) -> Run:
    one = run[name]
    return run.with_channels(Channel(name=name, time=one.time if time is None else time, values=values))


def _blanked(run: Run, *, name: str, place: int, where: NDArray[np.bool_]) -> Run:
    """Let values of a row count as missing; a channel of which nothing is left goes."""
    one = run[name]
    values = one.values.copy()
    values.reshape(one.time.size, -1)[where, place] = np.nan
    if not np.isfinite(values).any():
        return Run(
            name=run.name,
            source=run.source,
            setup=run.setup,
            channels={key: channel for key, channel in run.channels.items() if key != name},
            phases=run.phases,
        )
    return _changed(run, name, values)


def _unheld(run: Run, *, name: str, place: int) -> Run:
    """Keep the rows in which a value is new; a channel of wheels is read linearly between them."""
    one = run[name]
    rows = one.values.reshape(one.time.size, -1)
    row = rows[:, place]
    new = np.concatenate([[True], (np.diff(row) != 0.0) | ~np.isfinite(np.diff(row))])
    if name not in OF_WHEELS:
        return _changed(run, name, row[new], one.time[new])
    values = one.values.copy()
    values[:, place] = np.interp(one.time, one.time[new], row[new])
    return _changed(run, name, values)


# Delays


_LONGEST_DELAY = 1.5  # that is looked for [s]
_SHORTEST_DELAY = {"lateral_acceleration": 0.12, "speed": 0.2, "latitude": 0.2}
"""That is worth a word [s]: a sound car is pressed sideways up to 0.1 s after it begins to turn, as its
sideslip builds up (0.08 s on a driven lap), and speeds change too slowly to tell less."""

_TOLD = 0.7  # correlation from which on a delay is told


def _delays(run: Run) -> Iterator[Fault]:
    """Find channels that come later than others of which they are made."""
    pairs: list[tuple[str, str, Callable[[Run, Array], tuple[Array, Array]]]] = [
        ("lateral_acceleration", "yaw_rate", _sideways_pair),
        ("speed", "longitudinal_acceleration", _along_pair),
        ("latitude", "speed", _position_pair),
    ]
    for late, other, pair in pairs:
        if not {late, other, "speed"} <= set(run.channels):
            continue
        time = common_time(run, late, other, "speed")
        if time.size < 200:
            continue
        delay, told = delay_between(*pair(run, time), step=float(time[1] - time[0]))
        if told < _TOLD or abs(delay) < _SHORTEST_DELAY[late]:
            continue
        shifted = ("latitude", "longitude", "position_x", "position_y", "course", "altitude")
        names = shifted if late == "latitude" else (late,)
        said = "position" if late == "latitude" else late.replace("_", " ")
        yield Fault(
            key=f"delay {said}",
            text=f"{_capital(said)} comes {abs(delay):.2f} s {'after' if delay > 0.0 else 'before'} "
            f"{other.replace('_', ' ')}.",
            remedy="it is moved by that time",
            mend=partial(_moved, names=names, by=-delay),
        )


def common_time(run: Run, *names: str) -> Array:
    """Return even times that channels share, 50 a second [s]."""
    start = max(float(run[name].time[0]) for name in names)
    end = min(float(run[name].time[-1]) for name in names)
    return np.arange(start, end, 0.02)


def delay_between(late: Array, early: Array, *, step: float) -> tuple[float, float]:
    """Return by how much one row comes after another [s], and the correlation it then has with it.

    Parameters
    ----------
    late, early : (n,) evenly sampled; missing values count as the mean.
    step : between values. [s]

    Notes
    -----
    The peak of the cross-correlation, by a parabola through it and its neighbours.
    """
    rows = [np.nan_to_num(one - np.nanmean(one)) for one in (late, early)]
    size = rows[0].size
    most = min(int(_LONGEST_DELAY / step), size // 4)
    lags = np.arange(-most, most + 1)
    # What overlaps at a lag is compared with its own size, else the ends would draw the peak aside.
    energy = [np.concatenate([[0.0], np.cumsum(one**2)]) for one in rows]
    first, last = np.maximum(lags, 0), size + np.minimum(lags, 0)
    own = energy[0][last] - energy[0][first]
    other = energy[1][last - lags] - energy[1][first - lags]
    if np.any(own <= 0.0) or np.any(other <= 0.0):
        return 0.0, 0.0
    part = cross_correlation(rows[0], rows[1])[size - 1 + lags] / np.sqrt(own * other)
    top = int(np.argmax(part))
    if not 0 < top < part.size - 1:
        return 0.0, 0.0
    before, at, after = part[top - 1 : top + 2]
    bend = before - 2.0 * at + after
    shift = 0.5 * (before - after) / bend if bend < 0.0 else 0.0
    return float((top - most + shift) * step), float(at)


def _sideways_pair(run: Run, time: Array) -> tuple[Array, Array]:
    return run["lateral_acceleration"].at(time), run["yaw_rate"].at(time) * run["speed"].at(time)


def _along_pair(run: Run, time: Array) -> tuple[Array, Array]:
    from scipy.ndimage import uniform_filter1d

    # Both smoothed alike, so that neither is delayed by it.
    speed, along = (np.nan_to_num(run[name].at(time)) for name in ("speed", "longitudinal_acceleration"))
    change = np.gradient(uniform_filter1d(speed, 21), time)
    return uniform_filter1d(change, 21), uniform_filter1d(uniform_filter1d(along, 21), 21)


def _position_pair(run: Run, time: Array) -> tuple[Array, Array]:
    from scipy.ndimage import uniform_filter1d

    x, y = (uniform_filter1d(np.nan_to_num(run[name].at(time)), 21) for name in ("position_x", "position_y"))
    speed = np.hypot(np.gradient(x, time), np.gradient(y, time))
    return speed, uniform_filter1d(np.nan_to_num(run["speed"].at(time)), 21)


def _moved(run: Run, *, names: Sequence[str], by: float) -> Run:
    moved = [
        Channel(name=name, time=run[name].time + by, values=run[name].values) for name in names if name in run
    ]
    return run.with_channels(*moved)
