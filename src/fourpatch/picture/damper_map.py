"""What each pair of bump and rebound costs: a map per event, with the set-up as it stands, and its valley."""

from collections.abc import Mapping

import numpy as np
import xarray as xr
from matplotlib.axes import Axes
from matplotlib.colors import LinearSegmentedColormap
from matplotlib.figure import Figure
from matplotlib.ticker import NullLocator

from fourpatch.analysis.damper_map import WIDEST, best_damping, good_ratios, valley
from fourpatch.picture.palette import AXLES, COST, GROUND, INK
from fourpatch.picture.sheet import new_sheet, styled

_COLUMNS = 3
_LEVELS = (0.1, 0.25, 0.5, 1.0, 2.0, 4.0, 8.0, 16.0, 32.0)  # cost above the least [points]
_FACTORS = (0.5, 1.0, 2.0)


def damper_map_figure(
    maps: Mapping[str, xr.Dataset], *, measure: str, cost: float, question: str, source: str
) -> Figure:
    """Draw what bump and rebound cost above the best pair, event by event on the same scales.

    Parameters
    ----------
    measure : of the maps, a share.
    cost : up to which a ratio of rebound to bump counts as good.
    """
    columns = 2 if len(maps) == 4 else min(len(maps), _COLUMNS)
    rows = -(-len(maps) // columns)
    with styled():
        width = 2.0 + 3.2 * max(columns, 2)
        figure = new_sheet(width, 1.7 + 3.4 * rows, question=question, source=source)
        panels = figure.subplots(rows, columns, sharex=True, sharey=True, squeeze=False)
        for axes in panels.flat[len(maps) :]:
            axes.set_visible(False)
        for number, (axes, (name, one)) in enumerate(zip(panels.flat, maps.items(), strict=False)):
            _draw(axes, one, measure, cost)
            axes.set_title(name)
            if number + columns >= len(maps):
                axes.set_xlabel("bump damping [× now]")
                axes.tick_params(labelbottom=True)
            if number % columns == 0:
                axes.set_ylabel("rebound damping [× now]")
        signs = {
            label: handle
            for axes in panels.flat
            for handle, label in zip(*axes.get_legend_handles_labels(), strict=True)
        }
        figure.legend(
            list(signs.values()), list(signs), loc="outside lower left", ncols=len(signs), fontsize=8.5
        )
    return figure


def _draw(axes: Axes, one: xr.Dataset, measure: str, cost: float) -> None:
    bump, rebound = one.bump.values, one.rebound.values
    above = 100.0 * (one[measure].values.T - float(one[measure].min()))
    levels = [level for level in _LEVELS if level < above.max()]
    ramp = LinearSegmentedColormap.from_list("cost", COST)
    shade = np.interp(above, (0.0, *_LEVELS), np.linspace(0.0, 1.0, len(_LEVELS) + 1))
    axes.contourf(bump, rebound, shade, levels=np.linspace(0.0, 1.0, 33), cmap=ramp, zorder=0.5)
    lines = axes.contour(bump, rebound, above, levels=levels, colors=INK, linewidths=0.7)
    axes.clabel(lines, fmt="%g", fontsize=7.5)
    pen = AXLES[str(one.attrs["axle"])]
    axes.plot(bump, valley(one, measure), color=pen.color, linewidth=2.0, label="best rebound for each bump")
    good = good_ratios(one, cost=cost, measure=measure)
    label = f"good ratios end: {100.0 * cost:g} points"
    for ratio, is_open in ((good.low, good.low_open), (good.high, good.high_open)):
        if not is_open:
            axes.plot(bump, ratio * bump, color=INK, linestyle=":", linewidth=1.4, label=label)
    best = best_damping(one, measure)
    axes.plot(
        best.bump,
        best.rebound,
        marker="D",
        color=INK,
        markerfacecolor=GROUND,
        markersize=7,
        linestyle="",
        label="best",
        zorder=3,
    )
    axes.plot(1.0, 1.0, marker="o", color=INK, markersize=7, linestyle="", label="as it stands", zorder=3)
    axes.set_xscale("log")
    axes.set_yscale("log")
    axes.set_xlim(1.0 / WIDEST, WIDEST)
    axes.set_ylim(1.0 / WIDEST, WIDEST)
    for axis in (axes.xaxis, axes.yaxis):
        axis.set_ticks(list(_FACTORS), [f"{factor:g}" for factor in _FACTORS])
        axis.set_minor_locator(NullLocator())
