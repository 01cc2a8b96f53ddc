"""Every corner of a track by its phases: balance above, stability reserve below."""

import numpy as np
import xarray as xr
from matplotlib.axes import Axes
from matplotlib.figure import Figure

from fourpatch.picture.palette import BODY, FRONT, GROUND, INK, REAR
from fourpatch.picture.sheet import new_sheet, styled


def track_corners_figure(found: xr.Dataset, *, question: str, source: str) -> Figure:
    """Draw balance and stability reserve of each corner, a column for each phase."""
    phases = [str(name) for name in found.phase.values]
    numbers = [str(name) for name in found.track_corner.values]
    with styled():
        figure = new_sheet(11.4, 5.6, question=question, source=source)
        panels = figure.subplots(2, len(phases), sharex=True, sharey="row")
        for column, name in enumerate(phases):
            one = found.sel(phase=name)
            _draw_balance(panels[0, column], np.asarray(one.balance.values))
            some = "" if np.isfinite(one.balance.values).all() else " (blank: none)"
            panels[0, column].set_title(name + some)
            _draw_reserve(panels[1, column], np.asarray(one.stability_reserve.values))
            panels[1, column].set_xticks(range(len(numbers)), numbers)
            panels[1, column].set_xlabel("corner")
        panels[0, 0].set_ylabel("balance [points]\nup: front first, down: rear first")
        panels[1, 0].set_ylabel("stability reserve [1/s]\nround: calms down,\nsquare: swings round")
    return figure


def _draw_balance(axes: Axes, balance: np.ndarray) -> None:
    places = np.arange(balance.size)
    for pen, hatch, part in ((FRONT, "", balance > 0.0), (REAR, "///", balance < 0.0)):
        axes.bar(places[part], balance[part], color=pen.color, hatch=hatch, edgecolor=GROUND, linewidth=0.0)
    axes.axhline(0.0, color=INK, linewidth=0.8)


def _draw_reserve(axes: Axes, reserve: np.ndarray) -> None:
    places = np.arange(reserve.size)
    for color, marker, part in ((BODY.color, "o", reserve <= 0.0), (REAR.color, "s", reserve > 0.0)):
        axes.plot(places[part], reserve[part], linestyle="none", marker=marker, color=color)
    axes.axhline(0.0, color=INK, linewidth=0.8)
