"""A track in numbers: length, widths, slopes, corners, and its line of least curvature."""

from dataclasses import dataclass
from typing import Annotated

import numpy as np

from fourpatch.analysis.quantity import ALONG, ANGLE, SHARE, SPEED, Findings
from fourpatch.track.corners import Corner, find_corners
from fourpatch.track.layout import TrackLayout, lay_out
from fourpatch.track.line import Line
from fourpatch.track.racing_line import DEFAULT_CAR_WIDTH, DEFAULT_MARGIN, least_curvature_line
from fourpatch.track.track import Track

"""Lengths along a track and across it."""


class TrackCorner(Findings):
    """A corner; distances are along the centre line."""

    corner: str
    """Its number, counted from the start line."""
    direction: str
    """Which way it turns: left or right."""
    speed_class: str
    """Slow, medium or fast, by `apex_speed`."""
    length_class: str
    """Short or long."""
    chicane: str
    """Number of the chicane it belongs to, or nothing."""
    start: Annotated[float, ALONG]
    """Where the radius of the centre line falls below 400 m."""
    apex: Annotated[float, ALONG]
    """Middle of where that radius is smallest."""
    end: Annotated[float, ALONG]
    """Where it is beyond 400 m again; before `start` if the start line lies between."""
    length: Annotated[float, ALONG]
    """From start to end."""
    angle: Annotated[float, ANGLE]
    """By which it turns, positive whichever way."""
    apex_radius: Annotated[float, ALONG]
    """Smallest of the centre line."""
    apex_speed: Annotated[float, SPEED]
    """On that radius at 12 m/s² across: by it the corner is classed."""
    line_radius: Annotated[float | None, ALONG]
    """Smallest of the line of least curvature in the corner; none where that runs straight through."""


class TrackSummary(Findings):
    """What there is to know of a track before driving it."""

    adjustment: str
    """What had to be done to the centre line as given, such as closing it."""
    length: Annotated[float, ALONG]
    """Of the centre line."""
    narrowest: Annotated[float, ALONG]
    """Least width of the road, kerbs left out."""
    widest: Annotated[float, ALONG]
    """Largest width of the road, kerbs left out."""
    rise: Annotated[float, ALONG]
    """From the lowest to the highest place of the centre line."""
    steepest: Annotated[float, SHARE]
    """Largest gradient of the centre line, up or down."""
    steepest_at: Annotated[float, ALONG]
    """Where that is."""
    banking: Annotated[float, ANGLE]
    """Largest, whichever way."""
    line_length: Annotated[float, ALONG]
    """Of the line of least curvature."""
    line_radius: Annotated[float | None, ALONG]
    """Smallest of the line of least curvature; none where it is straight."""
    corners: tuple[TrackCorner, ...]
    """In driving direction."""


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class TrackStudy:
    """A track with all that its summary and its picture are made from."""

    track: Track
    layout: TrackLayout
    line: Line
    """Of least curvature."""
    corners: list[Corner]
    summary: TrackSummary


def study_track(
    track: Track, *, car_width: float = DEFAULT_CAR_WIDTH, margin: float = DEFAULT_MARGIN
) -> TrackStudy:
    """Look at a track: its layout, its corners, and its line of least curvature.

    Parameters
    ----------
    track : to be looked at.
    car_width : over the tyres, for the line. [m]
    margin : between the side of the car and the edge of the road. [m]

    Raises
    ------
    TrackError
        If the track cannot be, or is too narrow for the car.
    SolveError
        If the line is not found.
    """
    layout = lay_out(track)
    line = least_curvature_line(track, car_width=car_width, margin=margin)
    corners = find_corners(layout)
    steepest = int(np.argmax(np.abs(layout.gradient)))
    width = layout.left + layout.right
    summary = TrackSummary(
        adjustment=layout.adjustment,
        length=layout.length,
        narrowest=float(np.min(width)),
        widest=float(np.max(width)),
        rise=float(np.ptp(layout.elevation)),
        steepest=float(abs(layout.gradient[steepest])),
        steepest_at=float(layout.distance[steepest]),
        banking=float(np.max(np.abs(layout.banking))),
        line_length=line.length,
        line_radius=_radius(float(np.max(np.abs(line.curvature)))),
        corners=tuple(_corner(one, line) for one in corners),
    )
    return TrackStudy(track=track, layout=layout, line=line, corners=corners, summary=summary)


def _corner(corner: Corner, line: Line) -> TrackCorner:
    beyond, before = line.station >= corner.start, line.station <= corner.end
    within = beyond & before if corner.start <= corner.end else beyond | before
    bend = line.curvature[within] * (1.0 if corner.direction == "left" else -1.0)
    return TrackCorner(
        corner=str(corner.number),
        direction=corner.direction,
        speed_class=corner.speed_class,
        length_class=corner.length_class,
        chicane=str(corner.chicane or ""),
        start=corner.start,
        apex=corner.apex,
        end=corner.end,
        length=corner.length,
        angle=corner.angle,
        apex_radius=corner.apex_radius,
        apex_speed=corner.apex_speed,
        line_radius=_radius(float(np.max(bend, initial=0.0))),
    )


def _radius(curvature: float) -> float | None:
    """Radius [m], or none of what is as good as straight."""
    return 1.0 / curvature if curvature > 1e-6 else None
