"""Points as they were given, from above, with marks where something is wrong with them."""

from collections.abc import Sequence

import numpy as np
from nicegui.element import Element

from fourpatch.app.parts.chart import packed
from fourpatch.track.road import FloatArray
from fourpatch.track.rough_points import Place

MOST_SHOWN = 4000
"""Points that are sent."""


class PointsMap(Element, component="points_map.js"):
    """A line through points in their order, where it begins and ends, and numbered marks."""

    def __init__(self, x: FloatArray, y: FloatArray, places: Sequence[Place], *, title: str) -> None:
        """Draw it.

        Parameters
        ----------
        x, y : of the points. [m]
        places : to be marked.
        title : what it shows, for who cannot see it.
        """
        super().__init__()
        known = np.flatnonzero(np.isfinite(x) & np.isfinite(y))
        kept = known[:: max(1, known.size // MOST_SHOWN)]
        self._props |= {
            "title": title,
            "x": packed(x[kept]),
            "y": packed(y[kept]),
            "marks": [{"x": one.x, "y": one.y, "text": f"point {one.point}"} for one in places],
        }
