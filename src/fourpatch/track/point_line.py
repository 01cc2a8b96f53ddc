"""A centre line through measured points: smooth, with no more waves in its curvature than they can tell."""

import math
from dataclasses import dataclass, field
from typing import Final

import numpy as np
from numpy.typing import NDArray
from scipy.interpolate import BSpline, CubicHermiteSpline
from scipy.optimize import brentq
from scipy.sparse import coo_array, csc_array, diags_array
from scipy.sparse.linalg import splu

from fourpatch.errors import TrackError
from fourpatch.track.centre_line import LineSample, folded
from fourpatch.track.road import FloatArray

DEGREE: Final = 5
"""Of the spline: curvature and its change along the line are continuous."""

MOST_TURN_PER_POINT: Final = math.radians(45.0)
"""By how much the smooth line may turn from one point to the next; an arc of 45 deg bulges from its chord by
a tenth of the chord.  Chosen here. [rad]"""

MOST_UNEVEN: Final = 5.0
"""How many times the usual step the gap between the last and the first point of a lap may be.  Chosen here."""

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

        sum of squared distances to the points + strength * sum of squared third differences of coefficients,

    the strength being the largest for which the root mean square of the distances in x and in y is
    `accuracy`.  The third derivative along the line is the change of curvature (a clothoid has it constant),
    so of all lines that fit as well this has about the least change of curvature.  In a corner of radius R
    the penalty also weighs curvature itself, by 1/R² in the third derivative; corners come out a little wide,
    within the stated accuracy.

    Source: penalised splines with difference penalties: Eilers & Marx, Statistical Science 11 (1996); strength
    from the known error: Reinsch, Numerische Mathematik 10 (1967) (both from memory).
    """
    faults = point_faults(x, y, closed=closed)
    if faults:
        raise TrackError("\n".join(f"point {place + 1} {text}" for place, text in faults))
    ends = slice(None, None) if not closed else slice(0, 1)
    around = np.vstack((np.column_stack((x, y)), np.column_stack((x, y))[ends][: int(closed)]))
    chord = np.concatenate(([0.0], np.cumsum(np.hypot(*np.diff(around, axis=0).T))))
    spans = max(x.size, 2 * DEGREE)
    width = chord[-1] / spans
    knots = width * np.arange(-DEGREE, spans + DEGREE + 1, dtype=np.float64)
    fit = _fit(np.column_stack((x, y)), chord[: x.size], knots, accuracy=accuracy, closed=closed)
    line = SmoothLine(curve=BSpline(knots, fit, DEGREE), spans=spans, closed=closed)
    _require_fine_enough(line, chord)
    return line


def point_faults(x: FloatArray, y: FloatArray, *, closed: bool) -> list[tuple[int, str]]:
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
        (int(place) + 1, "is the same as the one before; points must move on. Delete one of the two.")
        for place in np.flatnonzero(step == 0.0)
    ]
    if faults:
        return faults
    turn = np.abs(np.angle(step[1:] / step[:-1]))
    faults = [
        (
            int(place) + 1,
            f"is where the line turns back, by {math.degrees(turn[place]):.0f} deg; points must follow the road "
            "in driving direction, further apart than they are off. Put it in its place or delete it.",
        )
        for place in np.flatnonzero(turn > math.radians(120.0))
    ]
    usual = float(np.median(np.abs(step)))
    if closed and abs(point[0] - point[-1]) > MOST_UNEVEN * usual:
        faults.append(
            (
                x.size - 1,
                f"is the last and lies {abs(point[0] - point[-1]):.4g} m from the first, where points are "
                f"mostly {usual:.3g} m apart: the lap does not close. Add the missing points, or write closed = "
                "false.",
            )
        )
    return faults


def _fit(
    points: FloatArray, at: FloatArray, knots: FloatArray, *, accuracy: float, closed: bool
) -> FloatArray:
    """Coefficients of the smoothest spline that is off the points by their accuracy."""
    shape = BSpline.design_matrix(at, knots, DEGREE)
    count = shape.shape[1]
    if closed:
        entries = coo_array(shape)
        count -= DEGREE
        columns = entries.coords[1] % count  # the last coefficients are the first again
        shape = coo_array((entries.data, (entries.coords[0], columns)), shape=(points.shape[0], count))
    shape = csc_array(shape)
    difference = _third_difference(count, closed=closed)
    gram, penalty, target = shape.T @ shape, difference.T @ difference, shape.T @ points

    def coefficients(log_strength: float) -> FloatArray:
        return np.asarray(splu(csc_array(gram + 10.0**log_strength * penalty)).solve(target))

    def beyond_accuracy(log_strength: float) -> float:
        return float(np.sqrt(np.mean((shape @ coefficients(log_strength) - points) ** 2))) - accuracy

    lowest, highest = -6.0, 9.0
    if beyond_accuracy(highest) <= 0.0:
        chosen = highest
    elif beyond_accuracy(lowest) >= 0.0:
        chosen = lowest
    else:
        chosen = float(brentq(beyond_accuracy, lowest, highest, xtol=0.02))
    found = coefficients(chosen)
    return np.vstack((found, found[:DEGREE])) if closed else found


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
            f"turns by {math.degrees(turn[worst]):.0f} deg from point {worst + 1} to point "
            f"{(worst + 1) % (chord.size - int(line.closed)) + 1}, {apart:.3g} m on; "
            f"{math.degrees(MOST_TURN_PER_POINT):.0f} deg is the most for the line between them to be known. "
            f"Give points {apart * MOST_TURN_PER_POINT / turn[worst]:.2g} m apart or less there, or check them."
        )
