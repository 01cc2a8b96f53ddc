"""The natural motions of the car: how fast, how well damped, and what each looks like."""

from collections.abc import Sequence
from math import cos

from matplotlib.axes import Axes
from matplotlib.figure import Figure
from matplotlib.lines import Line2D

from fourpatch.analysis.modes import PURE, CarModes, Mode
from fourpatch.picture.palette import BODY, CORNERS, INK, QUIET, SHADE, Pen
from fourpatch.picture.sheet import new_sheet, styled

_SLOW = Pen(color=BODY.color, marker="o")
_FAST = Pen(color=BODY.color, marker="D", filled=False)

_PLACES = ("FL", "FR", "RL", "RR")


def modes_figure(found: CarModes, *, question: str, source: str) -> Figure:
    """Draw the seven modes in rows: frequency, damping ratio at two damper speeds, shape at the lower."""
    rows = found.low_speed
    with styled():
        figure = new_sheet(10.6, 5.6, question=question, source=source)
        frequency, damping, shape = figure.subplots(1, 3, width_ratios=(1.0, 1.0, 1.6))
        for axes in (frequency, damping, shape):
            axes.set_ylim(len(rows) - 0.5, -0.5)
            axes.set_yticks(range(len(rows)), [_called(mode) for mode in rows] if axes is frequency else [])
            axes.tick_params(axis="y", length=0)
            axes.grid(axis="y", visible=False)
            for row in range(1, len(rows), 2):
                axes.axhspan(row - 0.5, row + 0.5, color=SHADE, linewidth=0.0, zorder=0)
        for row, mode in enumerate(rows):
            if mode.undamped_frequency is not None:
                _mark(frequency, mode.undamped_frequency, row, _SLOW, f"{mode.undamped_frequency:.1f}")
        swinging = [mode.undamped_frequency for mode in rows if mode.undamped_frequency is not None]
        frequency.set_xlim(0.0, 1.3 * max(swinging, default=1.0))
        frequency.set_title("undamped frequency [Hz]")
        for modes, pen in ((found.low_speed, _SLOW), (found.high_speed, _FAST)):
            for row, mode in enumerate(modes):
                if mode.damping_ratio is not None:
                    _mark(damping, mode.damping_ratio, row, pen, "")
        damping.axvline(1.0, color=QUIET, linewidth=0.9, linestyle=":")
        damping.set_xlim(left=0.0)
        damping.set_title("damping ratio [1]")
        damping.legend(
            handles=[
                Line2D(
                    [], [], linestyle="", marker=p.marker, color=p.color, markerfacecolor=p.face, label=text
                )
                for p, text in ((_SLOW, "low damper speed"), (_FAST, "high damper speed"))
            ],
            loc="upper center",
            bbox_to_anchor=(0.5, -0.08),
            fontsize=8.5,
        )
        _draw_shapes(shape, rows)
    return figure


def _called(mode: Mode) -> str:
    """Return a mode's name, loosely where other motions have as large a part in it."""
    return mode.name if mode.participation >= PURE else f"{mode.name}, mixed"


def _mark(axes: Axes, value: float, row: int, pen: Pen, text: str) -> None:
    axes.plot(
        value, row, linestyle="", marker=pen.marker, color=pen.color, markerfacecolor=pen.face, markersize=6.5
    )
    if text:
        axes.annotate(
            text, (value, row), xytext=(8, 0), textcoords="offset points", va="center", fontsize=8, color=INK
        )


def _draw_shapes(axes: Axes, rows: Sequence[Mode]) -> None:
    """Draw how far body and wheel move at each corner at one instant, up or down."""
    axes.set_title("shape: up or down at one instant")
    columns = [(what, place) for what in ("body", "wheel") for place in _PLACES]
    for row, mode in enumerate(rows):
        for column, (what, place) in enumerate(columns):
            size, phase = getattr(getattr(mode, what), place), getattr(getattr(mode, f"{what}_phase"), place)
            x = column + (0.6 if what == "wheel" else 0.0)
            pen = CORNERS[place]
            axes.plot([x - 0.35, x + 0.35], [row, row], color=QUIET, linewidth=0.7)
            axes.bar(
                x,
                -0.42 * size * cos(phase),
                bottom=row,
                width=0.55,
                color=pen.color if what == "wheel" else "none",
                edgecolor=pen.color,
                linewidth=1.2,
                hatch="///" if place[0] == "R" and what == "body" else None,
            )
    axes.set_xticks([*range(4), *(k + 4.6 for k in range(4))], [place for _, place in columns])
    for middle, what in ((1.5, "body over the wheel"), (6.1, "wheel")):
        axes.annotate(
            what,
            (middle, 0.0),
            xycoords=("data", "axes fraction"),
            xytext=(0, -28),
            textcoords="offset points",
            ha="center",
            annotation_clip=False,
        )
    axes.grid(visible=False)
