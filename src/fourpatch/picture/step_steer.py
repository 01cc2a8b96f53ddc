"""A step of steer and the car's answer against time."""

from collections.abc import Sequence

import numpy as np
import xarray as xr
from matplotlib.figure import Figure

from fourpatch.events.phase import Phase
from fourpatch.picture.palette import BODY, QUIET
from fourpatch.picture.sheet import new_sheet, shade_phases, styled

_PANELS = (
    ("road_wheel_angle", "road-wheel angle [deg]", 180.0 / np.pi),
    ("yaw_rate", "yaw rate [deg/s]", 180.0 / np.pi),
    ("lateral_acceleration", "lateral acceleration [m/s²]", 1.0),
    ("sideslip", "sideslip angle [deg]", 180.0 / np.pi),
)


def step_steer_figure(history: xr.Dataset, phases: Sequence[Phase], *, question: str, source: str) -> Figure:
    """Draw the steer, and how the car turns, corners and slides.

    Parameters
    ----------
    history : of `runs.history`, with one set-up, driven.
    """
    one, time = history.squeeze(), history.time.values
    with styled():
        figure = new_sheet(10.0, 6.2, question=question, source=source)
        panels = figure.subplots(2, 2, sharex=True)
        for (name, title, scale), axes in zip(_PANELS, panels.flat, strict=True):
            series = one[name].values * scale
            top = axes in panels[0]
            axes.set_xlim(time[0], time[-1])
            axes.plot(time, series, color=BODY.color, linewidth=BODY.width)
            axes.axhline(0.0, color=QUIET, linewidth=0.9)
            axes.set_title(title, pad=16 if top else 6)
            axes.margins(y=0.1)
            shade_phases(axes, phases, named=top)
        for axes in panels[1]:
            axes.set_xlabel("time [s]")
    return figure
