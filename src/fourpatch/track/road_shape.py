"""Widths, banking and elevation between the places where a track gives them."""

from collections.abc import Sequence

import numpy as np

from fourpatch.track.centre_line import CentreLine
from fourpatch.track.road import FloatArray
from fourpatch.track.track import Banking, Elevation, Width


def widths_at(
    widths: Sequence[Width], distance: FloatArray, *, line: CentreLine
) -> tuple[FloatArray, FloatArray]:
    """Distance from the centre line to the left and to the right edge [m], linear between given places."""
    given = np.array([one.distance for one in widths])
    sides = ([one.left for one in widths], [one.right for one in widths])
    period = line.length if line.closed else None
    left, right = (np.asarray(np.interp(distance, given, side, period=period)) for side in sides)
    return left, right


def banking_at(banking: Sequence[Banking], distance: FloatArray, *, line: CentreLine) -> FloatArray:
    """Angle [rad] by which the left edge is the higher one: a monotone cubic between given places."""
    from scipy.interpolate import PchipInterpolator

    if not banking:
        return np.zeros_like(distance)
    angle = np.array([one.angle for one in banking])
    if angle.size == 1:
        return np.full_like(distance, angle[0])
    given = np.array([one.distance for one in banking])
    if line.closed:
        laps = line.length * np.array([-1.0, 0.0, 1.0])
        curve = PchipInterpolator((laps[:, np.newaxis] + given).ravel(), np.tile(angle, laps.size))
        return np.asarray(curve(distance % line.length))
    return np.asarray(PchipInterpolator(given, angle)(np.clip(distance, given[0], given[-1])))


def elevation_at(
    elevation: Sequence[Elevation], distance: FloatArray, *, line: CentreLine
) -> tuple[FloatArray, FloatArray]:
    """Height [m] of the centre line and its rise per distance: a cubic spline through given places."""
    from scipy.interpolate import CubicSpline

    height = np.array([one.height for one in elevation])
    if height.size < 2:
        return np.full_like(distance, height[0] if height.size else 0.0), np.zeros_like(distance)
    given = np.array([one.distance for one in elevation])
    if line.closed:
        around = np.append(given, given[0] + line.length), np.append(height, height[0])
        curve = CubicSpline(*around, bc_type="periodic")
        inside = given[0] + (distance - given[0]) % line.length
        return np.asarray(curve(inside)), np.asarray(curve(inside, 1))
    curve = CubicSpline(given, height, bc_type="natural")
    inside = np.clip(distance, given[0], given[-1])
    return np.asarray(curve(inside)), np.where(inside == distance, curve(inside, 1), 0.0)
