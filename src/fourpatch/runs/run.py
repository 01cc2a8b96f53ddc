"""A run and its channels: the same of a rig, a drive, a lap and a recording."""

from collections.abc import Mapping
from dataclasses import dataclass, field, replace
from typing import Literal

import numpy as np
from numpy.typing import NDArray

from fourpatch.errors import RunError
from fourpatch.events.phase import Phase
from fourpatch.runs.channels import CHANNELS, OF_WHEELS, ChannelKind

Array = NDArray[np.float64]

Source = Literal["rig", "drive", "recording"]


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class Channel:
    """What one channel says, on its own clock.

    Raises
    ------
    RunError
        If the name is none of the list, or the rows do not belong together.
    """

    name: str
    """As in `channels.CHANNELS`, which says its unit and sign."""
    time: Array
    """When each value holds, rising, shape (n,). [s]"""
    values: Array
    """SI; shape (n,), or (n, 4) for FL, FR, RL, RR; not a number where nothing is known."""

    def __post_init__(self) -> None:
        """Refuse what is no channel."""
        if self.name not in CHANNELS:
            raise RunError(f'"{self.name}" is no channel; docs/json.md lists them. Use one of those names.')
        due = (self.time.size, 4) if self.name in OF_WHEELS else (self.time.size,)
        if self.time.ndim != 1 or self.values.shape != due:
            raise RunError(
                f"{self.name}: values of shape {self.values.shape} for times of shape {self.time.shape}; "
                f"{due} is due. Give one row of values for each time."
            )

    @property
    def kind(self) -> ChannelKind:
        """Unit and meaning."""
        return CHANNELS[self.name]

    @property
    def interval(self) -> float:
        """Usual time between two values. [s]"""
        return float(np.median(np.diff(self.time))) if self.time.size > 1 else float("nan")

    def at(self, time: Array) -> Array:
        """Read the channel at other times, linear in between.

        Parameters
        ----------
        time : (m,). [s]

        Returns
        -------
        Array
            (m,) or (m, 4); not a number before the first and after the last value, and beside missing ones.
        """
        if time is self.time:
            return self.values
        columns = self.values.reshape(self.time.size, -1).T
        read = [np.interp(time, self.time, column, left=np.nan, right=np.nan) for column in columns]
        return np.stack(read, axis=-1).reshape(time.size, *self.values.shape[1:])


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class Run:
    """What one car did: a piece of the rig, of the drive, or a recording."""

    name: str
    """Of the event or the file."""
    source: Source
    """What the numbers come from."""
    setup: str
    """Name of the set-up; empty if nobody said."""
    channels: Mapping[str, Channel]
    """By name."""
    phases: tuple[Phase, ...] = field(default=())
    """Named stretches of time, in order."""

    def __getitem__(self, name: str) -> Channel:
        """Return a channel.

        Raises
        ------
        RunError
            If the run has not got it; the text names it.
        """
        self.need(name, to="read it")
        return self.channels[name]

    def __contains__(self, name: str) -> bool:
        """Say whether the run has a channel."""
        return name in self.channels

    def need(self, *names: str, to: str) -> None:
        """Refuse to go on without channels.

        Parameters
        ----------
        to : what they are needed for, the end of "To ...".

        Raises
        ------
        RunError
            With all that are missing and what each is.
        """
        missing = [name for name in names if name not in self.channels]
        if missing:
            listed = "; ".join(f"{_words(name)} ({CHANNELS[name].meaning})" for name in missing)
            raise RunError(f"{self.name} has no {listed}. To {to}, record it or say which column it is.")

    def with_channels(self, *channels: Channel) -> "Run":
        """Return the same run with channels added, or others in the place of those of the same name."""
        return replace(self, channels={**self.channels, **{one.name: one for one in channels}})

    def between(self, start: float, end: float) -> "Run":
        """Return what happened from one time to another [s]; the clock goes on."""
        kept = {}
        for name, one in self.channels.items():
            part = slice(*np.searchsorted(one.time, [start - 1e-9, end + 1e-9]).tolist())
            kept[name] = Channel(name=name, time=one.time[part], values=one.values[part])
        phases = tuple(
            Phase(one.name, max(one.start, start), min(one.end, end))
            for one in self.phases
            if one.end > start and one.start < end
        )
        return replace(self, channels=kept, phases=phases)


def _words(name: str) -> str:
    return name.replace("_", " ")
