"""Lines over time, drawn in the browser."""

import base64
from collections.abc import Mapping, Sequence
from typing import Any

import numpy as np
from nicegui.element import Element
from numpy.typing import NDArray

Array = NDArray[np.float64]

MOST_POINTS = 2000
"""Points of a line that are sent; a screen shows no more."""


class Chart(Element, component="chart.js", esm={"fourpatch-uplot": "uplot"}):
    """Lines on one pair of axes; charts and the moving car of one link share a cursor."""

    def __init__(
        self,
        *,
        title: str,
        unit: str,
        series: Sequence[Mapping[str, Any]],
        x: Mapping[str, Any],
        link: str = "",
        height: int = 180,
    ) -> None:
        """Draw empty axes.

        Parameters
        ----------
        series : label, ink (a colour of the theme), and width, dash and digits where they differ.
        x : label, short name, unit and digits of the horizontal axis.
        link : name of the cursor it shares with other charts and the moving car.
        height : of the plot. [px]
        """
        super().__init__()
        self._props |= {
            "title": title,
            "unit": unit,
            "label": f"{title} [{unit}]",
            "series": [dict(one) for one in series],
            "x": dict(x),
            "link": link,
            "height": height,
        }

    def show(
        self,
        x: Array,
        lines: Sequence[Array],
        *,
        phases: Sequence[Mapping[str, Any]] = (),
        summary: str = "",
        sequence: int = 0,
    ) -> Any:
        """Draw lines; await the answer to know that they are drawn."""
        every = max(1, -(-x.shape[0] // MOST_POINTS))
        payload = {
            "x": packed(x[::every]),
            "lines": [packed(line[::every]) for line in lines],
            "phases": [dict(phase) for phase in phases],
            "summary": summary,
            "sequence": sequence,
        }
        return self.run_method("show", payload)

    def mark_stale(self, text: str) -> None:
        """Leave the lines and say why they are no longer true."""
        self.run_method("markStale", text)


def packed(values: Array) -> str:
    """Return numbers as the browser reads them: base64 of 32-bit floats."""
    return base64.b64encode(np.ascontiguousarray(values, dtype="<f4").tobytes()).decode("ascii")
