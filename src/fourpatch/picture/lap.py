"""A quasi-steady lap: speed along the way, and the accelerations it uses of those that are possible."""

import numpy as np
from matplotlib.axes import Axes
from matplotlib.figure import Figure

from fourpatch.analysis.lap_profile import LIMITS
from fourpatch.analysis.lap_summary import LapStudy
from fourpatch.analysis.limits_map import Along, LimitsMap
from fourpatch.car.gravity import GRAVITY
from fourpatch.picture.palette import BODY, FRONT, QUIET, REAR, ROAD, SHADE, Pen
from fourpatch.picture.sheet import new_sheet, styled

_PENS: dict[str, Pen] = {
    "front axle": FRONT,
    "rear axle": REAR,
    "engine": Pen(color=BODY.color, marker="x"),
    "brakes": Pen(color=ROAD.color, marker="+"),
}
"""What limits the car; the others are not drawn."""

_LIMITED = {"none": "nothing at its limit"}
"""What is not its own best word."""


def lap_figure(study: LapStudy, *, question: str, source: str) -> Figure:
    """Draw speed against distance, and the accelerations of the lap within the limits at two speeds."""
    with styled():
        figure = new_sheet(11.4, 5.2, question=question, source=source)
        along, plane = figure.subplots(1, 2, width_ratios=(2.1, 1.0))
        _draw_speed(along, study)
        _draw_plane(plane, study)
    return figure


def _draw_speed(axes: Axes, study: LapStudy) -> None:
    profile = study.profile
    station = np.maximum.accumulate(profile.line.station)
    axes.set_xlim(0.0, float(station[-1]))
    for corner in study.summary.corners:
        spans = [(corner.start, corner.end)]
        if corner.end < corner.start:
            spans = [(corner.start, float(station[-1])), (0.0, corner.end)]
        for start, end in spans:
            axes.axvspan(start, end, color=SHADE, linewidth=0.0, zorder=0)
    axes.plot(station, 3.6 * profile.speed, color=BODY.color, linewidth=BODY.width, label="speed")
    top = 3.6 * float(profile.speed.max())
    axes.set_ylim(0.0, 1.08 * top)
    explained = set(_PENS)  # beside the other panel
    for corner in study.summary.corners:
        pen = _PENS.get(corner.limit)
        at, speed = corner.slowest_at, 3.6 * corner.slowest_speed
        color = pen.color if pen else QUIET
        axes.plot(
            [at],
            [speed],
            marker=pen.marker if pen else "d",
            color=color,
            linestyle="none",
            label="_" if corner.limit in explained else _LIMITED.get(corner.limit, corner.limit),
        )
        explained.add(corner.limit)
        axes.annotate(
            corner.corner,
            (at, speed),
            xytext=(0, -6),
            textcoords="offset points",
            ha="center",
            va="top",
            fontsize=8.5,
            color=color,
        )
    axes.set_title("speed [km/h]; corners shaded, marked where slowest by what limits there")
    axes.set_xlabel("distance along the centre line [m]")
    if explained - set(_PENS):
        axes.legend(loc="lower right", ncols=2, fontsize=8)


def _draw_plane(axes: Axes, study: LapStudy) -> None:
    profile = study.profile
    for name, pen in _PENS.items():
        inside = profile.limit == LIMITS.index(name)
        if inside.any():
            axes.plot(
                profile.tyre_lateral[inside],
                profile.tyre_longitudinal[inside],
                linestyle="none",
                marker=pen.marker,
                markersize=2.6,
                color=pen.color,
                alpha=0.55,
                label=name,
            )
    slow, fast = float(profile.speed.min()), float(profile.speed.max())
    for speed, dash in ((slow, ":"), (fast, "-")):
        lateral, along = limit_curve(study.limits, speed)
        label = f"possible at {3.6 * speed:.0f} km/h"
        axes.plot(lateral, along, color=QUIET, linewidth=1.0, linestyle=dash, label=label)
    axes.set_title("what the tyres answer for [m/s²]")
    axes.set_xlabel("to the left [m/s²]")
    axes.set_ylabel("forward [m/s²]")
    axes.set_aspect("equal", adjustable="datalim")
    axes.margins(0.08)
    axes.legend(loc="upper center", bbox_to_anchor=(0.5, -0.14), ncols=2, fontsize=8, markerscale=2.2)


def limit_curve(limits: LimitsMap, speed: float) -> tuple[np.ndarray, np.ndarray]:
    """Return the closed curve of accelerations that are possible at a speed on a flat road. [m/s^2]"""
    share = np.cos(np.linspace(0.0, 0.5 * np.pi, 46))
    engine = float(np.interp(speed, limits.engine_speed, limits.engine))
    brakes = -float(np.interp(speed, limits.engine_speed, limits.brakes))
    quarters = []
    for left in (True, False):
        here = Along(
            speed=np.full(share.size, speed),
            gravity=np.full(share.size, GRAVITY),
            share=share,
            left=np.full(share.size, left),
        )
        most, _ = limits.lateral(speed=here.speed, gravity=here.gravity, left=here.left)
        found = limits.along(here)
        lateral = share * most * (1.0 if left else -1.0)
        turning = limits.drag_in_turn(here)
        driving = np.minimum(found[:, 0], engine - turning)
        braking = np.maximum(found[:, 1], brakes - turning)
        quarters.append((lateral, driving, braking))
    (left_side, drive_left, brake_left), (right_side, drive_right, brake_right) = quarters
    lateral = np.concatenate([left_side, right_side[::-1], right_side, left_side[::-1]])
    along = np.concatenate([drive_left, drive_right[::-1], brake_right, brake_left[::-1]])
    return np.append(lateral, lateral[0]), np.append(along, along[0])
