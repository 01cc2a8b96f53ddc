"""Rules of thumb on one car: how each turned out at each corner speed, on roads and over kerbs."""

from collections.abc import Sequence
from typing import NamedTuple

from matplotlib.axes import Axes
from matplotlib.figure import Figure
from matplotlib.lines import Line2D

from fourpatch.advice.rules.quantities import QUANTITIES
from fourpatch.advice.rules.rule import CORNERS, KERBS, ROADS, TURN_INS
from fourpatch.advice.rules.verdict import Cell, CheckedClaim, CheckedRule, joined
from fourpatch.picture.palette import INK, OUTCOMES, SHADE
from fourpatch.picture.sheet import new_sheet, styled
from fourpatch.picture.shown import measure_of, pretty, shown

_COLUMNS = {
    "slow corner": (CORNERS[0],),
    "medium corner": (CORNERS[1], "step steer"),
    "fast corner": (CORNERS[2],),
    "slow turn-in": (TURN_INS[0],),
    "medium turn-in": (TURN_INS[1],),
    "fast turn-in": (TURN_INS[2],),
    "roads": ROADS,
    "kerbs": KERBS,
}
"""Columns, and the events behind each."""

_TOLD = {
    "agrees": "agrees",
    "against": "the opposite, or costs more",
    "mixed": "not the same throughout",
    "hardly": "hardly measurable",
}


class _Mark(NamedTuple):
    outcome: str
    label: str


def rules_figure(checked: Sequence[CheckedRule], *, named: str) -> Figure:
    """Draw how each rule turned out: a row per rule, a column per corner speed and kind of road.

    Parameters
    ----------
    named : the car and its set-up.
    """
    with styled():
        figure = new_sheet(
            11.0,
            max(1.9 + 0.27 * len(checked), 3.0),
            question="Which rules of thumb hold on this car?",
            source=f"{named}, on the rig. Beside each mark: the largest effect of the change as said.",
        )
        axes = figure.subplots()
        axes.grid(visible=False)
        axes.tick_params(length=0)
        for row, one in enumerate(checked):
            if row % 2:
                axes.axhspan(row - 0.5, row + 0.5, color=SHADE, linewidth=0.0, zorder=0)
            _draw(axes, row, one)
        axes.set_yticks(range(len(checked)), [f"{one.rule.name}: {one.verdict}" for one in checked])
        axes.set_ylim(len(checked) - 0.5, -0.5)
        axes.set_xticks(range(len(_COLUMNS)), [name.replace(" ", "\n") for name in _COLUMNS])
        axes.xaxis.tick_top()
        axes.set_xlabel("[pt: points of balance, or of grip used or lost]", fontsize=9)
        axes.set_xlim(-0.4, len(_COLUMNS) - 0.15)
        figure.legend(
            handles=[
                Line2D(
                    [],
                    [],
                    linestyle="",
                    marker=pen.marker,
                    color=pen.color,
                    markerfacecolor=pen.face,
                    markersize=4.5 if kind == "hardly" else 7.0,
                    label=_TOLD[kind],
                )
                for kind, pen in OUTCOMES.items()
            ],
            loc="outside lower center",
            ncols=len(OUTCOMES),
            fontsize=9,
        )
    return figure


def _draw(axes: Axes, row: int, one: CheckedRule) -> None:
    for column, events in enumerate(_COLUMNS.values()):
        mark = _mark(one, events)
        if mark is None:
            continue
        pen = OUTCOMES[mark.outcome]
        axes.plot(
            column,
            row,
            linestyle="",
            marker=pen.marker,
            color=pen.color,
            markerfacecolor=pen.face,
            markersize=4.5 if mark.outcome == "hardly" else 7.0,
        )
        axes.annotate(
            mark.label,
            (column, row),
            xytext=(7, 0),
            textcoords="offset points",
            va="center",
            fontsize=7.0,
            color=INK,
        )


def _mark(one: CheckedRule, events: Sequence[str]) -> _Mark | None:
    """Return what the first claim of a rule about some events came to."""
    for claim in one.claims:
        cells = [cell for cell in claim.cells if cell.event in events]
        outcome = joined({cell.outcome for cell in cells})
        if outcome != "unknown":
            said = [cell for cell in cells if not cell.back] or cells
            return _Mark(outcome, _label(claim, max(said, key=lambda cell: cell.weight)))
    return None


def _label(checked: CheckedClaim, cell: Cell) -> str:
    if checked.claim.way == "smoother is wider":
        return f"{cell.value:.0f} times"
    unit = QUANTITIES[checked.claim.quantity].unit
    if unit == "1":
        return f"{shown(100.0 * cell.value, 'points', signed=True)} pt"
    name = {"points": "pt"}.get(unit, pretty(measure_of(unit).shown))
    return f"{shown(cell.value, unit, signed=True)} {name}"
