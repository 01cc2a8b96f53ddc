"""A centre line through measured points: smooth, with no more waves in its curvature than they can tell."""

import math
from dataclasses import dataclass, field
from typing import TYPE_CHECKING, Final, NamedTuple

import numpy as np
from numpy.typing import NDArray
from scipy.interpolate import BSpline, CubicHermiteSpline
from scipy.ndimage import uniform_filter1d
from scipy.sparse import coo_array, csc_array, diags_array
from scipy.sparse.linalg import splu

from fourpatch.errors import TrackError
from fourpatch.track.centre_line import LineSample, folded
from fourpatch.track.road import FloatArray

if TYPE_CHECKING:
    from scipy.sparse.linalg import SuperLU

DEGREE: Final = 5
"""Of the spline: curvature and its change along the line are continuous."""

MOST_TURN_PER_POINT: Final = math.radians(45.0)
"""By how much the smooth line may turn from one point to the next; an arc of 45 deg bulges from its chord by
a tenth of the chord.  Chosen here. [rad]"""

MOST_UNEVEN: Final = 5.0
"""How many times the usual step the gap from the last to the first point of a lap may be.  Chosen here."""

LEAST_STEP: Final = 0.01
"""Share of the usual step below which two points count as one.  Chosen here."""

_ROUNDS = 3
_WINDOW = 5  # third differences over which their size is averaged
_LEAST_LOCAL = 0.03  # of the mean size; bounds the weights
_LOG_STRENGTHS = (-6.0, 9.0, 1.0)  # 10^-6: through the points; 10^9: a parabola per hundred points
_NEARBY_LOG_STRENGTHS = np.arange(-4, 5) / 3.0
_TRACE_VECTORS = 12  # the trace is off by some 5 %, the strength by less than its steps
_STEPS_PER_SPAN = 8  # of the table of distance; its error is below 1e-9 of a span, measured


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class SmoothLine:
    """A line along a plane curve given as a quintic spline of any parameter."""

    curve: BSpline[np.float64]
    """x and y [m] against the parameter, over `spans` spans of equal length from 0."""
    spans: int
    closed: bool
    """Whether the curve is periodic."""
    _parameter: CubicHermiteSpline[np.float64] = field(init=False)
    _table: tuple[FloatArray, FloatArray] = field(init=False)

    def __post_init__(self) -> None:
        """Measure distance and heading along the curve."""
        end = float(self.curve.t[-1 - DEGREE])
        grid = np.linspace(0.0, end, self.spans * _STEPS_PER_SPAN + 1)
        nodes, weights = np.polynomial.legendre.leggauss(4)
        step = grid[1]
        between = grid[:-1, np.newaxis] + 0.5 * step * (1.0 + nodes)
        advance = 0.5 * step * (np.abs(self._derivative(between, 1)) @ weights)
        distance = np.concatenate(([0.0], np.cumsum(advance)))
        velocity = self._derivative(grid, 1)
        object.__setattr__(self, "_parameter", CubicHermiteSpline(distance, grid, 1.0 / np.abs(velocity)))
        object.__setattr__(self, "_table", (distance, np.unwrap(np.angle(velocity))))

    @property
    def length(self) -> float:
        """Distance [m] from the start to the end, once round if it is closed."""
        return float(self._table[0][-1])

    @property
    def heading_change(self) -> float:
        """Heading [rad] at the end less that at the start."""
        return float(self._table[1][-1] - self._table[1][0])

    def at(self, distance: FloatArray) -> LineSample:
        """Read the line at distances [m]; a closed one goes on for ever.

        Raises
        ------
        TrackError
            If a distance lies off an open line.
        """
        within, laps = folded(distance, length=self.length, closed=self.closed)
        at = np.asarray(self._parameter(within), dtype=np.float64)
        point = self.curve(at)
        velocity, acceleration = self._derivative(at, 1), self._derivative(at, 2)
        curvature = (velocity.conj() * acceleration).imag / np.abs(velocity) ** 3
        near = np.interp(within, *self._table)
        folded_back = np.angle(velocity)
        heading = folded_back + 2.0 * np.pi * np.round((near - folded_back) / (2.0 * np.pi))
        return LineSample(
            point[..., 0], point[..., 1], heading + laps * self.heading_change, np.asarray(curvature)
        )

    def _derivative(self, at: FloatArray, order: int) -> NDArray[np.complex128]:
        """Return a derivative of the curve as x + i y, shape of `at`."""
        both = self.curve(at, order)
        return np.asarray(both[..., 0] + 1j * both[..., 1])


def smooth_line(x: FloatArray, y: FloatArray, *, accuracy: float, closed: bool) -> SmoothLine:
    """Lay a smooth line along points that are a little off.

    Parameters
    ----------
    x, y : of the points in driving direction, shape (n,); of a lap without its first point repeated. [m]
    accuracy : of each coordinate, one standard deviation. [m]
    closed : whether the last point leads on to the first.

    Returns
    -------
    SmoothLine
        Starting beside the first point.

    Raises
    ------
    TrackError
        If the points cannot be a line; see `point_faults`, or it turns too far from one point to the next.

    Notes
    -----
    Curvature needs second differences, which magnify errors: points 5 m apart and 0.1 m off would show
    corners of sqrt(6) 0.1 / 5² = 1/102 m on a straight.  So the line does not go through the points.  x and y
    are quintic splines of the chord length with a span per point, and made least is

        sum of squared distances to the points + strength * sum of weight * third difference of coefficients².

    The third derivative along the line is the change of curvature, so curvature changes no more than the
    points call for.  Weights go with 1 / (third difference round about), found in 3 rounds: that makes the
    sum one of absolute values, which leaves straights quiet while tight corners stay tight.  The strength is
    the one with the least expected error of the smooth points, by the unbiased estimate residual² +
    2 accuracy² * (trace of the smoothing matrix) per coordinate, to a third of a decade.

    On an invented lap with radii of 15 to 120 m, points 5 m apart: 0.1 m off, the line is 0.05 m RMS off the
    true one (0.2 m at worst), radii at the apex come out 4 to 10 % small; exact points with an accuracy of
    0.01 m, 0.01 m RMS and within 5 % (measured here).

    Source: splines with difference penalties: Eilers & Marx, Statistical Science 11 (1996); the expected
    error: Mallows, Technometrics 15 (1973); reweighting for absolute values is common practice (all from
    memory).
    """
    faults = point_faults(x, y) or (lap_faults(x, y) if closed else [])
    if faults:
        raise TrackError("\n".join(f"point {place + 1} {text}" for place, text in faults))
    points = np.column_stack((x, y))
    around = np.vstack((points, points[:1])) if closed else points
    chord = np.concatenate(([0.0], np.cumsum(np.hypot(*np.diff(around, axis=0).T))))
    line = line_along(points, chord[: x.size], length=float(chord[-1]), accuracy=accuracy, closed=closed)
    _require_fine_enough(line, chord)
    return line


def line_along(
    points: FloatArray, at: FloatArray, *, length: float, accuracy: float, closed: bool, spans: int = 0
) -> SmoothLine:
    """Lay the smooth line of `smooth_line` along points of which it is known how far along they lie.

    Parameters
    ----------
    points : in any order, those of several laps too, shape (n, 2). [m]
    at : how far along a line of that length each lies, to some percent, shape (n,). [m]
    length : of the line. [m]
    accuracy : of each coordinate, one standard deviation. [m]
    closed : whether the end leads on to the start.
    spans : of the spline; as many as points if left out.
    """
    spans = max(spans or len(points), 2 * DEGREE)
    knots = (length / spans) * np.arange(-DEGREE, spans + DEGREE + 1, dtype=np.float64)
    within = np.minimum(at, knots[spans + DEGREE])  # the end, but for rounding
    fit = _fit(points, within, knots, accuracy=accuracy, closed=closed)
    return SmoothLine(curve=BSpline(knots, fit, DEGREE), spans=spans, closed=closed)


def point_faults(x: FloatArray, y: FloatArray) -> list[tuple[int, str]]:
    """Return what keeps points from being a line: place counted from 0, and the rest of a sentence."""
    faults = [
        (int(place), "is not a finite number; every point needs both coordinates. Fill it in or cut it out.")
        for place in np.flatnonzero(~(np.isfinite(x) & np.isfinite(y)))
    ]
    if faults:
        return faults
    if x.size < 6:
        return [(x.size - 1, "is the last; a line needs 6 points or more. Give points every 2 to 10 m.")]
    point = x + 1j * y
    step = np.diff(point)
    faults = [
        (int(place) + 1, "lies on the one before; points must move on. Delete one of the two.")
        for place in np.flatnonzero(np.abs(step) <= LEAST_STEP * np.median(np.abs(step)))
    ]
    if faults:
        return faults
    turn = np.abs(np.angle(step[1:] / step[:-1]))
    return [
        (
            int(place) + 1,
            f"is where the line turns back, by {math.degrees(turn[place]):.0f} deg; points must follow the "
            "road in driving direction, further apart than they are off. Put it in its place or delete it.",
        )
        for place in np.flatnonzero(turn > math.radians(120.0))
    ]


def lap_faults(x: FloatArray, y: FloatArray) -> list[tuple[int, str]]:
    """Return what keeps the last point from leading on to the first, as `point_faults`."""
    point = x + 1j * y
    usual = float(np.median(np.abs(np.diff(point))))
    gap = float(np.abs(point[0] - point[-1]))
    if gap > MOST_UNEVEN * usual:
        text = (
            f"is the last and lies {gap:.4g} m from the first, where points are mostly {usual:.3g} m apart: "
            "the lap does not close. Add the missing points, or write closed = false."
        )
        return [(x.size - 1, text)]
    if gap < usual * LEAST_STEP:
        text = "is the last and lies on the first; a lap closes by itself. Delete it."
        return [(x.size - 1, text)]
    return []


class _Smoother(NamedTuple):
    """Penalised least squares for the coefficients of a spline through points."""

    shape: csc_array
    """Of each coefficient at each point, shape (points, coefficients)."""
    difference: csc_array
    """Third differences of the coefficients."""
    points: FloatArray
    """shape (points, 2). [m]"""
    accuracy: float
    """Of each coordinate, one standard deviation. [m]"""
    signs: FloatArray
    """Random signs with which the trace of the smoothing matrix is estimated."""

    def coefficients(self, log_strength: float, weight: FloatArray) -> FloatArray:
        """Return the coefficients for a penalty of given strength and weights along the line."""
        return np.asarray(self._solver(log_strength, weight).solve(self.shape.T @ self.points))

    def expected_error(self, log_strength: float, weight: FloatArray) -> float:
        """Return the expected sum of squared errors of the smooth points, but for a constant."""
        solver = self._solver(log_strength, weight)
        smooth = self.shape @ solver.solve(self.shape.T @ self.points)
        answer = self.shape @ solver.solve(self.shape.T @ self.signs)
        freedom = float(np.mean(np.sum(self.signs * answer, axis=0)))
        return float(np.sum((smooth - self.points) ** 2)) + 4.0 * self.accuracy**2 * freedom

    def _solver(self, log_strength: float, weight: FloatArray) -> "SuperLU":
        penalty = self.difference.T @ (diags_array(weight) @ self.difference)
        return splu(csc_array(self.shape.T @ self.shape + 10.0**log_strength * penalty))


def _fit(
    points: FloatArray, at: FloatArray, knots: FloatArray, *, accuracy: float, closed: bool
) -> FloatArray:
    """Coefficients of the smooth line: shape (spans + DEGREE, 2)."""
    entries = coo_array(BSpline.design_matrix(at, knots, DEGREE))
    count = knots.size - DEGREE - 1 - DEGREE * closed  # of a lap the last coefficients are the first again
    places = (entries.coords[0], entries.coords[1] % count)
    shape = csc_array(coo_array((entries.data, places), shape=(points.shape[0], count)))
    signs = _signs(points.shape[0], closed=closed)
    difference = _third_difference(count, closed=closed)
    # A straight line is free of penalty: taken out first, it is not rounded with the strength of one.
    straight = np.zeros((2, 2)) if closed else np.polyfit(at, points, 1)
    smoother = _Smoother(shape, difference, points - _straight(straight, at), accuracy, signs)
    weight = np.ones(difference.shape[0])
    strengths = np.arange(*_LOG_STRENGTHS)
    for _ in range(_ROUNDS):
        error = [smoother.expected_error(one, weight) for one in strengths]
        best = strengths[int(np.argmin(error))]
        found = smoother.coefficients(best, weight)
        local = np.hypot(*(difference @ found).T)
        local = uniform_filter1d(local, _WINDOW, mode="wrap" if closed else "nearest")
        weight = 1.0 / (local / np.mean(local) + _LEAST_LOCAL)
        weight /= np.mean(weight)
        strengths = best + _NEARBY_LOG_STRENGTHS
    if closed:
        return np.vstack((found, found[:DEGREE]))
    # A spline's coefficients of a straight line are its values where the knots of each have their mean.
    middles = np.convolve(knots[1:-1], np.full(DEGREE, 1.0 / DEGREE), mode="valid")
    return found + _straight(straight, middles)


def _straight(straight: FloatArray, at: FloatArray) -> FloatArray:
    """Points of a straight line, of slope and start in rows, shape (n, 2)."""
    return np.asarray(at[:, np.newaxis] * straight[0] + straight[1])


def _signs(count: int, *, closed: bool) -> FloatArray:
    """Random signs, the same from either end, so that a line driven backwards is the same line."""
    place = np.arange(count)
    from_end = np.minimum(place, -place % count if closed else count - 1 - place)
    return np.random.default_rng(0).choice((-1.0, 1.0), size=(count, _TRACE_VECTORS))[from_end]


def _third_difference(count: int, *, closed: bool) -> csc_array:
    weights = {0: -1.0, 1: 3.0, 2: -3.0, 3: 1.0}
    if not closed:
        return csc_array(diags_array(list(weights.values()), offsets=list(weights), shape=(count - 3, count)))
    row = np.arange(count)
    rows = np.tile(row, len(weights))
    columns = np.concatenate([(row + shift) % count for shift in weights])
    values = np.repeat(list(weights.values()), count)
    return csc_array(coo_array((values, (rows, columns)), shape=(count, count)))


def _require_fine_enough(line: SmoothLine, chord: FloatArray) -> None:
    """Refuse points so far apart that the line turns unseen between them."""
    both = line.curve(chord, 1)
    turn = np.abs(np.diff(np.unwrap(np.arctan2(both[:, 1], both[:, 0]))))
    if np.any(turn > MOST_TURN_PER_POINT):
        worst = int(np.argmax(turn))
        apart = chord[worst + 1] - chord[worst]
        raise TrackError(
            f"the line turns by {math.degrees(turn[worst]):.0f} deg from point {worst + 1} to point "
            f"{(worst + 1) % (chord.size - int(line.closed)) + 1}, {apart:.3g} m on; "
            f"{math.degrees(MOST_TURN_PER_POINT):.0f} deg is the most for the line between them to be known. "
            f"Give points {apart * MOST_TURN_PER_POINT / turn[worst]:.2g} m apart or less there, or check "
            "them."
        )
