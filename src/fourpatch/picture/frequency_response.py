"""How the car answers a wavy road: load, wheel travel and body motion against frequency."""

from typing import NamedTuple

import numpy as np
import xarray as xr
from matplotlib.axes import Axes
from matplotlib.figure import Figure
from numpy.typing import NDArray
from scipy.signal import find_peaks

from fourpatch.picture.palette import BODY, FRONT, REAR, Pen
from fourpatch.picture.sheet import new_sheet, styled

Array = NDArray[np.float64]


class _Motion(NamedTuple):
    """A motion of the body and how it is shown."""

    name: str
    words: str
    unit: str
    scale: float


_PROMINENT = 0.02
"""Rise of a peak above its surroundings, over the largest value, from which on it is named. [1]"""

_HEAVE = _Motion("heave_acceleration", "body's vertical acceleration", "m/s²", 1.0)
_BODY_MOTIONS = {
    "left against right": _Motion("roll_acceleration", "body's roll acceleration", "deg/s²", 180.0 / np.pi),
    "front against rear": _Motion("pitch_acceleration", "body's pitch acceleration", "deg/s²", 180.0 / np.pi),
}


def frequency_response_figure(response: xr.Dataset, *, question: str, source: str) -> Figure:
    """Draw sizes of tyre load, wheel travel and the body's acceleration per millimetre of road.

    Parameters
    ----------
    response : of `analysis.frequency_response`; the left wheels are drawn, and of the body the motion that
        this road stirs most.
    """
    frequency = response.frequency.values
    with styled():
        figure = new_sheet(8.4, 7.4, question=question, source=source)
        load, travel, body = figure.subplots(3, 1, sharex=True)
        for name, axes, scale in (("tyre_load", load, 1e-3), ("travel", travel, 1.0)):
            front, rear = (
                np.abs(response[name].sel(corner=corner).values) * scale for corner in ("FL", "RL")
            )
            _draw(axes, frequency, front, FRONT, label="front wheels", other=rear)
            _draw(axes, frequency, rear, REAR, label="rear wheels", other=front)
        motion = _BODY_MOTIONS.get(str(response.attrs["road"]), _HEAVE)
        size = np.abs(response[motion.name].values) * 1e-3 * motion.scale
        _draw(body, frequency, size, BODY, label="body", other=np.zeros_like(size))
        load.set_title("tyre load [N per mm of road]")
        travel.set_title("wheel travel [mm per mm of road]")
        body.set_title(f"{motion.words} [{motion.unit} per mm of road]")
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


def _draw(axes: Axes, frequency: Array, size: Array, pen: Pen, *, label: str, other: Array) -> None:
    """Draw a curve and name its peaks, on the side where the other curve is not."""
    axes.plot(frequency, size, color=pen.color, linestyle=pen.dash, linewidth=pen.width, label=label)
    peaks, found = find_peaks(size, prominence=_PROMINENT * size.max())
    for peak in peaks[np.argsort(-found["prominences"])][:2]:
        axes.plot(frequency[peak], size[peak], marker=pen.marker, color=pen.color, markersize=4.5)
        above = size[peak] >= other[peak]
        axes.annotate(
            f"{frequency[peak]:.1f} Hz",
            (frequency[peak], size[peak]),
            xytext=(0, 4 if above else -5),
            textcoords="offset points",
            ha="right" if pen is FRONT else "left",
            va="bottom" if above else "top",
            fontsize=8,
            color=pen.color,
        )
    axes.margins(y=0.2)
