"""A kerb and what the car makes of it: road, wheels, body, and the load of the tyres."""

from collections.abc import Sequence

import numpy as np
import xarray as xr
from matplotlib.axes import Axes
from matplotlib.figure import Figure
from numpy.typing import NDArray

from fourpatch.events.phase import Phase
from fourpatch.picture.palette import BODY, CORNERS, EARTH, GROUND, INK, QUIET, ROAD
from fourpatch.picture.sheet import new_sheet, shade_phases, styled

Array = NDArray[np.float64]

_FULL = {"FL": "front left", "FR": "front right", "RL": "rear left", "RR": "rear right"}


def kerb_figure(history: xr.Dataset, phases: Sequence[Phase], *, question: str, source: str) -> Figure:
    """Draw one side of the car over a kerb: heights above, tyre load below, front and rear wheel.

    Parameters
    ----------
    history : of `runs.history`, with one set-up; the side with the higher kerb is drawn.
    """
    one = history.squeeze()
    road = one.road_height
    side = "L" if float(road.sel(corner="FL").max()) >= float(road.sel(corner="FR").max()) else "R"
    places = ("F" + side, "R" + side)
    end = _calm(one, places, one.time.values)
    one = one.sel(time=slice(0.0, end))
    time = one.time.values
    with styled():
        figure = new_sheet(10.0, 6.8, question=question, source=source)
        panels = figure.subplots(2, 2, sharex=True, sharey="row", height_ratios=(1.15, 1.0))
        for place, (heights, loads) in zip(places, panels.T, strict=True):
            heights.set_xlim(time[0], end)
            heights.set_title(f"{place}, {_FULL[place]}", pad=16)
            _draw_heights(heights, one, place, time)
            _draw_load(loads, one.tyre_load.sel(corner=place).values / 1e3, place, time)
            shade_phases(heights, phases, named=True)
            shade_phases(loads, phases, named=False)
            loads.set_xlabel("time [s]")
        panels[0, 0].set_ylabel("height from static [mm]")
        panels[1, 0].set_ylabel("tyre load [kN]")
        panels[1, 0].set_ylim(bottom=0.0)
        panels[0, 0].set_ylim(*_reach(one, places))
        panels[0, 1].legend(loc="upper right", fontsize=8.5)
    return figure


def _calm(one: xr.Dataset, places: Sequence[str], time: Array) -> float:
    """Return when loads and body have come to rest, a little later. [s]"""
    load = one.tyre_load.sel(corner=list(places)).values
    restless = np.abs(load - load[0]) > 0.03 * load[0]
    last = int(np.flatnonzero(restless.any(axis=1))[-1]) if restless.any() else time.size - 1
    return float(min(time[last] + 0.15, time[-1]))


def _reach(one: xr.Dataset, places: Sequence[str]) -> tuple[float, float]:
    """Return the ends of the heights' axis: all that moves, and some earth below it. [mm]"""
    wheel = one.wheel_height.sel(corner=list(places))
    all_heights = [
        wheel,
        wheel - one.travel.sel(corner=list(places)),
        one.road_height.sel(corner=list(places)),
    ]
    low, high = min(float(h.min()) for h in all_heights), max(float(h.max()) for h in all_heights)
    return 1e3 * low - 5.0, 1e3 * high + 5.0


def _draw_heights(axes: Axes, one: xr.Dataset, place: str, time: Array) -> None:
    road = one.road_height.sel(corner=place).values * 1e3
    wheel = one.wheel_height.sel(corner=place).values * 1e3
    # Travel is wheel against body, so the body over the wheel stands at their difference.
    body = wheel - one.travel.sel(corner=place).values * 1e3
    bends = np.r_[True, np.abs(np.diff(road, 2)) > 1e-3, True]  # a straight needs its ends alone
    axes.fill_between(
        time[bends],
        -1e3,
        road[bends],
        color=EARTH,
        linewidth=0.0,
        label="road as the tyre feels it",
        zorder=1,
    )
    axes.plot(time, road, color=ROAD.color, linewidth=1.0)
    pen = CORNERS[place]  # solid at either axle: its panel says which wheel it is, and dashes hide spikes
    axes.plot(time, wheel, color=pen.color, linewidth=pen.width, label="wheel")
    axes.plot(time, body, color=BODY.color, linewidth=BODY.width, label="body over the wheel")
    heave = one.heave.values * 1e3
    axes.plot(time, heave, color=QUIET, linewidth=1.0, linestyle=":", label="body's centre of gravity")


def _draw_load(axes: Axes, load: Array, place: str, time: Array) -> None:
    pen = CORNERS[place]
    axes.plot(time, load, color=pen.color, linewidth=pen.width)
    axes.axhline(load[0], color=QUIET, linewidth=0.9, linestyle=":")
    peak = int(np.argmax(load))
    axes.annotate(
        f"{load[peak]:.1f} kN",
        (time[peak], load[peak]),
        xytext=(5, 0),
        textcoords="offset points",
        va="center",
        fontsize=8,
        color=INK,
    )
    off = load <= 0.0
    if off.any():
        lost = float(off.mean() * (time[-1] - time[0]))
        for start, stop in _runs(off):
            axes.fill_between(time[[start, stop]], 0.0, 0.06 * load.max(), color=INK, linewidth=0.0)
        axes.annotate(
            f"off the road\nfor {lost * 1e3:.0f} ms",
            (time[off][-1], 0.03 * load.max()),
            xytext=(14, 10),
            textcoords="offset points",
            arrowprops={"arrowstyle": "-", "color": QUIET, "linewidth": 0.8},
            fontsize=8,
            color=INK,
            bbox={"facecolor": GROUND, "edgecolor": "none", "pad": 1.0},
        )


def _runs(off: NDArray[np.bool_]) -> list[tuple[int, int]]:
    """Return first and last place of every run of true values."""
    edges = np.flatnonzero(np.diff(np.r_[False, off, False].astype(int)))
    return [(int(start), int(after) - 1) for start, after in edges.reshape(-1, 2)]
