"""The plane of bump and rebound as a drawn map, with its contours and where the set-up stands."""

import math
from collections.abc import Mapping
from typing import Any

from nicegui.element import Element

_TIMES = (0.1, 0.25, 0.5, 1.0, 2.0, 4.0, 8.0, 16.0, 32.0)
"""Contours, times a power of ten."""


class DamperMap(Element, component="damper_map.js"):
    """A heat map that is read with the pointer or with the arrow keys, and as a table on demand."""

    def __init__(self) -> None:
        super().__init__()

    def show(self, payload: Mapping[str, Any]) -> None:
        """Draw a map.

        Parameters
        ----------
        payload : title, axle, name (of the measure), unit, decimals, factors, values (by bump, then rebound,
            in the unit), levels (contours above the least), valley, best (bump, rebound), good (two ratios of
            rebound to bump over the present one, or None), coarse.
        """
        self.run_method("show", dict(payload))

    def mark_stale(self, stale: bool) -> None:
        """Say whether the map is of a set-up that has been changed since."""
        self.run_method("markStale", stale)


def contour_levels(most: float) -> list[float]:
    """Return heights of contours above the least.

    Parameters
    ----------
    most : largest height, in the shown unit.

    Examples
    --------
    >>> contour_levels(3.0)
    [0.1, 0.25, 0.5, 1.0, 2.0]
    >>> contour_levels(0.3)
    [0.01, 0.025, 0.05, 0.1, 0.2]
    >>> contour_levels(0.0)
    []
    """
    if most <= 0.0:
        return []
    decade = 10.0 ** math.floor(math.log10(most / 1.6))
    return [round(decade * one, 9) for one in _TIMES if decade * one < most]
