"""A measured road surface: heights under the left and the right wheels against distance."""

from dataclasses import dataclass
from pathlib import Path
from typing import Final

import numpy as np

from fourpatch.errors import TrackError
from fourpatch.track.columns import Column, columns_text, read_columns, refuse_rows
from fourpatch.track.road import POINTS_PER_WAVELENGTH, FloatArray, require_positive
from fourpatch.units import Unit

HIGHEST_FREQUENCY: Final = 30.0
"""Up to which a profile must excite the car: twice the wheel hop of most cars.  Chosen here. [Hz]"""

SHORTEST_CONTACT: Final = 0.1
"""Contact length of a lightly loaded tyre; waves as short as that are averaged to nothing. [m]"""

GAP: Final = 2.5
"""How many times the usual spacing two points may be apart; beyond it road is missing.  Chosen here."""

COLUMNS: Final = (
    Column(name="distance", unit=Unit("m", "m", -1e5, 1e5)),
    Column(name="left", unit=Unit("m", "mm", -0.3, 0.3)),
    Column(name="right", unit=Unit("m", "mm", -0.3, 0.3)),
)
"""Of a profile's file.  Heights are bumps only, so within 0.3 m: hills belong to the track's elevation."""


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class SurfaceProfile:
    """Measured heights of a stretch of road.

    The arrays are copied and made read-only.

    Raises
    ------
    TrackError
        If the rows differ in length or hold fewer than two points, distances do not rise, or there is a gap.
    """

    distance: FloatArray
    """From the start of the stretch, rising, shape (n,). [m]"""
    left: FloatArray
    """Height under the left wheels, z up, shape (n,). [m]"""
    right: FloatArray
    """Height under the right wheels, z up, shape (n,). [m]"""

    def __post_init__(self) -> None:
        """Copy the rows, make them read-only, refuse what cannot be a profile."""
        for name in ("distance", "left", "right"):
            row = np.array(getattr(self, name), dtype=np.float64)
            if row.ndim != 1 or row.shape != np.shape(self.distance):
                raise TrackError(
                    f"surface profile: {name} has shape {row.shape}, distance {np.shape(self.distance)}; "
                    "each distance needs one height per side. Give rows of the same length."
                )
            if not np.all(np.isfinite(row)):
                bad = int(np.flatnonzero(~np.isfinite(row))[0])
                raise TrackError(
                    f"surface profile: {name} of point {bad + 1} is {row[bad]}: a gap. Fill it in, or cut "
                    "the profile there."
                )
            row.setflags(write=False)
            object.__setattr__(self, name, row)
        faults = distance_faults(self.distance)
        if faults:
            raise TrackError("\n".join(f"surface profile: point {at + 1} {text}" for at, text in faults))

    def __eq__(self, other: object) -> bool:
        """Say whether another profile has exactly the same points."""
        if not isinstance(other, SurfaceProfile):
            return NotImplemented
        names = ("distance", "left", "right")
        return all(np.array_equal(getattr(self, name), getattr(other, name)) for name in names)

    @property
    def coarsest(self) -> float:
        """Largest distance [m] between neighbouring points."""
        return float(np.max(np.diff(self.distance)))

    def mirrored(self) -> "SurfaceProfile":
        """Return the profile with left and right exchanged."""
        return SurfaceProfile(distance=self.distance, left=self.right, right=self.left)

    def reversed(self, length: float) -> "SurfaceProfile":
        """Return the profile of a stretch of a length [m] as it is driven the other way."""
        return SurfaceProfile(
            distance=(length - self.distance)[::-1], left=self.right[::-1], right=self.left[::-1]
        )


def coarsest_spacing(*, speed: float) -> float:
    """Return the coarsest spacing at which a profile still tells what a car feels of it at a speed.

    Parameters
    ----------
    speed : the slowest at which it is driven. [m/s]

    Returns
    -------
    float
        Largest distance between points. [m]

    Raises
    ------
    TrackError
        If the speed is not positive.

    Notes
    -----
    At speed V a wave of length L shakes the car at V/L.  Waves up to `HIGHEST_FREQUENCY` matter, so down to
    L = V / 30 Hz, but none shorter than the contact patch, which averages them out; each needs
    `POINTS_PER_WAVELENGTH` points.  So max(V / 30 Hz, 0.1 m) / 4: 0.083 m at 10 m/s, 0.33 m at 40 m/s.  Slow
    driving asks for a finer profile than fast driving.

    Source: derived here; 30 Hz and 0.1 m are chosen here.

    >>> f"{coarsest_spacing(speed=40.0):.3f} m"
    '0.333 m'
    """
    require_positive(speed, name="slowest speed", unit="m/s", remedy="Give the slowest of the section.")
    return max(speed / HIGHEST_FREQUENCY, SHORTEST_CONTACT) / POINTS_PER_WAVELENGTH


def distance_faults(distance: FloatArray) -> list[tuple[int, str]]:
    """Return what is wrong with a profile's distances: place counted from 0, and the rest of a sentence."""
    if distance.size < 2:
        return [(0, "is the only one; a profile needs two points or more. Add the others.")]
    step = np.diff(distance)
    usual = float(np.median(step))
    faults = []
    for place in np.flatnonzero(~((step > 0.0) & (step <= GAP * abs(usual)))):
        if step[place] <= 0.0:
            text = (
                f"lies {-step[place]:.4g} m before the one above; distances must rise, or a height would "
                "have two values. Sort the points and delete repeated ones."
            )
        else:
            text = (
                f"lies {step[place]:.4g} m after the one above, where points are mostly {usual:.3g} m apart: "
                "a gap. Measure it again, or cut the profile there."
            )
        faults.append((int(place) + 1, text))
    return faults


def load_surface_profile(path: Path) -> SurfaceProfile:
    """Read a measured surface from CSV: columns distance, left, right, each with its unit in the heading.

    Raises
    ------
    FileError
        If the file cannot be read or says something that cannot be meant, with every line at fault.
    """
    rows = read_columns(path, COLUMNS)
    refuse_rows(path, rows, distance_faults(rows.columns["distance"]))
    return SurfaceProfile(**rows.columns)


def surface_profile_text(profile: SurfaceProfile) -> str:
    """Return a profile's file; it reads back to exactly the same profile."""
    return columns_text(COLUMNS, (profile.distance, profile.left, profile.right))
