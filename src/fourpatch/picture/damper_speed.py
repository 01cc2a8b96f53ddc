"""The damper-speed histograms of the four corners, laid out as the car is seen from above."""

import xarray as xr
from matplotlib.figure import Figure

from fourpatch.picture.palette import CORNERS, QUIET
from fourpatch.picture.sheet import new_sheet, styled
from fourpatch.picture.tyre_loads import PLACES


def damper_speed_figure(found: xr.Dataset, *, question: str, source: str) -> Figure:
    """Draw the share of time in each bin of damper speed, on the same axes for all corners.

    Parameters
    ----------
    found : of `analysis.damper_speed`, of one set-up.
    """
    split, width = 1e3 * float(found.attrs["split"]), 1e3 * float(found.attrs["bin_width"])
    with styled():
        figure = new_sheet(10.0, 6.4, question=question, source=source)
        panels = figure.subplots(2, 2, sharex=True, sharey=True)
        for place, axes in zip(PLACES, panels.flat, strict=True):
            one = found.sel(corner=place)
            axes.bar(1e3 * one.damper_speed, 100.0 * one.share, width=0.9 * width, color=CORNERS[place].color)
            for edge in (-split, split):
                axes.axvline(edge, color=QUIET, linewidth=0.9, linestyle=":")
            shares = (
                ("rebound", 0.02, "left", one.high_rebound, one.low_rebound),
                ("bump", 0.98, "right", one.high_bump, one.low_bump),
            )
            for side, x, align, high, low in shares:
                axes.annotate(
                    f"{side}\nfast {100.0 * float(high):.0f} %\nslow {100.0 * float(low):.0f} %",
                    (x, 0.96),
                    xycoords="axes fraction",
                    ha=align,
                    va="top",
                    fontsize=8.5,
                )
            axes.set_title(place)
        for axes in panels[:, 0]:
            axes.set_ylabel("share of the time [%]")
        for axes in panels[1]:
            axes.set_xlabel("damper speed [mm/s], bump positive")
    return figure
