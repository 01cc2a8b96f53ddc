"""A driven lap: its speed beside the quasi-steady one, hands and feet, place on the road, tyre loads."""

from collections.abc import Sequence

import numpy as np
from matplotlib.axes import Axes
from matplotlib.figure import Figure
from matplotlib.transforms import blended_transform_factory
from numpy.typing import NDArray
from scipy.ndimage import uniform_filter1d

from fourpatch.analysis.driven_lap import LapRows
from fourpatch.analysis.lap_drive import KerbDriven, LapDrive
from fourpatch.physics.layout import O, X
from fourpatch.picture.palette import BODY, CORNERS, DOWN, QUIET, ROAD, SHADE, UP, Pen
from fourpatch.picture.sheet import new_sheet, styled

Array = NDArray[np.float64]

_HEIGHTS = (2.4, 1.0, 1.0, 1.0, 1.3, 1.3)
_SMOOTHED = 0.3  # of a driven lap, over which loads are drawn in the mean: raw, four tyres are a thicket [s]
_SEEN = 0.006  # of the length of the line, which a kerb's bar is long at least
_SIDES = (("front", ("FL", "FR")), ("rear", ("RL", "RR")))
_RIGHT_DASH = {"front": (0, (4, 1.5)), "rear": (0, (1, 1))}
"""Left wheels are drawn solid: dashes would hide their spikes."""


def lap_drive_figure(study: LapDrive, *, question: str, source: str) -> Figure:
    """Draw a driven lap against the distance along its line."""
    rows = LapRows(study.run, 0)
    with styled():
        figure = new_sheet(11.4, 11.0, question=question, source=source)
        panels = figure.subplots(6, 1, sharex=True, height_ratios=_HEIGHTS)
        panels[0].set_xlim(0.0, study.line.length)
        for axes in panels:
            _shade_corners(axes, study)
        _draw_speed(panels[0], study, rows)
        _draw_hands(panels[1:3], study, rows)
        _draw_offset(panels[3], study, rows)
        for axes, (axle, wheels) in zip(panels[4:], _SIDES, strict=True):
            _draw_loads(axes, rows, axle, wheels)
            _mark_kerbs(axes, study, axle)
        panels[-1].set_xlabel("distance along the line [m]")
    return figure


def _spans(begin: float, end: float, length: float) -> Sequence[tuple[float, float]]:
    """Return a stretch in parts that do not cross the start line."""
    return [(begin, end)] if begin <= end else [(begin, length), (0.0, end)]


def _along(study: LapDrive, station: float) -> float:
    return float(np.interp(station, np.maximum.accumulate(study.line.station), study.line.distance))


def _shade_corners(axes: Axes, study: LapDrive) -> None:
    for corner in study.summary.corners:
        for start, end in _spans(_along(study, corner.start), _along(study, corner.end), study.line.length):
            axes.axvspan(start, end, color=SHADE, linewidth=0.0, zorder=0)


def _draw_speed(axes: Axes, study: LapDrive, rows: LapRows) -> None:
    speed, profile = 3.6 * rows.states[:, X.forward_velocity], study.plan.profile
    axes.plot(
        study.line.distance,
        3.6 * profile.speed,
        color=QUIET,
        linewidth=1.1,
        linestyle="--",
        label="quasi-steady",
    )
    axes.plot(rows.distance, speed, color=BODY.color, linewidth=BODY.width, label="driven")
    axes.set_ylim(0.0, 1.08 * 3.6 * float(profile.speed.max()))
    for corner in study.summary.corners:
        begin, end = _along(study, corner.start), _along(study, corner.end)
        inside = np.flatnonzero(rows.between(begin, end))
        if inside.size == 0:
            continue
        slowest = inside[np.argmin(speed[inside])]
        axes.annotate(
            corner.corner,
            (rows.distance[slowest], speed[slowest]),
            xytext=(0, -6),
            textcoords="offset points",
            ha="center",
            va="top",
            fontsize=8.5,
        )
    axes.set_title("speed [km/h]; corners shaded and numbered where slowest")
    _explain(axes)


def _draw_hands(panels: Sequence[Axes], study: LapDrive, rows: LapRows) -> None:
    steering, pedals = panels
    wheel = np.degrees(rows.hands[:, 0] * study.plan.car.steering.ratio)
    steering.axhline(0.0, color=QUIET, linewidth=0.8)
    steering.plot(rows.distance, wheel, color=BODY.color, linewidth=1.2)
    steering.set_title("steering wheel, left positive [deg]")
    for place, pen, label in ((1, UP, "throttle"), (2, DOWN, "brake")):
        dash = "-" if place == 1 else (0, (4, 1.5))
        pedals.plot(
            rows.distance,
            100.0 * rows.hands[:, place],
            color=pen.color,
            linewidth=1.2,
            linestyle=dash,
            label=label,
        )
    pedals.set_ylim(-4.0, 108.0)
    pedals.set_title("pedals [%]")
    _explain(pedals)


def _draw_offset(axes: Axes, study: LapDrive, rows: LapRows) -> None:
    axes.axhline(0.0, color=QUIET, linewidth=0.8)
    axes.plot(rows.distance, rows.states[:, X.offset], color=BODY.color, linewidth=1.2)
    axes.set_title("beside the line, left positive [m]")
    axes.margins(y=0.1)


def _draw_loads(axes: Axes, rows: LapRows, axle: str, wheels: Sequence[str]) -> None:
    for at, wheel in enumerate(wheels):
        load = 1e-3 * rows.outputs[:, O.tyre_load + (0 if axle == "front" else 2) + at]
        pen: Pen = CORNERS[wheel]
        color = pen.color if at == 0 else BODY.color
        axes.plot(rows.distance, load, color=color, linewidth=0.4, alpha=0.35, label="_", zorder=1.5)
        axes.plot(
            rows.distance,
            uniform_filter1d(load, max(1, round(_SMOOTHED / rows.interval)), mode="nearest"),
            color=color,
            linewidth=1.4,
            linestyle="-" if at == 0 else _RIGHT_DASH[axle],
            label=wheel,
        )
    axes.set_ylim(bottom=0.0)
    axes.set_title(f"load of the {axle} tyres [kN]; thick: mean over {_SMOOTHED:g} s")
    _explain(axes)


def _mark_kerbs(axes: Axes, study: LapDrive, axle: str) -> None:
    """Draw a bar under the loads where wheels are on a kerb."""
    place = blended_transform_factory(axes.transData, axes.transAxes)
    label = "on a kerb"
    for kerb in study.summary.kerbs:
        for start, end in _spans(kerb.start, kerb.end, study.line.length):
            wider = max(0.5 * (_SEEN * study.line.length - (end - start)), 0.0)
            axes.plot(
                [start - wider, end + wider],
                [_height(kerb)] * 2,
                color=ROAD.color,
                linewidth=3.0,
                solid_capstyle="butt",
                transform=place,
                label=label,
            )
            label = "_"
    if study.summary.kerbs:
        _explain(axes)


def _height(kerb: KerbDriven) -> float:
    """Place of a kerb's bar in its panel: of the left wheels a little above that of the right ones."""
    return 0.10 if kerb.wheels == "left" else 0.04


def _explain(axes: Axes) -> None:
    """Put the legend over the panel, where nothing is drawn."""
    axes.legend(
        loc="lower right", bbox_to_anchor=(1.0, 1.0), ncols=3, fontsize=8.5, borderaxespad=0.2, borderpad=0.1
    )
