"""The corners of a track, found from its curvature: where, which way, how tight, how long."""

import math
from collections.abc import Callable, Sequence
from dataclasses import dataclass, replace
from itertools import pairwise
from typing import Literal, NamedTuple

import numpy as np

from fourpatch.errors import TrackError
from fourpatch.track.layout import TrackLayout
from fourpatch.track.road import FloatArray, require_positive

SpeedClass = Literal["slow", "medium", "fast"]
LengthClass = Literal["short", "long"]


@dataclass(frozen=True, slots=True, kw_only=True)
class CornerLimits:
    """Where a corner begins, and what is called slow, fast and long.

    Trade words without a published definition: the numbers are chosen here and may be changed.

    Raises
    ------
    TrackError
        If a number is not positive, or fast does not begin above slow.
    """

    largest_radius: float = 400.0
    """Beyond it the road counts as straight: 12 m/s² are not reached below 250 km/h. [m]"""
    least_angle: float = math.radians(10.0)
    """A bend that turns less is none to a driver. [rad]"""
    merging_gap: float = 20.0
    """Two bends the same way with no more straight between are one corner. [m]"""
    chicane_gap: float = 40.0
    """Two corners of opposite direction with no more between are a chicane. [m]"""
    lateral_acceleration: float = 12.0
    """Of the car whose speed at the apex, sqrt(a R), classes a corner if no speed is given. [m/s²]"""
    slow_below: float = 30.0
    """Apex speed, 108 km/h; at 12 m/s² a radius of 75 m. [m/s]"""
    fast_above: float = 50.0
    """Apex speed, 180 km/h; at 12 m/s² a radius of 208 m. [m/s]"""
    long_from: float = 120.0
    """A corner so long or longer is long ... [m]"""
    long_angle: float = math.radians(120.0)
    """... and so is one that turns so far or further: in both the car takes its set. [rad]"""

    def __post_init__(self) -> None:
        """Refuse limits without sense."""
        for name, unit in _UNITS.items():
            require_positive(
                getattr(self, name), name=name.replace("_", " "), unit=unit, remedy="Leave it out."
            )
        if self.fast_above < self.slow_below:
            raise TrackError(
                f"fast above is {self.fast_above:g} m/s, slow below {self.slow_below:g} m/s; a corner would "
                "be both. Let fast begin where slow has ended."
            )


_UNITS = {
    "largest_radius": "m",
    "least_angle": "rad",
    "merging_gap": "m",
    "chicane_gap": "m",
    "lateral_acceleration": "m/s²",
    "slow_below": "m/s",
    "fast_above": "m/s",
    "long_from": "m",
    "long_angle": "rad",
}


@dataclass(frozen=True, slots=True, kw_only=True)
class Corner:
    """A corner; all distances are along the centre line."""

    number: int
    """Counted from the start line in driving direction, by apex."""
    direction: Literal["left", "right"]
    """Which way it turns."""
    start: float
    """Where the radius falls below the limit. [m]"""
    apex: float
    """Middle of where the radius is smallest. [m]"""
    end: float
    """Where the radius is beyond the limit again; on a lap it may lie beyond the start line, so before
    `start`. [m]"""
    length: float
    """From start to end. [m]"""
    angle: float
    """By which it turns, positive whichever way. [rad]"""
    apex_radius: float
    """Smallest radius of the centre line. [m]"""
    apex_speed: float
    """By which it is classed. [m/s]"""
    speed_class: SpeedClass
    """By `apex_speed`."""
    length_class: LengthClass
    """By length and angle."""
    chicane: int | None = None
    """Number of the chicane it belongs to, if any."""


class _Bend(NamedTuple):
    """A stretch that turns one way; distances may run beyond the length of a lap."""

    left: bool
    start: float
    end: float


def find_corners(
    layout: TrackLayout,
    *,
    limits: CornerLimits | None = None,
    speed: Callable[[float], float] | None = None,
) -> list[Corner]:
    """Find the corners of a track.

    Parameters
    ----------
    layout : of the track; corners are found to about its spacing.
    limits : if left out, the stated ones.
    speed : at a distance along the centre line, such as from a lap; [m] in, [m/s] out.  If left out, that of
        a car that corners at `limits.lateral_acceleration`.

    Returns
    -------
    list of Corner
        In driving direction, by apex.

    Notes
    -----
    1. Stretches where |curvature| exceeds 1 / largest radius, each of one sign, with their ends between two
       places found by linear interpolation: exact on clothoids, within a spacing where an arc meets a
       straight.
    2. Those that turn by less than a tenth of the least angle are waves of a measured line and dropped;
       neighbours of one direction are merged across `merging_gap`; what turns less than the least angle then
       is dropped.
    3. The apex is the middle of the stretch about the largest |curvature| where it is within 2 % of it.
    4. Corners of opposite direction with no more than `chicane_gap` between end and start belong to one
       chicane.

    On a line from measured points the corner is that of the smoothed line: see `smooth_line` for how far its
    radii may be off.

    Source: common practice, no published source; the limits are chosen here.
    """
    chosen = limits or CornerLimits()
    road = _Unrolled(layout, chosen)
    bends = [bend for bend in road.bends() if road.angle(bend) >= 0.1 * chosen.least_angle]
    bends = [bend for bend in _merged(bends, chosen.merging_gap) if road.angle(bend) >= chosen.least_angle]
    corners = sorted((road.corner(bend, speed) for bend in bends), key=lambda one: one.apex)
    numbered = [replace(one, number=number) for number, one in enumerate(corners, start=1)]
    return _with_chicanes(numbered, layout, chosen.chicane_gap)


class _Unrolled:
    """A layout that begins on a straight, if a lap has one, so that no corner runs over its end."""

    def __init__(self, layout: TrackLayout, limits: CornerLimits) -> None:
        self._limits = limits
        self._length = layout.length
        straight = np.flatnonzero(np.abs(layout.curvature[:-1]) <= 1.0 / limits.largest_radius)
        shift = int(straight[0]) if layout.closed and straight.size else 0
        turned = layout.heading[-1] - layout.heading[0]
        again = slice(1, shift + 1)
        self.distance = np.append(layout.distance[shift:], layout.distance[again] + layout.length)
        self.heading = np.append(layout.heading[shift:], layout.heading[again] + turned)
        self.curvature = np.append(layout.curvature[shift:], layout.curvature[again])

    def bends(self) -> list[_Bend]:
        """Return the stretches that turn one way, each with its ends between places interpolated."""
        limit = 1.0 / self._limits.largest_radius
        way = np.where(np.abs(self.curvature) > limit, np.sign(self.curvature), 0.0)
        change = np.flatnonzero(np.diff(way)) + 1
        found = []
        for first, last in zip([0, *change], [*change, way.size], strict=True):
            if way[first] != 0.0:
                level = way[first] * limit
                start = self._met(level, first - 1) if first > 0 else float(self.distance[0])
                end = self._met(level, last - 1) if last < way.size else float(self.distance[-1])
                found.append(_Bend(bool(way[first] > 0.0), start, end))
        return found

    def _met(self, level: float, place: int) -> float:
        """Where curvature has a value between a place and the next."""
        before, after = self.curvature[place : place + 2]
        share = (level - before) / (after - before)
        return float(self.distance[place] + share * (self.distance[place + 1] - self.distance[place]))

    def angle(self, bend: _Bend) -> float:
        """By how much a bend turns. [rad]"""
        ends = np.interp([bend.start, bend.end], self.distance, self.heading)
        return float(abs(ends[1] - ends[0]))

    def corner(self, bend: _Bend, speed: Callable[[float], float] | None) -> Corner:
        """Return a corner, not yet numbered."""
        within = (self.distance >= bend.start) & (self.distance <= bend.end)
        tightness = np.where(within, self.curvature if bend.left else -self.curvature, 0.0)
        tightest = float(np.max(tightness))
        apex = self._apex(tightness, 0.98 * tightest) % self._length
        radius, limits = 1.0 / tightest, self._limits
        at_apex = speed(apex) if speed else math.sqrt(limits.lateral_acceleration * radius)
        length, angle = bend.end - bend.start, self.angle(bend)
        slow, fast = at_apex < limits.slow_below, at_apex > limits.fast_above
        return Corner(
            number=0,
            direction="left" if bend.left else "right",
            start=self._within_lap(bend.start),
            apex=apex,
            end=self._within_lap(bend.end),
            length=length,
            angle=angle,
            apex_radius=radius,
            apex_speed=at_apex,
            speed_class="slow" if slow else "fast" if fast else "medium",
            length_class="long" if length >= limits.long_from or angle >= limits.long_angle else "short",
        )

    def _apex(self, tightness: FloatArray, least: float) -> float:
        """Middle of the stretch about the tightest place where the road is nearly as tight."""
        top = int(np.argmax(tightness))
        looser = np.flatnonzero(tightness < least)
        first = looser[looser < top][-1] + 1 if np.any(looser < top) else 0
        last = looser[looser > top][0] - 1 if np.any(looser > top) else tightness.size - 1
        return 0.5 * float(self.distance[first] + self.distance[last])

    def _within_lap(self, distance: float) -> float:
        return distance - self._length if distance > self._length else distance


def _merged(bends: Sequence[_Bend], gap: float) -> list[_Bend]:
    """Join neighbours that turn the same way with little between them."""
    merged: list[_Bend] = []
    for bend in bends:
        if merged and merged[-1].left == bend.left and bend.start - merged[-1].end <= gap:
            merged[-1] = merged[-1]._replace(end=bend.end)
        else:
            merged.append(bend)
    return merged


def _with_chicanes(corners: list[Corner], layout: TrackLayout, gap: float) -> list[Corner]:
    """Give corners of opposite direction that follow closely the number of their chicane."""
    follows = list(pairwise(corners))
    if layout.closed and len(corners) > 1:
        follows.append((corners[-1], corners[0]))
    linked = [
        one.direction != other.direction and (other.start - one.end) % layout.length <= gap
        for one, other in follows
    ]
    if not any(linked):
        return corners
    # Begin behind a gap, so that a chicane over the start line is one.
    count = len(corners)
    begin = next((at for at in range(count) if not (layout.closed and linked[at - 1])), 0)
    groups: list[list[int]] = []
    for step in range(count):
        at = (begin + step) % count
        joined = step > 0 and (at > 0 or layout.closed) and linked[at - 1]
        if joined:
            groups[-1].append(at)
        else:
            groups.append([at])
    chicanes = sorted((group for group in groups if len(group) > 1), key=min)
    number = {at: place for place, group in enumerate(chicanes, start=1) for at in group}
    return [replace(one, chicane=number.get(at)) for at, one in enumerate(corners)]
