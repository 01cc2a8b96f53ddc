"""What a recording's file holds, before anyone knows which column is which channel."""

import hashlib
from collections.abc import Sequence
from dataclasses import dataclass, field
from typing import Final, Literal

import numpy as np
from numpy.typing import NDArray

Array = NDArray[np.float64]

MOST_COLUMNS: Final = 5000
"""That a recording may have; loggers write tens to hundreds."""

MOST_VALUES: Final = 300_000_000
"""That are kept in memory of one recording: 2.4 GB, forty channels at 100 Hz for twenty hours."""

MOST_NAME: Final = 200
"""Letters of a column's name that are kept."""

Format = Literal["CSV", "Parquet", "MDF 4", "GPX"]


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class RawColumn:
    """One column of numbers."""

    name: str
    """As the file has it, without the unit."""
    unit: str
    """As the file writes it; empty if it says none."""
    values: Array
    """(n,); not a number where the file has nothing."""
    clock: int = 0
    """Which of the recording's clocks its rows follow."""


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class RawRecording:
    """The columns of a file."""

    name: str
    """Of the file, without folder."""
    format: Format
    columns: tuple[RawColumn, ...]
    """Each name once."""
    clocks: tuple[Array | None, ...] = (None,)
    """Times of the rows [s], as far as the format says them; else one of the columns is the time."""
    notes: tuple[str, ...] = field(default=())
    """What was odd about the file and what was done about it, a sentence each."""
    complete: bool = True
    """Whether these are all rows of the file."""

    @property
    def layout(self) -> str:
        """Return a short name of the file's layout: the same for files with the same columns and units."""
        written = "\n".join(sorted(f"{one.name}\t{one.unit}" for one in self.columns))
        return hashlib.sha256(f"{self.format}\n{written}".encode()).hexdigest()[:16]

    def column(self, name: str) -> RawColumn:
        """Return a column by its name."""
        return next(one for one in self.columns if one.name == name)


def distinct(names: Sequence[str]) -> tuple[list[str], list[str]]:
    """Give every column a name of its own.

    Returns
    -------
    names, repeated : names with (2), (3) ... where they repeat, empty ones numbered; and which were repeated.

    >>> distinct(["speed", "", "speed"])
    (['speed', 'column 2', 'speed (2)'], ['speed'])
    """
    taken: set[str] = set()
    found, repeated = [], []
    for place, given in enumerate(names, start=1):
        name = " ".join(given.split())[:MOST_NAME] or f"column {place}"
        one, count = name, 1
        while one in taken:
            count += 1
            one = f"{name} ({count})"
        if count > 1:
            repeated.append(name)
        taken.add(one)
        found.append(one)
    return found, repeated
