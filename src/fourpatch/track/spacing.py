"""Evenly spaced places along a length."""

import math

import numpy as np

from fourpatch.track.road import SPACING_ROUNDING, FloatArray, require_positive


def even_distances(length: float, *, spacing: float) -> FloatArray:
    """Cut a length into the fewest equal steps of no more than a spacing; both ends included.

    Raises
    ------
    TrackError
        If the spacing is not positive.
    """
    require_positive(spacing, name="spacing", unit="m", remedy="Places 1 m apart suit most tracks.")
    steps = max(1, math.ceil(length / spacing * (1.0 - SPACING_ROUNDING)))
    return np.linspace(0.0, length, steps + 1)
