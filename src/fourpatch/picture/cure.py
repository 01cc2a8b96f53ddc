"""What helps against a complaint and what the first set of changes moves: two panels."""

import numpy as np
from matplotlib.axes import Axes
from matplotlib.figure import Figure

from fourpatch.advice.cure import Cure, Lever
from fourpatch.picture.cure_words import way
from fourpatch.picture.palette import DOWN, INK, QUIET, RULE, SHADE, UP
from fourpatch.picture.sheet import new_sheet, styled
from fourpatch.picture.shown import measure_of, pretty

MOST_CORNERS = 6
"""Corners in the figure."""

MOST_ROWS = 15
"""Adjusters in the figure; the table has more."""


def cure_figure(found: Cure, *, rows: int = MOST_ROWS, width: float = 11.0) -> Figure:
    """Draw how far one step of each adjuster moves the first complaint, and the balance before and after.

    Parameters
    ----------
    rows : adjusters at most.
    width : [in]
    """
    target = found.targets[0]
    levers = found.levers[:rows]
    with styled():
        figure = new_sheet(
            width,
            max(2.2 + 0.27 * len(levers), 4.0),
            question=f"What cures: {target.complaint.text()}?",
            source=f"{found.table.car}, set-up {found.table.setup}, on the rig. Left: one step, the way that "
            "helps. Right: the first set, run.",
        )
        left, right = figure.subplots(1, 2, width_ratios=(1.0, 1.15))
        _draw_levers(left, found, levers)
        _draw_phases(right, found)
    return figure


def _draw_levers(axes: Axes, found: Cure, levers: tuple[Lever, ...]) -> None:
    target = found.targets[0]
    measure = measure_of(target.unit)
    axes.set_title(f"moves it the right way [{pretty(measure.shown)}]", fontsize=9.5)
    axes.grid(axis="y", visible=False)
    for row, lever in enumerate(levers):
        pen = UP if lever.direction > 0 else DOWN
        size = lever.per_step[0] / measure.scale
        axes.plot([0.0, size], [row, row], color=RULE, linewidth=1.6, zorder=1)
        axes.plot(
            size, row, linestyle="", marker=pen.marker, color=pen.color, markerfacecolor=pen.face, zorder=3
        )
        axes.annotate(
            f"{size:.3g}",
            (size, row),
            xytext=(6, 0),
            textcoords="offset points",
            va="center",
            fontsize=7.0,
            color=INK,
        )
    axes.set_yticks(
        range(len(levers)),
        [f"{found.table.adjusters[v.adjuster].name} {way(v.direction)}" for v in levers],
    )
    axes.set_ylim(max(len(levers), 1) - 0.5, -0.5)
    axes.set_xlim(left=0.0)
    axes.margins(x=0.2)
    axes.axvline(0.0, color=QUIET, linewidth=0.9)


def _shown(found: Cure) -> list[str]:
    """Return the corners complained of and one of each speed class, in their order, no more than fit."""
    corners = list(found.course.corners)
    asked = [corner for target in found.targets for corner, _ in target.phases()]
    typical = found.course.typical(corners)
    kept = set(list(dict.fromkeys([*sorted(asked, key=corners.index), *typical]))[:MOST_CORNERS])
    return [corner for corner in corners if corner in kept]


def _draw_phases(axes: Axes, found: Cure) -> None:
    """Draw the balance of every phase and corner, as it is and with the first set of changes."""
    names = found.names
    rows = [(corner, phase) for corner in _shown(found) for phase in found.course.phases[corner]]
    complained = {place for target in found.targets for place in target.phases()}
    axes.set_title("balance [points]: open before, filled after", fontsize=9.5)
    axes.axvline(0.0, color=QUIET, linewidth=0.9)
    axes.grid(axis="y", visible=False)
    for row, (corner, phase) in enumerate(rows):
        place = names.index(f"{corner}.{phase}.balance")
        before = found.table.present[place]
        after = found.sets[0].values[place] if found.sets else np.nan
        if (corner, phase) in complained:
            axes.axhspan(row - 0.5, row + 0.5, color=SHADE, linewidth=0.0, zorder=0)
        axes.plot([before, after], [row, row], color=QUIET, linewidth=1.4, zorder=2)
        axes.plot(
            before,
            row,
            linestyle="",
            marker="o",
            color=INK,
            markerfacecolor="white",
            markersize=6.0,
            zorder=3,
        )
        axes.plot(after, row, linestyle="", marker="o", color=INK, markersize=4.0, zorder=4)
    axes.set_yticks(range(len(rows)), [f"{corner}, {phase}" for corner, phase in rows])
    axes.set_ylim(len(rows) - 0.5, -0.5)
    axes.set_xlabel("\u2190 oversteer  |  understeer \u2192", fontsize=9)
