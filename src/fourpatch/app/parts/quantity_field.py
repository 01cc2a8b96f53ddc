"""A number of one's own with its unit: a slider to feel it, a field to set it."""

import math
from collections.abc import Callable
from typing import Any

from nicegui import events
from nicegui.element import Element

from fourpatch.app.words import capital
from fourpatch.picture.chosen_units import scale_shown, shown_unit
from fourpatch.picture.shown import pretty
from fourpatch.units import Unit, to_si


class QuantityField(Element, component="quantity_field.js"):
    """Shows a quantity in the reader's unit and tells it in SI."""

    def __init__(
        self,
        label: str,
        unit: Unit,
        value: float,
        *,
        step: float,
        on_change: Callable[[float], Any],
        low: float | None = None,
        high: float | None = None,
        tell: str = "",
    ) -> None:
        """Draw it.

        Parameters
        ----------
        value : SI.
        step : of the slider, in the usual unit; the field takes any number.
        on_change : told the SI value, while the slider moves too.
        low, high : ends of the slider, SI; what the field takes reaches as far as the unit's range.
        tell : a short definition, shown on hovering.
        """
        super().__init__()
        step = _tidy(step * scale_shown(unit.shown))
        self._digits = 6 if scale_shown(unit.shown) == 1.0 else 4  # 1.457 in, of 37 mm
        unit = shown_unit(unit)
        self._unit, self._scale = unit, to_si(1.0, unit.shown, unit.si)
        least, most = unit.low / self._scale, unit.high / self._scale
        self._props |= {
            "label": label,
            "unit": pretty(unit.shown),
            "value": self._shown(value),
            "low": _tidy(least),
            "high": _tidy(most),
            "from": _tidy(least if low is None else low / self._scale),
            "to": _tidy(most if high is None else high / self._scale),
            "step": step,
            "say": tell,
        }

        def changed(event: events.GenericEventArguments) -> None:
            number = float(event.args["value"])
            if math.isfinite(number) and least <= number <= most:
                on_change(min(max(number * self._scale, unit.low), unit.high))

        def written(event: events.GenericEventArguments) -> None:
            try:
                number = unit.read(unit.completed(str(event.args["text"])), from_file=False)
            except ValueError as error:
                self.run_method("refuse", capital(str(error)))
                return
            self.put(number)
            on_change(number)

        self.on("changed", changed)
        self.on("written", written)

    def put(self, value: float) -> None:
        """Show another value, SI, that the user did not set."""
        self.run_method("put", self._shown(value))

    def _shown(self, value: float) -> float:
        return _tidy(value / self._scale, self._digits)


def _tidy(number: float, digits: int = 6) -> float:
    """Return a number without the crumbs of a change of unit."""
    return float(f"{number:.{digits}g}")
