"""The load of the four tyres against time, laid out as the car is seen from above."""

from collections.abc import Sequence

import numpy as np
import xarray as xr
from matplotlib.axes import Axes
from matplotlib.figure import Figure
from numpy.typing import NDArray

from fourpatch.events.phase import Phase
from fourpatch.picture.palette import CORNERS, INK, QUIET
from fourpatch.picture.sheet import new_sheet, shade_phases, styled

Array = NDArray[np.float64]

PLACES = ("FL", "FR", "RL", "RR")
"""In the order of the panels: front up, left on the left."""

_FULL = {"FL": "front left", "FR": "front right", "RL": "rear left", "RR": "rear right"}


def tyre_load_figure(history: xr.Dataset, phases: Sequence[Phase], *, question: str, source: str) -> Figure:
    """Draw the tyre loads of one car.

    Parameters
    ----------
    history : of `runs.history`, with one set-up.
    """
    load = history.tyre_load.squeeze() / 1e3
    time = history.time.values
    with styled():
        figure = new_sheet(10.0, 6.4, question=question, source=source)
        panels = figure.subplots(2, 2, sharex=True, sharey=True)
        for place, axes in zip(PLACES, panels.flat, strict=True):
            # Solid at either axle: its panel says which wheel it is, and dashes hide spikes.
            pen, series = CORNERS[place], load.sel(corner=place).values
            axes.set_xlim(time[0], time[-1])
            axes.plot(time, series, color=pen.color, linewidth=pen.width)
            axes.axhline(series[0], color=QUIET, linewidth=0.9, linestyle=":")
            front = place in ("FL", "FR")
            axes.set_title(f"{place}, {_FULL[place]}", pad=16 if front else 6)
            _name_extremes(axes, time, series)
            shade_phases(axes, phases, named=front)
        top = float(load.max())
        panels[0, 0].set_ylim(0.0, 1.35 * top)  # room for the names of short phases
        for axes in panels[:, 0]:
            axes.set_ylabel("tyre load [kN]")
        for axes in panels[1]:
            axes.set_xlabel("time [s]")
    return figure


def _name_extremes(axes: Axes, time: Array, series: Array) -> None:
    """Write the largest and smallest load where they occur."""
    low = series.min() > 0.1 * series.max()  # else the text would hang below the axis
    for place, above in ((int(np.argmax(series)), True), (int(np.argmin(series)), not low)):
        axes.annotate(
            f"{series[place]:.2f}",
            (time[place], series[place]),
            xytext=(0, 4 if above else -4),
            textcoords="offset points",
            ha="center" if place > 0.05 * time.size else "left",
            va="bottom" if above else "top",
            fontsize=8,
            color=INK,
        )
