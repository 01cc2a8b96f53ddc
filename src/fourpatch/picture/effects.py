"""What one step of each adjuster does to the balance of each phase: small multiples."""

import numpy as np
from matplotlib.axes import Axes
from matplotlib.figure import Figure
from matplotlib.lines import Line2D
from numpy.typing import NDArray

from fourpatch.advice.sensitivity import DIRECTIONS, EffectTable
from fourpatch.analysis.event_measures import CORNER_PHASES
from fourpatch.car.scale_words import counted
from fourpatch.picture.palette import DOWN, INK, QUIET, RULE, SHADE, UP, Pen
from fourpatch.picture.sheet import new_sheet, styled

Array = NDArray[np.float64]

MOST_ROWS = 20
"""Adjusters in one figure; those with the smaller effects are left to the table."""

_PENS: dict[int, Pen] = {-1: DOWN, 1: UP}
_SEEN = 0.05
"""Change from which on a row is drawn, and its value written beside its mark. [points]"""


def effect_figure(table: EffectTable, event: str) -> Figure:
    """Draw the change of balance in each phase of one corner for one step of each adjuster either way.

    Parameters
    ----------
    event : name of the corner.
    """
    places = [table.index(f"{event}.{phase}.balance") for phase in CORNER_PHASES]
    largest = table.largest(places)
    swings = _largest_swings(table, event)
    moved = np.maximum(largest, np.nanmax(np.abs(swings), axis=1, initial=0.0))
    rows = [int(k) for k in np.argsort(-moved, kind="stable") if moved[k] >= _SEEN][:MOST_ROWS]
    reach = 1.6 * max(float(moved.max()), 0.01)
    with styled():
        figure = new_sheet(
            13.0,
            max(1.9 + 0.27 * len(rows), 3.4),
            question=f"What does one step do to the balance in the {event}?",
            source=f"{table.car}, set-up {table.setup}, on the rig, same motion for all. Balance: share of "
            "its grip that the front uses, less that of the rear.",
        )
        panels = figure.subplots(1, len(CORNER_PHASES) + 1, sharex=True, sharey=True)
        panels[-1].set_title("swing: largest for\na moment, any phase", fontsize=9.5)
        _draw(panels[-1], swings[rows])
        for phase, place, axes in zip(CORNER_PHASES, places, panels[:-1], strict=True):
            axes.set_title(f"{phase}\nnow {table.present[place]:+.1f}", fontsize=9.5)
            _draw(axes, table.effects[rows][:, :, place])
            axes.set_xlim(-reach, reach)
        panels[0].set_yticks(range(len(rows)), [_label(table, k) for k in rows])
        panels[0].set_ylim(len(rows) - 0.5, -0.5)
        figure.supxlabel(
            "change of balance [points]      \u2190 towards oversteer  |  towards understeer \u2192",
            fontsize=9,
            color=INK,
        )
        figure.legend(
            handles=[
                Line2D(
                    [], [], linestyle="", marker=p.marker, color=p.color, markerfacecolor=p.face, label=text
                )
                for p, text in ((UP, "one step up"), (DOWN, "one step down"))
            ],
            loc="upper right",
            ncols=2,
            fontsize=9,
        )
    return figure


def _largest_swings(table: EffectTable, event: str) -> Array:
    """Largest momentary change of the balance over the phases, with its sign, (adjusters, 2). [points]"""
    places = [table.index(f"{event}.{phase}.balance_swing") for phase in CORNER_PHASES]
    swings = table.effects[:, :, places]
    largest = np.argmax(np.nan_to_num(np.abs(swings)), axis=2)
    return np.asarray(np.take_along_axis(swings, largest[:, :, None], axis=2)[:, :, 0])


def _label(table: EffectTable, place: int) -> str:
    one = table.adjusters[place]
    return f"{one.name}  \u00b1 {counted(one.step, one.unit)}"


def _draw(axes: Axes, effects: Array) -> None:
    """Draw one phase: a row per adjuster, a mark per direction, joined across zero."""
    axes.axvline(0.0, color=QUIET, linewidth=0.9)
    axes.grid(axis="y", visible=False)
    axes.tick_params(axis="y", length=0)
    for row, pair in enumerate(effects):
        if row % 2:
            axes.axhspan(row - 0.5, row + 0.5, color=SHADE, linewidth=0.0, zorder=0)
        known = pair[np.isfinite(pair)]
        axes.plot([min(0.0, *known), max(0.0, *known)], [row, row], color=RULE, linewidth=1.6, zorder=1)
        for direction, value in zip(DIRECTIONS, pair, strict=True):
            pen = _PENS[direction]
            axes.plot(
                value,
                row,
                linestyle="",
                marker=pen.marker,
                color=pen.color,
                markerfacecolor=pen.face,
                markersize=6.0,
                zorder=3,
            )
    _name(axes, effects)


def _name(axes: Axes, effects: Array) -> None:
    """Write the values of all changes that can be seen beside their marks."""
    for row, pair in enumerate(effects):
        for value in pair:
            if np.isfinite(value) and abs(value) >= _SEEN:
                axes.annotate(
                    f"{value:+.2f}",
                    (value, row),
                    xytext=(7 if value > 0 else -7, 0),
                    textcoords="offset points",
                    ha="left" if value > 0 else "right",
                    va="center",
                    fontsize=7.0,
                    color=INK,
                )
