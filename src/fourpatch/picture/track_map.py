"""A track from above, to scale, and its curvature along the way."""

import numpy as np
from matplotlib.axes import Axes
from matplotlib.figure import Figure

from fourpatch.analysis.track_summary import TrackStudy
from fourpatch.picture.palette import FRONT, INK, QUIET, REAR, ROAD, SHADE
from fourpatch.picture.sheet import new_sheet, styled
from fourpatch.track.corners import Corner
from fourpatch.track.crossing import ComplexArray
from fourpatch.track.layout import TrackLayout
from fourpatch.track.plan import beside, kerb_middle, number_place

_WIDTH = 10.6  # of the sheet [in]
_MAP_HEIGHTS = (2.6, 6.4)  # least and most [in]
_STRIP_HEIGHT = 1.9  # [in]


def track_figure(study: TrackStudy, *, question: str, source: str) -> Figure:
    """Draw edges, kerbs, corners and the line of least curvature to scale, and curvature against distance."""
    layout = study.layout
    edges = beside(layout, layout.left), beside(layout, -layout.right)
    every = np.concatenate(edges)
    wide, high = np.ptp(every.real), np.ptp(every.imag)
    map_height = float(np.clip(0.9 * _WIDTH * high / wide + 0.9, *_MAP_HEIGHTS))
    with styled():
        figure = new_sheet(_WIDTH, map_height + _STRIP_HEIGHT + 1.0, question=question, source=source)
        plan, strip = figure.subplots(2, 1, height_ratios=(map_height, _STRIP_HEIGHT))
        _draw_plan(plan, study, edges)
        _draw_strip(strip, study)
    return figure


def _draw_plan(axes: Axes, study: TrackStudy, edges: tuple[ComplexArray, ComplexArray]) -> None:
    layout, line = study.layout, study.line
    left, right = edges
    around = np.concatenate((left, right[::-1]))
    axes.fill(around.real, around.imag, color=SHADE, linewidth=0.0)
    for edge in edges:
        axes.plot(edge.real, edge.imag, color=QUIET, linewidth=0.8)
    for at, kerb in enumerate(study.track.road.kerbs):
        points = kerb_middle(layout, kerb)
        label = "kerb" if at == 0 else "_"
        axes.plot(
            points.real, points.imag, color=ROAD.color, linewidth=3.2, solid_capstyle="butt", label=label
        )
    axes.plot(line.x, line.y, color=FRONT.color, linewidth=1.2, label="line of least curvature")
    for corner in study.corners:
        _number(axes, layout, corner)
    _draw_start(axes, left[0], right[0])
    axes.set_aspect("equal", adjustable="datalim")
    axes.margins(0.06)
    axes.set_title("from above, to scale")
    axes.set_xlabel("x [m]")
    axes.set_ylabel("y [m]")
    _explain(axes)


def _number(axes: Axes, layout: TrackLayout, corner: Corner) -> None:
    """Write a corner's number outside of it, where there is room."""
    point, outward = number_place(layout, corner)
    axes.annotate(
        str(corner.number),
        (point.real, point.imag),
        xytext=(11.0 * outward.real, 11.0 * outward.imag),
        textcoords="offset points",
        ha="center",
        va="center",
        fontweight="bold",
        color=INK,
    )


def _draw_start(axes: Axes, left: complex, right: complex) -> None:
    """Draw the start line, longer than the road is wide, and which way it is crossed."""
    across = left - right
    begin, end = right - 0.8 * across, left + 0.8 * across
    axes.plot([begin.real, end.real], [begin.imag, end.imag], color=REAR.color, linewidth=2.0, label="start")
    forward = across / abs(across) * -1j
    axes.annotate(
        "",
        (end.real, end.imag),
        xytext=(26.0 * forward.real, 26.0 * forward.imag),
        textcoords="offset points",
        arrowprops={"arrowstyle": "<|-", "color": REAR.color},
    )


def _draw_strip(axes: Axes, study: TrackStudy) -> None:
    layout, line = study.layout, study.line
    for corner in study.corners:
        _shade(axes, corner, layout.length)
    axes.axhline(0.0, color=QUIET, linewidth=0.8)
    axes.plot(
        layout.distance,
        layout.curvature,
        color=ROAD.color,
        linewidth=1.0,
        linestyle="--",
        label="centre line",
    )
    axes.plot(line.station, line.curvature, color=FRONT.color, linewidth=1.6, label="line of least curvature")
    axes.set_xlim(0.0, layout.length)
    axes.margins(y=0.12)
    axes.set_xlabel("distance along the centre line [m]")
    axes.set_ylabel("curvature [1/m]")
    axes.set_title("curvature, positive to the left")
    _explain(axes)


def _explain(axes: Axes) -> None:
    """Put the legend over the panel, where nothing is drawn."""
    axes.legend(
        loc="lower right", bbox_to_anchor=(1.0, 1.0), ncols=3, fontsize=8.5, borderaxespad=0.2, borderpad=0.1
    )


def _shade(axes: Axes, corner: Corner, length: float) -> None:
    """Shade a corner and number it; one over the start line in two parts."""
    parts = [(corner.start, corner.end)]
    if corner.end < corner.start:
        parts = [(corner.start, length), (0.0, corner.end)]
    for start, end in parts:
        axes.axvspan(start, end, color=SHADE, linewidth=0.0, zorder=0)
    axes.annotate(
        str(corner.number),
        (corner.apex, 0.0),
        xycoords=("data", "axes fraction"),
        xytext=(0, 3),
        textcoords="offset points",
        ha="center",
        fontsize=8,
        color=QUIET,
    )
