"""The car settled at each speed: ride heights, downforce, tyre loads and aerodynamic balance."""

from collections.abc import Callable, Sequence
from math import nan

from matplotlib.axes import Axes
from matplotlib.figure import Figure

from fourpatch.analysis.quantity import Axles
from fourpatch.analysis.speed_sweep import AtSpeed
from fourpatch.picture.palette import AXLES, BODY
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
        shares = [nan if at.aero_balance is None else 100.0 * at.aero_balance for at in sweep]
        balance.plot(speeds, shares, color=BODY.color, linewidth=BODY.width)
        balance.set_title("front part of the downforce [%]")
        for axes in panels.flat:
            axes.margins(x=0.0, y=0.12)
        if min(min(at.downforce) for at in sweep) >= 0.0:
            force.set_ylim(bottom=0.0)
        low, high = balance.get_ylim()
        if high - low < _LEAST_SPAN:  # else a tenth of a percent would fill the panel
            balance.set_ylim(0.5 * (low + high - _LEAST_SPAN), 0.5 * (low + high + _LEAST_SPAN))
        for axes in panels[1]:
            axes.set_xlabel("speed [km/h]")
        height.legend(loc="best", fontsize=8.5)
    return figure


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
