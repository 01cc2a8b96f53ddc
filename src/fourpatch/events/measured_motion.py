"""A motion of one's own: speed and accelerations against time, as recorded or as imagined, on the rig."""

from pathlib import Path
from typing import Annotated, Final, Literal

import numpy as np
from numpy.typing import NDArray
from pydantic import field_validator
from pydantic_core import PydanticCustomError

from fourpatch.car.car import Car
from fourpatch.document.part import Part
from fourpatch.errors import EventError, FileError
from fourpatch.events.motion import RigMotion, half_steps, planar_inputs
from fourpatch.events.phase import Phase
from fourpatch.track.columns import Column, Rows, read_columns, refuse_rows
from fourpatch.units import Unit

Array = NDArray[np.float64]

SHORTEST, LONGEST = 0.5, 300.0
"""Time a motion may take. [s]"""

WIDEST_GAP: Final = 0.2
"""Farthest that two points may be apart: a turn-in takes three times as long. Chosen here. [s]"""

COLUMNS: Final = (
    Column(name="time", unit=Unit("s", "s", -1e6, 1e7)),
    Column(name="speed", unit=Unit("m/s", "km/h", 2.0, 120.0)),
    Column(name="longitudinal_acceleration", unit=Unit("m/s**2", "m/s**2", -80.0, 60.0)),
    Column(name="lateral_acceleration", unit=Unit("m/s**2", "m/s**2", -60.0, 60.0)),
)
"""Of a motion's file. Slower than 2 m/s, lateral acceleration over speed squared tells no curvature."""

_LEAD_IN = 1.0  # of the file before the part that is looked at, if it holds as much [s]
_TURNING = 1.0  # lateral acceleration from which on the car counts as turning [m/s^2]
_BRAKING = -2.0  # longitudinal acceleration below which a straight counts as braking [m/s^2]
_KINDS = ("straight", "braking", "left turn", "right turn")
_SHORT = 0.3  # a turn or straight shorter than that belongs to the one before [s]


class MeasuredMotion(Part):
    """Follow a motion given by its speed and accelerations against time."""

    kind: Literal["measured-motion"] = "measured-motion"
    file: str
    """CSV with the columns time, speed, longitudinal_acceleration (forward positive) and lateral_acceleration
    (to the left positive), each with its unit in the heading. Beside the event file, if that names it."""
    start: Annotated[float, Unit("s", "s", -1e6, 1e7)] | None = None
    """Time of the file at which to begin; its own if left out. The second before it is driven too."""
    end: Annotated[float, Unit("s", "s", -1e6, 1e7)] | None = None
    """Time of the file at which to end; its own end if left out."""
    cutoff: Annotated[float, Unit("Hz", "Hz", 0.2, 20.0)] = 5.0
    """Faster changes of speed and accelerations are smoothed away: sensors shake, a whole car does not."""

    @field_validator("file")
    @classmethod
    def _can_be_used(cls, file: str) -> str:
        try:
            _load(Path(file))
        except FileError as error:
            said = f'is "{file}", which cannot be used:\n{error}'
            raise PydanticCustomError("quantity", "{said}", {"said": said}) from None
        return file

    def motion(self, car: Car, step: float) -> RigMotion:
        """Return what the rig does, at half steps of ``step`` [s].

        Raises
        ------
        EventError
            If the part asked for is not in the file, or too short or too long.

        Notes
        -----
        Each column is smoothed by a Gaussian mean, 3 dB down at ``cutoff``, whose ends lean on the first and
        last values, then read by a cubic spline. Curvature is lateral acceleration over speed squared; the
        car points along its path. Speed and longitudinal acceleration are taken as they are given: on a
        slope, or by a sensor's error, one need not be the rate of the other. An accelerometer in a rolling
        body also feels gravity, about 5 % of a lateral acceleration at 3 deg per g: correct for it first.

        Phases are the turns, straights and, where the car slows by more than 2 m/s^2, brakings of the part: a
        turn begins where the lateral acceleration exceeds 1 m/s^2 or changes its side; what is shorter than
        0.3 s belongs to what was before it.
        """
        columns = _load(Path(self.file)).columns
        first, last = self._part(columns["time"])
        begin = max(first - _LEAD_IN, float(columns["time"][0]))
        time = half_steps(last - begin, step)
        speed, along, across = (
            _smoothed(columns["time"], columns[column.name], self.cutoff, at=begin + time)
            for column in COLUMNS[1:]
        )
        inputs = planar_inputs(
            car,
            time,
            speed=speed,
            longitudinal_acceleration=along,
            lateral_acceleration=across,
            curvature=across / speed**2,
        )
        lead_in = (Phase("lead-in", 0.0, first - begin),) if first > begin else ()
        return RigMotion(
            name=f"motion of {Path(self.file).name}",
            step=step,
            inputs=inputs,
            store_every=max(1, round(2e-3 / step)),
            phases=(
                *lead_in,
                *_phases(time, along, across, since=first - begin, until=float(time[-1]) + step),
            ),
        )

    def _part(self, time: Array) -> tuple[float, float]:
        """Return when in the file to begin and to end [s]."""
        own = float(time[0]), float(time[-1])
        first = own[0] if self.start is None else self.start
        last = own[1] if self.end is None else self.end
        name = Path(self.file).name
        if not own[0] <= first < last <= own[1]:
            raise EventError(
                f"measured-motion: {name} runs from {own[0]:g} to {own[1]:g} s, and start and end ask for "
                f"{first:g} to {last:g} s. Choose a part of it, the end after the start."
            )
        if not SHORTEST <= last - first <= LONGEST:
            remedy = (
                "Ask for more of it" if last - first < SHORTEST else "Choose a part of it by start and end"
            )
            raise EventError(
                f"measured-motion: {first:g} to {last:g} s of {name} are {last - first:.3g} s; a run takes "
                f"{SHORTEST:g} to {LONGEST:g} s. {remedy}."
            )
        return first, last


def _load(path: Path) -> Rows:
    """Read a motion's file; refuse times that do not rise or leave gaps."""
    rows = read_columns(path, COLUMNS)
    refuse_rows(path, rows, _time_faults(rows.columns["time"]))
    return rows


def _time_faults(time: Array) -> list[tuple[int, str]]:
    if time.size < 3:
        return [(0, "has fewer than two more beside it; a motion needs more of them. Add the others.")]
    faults = []
    for place in np.flatnonzero(~((np.diff(time) > 0.0) & (np.diff(time) <= WIDEST_GAP))):
        apart = float(time[place + 1] - time[place])
        if apart <= 0.0:
            text = f"is {-apart:.4g} s before the one above; time must rise. Sort them, delete repeated ones."
        else:
            text = (
                f"is {apart:.4g} s after the one above, and a car turns in within less: up to "
                f"{WIDEST_GAP:g} s may lie between. Record at 5 Hz or more, or cut the file there."
            )
        faults.append((int(place) + 1, text))
    return faults


def _smoothed(time: Array, values: Array, cutoff: float, *, at: Array) -> Array:
    """Return a column without its changes faster than ``cutoff`` [Hz], at other times."""
    from scipy.interpolate import CubicSpline
    from scipy.ndimage import gaussian_filter1d

    width = float(np.sqrt(np.log(2.0)) / (2.0 * np.pi * cutoff))  # of the Gaussian 3 dB down there [s]
    even = np.linspace(time[0], time[-1], int(np.ceil((time[-1] - time[0]) / (0.25 * width))) + 1)
    spacing = float(even[1] - even[0])
    smooth = gaussian_filter1d(np.interp(even, time, values), width / spacing, mode="nearest")
    return np.asarray(CubicSpline(even, smooth)(np.clip(at, even[0], even[-1])))


def _phases(time: Array, along: Array, across: Array, *, since: float, until: float) -> tuple[Phase, ...]:
    """Return turns, straights and brakings between two times [s], each kind counted."""
    straight = np.where(along < _BRAKING, 1, 0)
    kind = np.where(np.abs(across) < _TURNING, straight, np.where(across > 0.0, 2, 3))
    inside = np.flatnonzero((time >= since) & (time < until))
    changes = inside[1:][np.diff(kind[inside]) != 0]
    edges = [since, *time[changes].tolist(), until]
    kept: list[tuple[float, int]] = []
    for start, end, what in zip(edges, edges[1:], kind[[inside[0], *changes]].tolist(), strict=False):
        if not kept or (end - start >= _SHORT and what != kept[-1][1]):
            kept.append((start, what))
    found: list[Phase] = []
    for (start, what), end in zip(kept, [start for start, _ in kept[1:]] + [until], strict=True):
        count = 1 + sum(phase.name.startswith(_KINDS[what]) for phase in found)
        found.append(Phase(f"{_KINDS[what]} {count}", start, end))
    return tuple(found)
