"""Columns of different clocks side by side, slow enough that noise and delays matter little."""

from typing import Final, NamedTuple

import numpy as np
from numpy.typing import NDArray

Array = NDArray[np.float64]

STEP: Final = 0.1
"""Width of the bins over which columns are averaged. [s]"""

_SMOOTHED = 5  # bins


class Fit(NamedTuple):
    """How well one row follows another."""

    slope: float
    correlation: float


def bins_of(time: Array) -> Array:
    """Return the middles of even bins over a rising clock [s]."""
    return np.arange(time[0] + 0.5 * STEP, time[-1], STEP)


def binned(time: Array, values: Array, middles: Array) -> Array:
    """Average a column in bins, linear across empty ones.

    Parameters
    ----------
    time, values : (n,) of the column's own clock, missing values not a number.
    middles : (m,) of the bins. [s]
    """
    known = np.isfinite(values)
    place = np.floor((time[known] - middles[0]) / STEP + 0.5).astype(np.intp)
    inside = (place >= 0) & (place < middles.size)
    count = np.bincount(place[inside], minlength=middles.size)
    total = np.bincount(place[inside], weights=values[known][inside], minlength=middles.size)
    filled = count > 0
    if not filled.any():
        return np.full(middles.size, np.nan)
    return np.interp(middles, middles[filled], total[filled] / count[filled])


def smoothed(row: Array, bins: int = _SMOOTHED) -> Array:
    """Average a row over a few bins about each."""
    padded = np.pad(row, (bins // 2, bins - 1 - bins // 2), mode="edge")
    return np.convolve(padded, np.full(bins, 1.0 / bins), mode="valid")


def rate_of_change(row: Array) -> Array:
    """Return a smoothed row's change per second."""
    return np.asarray(np.gradient(smoothed(row), STEP))


def fit(x: Array, y: Array, where: NDArray[np.bool_] | None = None) -> Fit:
    """Fit y = slope x + constant; slope and correlation are 0 if one of them does not move.

    Notes
    -----
    The slope is the ratio of the spreads with the sign of the correlation: noise on either side biases it
    less than least squares on one would, as long as the correlation is high.
    """
    good = np.isfinite(x) & np.isfinite(y)
    good = good if where is None else good & where
    if good.sum() < 20:
        return Fit(0.0, 0.0)
    a, b = x[good] - x[good].mean(), y[good] - y[good].mean()
    spread = float(np.sqrt((a @ a) * (b @ b)))
    if spread <= 1e-12 * max(float(np.abs(x[good]).max() * np.abs(y[good]).max()), 1e-300) * good.sum():
        return Fit(0.0, 0.0)
    correlation = float(a @ b) / spread
    return Fit(float(np.sign(correlation) * np.sqrt((b @ b) / (a @ a))), correlation)


def cross_correlation(late: Array, early: Array) -> Array:
    """Return the sum of ``late[k + lag] * early[k]`` for all lags from -(n - 1) to n - 1, shape (2 n - 1,).

    As `scipy.signal.correlate`, whose module takes a second to load.
    """
    size = 1 << int(2 * late.size - 1).bit_length()
    whole = np.fft.irfft(np.fft.rfft(late, size) * np.conj(np.fft.rfft(early, size)), size)
    return np.concatenate([whole[size - late.size + 1 :], whole[: late.size]])


def turning(course: Array) -> Array:
    """Return yaw rate [rad/s], left positive, from a course [rad] from north clockwise, unwrapped."""
    return -rate_of_change(course)


def from_positions(latitude: Array, longitude: Array) -> tuple[Array, Array]:
    """Return speed [m/s] and yaw rate [rad/s] of the track that positions [rad] draw.

    Notes
    -----
    On a sphere of 6 371 009 m, the mean radius of IUGG (from memory): half a percent from any ellipsoid.
    """
    north = smoothed(latitude) * EARTH_RADIUS
    east = smoothed(longitude) * EARTH_RADIUS * np.cos(np.nanmean(latitude))
    vx, vy = np.gradient(smoothed(east), STEP), np.gradient(smoothed(north), STEP)
    speed = np.hypot(vx, vy)
    turn = np.gradient(np.unwrap(np.arctan2(vy, vx)), STEP)
    return speed, np.where(speed > 4.0, turn, 0.0)


def level_plane(latitude: Array, longitude: Array) -> tuple[Array, Array]:
    """Return where positions [rad] lie to the east and to the north of the first that is known [m].

    Notes
    -----
    On a sphere; over 10 km a map projected so is true to 1e-3 (the curvature of the earth), distances to the
    0.5 % by which the ellipsoid's radii differ from the mean.
    """
    known = np.flatnonzero(np.isfinite(latitude) & np.isfinite(longitude))
    first = int(known[0]) if known.size else 0
    east = EARTH_RADIUS * np.cos(latitude[first]) * (longitude - longitude[first])
    return east, EARTH_RADIUS * (latitude - latitude[first])


EARTH_RADIUS: Final = 6371009.0
"""[m]"""
