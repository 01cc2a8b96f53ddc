"""Laps of one driver: how far apart their times are, in which corners, and how near the rear is to going."""

import numpy as np
from matplotlib.axes import Axes
from matplotlib.figure import Figure
from matplotlib.ticker import MaxNLocator
from numpy.typing import NDArray

from fourpatch.analysis.lap_scatter import LapScatter, ScatterStudy
from fourpatch.picture.palette import BODY, DOWN, INK, QUIET, RULE, SHADE
from fourpatch.picture.sheet import new_sheet, styled

Array = NDArray[np.float64]

_CLOSE = 0.9  # part of a corner's column over which its laps are strewn, so that they do not hide each other


def lap_scatter_figure(study: ScatterStudy, *, question: str, source: str) -> Figure:
    """Draw lap times, and for each corner how far its times and its stability reserve are apart."""
    found, good = study.summary, study.laps.good
    with styled():
        figure = new_sheet(10.4, 8.6, question=question, source=source)
        times, corners, reserve = figure.subplots(3, 1, height_ratios=(1.0, 1.3, 1.3))
        _draw_times(times, study.laps.lap_time[good], found)
        if found.corners:
            corners.sharex(reserve)
            _draw_corner_times(corners, study.laps.corner_time[good], found)
            _draw_reserves(reserve, study.laps.corner_reserve[good], found)
        else:
            corners.set_visible(False)
            reserve.set_visible(False)
    return figure


def _draw_times(axes: Axes, lap_time: Array, found: LapScatter) -> None:
    low, high = (found.lap_time + side * found.lap_time_spread for side in (-1.0, 1.0))
    axes.axvspan(low, high, color=SHADE, linewidth=0.0, zorder=0)
    axes.hist(lap_time, bins="auto", color=RULE, edgecolor=QUIET, linewidth=0.8)
    axes.axvline(found.lap_time, color=BODY.color, linewidth=BODY.width)
    axes.plot(
        lap_time,
        np.zeros_like(lap_time),
        linestyle="",
        marker="|",
        markersize=9,
        color=INK,
        clip_on=False,
        zorder=3,
    )
    axes.set_title(
        f"lap times of the {found.good_laps} good laps: mean (line), one standard deviation, "
        f"{found.lap_time_spread:.3f} s, either side (shaded)"
    )
    lost = found.laps - found.good_laps
    if lost:
        axes.annotate(
            f"not shown: {lost} of {found.laps} laps left the road or were lost",
            (1.0, 1.0),
            xycoords="axes fraction",
            xytext=(-2, -2),
            textcoords="offset points",
            ha="right",
            va="top",
            fontsize=8.5,
            color=DOWN.color,
        )
        axes.margins(y=0.3)
    axes.set_ylabel("laps [1]")
    axes.yaxis.set_major_locator(MaxNLocator(integer=True))
    axes.set_xlabel("lap time [s]")
    axes.ticklabel_format(axis="x", useOffset=False)


def _draw_corner_times(axes: Axes, times: Array, found: LapScatter) -> None:
    axes.axhline(0.0, color=QUIET, linewidth=0.8)
    _strew(axes, 1e3 * (times - times.mean(axis=0)))
    spreads = 1e3 * np.array([one.spread for one in found.corners])
    _bars(axes, np.zeros_like(spreads), spreads, [f"{spread:.0f}" for spread in spreads])
    axes.set_title(
        "time in each corner, less its mean: every lap a dot, bars one standard deviation, its size written"
    )
    axes.set_ylabel("[ms]")
    axes.tick_params(labelbottom=False)


def _draw_reserves(axes: Axes, reserve: Array, found: LapScatter) -> None:
    _strew(axes, reserve)
    means = np.array([one.least_reserve for one in found.corners])
    spreads = np.array([one.least_reserve_spread for one in found.corners])
    _bars(axes, means, spreads, [f"{mean:+.1f}".replace("-", "\u2212") for mean in means])
    low, high = axes.get_ylim()
    axes.set_ylim(min(low, -0.5), max(high, 0.5))
    axes.axhspan(0.0, axes.get_ylim()[1], color=SHADE, linewidth=0.0, zorder=0)
    axes.axhline(0.0, color=QUIET, linewidth=1.2)
    axes.set_title(
        "least stability reserve in each corner; above 0 (shaded) the car would swing round if the driver "
        "held still"
    )
    axes.set_ylabel("[1/s]")
    axes.set_xticks(range(len(found.corners)), [one.corner for one in found.corners])
    axes.set_xlim(-0.6, len(found.corners) - 0.4)
    axes.set_xlabel("corner, in driving direction")


def _strew(axes: Axes, rows: Array) -> None:
    """Draw a dot per lap in each corner's column, side by side in the order of the laps."""
    laps, corners = rows.shape
    aside = _CLOSE * ((np.arange(laps) + 0.5) / laps - 0.5)
    places = np.arange(corners) + aside[:, None]
    size = 3.0 if laps <= 100 else 1.5
    axes.plot(places.ravel(), rows.ravel(), linestyle="", marker="o", markersize=size, color=QUIET, alpha=0.6)
    axes.grid(visible=False, axis="x")


def _bars(axes: Axes, middles: Array, spreads: Array, written: list[str]) -> None:
    """Draw a mean and one standard deviation either side for each corner, a number beside it."""
    places = np.arange(middles.size)
    axes.errorbar(
        places,
        middles,
        yerr=spreads,
        linestyle="",
        marker="_",
        markersize=12,
        color=BODY.color,
        elinewidth=BODY.width,
        capsize=5,
        zorder=3,
    )
    for place, middle, spread, text in zip(places, middles, spreads, written, strict=True):
        axes.annotate(
            text,
            (place, middle + spread),
            xytext=(8, 0),
            textcoords="offset points",
            fontsize=8.5,
            va="center",
            bbox={"facecolor": "white", "edgecolor": "none", "alpha": 0.8, "pad": 0.5},
        )
