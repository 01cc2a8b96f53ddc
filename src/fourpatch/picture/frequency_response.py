"""How the car answers a wavy road: load, wheel travel and body motion against frequency."""

import numpy as np
import xarray as xr
from matplotlib.axes import Axes
from matplotlib.figure import Figure
from numpy.typing import NDArray

from fourpatch.picture.palette import BODY, FRONT, INK, REAR, Pen
from fourpatch.picture.sheet import new_sheet, styled

Array = NDArray[np.float64]


def frequency_response_figure(response: xr.Dataset, *, question: str, source: str) -> Figure:
    """Draw sizes of tyre load, wheel travel and heave acceleration per millimetre of road.

    Parameters
    ----------
    response : of `analysis.frequency_response`; the left wheels are drawn.
    """
    frequency = response.frequency.values
    with styled():
        figure = new_sheet(8.4, 7.4, question=question, source=source)
        load, travel, body = figure.subplots(3, 1, sharex=True)
        for name, axes, scale in (("tyre_load", load, 1e-3), ("travel", travel, 1.0)):
            for label, corner, pen in (("front wheels", "FL", FRONT), ("rear wheels", "RL", REAR)):
                size = np.abs(response[name].sel(corner=corner).values) * scale
                _draw(axes, frequency, size, pen, label=label, above=pen is REAR)
        size = np.abs(response.heave_acceleration.values) * 1e-3
        _draw(body, frequency, size, BODY, label="body, at its centre of gravity", above=True)
        load.set_title("tyre load [N per mm of road]")
        travel.set_title("wheel travel [mm per mm of road]")
        body.set_title("body's vertical acceleration [m/s² per mm of road]")
        for axes in (load, travel, body):
            axes.set_xscale("log")
            axes.set_xlim(frequency[0], frequency[-1])
            axes.set_ylim(bottom=0.0)
            axes.legend(loc="upper left", fontsize=8.5)
        ticks = [f for f in (0.5, 1, 2, 3, 5, 10, 20, 30) if frequency[0] <= f <= frequency[-1]]
        body.set_xticks(ticks, [f"{tick:g}" for tick in ticks])
        body.minorticks_off()
        body.set_xlabel("frequency of the bumps under the wheels [Hz]")
    return figure


def _draw(axes: Axes, frequency: Array, size: Array, pen: Pen, *, label: str, above: bool) -> None:
    axes.plot(frequency, size, color=pen.color, linestyle=pen.dash, linewidth=pen.width, label=label)
    inner = size[1:-1]
    peaks = np.flatnonzero((inner > size[:-2]) & (inner >= size[2:])) + 1
    for peak in peaks[np.argsort(-size[peaks])][:2]:
        axes.plot(frequency[peak], size[peak], marker=pen.marker, color=pen.color, markersize=4.5)
        axes.annotate(
            f"{frequency[peak]:.1f} Hz",
            (frequency[peak], size[peak]),
            xytext=(0, 5 if above else -5),
            textcoords="offset points",
            ha="center",
            va="bottom" if above else "top",
            fontsize=8,
            color=INK,
        )
    axes.margins(y=0.18)
