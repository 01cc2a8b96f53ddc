"""A centre line from recorded curvature, such as yaw rate over speed."""

import math
from dataclasses import dataclass
from pathlib import Path
from typing import Annotated, Final, Literal

import numpy as np
from numpy.typing import NDArray
from pydantic import Field, InstanceOf

from fourpatch.document.part import Part
from fourpatch.errors import TrackError
from fourpatch.track.centre_line import ClothoidChain
from fourpatch.track.closing import closing_error, least_change
from fourpatch.track.columns import Column, columns_text, read_columns, refuse_rows
from fourpatch.track.drawn_line import DrawnLine, renamed
from fourpatch.track.road import FloatArray
from fourpatch.units import Unit

MOST_TURN: Final = math.radians(60.0)
"""By how much the line may turn from one row to the next before a corner is told too coarsely.  Chosen here.
[rad]"""

COLUMNS: Final = (
    Column(name="distance", unit=Unit("m", "m", 0.0, 1e5)),
    Column(name="curvature", unit=Unit("1/m", "1/m", -0.5, 0.5)),
)
"""Of a curvature file."""


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class CurvatureTable:
    """Curvature against distance, linear in between.

    The arrays are copied and made read-only.

    Raises
    ------
    TrackError
        If the rows differ in length, or the distances do not begin at 0 and rise.
    """

    distance: FloatArray
    """From the start line, shape (n,). [m]"""
    curvature: FloatArray
    """Positive to the left, shape (n,). [1/m]"""

    def __post_init__(self) -> None:
        """Copy the rows, make them read-only, refuse what cannot be a line."""
        for name in ("distance", "curvature"):
            row = np.array(getattr(self, name), dtype=np.float64)
            row.setflags(write=False)
            object.__setattr__(self, name, row)
        if self.distance.ndim != 1 or self.distance.shape != self.curvature.shape:
            raise TrackError(
                f"curvature has shape {self.curvature.shape}, distance {self.distance.shape}; each distance "
                "needs one curvature. Give rows of the same length."
            )
        faults = table_faults(self.distance, self.curvature)
        if faults:
            raise TrackError("\n".join(f"curvature: point {at + 1} {text}" for at, text in faults))

    def __eq__(self, other: object) -> bool:
        """Say whether another table has exactly the same rows."""
        if not isinstance(other, CurvatureTable):
            return NotImplemented
        return np.array_equal(self.distance, other.distance) and np.array_equal(
            self.curvature, other.curvature
        )

    def chain(self, curvature: FloatArray, *, closed: bool) -> ClothoidChain:
        """Return the line with this table's distances and some curvature [1/m] at each."""
        return ClothoidChain(
            lengths=np.diff(self.distance),
            start_curvature=curvature[:-1],
            end_curvature=curvature[1:],
            closed=closed,
        )


class CurvatureLine(Part):
    """A centre line from a table of curvature against distance."""

    kind: Literal["curvature"] = "curvature"
    closed: bool = True
    """Whether it is a lap: the end is the start."""
    largest_change: Annotated[float, Unit("1/m", "1/m", 0.0, 0.01)] = 2e-4
    """By which curvature may be changed anywhere so that a lap closes: to make up for drift."""
    file: str = Field(min_length=1)
    """CSV beside the track file with the columns distance and curvature."""
    table: InstanceOf[CurvatureTable]
    """What that file holds."""

    def draw(self) -> DrawnLine:
        """Lay the line along the curvature and close a lap.

        Raises
        ------
        TrackError
            If a lap does not close within `largest_change`.

        Notes
        -----
        Least integral over distance of the squared change of curvature, under the condition that the lap
        closes.  Linearised, such a change is a constant, which takes out a drift of the yaw rate, and terms
        proportional to x and y.

        Source: derived here.
        """
        if not self.closed:
            return DrawnLine(self.table.chain(self.table.curvature, closed=False), "as given")
        given = self.table.chain(self.table.curvature, closed=True)
        error = closing_error(given)
        share = _shares(self.table.distance)

        def movement(chain: ClothoidChain) -> tuple[NDArray[np.complex128], FloatArray]:
            return 1j * (chain.corners[-1] - chain.corners) * share, share

        curvature = least_change(
            self.table.curvature, share, lambda new: self.table.chain(new, closed=True), movement
        )
        change = float(np.max(np.abs(curvature - self.table.curvature)))
        if change > self.largest_change:
            raise TrackError(
                f"the line does not close: {error}. To close it, curvature would change by up to "
                f"{change:.2g} 1/m, more than largest_change = {self.largest_change:.2g} 1/m. Check the "
                f'recording, whether it is just one lap, or allow it: largest_change = "{1.1 * change:.2g} '
                '1/m".'
            )
        return DrawnLine(
            self.table.chain(curvature, closed=True),
            f"{error}; closed by changing curvature by up to {change:.2g} 1/m",
        )

    def mirrored(self) -> "CurvatureLine":
        """Return the same line with left and right exchanged."""
        return self._with("mirrored", self.table.distance, -self.table.curvature)

    def reversed(self) -> "CurvatureLine":
        """Return the same line driven from its end to its start."""
        backward = self.table.distance[-1] - self.table.distance[::-1]
        return self._with("reversed", backward, -self.table.curvature[::-1])

    def _with(self, what: str, distance: FloatArray, curvature: FloatArray) -> "CurvatureLine":
        return CurvatureLine(
            closed=self.closed,
            largest_change=self.largest_change,
            file=renamed(self.file, what),
            table=CurvatureTable(distance=distance, curvature=curvature),
        )


def table_faults(distance: FloatArray, curvature: FloatArray) -> list[tuple[int, str]]:
    """Return what is wrong with a table of curvature: place counted from 0, and the rest of a sentence."""
    if distance.size < 3:
        return [(0, "is one of fewer than three; a line needs more. Give points every 1 to 10 m.")]
    faults = []
    if distance[0] != 0.0:
        faults.append((0, f"lies at {distance[0]:.4g} m; distance counts from the start line. Begin with 0."))
    step = np.diff(distance)
    for place in np.flatnonzero(~(step > 0.0)):
        text = f"lies {-step[place]:.4g} m before the one above; distances must rise. Sort the points."
        faults.append((int(place) + 1, text))
    turn = np.abs(0.5 * step * (curvature[1:] + curvature[:-1]))
    for place in np.flatnonzero(turn > MOST_TURN):
        text = (
            f"lies {step[place]:.4g} m after the one above, and the line turns by "
            f"{math.degrees(turn[place]):.0f} deg between them; {math.degrees(MOST_TURN):.0f} deg is the "
            "most that can be told so. Give points closer together, or check the unit."
        )
        faults.append((int(place) + 1, text))
    return faults


def load_curvature_table(path: Path) -> CurvatureTable:
    """Read curvature from CSV: columns distance, curvature, each with its unit in the heading.

    Raises
    ------
    FileError
        If the file cannot be read or says something that cannot be meant, with every line at fault.
    """
    rows = read_columns(path, COLUMNS)
    refuse_rows(path, rows, table_faults(rows.columns["distance"], rows.columns["curvature"]))
    return CurvatureTable(**rows.columns)


def curvature_table_text(table: CurvatureTable) -> str:
    """Return a curvature file; it reads back to exactly the same table."""
    return columns_text(COLUMNS, (table.distance, table.curvature))


def _shares(distance: FloatArray) -> FloatArray:
    """Length of line that belongs to each row: half the steps to either side. [m]"""
    step = np.diff(distance)
    return 0.5 * (np.append(step, 0.0) + np.insert(step, 0, 0.0))
