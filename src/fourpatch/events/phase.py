"""Named parts of an event, and how those of a corner are told from what the car does."""

from collections.abc import Sequence
from typing import Final, NamedTuple

import numpy as np
from numpy.typing import NDArray

Array = NDArray[np.float64]


class Phase(NamedTuple):
    """A named part of an event."""

    name: str
    start: float
    """[s]"""
    end: float
    """[s]"""


PHASES: Final = ("braking", "entry", "mid", "exit")
"""Of a corner, in order; one that a corner has not is left out of its motion."""

_TOUCHED = 0.1  # of the largest brake or drive in the corner, from which on a pedal counts as used
_LEAST = 0.3  # ... and no less [m/s^2]
_WOUND_ON, _HELD = 0.1, 0.9  # of the tightest curve
_SHORTEST = 0.1  # that a braking phase lasts, and a mid where brake is followed by throttle at once [s]
_RELATED = 1.0  # before turning in, within which a brake still belongs to the corner [s]


def corner_phases(
    time: Array, *, along: Array, curvature: Array, marks: Sequence[float]
) -> tuple[Phase, ...]:
    """Return the phases of a corner; definitions in `CornerOnLap.motion`.

    Parameters
    ----------
    time : (n,) from 0, evenly. [s]
    along : (n,) acceleration. [m/s^2]
    curvature : (n,) of the path. [1/m]
    marks : when the corner begins, is taken slowest, and ends. [s]
    """
    begin, middle, end = (int(np.clip(np.searchsorted(time, mark), 0, time.size - 1)) for mark in marks)
    wound = curvature * np.sign(curvature[middle])
    wound = wound / max(float(wound[begin : end + 1].max()), 1e-9)
    turn_in = _last(wound[: middle + 1] < _WOUND_ON, begin)
    straight = middle + _first(wound[middle:] < _WOUND_ON, max(end - middle, 1))
    brake, drive = (max(_TOUCHED * float(np.max(sign * along)), _LEAST) for sign in (-1.0, 1.0))
    released = _last(along[: middle + 1] < -brake, -1)
    phases, entry = [], turn_in
    if released >= 0 and time[released] > time[turn_in] - _RELATED:
        pressed = _last(along[: released + 1] >= -brake, 0)
        if time[turn_in] - time[pressed] > _SHORTEST:
            phases.append(Phase("braking", float(time[pressed]), float(time[turn_in])))
        else:
            entry = pressed
    entered = released if released > entry else entry + _first(wound[entry:] > _HELD, 0)
    if along[entered] > drive:
        left = max(_last(wound[: min(end, straight) + 1] > _HELD, entered), entered)
    else:
        left = entered + _first(along[entered:straight] > drive, straight - entered)
    entered, left = _widened(entered, left, entry, straight, time)
    phases += [
        Phase("entry", float(time[entry]), float(time[entered])),
        Phase("mid", float(time[entered]), float(time[left])),
        Phase("exit", float(time[left]), float(time[straight])),
    ]
    return tuple(phase for phase in phases if phase.end > phase.start)


def _widened(entered: int, left: int, entry: int, straight: int, time: Array) -> tuple[int, int]:
    """Make a mid last the shortest time, within the corner."""
    lacking = int(np.ceil(_SHORTEST / (time[1] - time[0]))) - (left - entered)
    if lacking > 0:
        entered = max(entered - lacking // 2, entry)
        left = min(left + lacking - lacking // 2, straight)
    return entered, left


def _first(where: NDArray[np.bool_], otherwise: int) -> int:
    found = np.flatnonzero(where)
    return int(found[0]) if found.size else otherwise


def _last(where: NDArray[np.bool_], otherwise: int) -> int:
    found = np.flatnonzero(where)
    return int(found[-1]) if found.size else otherwise
