"""Which frequencies of a rough road move the load: the run on the rig over the linear model's line."""

import numpy as np
import xarray as xr
from matplotlib.figure import Figure

from fourpatch.picture.palette import BODY, FRONT, REAR
from fourpatch.picture.sheet import new_sheet, styled

_HIGHEST = 40.0  # [Hz]


def ride_spectrum_figure(measured: xr.Dataset, linear: xr.Dataset, *, question: str, source: str) -> Figure:
    """Draw the square roots of the spectra of front and rear tyre load.

    Parameters
    ----------
    measured, linear : of `analysis.ride_spectrum`.
    """
    lowest = max(float(linear.frequency[0]), float(measured.frequency[1]))
    with styled():
        figure = new_sheet(8.4, 6.2, question=question, source=source)
        panels = figure.subplots(2, 1, sharex=True, sharey=True)
        for axes, axle, corners, pen in zip(
            panels, ("front", "rear"), (["FL", "FR"], ["RL", "RR"]), (FRONT, REAR), strict=True
        ):
            for found, label, color, dash, width in (
                (linear, "linear model, endless road", BODY.color, "-", BODY.width),
                (measured, "rig, this run (Welch)", pen.color, pen.dash, pen.width),
            ):
                inside = (found.frequency >= lowest) & (found.frequency <= _HIGHEST)
                density = np.sqrt(found.tyre_load.sel(corner=corners).mean("corner")).where(inside, drop=True)
                axes.plot(
                    density.frequency, density, color=color, linestyle=dash, linewidth=width, label=label
                )
            axes.set_title(f"load of a {axle} tyre [N/\u221aHz]")
            axes.legend(loc="upper left", fontsize=8.5)
        panels[1].set_ylim(bottom=0.0)
        panels[1].set_xscale("log")
        panels[1].set_xlim(lowest, _HIGHEST)
        ticks = [tick for tick in (0.5, 1, 2, 3, 5, 10, 20, 40) if lowest <= tick <= _HIGHEST]
        panels[1].set_xticks(ticks, [f"{tick:g}" for tick in ticks])
        panels[1].minorticks_off()
        panels[1].set_xlabel("frequency of the bumps under the wheels [Hz]")
    return figure
