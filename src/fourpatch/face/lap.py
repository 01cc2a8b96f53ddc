"""A quasi-steady lap, and what may be asked of it."""

from dataclasses import dataclass
from typing import TYPE_CHECKING

from fourpatch.analysis.lap_summary import PROFILE_UNITS, LapStudy, LapSummary, profile_rows
from fourpatch.analysis.track_corners import track_corners
from fourpatch.car.car import Car
from fourpatch.face.numbers import Numbers
from fourpatch.face.series import Series

if TYPE_CHECKING:
    import pandas as pd
    import xarray as xr
    from matplotlib.figure import Figure


@dataclass(frozen=True, slots=True, kw_only=True, repr=False, eq=False)
class Lap:
    """A lap at the limit, place by place."""

    car: Car
    """As it stands."""
    study: LapStudy
    named: str
    """Names of car and set-up."""
    use: float
    """Of the worse axle's grip. [1]"""

    @property
    def source(self) -> str:
        """What was computed, and how."""
        grip = f"{100.0 * self.use:g} % of the grip"
        return f"{self.named}; {self.study.track.name}, {grip}, computed quasi-steadily"

    @property
    def lap_time(self) -> float:
        """From the start line round to it, or to the end of an open track. [s]"""
        return self.study.summary.lap_time

    @property
    def summary(self) -> LapSummary:
        """The lap in numbers."""
        return self.study.summary

    @property
    def corners(self) -> Series:
        """How it passes each corner."""
        corners = self.study.summary.corners
        return Series(title=self.source, members=corners, names=[f"turn {one.corner}" for one in corners])

    @property
    def dataset(self) -> "xr.Dataset":
        """The lap place by place, along the distance driven."""
        import xarray as xr

        rows = profile_rows(self.study.profile)
        labelled = {
            name: ("distance", row, {"units": unit, "long_name": PROFILE_UNITS[name][1]})
            for name, (row, unit) in rows.items()
        }
        return xr.Dataset(labelled, attrs={"source": self.source}).set_coords("distance")

    def phases(self) -> Numbers:
        """Return the phases of each corner: who runs out of grip first, and how stable the car is there."""
        found = track_corners(self.car, self.study.profile, self.summary.corners)
        title = f"{self.source}; phases computed on the rig"

        def draw() -> "Figure":
            from fourpatch.picture.track_corners import track_corners_figure

            question = "Which axle runs out first in each corner, and is the car stable there?"
            return track_corners_figure(found, question=question, source=title)

        return Numbers(title=title, dataset=found, draw=draw)

    def to_dataframe(self) -> "pd.DataFrame":
        """Return a row for each place of the lap, in SI."""
        return self.dataset.to_dataframe()

    def plot(self) -> "Figure":
        """Draw the speed along the lap, and what holds the car back."""
        from fourpatch.picture.lap import lap_figure

        question = "How fast is the car along the lap, and what holds it back?"
        return lap_figure(self.study, question=question, source=self.source)

    def __repr__(self) -> str:
        """Print short."""
        return f"<lap of {self.source}: {self.lap_time:.2f} s>"

    def _repr_html_(self) -> str:
        return self.summary._repr_html_() + self.corners._repr_html_()
