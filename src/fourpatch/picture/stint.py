"""A stint: temperatures, pressures, wear and fuel, lap time and balance against the lap."""

from collections.abc import Sequence

import numpy as np
from matplotlib.axes import Axes
from matplotlib.figure import Figure
from matplotlib.ticker import MaxNLocator
from numpy.typing import NDArray

from fourpatch.advice.stint_draws import StintSpread
from fourpatch.analysis.stint import Stint
from fourpatch.picture.palette import AXLES, BODY, QUIET, ROAD
from fourpatch.picture.sheet import new_sheet, styled

Array = NDArray[np.float64]

_SIDES = {"front": slice(0, 2), "rear": slice(2, 4)}


def stint_figure(stint: Stint, sure: StintSpread | None, *, question: str, source: str) -> Figure:
    """Draw a stint in six panels; front and rear are the mean of left and right.

    Bars at the right: what two thirds of the plausible cars come to at the end.
    """
    laps = [one.lap for one in stint.laps]
    conditions = [one.condition for one in stint.laps]
    air = stint.conditions.air - 273.15
    with styled():
        figure = new_sheet(10.4, 8.6, question=question, source=source)
        panels = figure.subplots(3, 2, sharex=True)
        (tread, gas), (pressure, worn), (time, balance) = panels
        ends = None if sure is None else sure
        _draw(tread, laps, [air + one.rise[:, 0] for one in conditions], ends and ends.tread - 273.15)
        tread.set_title("treads [°C]")
        _draw(gas, laps, [air + one.rise[:, 1] for one in conditions], None)
        gas.set_title("carcass and gas [°C]")
        _draw(pressure, laps, [one.pressure / 1e5 for one in stint.laps], ends and ends.pressure / 1e5)
        pressure.set_title("pressure [bar]")
        _draw(worn, laps, [100.0 * one.worn for one in conditions], ends and 100.0 * ends.worn)
        worn.set_title("tread worn, and fuel burnt of that on board [%]")
        fuel = np.array([one.fuel for one in conditions])
        worn.plot(
            laps, 100.0 * (1.0 - fuel / fuel[0]), color=ROAD.color, linestyle=":", marker="D", markersize=3
        )
        worn.annotate(
            "fuel ",
            (laps[-1], 100.0 * (1.0 - fuel[-1] / fuel[0])),
            xytext=(-6, -3),
            textcoords="offset points",
            ha="right",
            color=ROAD.color,
            fontsize=8.5,
        )
        _line(time, laps, [one.profile.lap_time for one in stint.laps])
        time.set_title("lap time, quasi-steady [s]")
        _line(balance, laps, [one.alike.balance for one in stint.laps])
        balance.set_title("balance in corners [points, understeer up]")
        for axes in panels[2]:
            axes.set_xlabel("lap [1]")
            axes.xaxis.set_major_locator(MaxNLocator(integer=True))
            axes.axvline(stint.warm.lap, color=QUIET, linewidth=0.8)
        time.annotate(
            " warm",
            (stint.warm.lap, 1.0),
            xycoords=("data", "axes fraction"),
            va="top",
            fontsize=8.5,
            color=QUIET,
        )
        tread.legend(loc="best", fontsize=8.5)
    return figure


def _draw(axes: Axes, laps: Sequence[int], rows: Sequence[Array], ends: Array | None) -> None:
    values = np.array(rows)
    for k, (end, side) in enumerate(_SIDES.items()):
        pen = AXLES[end]
        axes.plot(
            laps,
            values[:, side].mean(axis=1),
            color=pen.color,
            linestyle=pen.dash,
            marker=pen.marker,
            markersize=3.5,
            label=end,
        )
        if ends is not None:
            low, high = np.percentile(ends[:, side].mean(axis=1), [16.0, 84.0])
            place = laps[-1] + (0.02 + 0.02 * k) * (laps[-1] - laps[0])
            axes.plot([place, place], [low, high], color=pen.color, linewidth=3.0, alpha=0.6, clip_on=False)
    axes.margins(y=0.12)


def _line(axes: Axes, laps: Sequence[int], values: Sequence[float]) -> None:
    axes.plot(laps, values, color=BODY.color, linewidth=BODY.width, marker="o", markersize=3.5)
    axes.margins(y=0.12)
