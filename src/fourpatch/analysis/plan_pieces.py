"""The pieces of a line that a driver thinks of: into a corner, out of a corner."""

from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray
from scipy.ndimage import uniform_filter1d

from fourpatch.analysis.driver_plan import DriverPlan
from fourpatch.analysis.driver_scatter import corner_of_places

Array = NDArray[np.float64]

_BLEND = 40.0  # over which one piece's factor goes over into the next one's [m]


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class PlanPieces:
    """Pieces in driving order, each parted from the next at a fastest or a slowest place."""

    owner: NDArray[np.intp]
    """(n,) the piece that each place of the line lies in."""
    begins: Array
    """(pieces,) along the line. [m]"""
    length: float
    """Of the line. [m]"""
    spacing: float
    """[m]"""
    closed: bool

    @property
    def count(self) -> int:
        """How many."""
        return self.begins.size

    def bounds(self, piece: int) -> tuple[float, float]:
        """Where a piece begins and ends; beyond the line's end if the start line lies between. [m]"""
        begin = float(self.begins[piece])
        if piece + 1 < self.count:
            return begin, float(self.begins[piece + 1])
        return begin, self.length + (float(self.begins[0]) if self.closed else 0.0)

    def lie_between(self, distances: Array, begin: float, end: float) -> NDArray[np.bool_]:
        """Say which distances along the line lie between two, the end beyond the line's if it goes round."""
        here = (distances >= begin) & (distances < end)
        return np.asarray(here | (distances + self.length < end) if self.closed else here)

    def window(self, piece: int) -> tuple[float, float]:
        """Where a piece begins and where the one after it ends; before it if the start line lies between."""
        after = piece + 2
        end = self.begins[after % self.count] if self.closed or after < self.count else self.length
        return float(self.begins[piece]), float(end)

    def spread(self, factors: Array) -> Array:
        """Return factors of the pieces, (cars, pieces), for every place, blended, (cars, n)."""
        places = max(1, round(_BLEND / self.spacing))
        if not self.closed:
            return np.asarray(uniform_filter1d(factors[:, self.owner], places, axis=1, mode="nearest"))
        lap = uniform_filter1d(factors[:, self.owner[:-1]], places, axis=1, mode="wrap")
        return np.column_stack([lap, lap[:, 0]])


def plan_pieces(plan: DriverPlan) -> PlanPieces:
    """Part a plan's line at the fastest places between its corners and at the slowest place of each."""
    line, speed = plan.line, plan.profile.speed
    corner = corner_of_places(plan.ceiling, line.spacing, closed=line.closed)
    last = line.distance.size - 1
    cuts = set((np.flatnonzero(np.diff(corner)) + 1).tolist())
    for number in range(int(corner.max()) + 1):
        own = np.flatnonzero(corner[:last] == number)
        cuts.add(int(own[np.argmin(speed[own])]))
    at = np.array(sorted(cut % last for cut in cuts if line.closed or 0 < cut < last), dtype=np.intp)
    if not line.closed:
        at = np.concatenate([[0], at])
    owner = np.searchsorted(at, np.arange(last + 1), side="right") - 1
    owner[owner < 0] = at.size - 1
    if line.closed:
        owner[-1] = owner[0]
    return PlanPieces(
        owner=owner,
        begins=line.distance[at],
        length=line.length,
        spacing=line.spacing,
        closed=line.closed,
    )
