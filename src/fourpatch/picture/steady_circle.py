"""Steady turns against lateral acceleration: steer, sideslip, roll and what each axle uses of its grip."""

import numpy as np
import xarray as xr
from matplotlib.axes import Axes
from matplotlib.figure import Figure

from fourpatch.picture.palette import AXLES, BODY, QUIET
from fourpatch.picture.sheet import new_sheet, styled

_DEGREES = 180.0 / np.pi


def steady_circle_figure(series: xr.Dataset, *, question: str, source: str) -> Figure:
    """Draw steady turns in four panels.

    Parameters
    ----------
    series : of `analysis.steady_cornering`.
    """
    size = np.abs(series.lateral_acceleration.values)
    with styled():
        figure = new_sheet(10.0, 6.6, question=question, source=source)
        (steer, use), (sideslip, roll) = figure.subplots(2, 2, sharex=True)
        steer.plot(
            size,
            series.ackermann_angle.values * _DEGREES,
            color=QUIET,
            linestyle=":",
            linewidth=1.2,
            label="wheelbase / radius",
        )
        _body(steer, size, series.road_wheel_angle.values, label="road wheels")
        steer.set_title("road-wheel angle [deg]")
        steer.legend(loc="best", fontsize=8.5)
        for axle, pen in AXLES.items():
            used = 100.0 * series.use.sel(axle=axle).values
            use.plot(
                size,
                used,
                color=pen.color,
                linestyle=pen.dash,
                linewidth=pen.width,
                marker=pen.marker,
                markersize=3.0,
                label=f"{axle} axle",
            )
        use.set_title("grip used [% of what the axle has]")
        use.set_ylim(bottom=0.0)
        use.legend(loc="upper left", fontsize=8.5)
        _body(sideslip, size, series.sideslip.values, label="body")
        sideslip.set_title("sideslip angle [deg]")
        _body(roll, size, series["roll"].values, label="body")
        roll.set_title("roll angle [deg]")
        for axes in (steer, use, sideslip, roll):
            axes.set_xlim(0.0, 1.02 * size[-1])  # room for the last mark
        for axes in (sideslip, roll):
            axes.axhline(0.0, color=QUIET, linewidth=0.9)
            axes.set_xlabel("lateral acceleration [m/s²]")
    return figure


def _body(axes: Axes, size: np.ndarray, angle: np.ndarray, *, label: str) -> None:
    axes.plot(size, angle * _DEGREES, color=BODY.color, linewidth=BODY.width, label=label)
    axes.margins(y=0.1)
