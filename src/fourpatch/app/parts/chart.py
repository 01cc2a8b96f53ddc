"""Lines over time, drawn in the browser."""

import base64
from collections.abc import Mapping, Sequence
from typing import Any

import numpy as np
from nicegui.element import Element
from numpy.typing import NDArray

from fourpatch.picture.chosen_units import decimals_shown, scale_shown, unit_shown

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
        unit : of what is shown, the usual one; the reader sees his own.
        series : label, ink (a colour of the theme), and width, dash and digits where they differ.
        x : label, short name, unit and digits of the horizontal axis.
        link : name of the cursor it shares with other charts and the moving car.
        height : of the plot. [px]
        """
        super().__init__()
        usual, mark, more = unit.partition(",")
        self._scales = scale_shown(x.get("unit", "")), scale_shown(usual)
        unit = f"{unit_shown(usual)}{mark}{more}"
        along = unit_shown(x.get("unit", ""))
        self._props |= {
            "title": title,
            "unit": unit,
            "label": f"{title} [{unit}]",
            "series": [_as_shown(one, usual) for one in series],
            "x": {
                **_as_shown(x, x.get("unit", "")),
                "label": x["label"].replace(f"[{x.get('unit', '')}]", f"[{along}]"),
                "unit": along,
            },
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
        """Draw lines; await the answer to know that they are drawn.

        Parameters
        ----------
        summary : what is read out to who cannot see the lines; their least and largest if left out.
        """
        x, lines = x * self._scales[0], [line * self._scales[1] for line in lines]
        every = max(1, -(-x.shape[0] // MOST_POINTS))
        payload = {
            "x": packed(x[::every]),
            "lines": [packed(line[::every]) for line in lines],
            "phases": [dict(phase) for phase in phases],
            "summary": summary or self.spoken(lines),
            "sequence": sequence,
        }
        return self.run_method("show", payload)

    def spoken(self, lines: Sequence[Array]) -> str:
        """Return the least and the largest of each line in hand, in words; those of A are left out."""
        title, unit = str(self._props["title"]), str(self._props["unit"]).partition(",")[0]
        pens = zip(self._props["series"], lines, strict=True)
        told = [(one, line) for one, line in pens if not _of_a(one["label"], title)]
        said = [
            f"{_bare(one['label'], title)} {span_text(line, int(one.get('digits', 0)))} {unit}".strip()
            for one, line in told
        ]
        return f"{title}{', with B' if len(told) < len(lines) else ''}: {', '.join(said)}"

    def mark_stale(self, text: str) -> None:
        """Leave the lines and say why they are no longer true."""
        self.run_method("markStale", text)


def _as_shown(pen: Mapping[str, Any], unit: str) -> dict[str, Any]:
    """Return a pen, or the axis along, with the decimals that its shown unit needs."""
    return {**pen, "digits": decimals_shown(unit, pen["digits"])} if "digits" in pen else dict(pen)


def _of_a(label: str, title: str) -> bool:
    return label == "A" or (label.endswith(" A") and label != title)


def _bare(label: str, title: str) -> str:
    """Return what a line is of, without what its chart says already."""
    return "" if label in ("B", title) else label.removesuffix(" B")


def span_text(line: Array, digits: int) -> str:
    """Return the least and the largest of a line as shown: "2,100 to 5,300"; one number if it is level."""
    told = line[np.isfinite(line)]
    if not told.size:
        return "no value"
    # Adding nought makes of a negative one, as rounding leaves it, a plain one.
    least, largest = (f"{round(float(end), digits) + 0.0:,.{digits}f}" for end in (told.min(), told.max()))
    return least if least == largest else f"{least} to {largest}"


def packed(values: Array) -> str:
    """Return numbers as the browser reads them: base64 of 32-bit floats."""
    return base64.b64encode(np.ascontiguousarray(values, dtype="<f4").tobytes()).decode("ascii")
