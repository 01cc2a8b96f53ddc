"""A centre line from measured points, such as a position recording of a slow lap along the middle."""

import math
from dataclasses import dataclass
from pathlib import Path
from typing import Annotated, Final, Literal

import numpy as np
from pydantic import Field, InstanceOf

from fourpatch.document.part import Part
from fourpatch.errors import TrackError
from fourpatch.track.columns import Column, columns_text, read_columns, refuse_rows
from fourpatch.track.drawn_line import DrawnLine, renamed
from fourpatch.track.road import FloatArray
from fourpatch.track.smooth_line import point_faults, smooth_line
from fourpatch.units import Unit

COLUMNS: Final = (
    Column(name="x", unit=Unit("m", "m", -1e5, 1e5)),
    Column(name="y", unit=Unit("m", "m", -1e5, 1e5)),
)
"""Of a file of points."""


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class Points:
    """Points along a centre line in driving direction, in a level plane seen from above.

    The arrays are copied and made read-only.

    Raises
    ------
    TrackError
        If the rows differ in length.
    """

    x: FloatArray
    """shape (n,). [m]"""
    y: FloatArray
    """To the left of x, shape (n,). [m]"""

    def __post_init__(self) -> None:
        """Copy the rows and make them read-only."""
        for name in ("x", "y"):
            row = np.array(getattr(self, name), dtype=np.float64)
            row.setflags(write=False)
            object.__setattr__(self, name, row)
        if self.x.ndim != 1 or self.x.shape != self.y.shape:
            raise TrackError(
                f"points: x has shape {self.x.shape}, y {self.y.shape}; each point needs both. Give rows of "
                "the same length."
            )

    def __eq__(self, other: object) -> bool:
        """Say whether another row of points is exactly the same."""
        if not isinstance(other, Points):
            return NotImplemented
        return np.array_equal(self.x, other.x) and np.array_equal(self.y, other.y)


class PointLine(Part):
    """A centre line along points that are a little off."""

    kind: Literal["points"] = "points"
    closed: bool = True
    """Whether it is a lap: the last point leads on to the first."""
    accuracy: Annotated[float, Unit("m", "m", 0.001, 5.0)] = 0.1
    """How far x and y of a point may be off, one standard deviation: the line is smoothed by so much."""
    file: str = Field(min_length=1)
    """CSV beside the track file with the columns x and y."""
    points: InstanceOf[Points]
    """What that file holds."""

    def draw(self) -> DrawnLine:
        """Lay a smooth line along the points.

        Raises
        ------
        TrackError
            If the points cannot be a line, or a lap does not turn exactly once.
        """
        x, y = self.points.x, self.points.y
        line = smooth_line(x, y, accuracy=self.accuracy, closed=self.closed)
        turned = math.degrees(line.heading_change)
        if self.closed and abs(abs(turned) - 360.0) > 1.0:
            raise TrackError(
                f"the line turns by {turned:.0f} deg in a lap; a lap that does not cross itself turns by 360 "
                "deg to one side. Check the order of the points and whether they are one lap, or write "
                "closed = false."
            )
        return DrawnLine(line, f"smoothed for points {1e3 * self.accuracy:.3g} mm off")

    def mirrored(self) -> "PointLine":
        """Return the same line with left and right exchanged."""
        return self._with("mirrored", self.points.x, -self.points.y)

    def reversed(self) -> "PointLine":
        """Return the same line driven from its end to its start; a lap keeps its first point."""
        first = int(self.closed)
        return self._with(
            "reversed",
            np.roll(self.points.x[::-1], first),
            np.roll(self.points.y[::-1], first),
        )

    def _with(self, what: str, x: FloatArray, y: FloatArray) -> "PointLine":
        return PointLine(
            closed=self.closed,
            accuracy=self.accuracy,
            file=renamed(self.file, what),
            points=Points(x=x, y=y),
        )


def load_points(path: Path) -> Points:
    """Read points from CSV: columns x, y, each with its unit in the heading.

    Raises
    ------
    FileError
        If the file cannot be read or says something that cannot be meant, with every line at fault.
    """
    rows = read_columns(path, COLUMNS)
    refuse_rows(path, rows, point_faults(rows.columns["x"], rows.columns["y"]))
    return Points(**rows.columns)


def points_text(points: Points) -> str:
    """Return a file of points; it reads back to exactly the same points."""
    return columns_text(COLUMNS, (points.x, points.y))
