"""A line through points as a receiver or a hand gives them: off by more than they are apart, for any laps.

`smooth_line` takes points that are further apart than they are off. Here they are put along a first, coarse
line, the smooth line is laid through all of them, and they are put along that one again.
"""

import math
from collections.abc import Sequence
from dataclasses import dataclass
from typing import Final, NamedTuple

import numpy as np
from numpy.typing import NDArray
from scipy.ndimage import median_filter
from scipy.signal import savgol_filter
from scipy.spatial import KDTree

from fourpatch.errors import TrackError
from fourpatch.track.crossing import ComplexArray, first_crossing
from fourpatch.track.points import Points
from fourpatch.track.road import FloatArray
from fourpatch.track.smooth_line import SmoothLine, line_along

SPACING: Final = 3.0
"""Between the places of the smooth line that are kept. [m]"""

ACCURACY: Final = 0.01
"""With which a track takes them: they are smooth already. [m]"""

SHORTEST, LONGEST = 150.0, 30e3
"""Of a track. Chosen here: a kart track is longer than the one, a road on which one races round shorter than
the other. [m]"""

WIDEST_GAP: Final = 0.05
"""Share of a lap that may be missing between its last point and its first."""

_LEAST_POINTS = 12
_TIGHTEST = 3.5  # radius below which no car follows a line [m]
_REACH = 25.0  # across the start line within which a lap passes it [m]
_TURN = 15.0  # metres that a place counts as further off for each half turn of heading by which it differs
_ELSEWHERE = 20.0  # off the line, from which on a point was driven on another road, such as the pits [m]
_SPIKE = 8.0  # scatters that a point may lie off its neighbours
_MOST_SPIKES = 0.02  # share of points that may be left out for it
_MOST_TURN = math.radians(40.0)  # between points far apart: more is a jump, not a straight
_MOST_NAMED = 6
_LOOKED = 12.0  # behind and ahead of a place to see whether the line turns back there [m]
_LEAST_CHORD = 0.15  # share of that way by which both ends are apart; 0.28 in a hairpin of 5 m radius
_MOST_VERTEX = math.radians(150.0)  # between points too far apart for that
_ROUNDS = 3
_EXACT = 0.005  # that points are off at the least: rounding of what is written [m]
_SPAN = 3.0  # of the spline [m]


@dataclass(frozen=True, slots=True, kw_only=True)
class Place:
    """Where something is wrong with points, for a mark on a map."""

    point: int
    """Its place among the points as they were given, from 1."""
    x: float
    """[m]"""
    y: float
    """[m]"""


class PointsError(TrackError):
    """Points that are no line, with the places at which they are not."""

    def __init__(self, text: str, places: tuple[Place, ...] = ()) -> None:
        super().__init__(text)
        self.places = places
        self.given: Points | None = None
        """All of them, for a map."""


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class RoughLine:
    """The smooth line of rough points, and what was found of them."""

    line: SmoothLine
    scatter: float
    """How far a point lies off the line, one standard deviation of a coordinate. [m]"""
    laps: float
    """How often the points go round; below 1 for a lap with a gap, 1 for an open road."""
    gap: float
    """Between the last point and the first that was bridged to close a lap, 0 if none. [m]"""
    left_out: tuple[Place, ...]
    """Points that lie far off their neighbours."""

    @property
    def points(self) -> Points:
        """Places of the line some metres apart; of a lap without its first repeated."""
        count = max(math.ceil(self.line.length / SPACING), _LEAST_POINTS)
        at = np.linspace(0.0, self.line.length, count + 1)
        read = self.line.at(at[:-1] if self.line.closed else at)
        return Points(x=read.x, y=read.y)

    def __str__(self) -> str:
        """Say what was done, in sentences."""
        said = [f"The points lie {_metres(self.scatter)} off the smooth line, one standard deviation."]
        if self.laps > 1.5:
            said.append(f"It is the mean of {self.laps:.1f} laps.")
        if self.gap > 0.0:
            said.append(f"The last {_metres(self.gap)} back to the start had no points and were bridged.")
        elif self.line.closed:
            said.append("The lap closes by itself.")
        if self.left_out:
            said.append(f"Left out, far off the points around: {_named(self.left_out)}.")
        return " ".join(said)


def rough_line(x: FloatArray, y: FloatArray, *, closed: bool = True) -> RoughLine:
    """Lay a smooth line through rough points in driving direction.

    Parameters
    ----------
    x, y : of the points; of one lap, a part more or several laps, or of an open road, shape (n,). [m]
    closed : whether it is a lap.

    Returns
    -------
    RoughLine
        It starts near the first point. Of several laps it is the mean.

    Raises
    ------
    PointsError
        If points jump, turn back, do not close or are no road; with the places.

    Notes
    -----
    How far points are off is told by third and fifth differences, in which a smooth line leaves little: their
    median size over the root of the sum of their squared weights, the smaller of both. The slow wandering of
    a receiver is none of that and stays in the line. A quadratic over some twelve times as long orders
    the points; then the smooth line is laid through all of them by where they lie along it, three times.

    Source: derived here; measured in docs/validation.md.
    """
    try:
        return _rough_line(x, y, closed=closed)
    except PointsError as error:
        error.given = Points(x=x, y=y)
        raise


def _rough_line(x: FloatArray, y: FloatArray, *, closed: bool) -> RoughLine:
    rough = _without_spikes(_different(x, y))
    scatter = _scatter(rough.point)
    _require_no_jump(rough, scatter)
    coarse = _coarse(rough.point, scatter)
    _require_onward(coarse, rough)
    lap = _lap(coarse, rough, closed=closed)
    heading = np.angle(np.gradient(coarse))
    reference = coarse[: lap.last + 1]
    at = np.concatenate(([0.0], np.cumsum(np.abs(np.diff(reference)))))
    length, accuracy = lap.length, scatter
    for _ in range(_ROUNDS):
        place, off = _placed(rough.point, heading, _Reference(reference, at, length, closed))
        here = np.abs(off) < _ELSEWHERE
        if lap.laps > 1.5:  # laps differ by more than points scatter
            accuracy = max(scatter, 1.4826 * float(np.median(np.abs(off[here]))))
        points = np.column_stack((rough.point.real, rough.point.imag))[here]
        line = line_along(
            points,
            place[here],
            length=length,
            accuracy=max(accuracy, _EXACT),
            closed=closed,
            spans=min(math.ceil(length / _SPAN), int(np.count_nonzero(here))),
        )
        length = line.length
        at = np.linspace(0.0, length, max(math.ceil(length), 50) + 1)
        read = line.at(at)
        reference = read.x + 1j * read.y
    _require_drivable(line, rough)
    _, off = _placed(rough.point, heading, _Reference(reference, at, length, closed))
    return RoughLine(
        line=line,
        scatter=float(np.sqrt(np.mean(off[np.abs(off) < _ELSEWHERE] ** 2))),
        laps=lap.laps,
        gap=lap.gap,
        left_out=rough.left_out,
    )


class _Rough(NamedTuple):
    """Points that can be used, and where they were among those given."""

    point: ComplexArray
    given: NDArray[np.intp]
    left_out: tuple[Place, ...] = ()

    def place(self, at: int) -> Place:
        one = self.point[at]
        return Place(point=int(self.given[at]) + 1, x=float(one.real), y=float(one.imag))

    def near(self, place: complex) -> Place:
        return self.place(int(np.argmin(np.abs(self.point - place))))


class _Lap(NamedTuple):
    """Where a coarse line goes round once."""

    last: int
    """Last of its points before it is where it began."""
    length: float
    laps: float
    gap: float


class _Reference(NamedTuple):
    """A line along which points are put."""

    line: ComplexArray
    at: FloatArray
    length: float
    closed: bool


def _different(x: FloatArray, y: FloatArray) -> _Rough:
    """Return the points that have both coordinates and are not where the one before was."""
    given = np.flatnonzero(np.isfinite(x) & np.isfinite(y))
    point = x[given] + 1j * y[given]
    moved = np.concatenate(([True], np.abs(np.diff(point)) > 0.0))[: given.size]
    if np.count_nonzero(moved) < _LEAST_POINTS:
        raise PointsError(
            f"there are {np.count_nonzero(moved)} different points with both coordinates; a line needs "
            f"{_LEAST_POINTS} or more. Give points every 2 to 20 m."
        )
    return _Rough(point[moved], given[moved])


def _scatter(point: ComplexArray) -> float:
    """Return how far points are off, one standard deviation of a coordinate. [m]"""
    found = []
    for order in (3, 5):
        weight = math.sqrt(math.comb(2 * order, order))  # root of the sum of squared binomials
        rough = np.diff(point, order)
        found.append(1.4826 * float(np.median(np.abs([rough.real, rough.imag]))) / weight)
    return min(found)


def _without_spikes(rough: _Rough) -> _Rough:
    """Leave out single points far off their neighbours; refuse many."""
    point = rough.point
    middle = median_filter(point.real, 5) + 1j * median_filter(point.imag, 5)
    off = np.abs(point - middle)
    step = float(np.median(np.abs(np.diff(point))))
    usual = max(_SPIKE * _scatter(point), 3.0 * step, 3.0)
    # The ends of an open row have no neighbours on one side.
    bad = np.flatnonzero(
        (off > usual) & (np.arange(point.size) > 1) & (np.arange(point.size) < point.size - 2)
    )
    if not bad.size:
        return rough
    places = tuple(rough.place(int(one)) for one in bad)
    if bad.size > max(3, _MOST_SPIKES * point.size):
        raise PointsError(
            f"{bad.size} of {point.size} points lie far off the points around them, up to "
            f"{_metres(float(off[bad].max()))}: {_named(places)}. A line cannot jump: check the columns, or "
            "delete these points.",
            places,
        )
    return _Rough(np.delete(point, bad), np.delete(rough.given, bad), places)


def _coarse(point: ComplexArray, scatter: float) -> ComplexArray:
    """Return points in the order in which they were driven, quiet enough to tell directions."""
    step = max(float(np.median(np.abs(np.diff(point)))), 1e-6)
    window = 2 * math.ceil(0.5 * min(12.0 * scatter, 40.0) / step) + 1
    if window < 5:
        return point
    window = min(window, point.size - 1 + point.size % 2)
    smooth = [savgol_filter(row, window, 2, mode="interp") for row in (point.real, point.imag)]
    return np.asarray(smooth[0] + 1j * smooth[1])


def _require_no_jump(rough: _Rough, scatter: float) -> None:
    """Refuse a line that goes on somewhere else; where points are missing on a straight it goes on ahead."""
    point = rough.point
    step = np.diff(point)
    usual = float(np.median(np.abs(step)))
    some = math.ceil(max(15.0, 12.0 * scatter) / max(usual, 1e-6))  # points that tell a direction
    jumps = []
    for at in map(int, np.flatnonzero(np.abs(step) > max(60.0, 20.0 * usual, 12.0 * scatter))):
        before = point[at] - point[max(at - some, 0)]
        after = point[min(at + 1 + some, point.size - 1)] - point[at + 1]
        if any(one != 0.0 and abs(np.angle(one / step[at])) > _MOST_TURN for one in (before, after)):
            jumps.append(at)
    if jumps:
        at = jumps[0]
        raise PointsError(
            f"the line jumps by {_metres(float(abs(step[at])))} from point {rough.given[at] + 1} to point "
            f"{rough.given[at + 1] + 1}"
            + (f", and {len(jumps) - 1} times more" if len(jumps) > 1 else "")
            + ". A road goes on where it was: add what is missing, or give the part before or behind alone.",
            tuple(rough.place(one) for at in jumps[:_MOST_NAMED] for one in (at, at + 1)),
        )


def _require_onward(coarse: ComplexArray, rough: _Rough) -> None:
    """Refuse a line that goes back on its own way."""
    along = np.concatenate(([0.0], np.cumsum(np.abs(np.diff(coarse)))))
    step = np.diff(coarse)
    if float(np.median(np.abs(step))) > 0.5 * _LOOKED:
        behind, before = step[1:], step[:-1]
        back = np.abs(np.angle(behind * before.conj())) > _MOST_VERTEX
        places = np.flatnonzero(back & (behind != 0.0) & (before != 0.0)) + 1
    else:
        read = [np.interp(along + way, along, coarse) for way in (-_LOOKED, _LOOKED)]
        inside = (along > _LOOKED) & (along < along[-1] - _LOOKED)
        places = np.flatnonzero(inside & (np.abs(read[1] - read[0]) < _LEAST_CHORD * 2.0 * _LOOKED))
    if places.size:
        place = rough.place(int(places[0]))
        raise PointsError(
            f"the line turns back at point {place.point}, {along[places[0]]:.0f} m from the start, and goes "
            "back on its own way. Points must follow the road as it is driven: put those there in order, "
            "or delete them.",
            (place,),
        )


def _lap(coarse: ComplexArray, rough: _Rough, *, closed: bool) -> _Lap:
    """Find where a coarse line is where it began."""
    along = np.concatenate(([0.0], np.cumsum(np.abs(np.diff(coarse)))))
    whole = float(along[-1])
    if whole < SHORTEST:
        raise PointsError(
            f"the points go {_metres(whole)} in all, too short for a road. If they are degrees, call the "
            "columns latitude and longitude; else check their unit."
        )
    passed = _passed(coarse, along) if closed else np.array([], dtype=np.intp)
    length = float(along[passed[0]] + abs(coarse[0] - coarse[passed[0]])) if passed.size else whole
    if length > LONGEST:
        place = rough.place(int(np.searchsorted(along, LONGEST)))
        raise PointsError(
            f"the points go {length / 1e3:.1f} km without coming round: a road from place to place, not a "
            f"track. Give the part that is one, up to {LONGEST / 1e3:.0f} km.",
            (place,),
        )
    if not closed:
        return _Lap(coarse.size - 1, whole, 1.0, 0.0)
    if passed.size:
        left = (whole - float(along[passed[-1]])) / length
        return _Lap(int(passed[0]), length, passed.size + left, 0.0)
    gap = coarse[0] - coarse[-1]
    ahead = abs(np.angle(gap / (coarse[-1] - coarse[max(coarse.size - 4, 0)]))) if gap else 0.0
    if abs(gap) > WIDEST_GAP * whole or (ahead > 0.5 * math.pi and abs(gap) > _REACH):
        raise PointsError(
            f"the lap does not close: the last point, {rough.given[-1] + 1}, lies {_metres(abs(gap))} from "
            f"the first after {whole:.0f} m; up to {_metres(WIDEST_GAP * whole)} ahead of it can be bridged. "
            "Add the points that are missing, or take it as an open road.",
            (rough.place(coarse.size - 1), rough.place(0)),
        )
    usual = max(10.0, 3.0 * float(np.median(np.abs(np.diff(coarse)))))
    bridged = float(abs(gap)) if abs(gap) > usual else 0.0
    return _Lap(coarse.size - 1, whole + abs(gap), whole / (whole + abs(gap)), bridged)


def _passed(coarse: ComplexArray, along: FloatArray) -> NDArray[np.intp]:
    """Return the last points before the line passes its own start, going the same way."""
    start = int(np.searchsorted(along, 15.0))
    way = coarse[start] - coarse[0]
    off = (coarse - coarse[0]) / (way / abs(way))  # along and to the left of the start's own way
    goes = (np.diff(coarse) / way).real > 0.0
    found = (off.real[:-1] < 0.0) & (off.real[1:] >= 0.0) & (np.abs(off.imag[1:]) < _REACH) & goes
    kept: list[int] = []
    for one in np.flatnonzero(found & (along[:-1] > SHORTEST)):
        if not kept or along[one] - along[kept[-1]] > SHORTEST:
            kept.append(int(one))
    return np.array(kept, dtype=np.intp)


def _placed(point: ComplexArray, heading: FloatArray, reference: _Reference) -> tuple[FloatArray, FloatArray]:
    """Return how far along a line each point lies, and how far to the left of it. [m]"""
    way = np.gradient(reference.line)
    way = np.where(way == 0.0, 1.0, way / np.maximum(np.abs(way), 1e-12))

    def spread(places: ComplexArray, turned: ComplexArray) -> FloatArray:
        rows = (places.real, places.imag, 0.5 * _TURN * turned.real, 0.5 * _TURN * turned.imag)
        return np.column_stack(rows)

    _, nearest = KDTree(spread(reference.line, way)).query(spread(point, np.exp(1j * heading)))
    off = (point - reference.line[nearest]) / way[nearest]
    place = reference.at[nearest] + off.real
    ends = np.mod(place, reference.length) if reference.closed else np.clip(place, 0.0, reference.length)
    return np.asarray(ends), np.asarray(off.imag)


def _require_drivable(line: SmoothLine, rough: _Rough) -> None:
    """Refuse a line that turns back or crosses itself."""
    distance = np.linspace(0.0, line.length, max(math.ceil(line.length / 2.0), 200) + 1)
    read = line.at(distance)
    point = read.x + 1j * read.y
    tight = int(np.argmax(np.abs(read.curvature)))
    if abs(read.curvature[tight]) > 1.0 / _TIGHTEST:
        place = rough.near(complex(point[tight]))
        raise PointsError(
            f"the line turns back at point {place.point}, {distance[tight]:.0f} m from the start: a radius "
            f"of {_metres(float(1.0 / abs(read.curvature[tight])))} is for no car. Points must follow the "
            "road in driving direction: put those there in order, or delete them.",
            (place,),
        )
    crossing = first_crossing((point,), distance, closed=line.closed)
    if crossing:
        at = complex(np.interp(crossing.first, distance, read.x), np.interp(crossing.first, distance, read.y))
        place = rough.near(at)
        raise PointsError(
            f"the line crosses itself at point {place.point}: {crossing.first:.0f} m and "
            f"{crossing.second:.0f} m from the start it is at the same place. Tracks with a bridge are not "
            "known here; else check the order of the points.",
            (place,),
        )


def _named(places: Sequence[Place]) -> str:
    numbers = ", ".join(str(one.point) for one in places[:_MOST_NAMED])
    more = f" and {len(places) - _MOST_NAMED} more" if len(places) > _MOST_NAMED else ""
    return f"point {numbers}{more}"


def _metres(length: float) -> str:
    if length >= 10e3:
        return f"{length / 1e3:.1f} km"
    return f"{length:.0f} m" if length >= 100.0 else f"{length:.2g} m"
