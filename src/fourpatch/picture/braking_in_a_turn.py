"""Braking in a turn: how the car turns, slides and leaves its circle, against its mean deceleration."""

import numpy as np
from matplotlib.figure import Figure

from fourpatch.analysis.braking_in_a_turn import TurnBrakedValues, turn_braked_values
from fourpatch.events.braking_in_a_turn import TurnBraked
from fourpatch.picture.palette import BODY, QUIET
from fourpatch.picture.sheet import new_sheet, styled

_PANELS = (
    ("yaw_rate_ratio", "yaw rate over that on the circle, 1 s after first touch [1]", 1.0, 1.0),
    ("largest_yaw_rate_ratio", "largest yaw rate over that on the circle [1]", 1.0, 1.0),
    ("sideslip_change", "change of sideslip angle in 1 s [deg]", 180.0 / np.pi, 0.0),
    ("path_deviation", "path inside the circle after 1 s [m]", 1.0, 0.0),
)


def turn_braked_figure(braked: TurnBraked, *, question: str, source: str) -> Figure:
    """Draw characteristic values of every run; open markers where a wheel locks."""
    values = turn_braked_values(braked)
    slowing = np.array([one.mean_deceleration for one in values])
    locked = np.array([_locked(one) for one in values])
    with styled():
        figure = new_sheet(10.0, 6.6, question=question, source=source)
        panels = figure.subplots(2, 2, sharex=True)
        for (name, title, scale, circle), axes in zip(_PANELS, panels.flat, strict=True):
            series = scale * np.array([getattr(one, name) for one in values])
            axes.axhline(circle, color=QUIET, linewidth=0.9)
            axes.plot(slowing, series, color=BODY.color, linewidth=1.2)
            for which, marker, face, label in (
                (~locked, "o", BODY.color, "all wheels roll"),
                (locked, "D", "white", "a wheel locks"),
            ):
                axes.plot(
                    slowing[which],
                    series[which],
                    linestyle="none",
                    color=BODY.color,
                    marker=marker,
                    markerfacecolor=face,
                    markersize=6.0,
                    label=label,
                )
            axes.set_title(title)
            axes.margins(x=0.05, y=0.15)
        for axes in panels[1]:
            axes.set_xlabel("mean deceleration in the first second [m/s²]")
        if locked.any():
            panels[0][0].legend(loc="best", fontsize=8.5)
    return figure


def _locked(one: TurnBrakedValues) -> bool:
    return any(wheel.share > 0.0 for wheel in one.lock_up.values())
