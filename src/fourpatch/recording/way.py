"""A run along the way it went: distance driven, the time at each place, and how the way bent."""

from dataclasses import dataclass
from typing import Final

import numpy as np
from numpy.typing import NDArray

from fourpatch.errors import RunError
from fourpatch.runs.run import Run

Array = NDArray[np.float64]

SPACING: Final = 1.0
"""Between places along the way. [m]"""

_STEP = 0.02  # of the time at which a run is read for it [s]
_SMOOTHED = 0.3  # width of the mean over which the bend is smoothed [s]
_LAID_THROUGH = 2.4  # length of path through which a parabola is laid, unless positions come too slowly [s]
_SLOWEST = 3.0  # below which yaw rate over speed says nothing of the way [m/s]


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class Way:
    """What a run drove, at even distances; rows of shape (n,)."""

    distance: Array
    """Driven since the first place. [m]"""
    time: Array
    """When the car was there. [s]"""
    speed: Array
    """[m/s]"""
    curvature: Array
    """Of the path, left positive. [1/m]"""
    x: Array | None
    """To the east of the first place, if positions are recorded. [m]"""
    y: Array | None
    """To the north. [m]"""

    def when(self, distance: float | Array) -> Array:
        """Return when the car had driven so far [s]."""
        return np.asarray(np.interp(distance, self.distance, self.time))

    def part(self, start: float, end: float) -> slice:
        """Return the places between two distances [m]."""
        first, last = np.searchsorted(self.distance, [start - 1e-6, end + 1e-6])
        return slice(int(first), int(last))


def way_of(run: Run) -> Way:
    """Return the way of a run.

    Raises
    ------
    RunError
        If it has neither speed nor positions, nor anything that says how it turned, or the car never moves.

    Notes
    -----
    Distance is the integral of speed, recorded or from positions. The path bends by yaw rate over speed, else
    by lateral acceleration over speed squared, else as positions do; smoothed over 0.3 s. The body's own
    turning against its path, the change of sideslip, is left out: in a bend that is held it is none.
    """
    time = _times(run)
    speed, turn = _planar(run, time)
    moved = np.concatenate([[0.0], np.cumsum(0.5 * (speed[1:] + speed[:-1]) * _STEP)])
    if moved[-1] < 50.0:
        raise RunError(
            f"{run.name}: the car moves {moved[-1]:.0f} m in all, so there is no way to part. Check the "
            "column and the unit of the speed."
        )
    curvature = np.where(speed > _SLOWEST, turn / np.maximum(speed, _SLOWEST), 0.0)
    distance = np.arange(0.0, moved[-1], SPACING)
    # Where the car stands, many times share a place: the last one is when it drives off.
    moved = moved + 1e-9 * np.arange(moved.size)
    at = np.interp(distance, moved, time)
    x = y = None
    if "position_x" in run and "position_y" in run:
        x, y = (_filled(run[name].at(at)) for name in ("position_x", "position_y"))
    return Way(
        distance=distance,
        time=at,
        speed=np.interp(at, time, speed),
        curvature=np.interp(at, time, curvature),
        x=x,
        y=y,
    )


def _times(run: Run) -> Array:
    rows = [one.time for name, one in run.channels.items() if name in _TIMED and one.time.size > 1]
    if not rows:
        run.need("speed", "yaw_rate", to="follow its way")
    return np.arange(max(one[0] for one in rows), min(one[-1] for one in rows), _STEP)


_TIMED = frozenset(
    {"speed", "forward_velocity", "yaw_rate", "lateral_acceleration", "position_x", "position_y"}
)


def _planar(run: Run, time: Array) -> tuple[Array, Array]:
    """Return speed [m/s] and yaw rate [rad/s] of the path at even times."""
    told = next((name for name in ("speed", "forward_velocity") if name in run), None)
    turned = next((name for name in ("yaw_rate", "lateral_acceleration") if name in run), None)
    if told is None or turned is None:
        run.need("position_x", "position_y", to="follow its way without speed and yaw rate")
        speed, turn = _from_positions(run, time)
        if told is None and turned is None:
            return speed, turn
    if told is not None:
        speed = np.maximum(_filled(run[told].at(time)), 0.0)
    if turned is not None:
        turn = _smoothed(_filled(run[turned].at(time)))
        if turned == "lateral_acceleration":
            turn = turn / np.maximum(speed, _SLOWEST)
    return speed, turn


def _from_positions(run: Run, time: Array) -> tuple[Array, Array]:
    """Return speed and yaw rate of the path by parabolas laid through positions (Savitzky-Golay)."""
    from scipy.signal import savgol_filter

    width = max(_LAID_THROUGH, 6.0 * run["position_x"].interval)
    places = 2 * round(0.5 * width / _STEP) + 1
    if time.size < places:
        return np.zeros(time.size), np.zeros(time.size)
    x, y = (_filled(run[name].at(time)) for name in ("position_x", "position_y"))
    (vx, vy), (ax, ay) = (
        [np.asarray(savgol_filter(row, places, 3, deriv=order, delta=_STEP)) for row in (x, y)]
        for order in (1, 2)
    )
    speed = np.hypot(vx, vy)
    turn = (vx * ay - vy * ax) / np.maximum(speed, _SLOWEST) ** 2
    return speed, np.where(speed > _SLOWEST, turn, 0.0)


def _smoothed(row: Array, width: float = _SMOOTHED) -> Array:
    from scipy.ndimage import uniform_filter1d

    return np.asarray(uniform_filter1d(row, max(round(width / _STEP), 1), mode="nearest"))


def _filled(row: Array) -> Array:
    """Bridge missing values linearly: along the way there is no gap."""
    known = np.isfinite(row)
    if known.all() or not known.any():
        return np.nan_to_num(row)
    places = np.arange(row.size)
    return np.interp(places, places[known], row[known])
