"""What a layout and a line share: rows at even distances that nobody changes."""

from dataclasses import dataclass, fields

import numpy as np

from fourpatch.track.road import FloatArray


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class EvenRows:
    """Rows at even distances, read-only, of the shape (n,). Of a lap the last place is the first again."""

    closed: bool
    """Whether it is a lap."""
    distance: FloatArray
    """From the start line, in a level plane: 0 to the length. [m]"""

    def __post_init__(self) -> None:
        """Make the rows read-only."""
        for one in fields(self):
            value = getattr(self, one.name)
            if isinstance(value, np.ndarray):
                value.setflags(write=False)

    @property
    def length(self) -> float:
        """From start to end, once round a lap. [m]"""
        return float(self.distance[-1])

    @property
    def spacing(self) -> float:
        """Distance between places. [m]"""
        return self.length / (self.distance.size - 1)
