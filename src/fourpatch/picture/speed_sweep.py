"""The car settled at each speed: ride heights, downforce, tyre loads and aerodynamic balance."""

from collections.abc import Callable, Sequence
from math import nan

from matplotlib.axes import Axes
from matplotlib.figure import Figure

from fourpatch.analysis.quantity import Axles
from fourpatch.analysis.speed_sweep import AtSpeed
from fourpatch.picture.palette import AXLES, BODY, QUIET
from fourpatch.picture.sheet import new_sheet, styled

_LEAST_SPAN = 4.0
"""Of the axis of aerodynamic balance. [%]"""


def speed_sweep_figure(sweep: Sequence[AtSpeed], *, question: str, source: str) -> Figure:
    """Draw a speed sweep in four panels, front and rear axle in each."""
    speeds = [at.speed * 3.6 for at in sweep]
    with styled():
        figure = new_sheet(9.6, 6.6, question=question, source=source)
        panels = figure.subplots(2, 2, sharex=True)
        (height, force), (load, balance) = panels
        _draw(height, speeds, [Axles(*(1e3 * h for h in at.ride_height)) for at in sweep])
        height.set_title("ride height [mm]")
        _draw(force, speeds, [at.downforce for at in sweep])
        force.set_title("downforce at the axle [N]")
        _draw(load, speeds, [_mean_loads(at) for at in sweep])
        load.set_title("load of one tyre, mean of left and right [N]")
        balance.set_title("front part of the downforce [%]")
        _draw_balance(balance, speeds, sweep)
        for axes in (height, force, load):
            axes.margins(y=0.12)
        height.set_xlim(speeds[0], speeds[-1])
        if min(min(at.downforce) for at in sweep) >= 0.0:
            force.set_ylim(bottom=0.0)
        for axes in panels[1]:
            axes.set_xlabel("speed [km/h]")
        height.legend(loc="best", fontsize=8.5)
    return figure


def _draw_balance(axes: Axes, speeds: Sequence[float], sweep: Sequence[AtSpeed]) -> None:
    """Draw the front part of the downforce, or say why there is none."""
    if min(min(at.downforce) for at in sweep) < 0.0:
        axes.set_yticks([])
        axes.text(
            0.5,
            0.5,
            "an axle lifts: the downforce\nhas no front part in per cent",
            transform=axes.transAxes,
            ha="center",
            va="center",
            color=QUIET,
        )
        return
    shares = [nan if at.aero_balance is None else 100.0 * at.aero_balance for at in sweep]
    axes.plot(speeds, shares, color=BODY.color, linewidth=BODY.width)
    axes.margins(y=0.12)
    low, high = axes.get_ylim()
    if high - low < _LEAST_SPAN:  # else a tenth of a percent would fill the panel
        axes.set_ylim(0.5 * (low + high - _LEAST_SPAN), 0.5 * (low + high + _LEAST_SPAN))


def _mean_loads(at: AtSpeed) -> Axles:
    load = at.tyre_load
    return Axles(0.5 * (load.FL + load.FR), 0.5 * (load.RL + load.RR))


def _draw(axes: Axes, speeds: Sequence[float], values: Sequence[Axles]) -> None:
    ends: tuple[tuple[str, Callable[[Axles], float]], ...] = (
        ("front", lambda pair: pair.front),
        ("rear", lambda pair: pair.rear),
    )
    for name, end in ends:
        pen = AXLES[name]
        series = [end(pair) for pair in values]
        axes.plot(
            speeds, series, color=pen.color, linestyle=pen.dash, linewidth=pen.width, label=f"{name} axle"
        )
