"""A small form of quantities, made from the part of a document that describes them."""

from collections.abc import Callable
from typing import Any, Generic, TypeVar

from nicegui import events
from nicegui.element import Element
from pydantic import ValidationError

from fourpatch.document.meaning import meaning
from fourpatch.document.part import Part
from fourpatch.picture.chosen_units import shown_unit
from fourpatch.units import Unit

PartT = TypeVar("PartT", bound=Part)


class QuantityForm(Element, Generic[PartT], component="quantity_form.js"):
    """A field for each number of a part, with unit, range and meaning; what cannot be is said beside it."""

    def __init__(self, value: PartT, *, title: str, on_change: Callable[[PartT], Any]) -> None:
        """Draw the form.

        Parameters
        ----------
        title : for who cannot see the form.
        on_change : told the part as a whole, once all of it can be.
        """
        super().__init__()
        self._kind, self.value = type(value), value
        self._written: dict[str, str] = {}
        self._props |= {"title": title, "fields": form_fields(value)}

        async def changed(event: events.GenericEventArguments) -> None:
            self._take(str(event.args["key"]), str(event.args["value"]), on_change)

        self.on("changed", changed)

    def _take(self, key: str, number: str, on_change: Callable[[PartT], Any]) -> None:
        self._written[key] = unit_of(self._kind, key).completed(number)
        try:
            self.value = self._kind.model_validate({**self.value.model_dump(), **self._written})
        except ValidationError as error:
            faults = {str(one["loc"][0]): str(one["msg"]) for one in error.errors() if one["loc"]}
            self.run_method("refuse", faults)
            return
        self._written.clear()
        self.run_method("refuse", {})
        on_change(self.value)


def unit_of(kind: type[Part], key: str) -> Unit:
    """Return the unit of a number of a part, shown as the reader wants it."""
    return shown_unit(next(one for one in kind.model_fields[key].metadata if isinstance(one, Unit)))


def form_fields(value: Part) -> list[dict[str, Any]]:
    """Return the fields of a part: key, label, unit, range, value in the shown unit, and meaning."""
    fields = []
    for key in type(value).model_fields:
        unit = unit_of(type(value), key)
        low, high, now = (_number(unit, one) for one in (unit.low, unit.high, getattr(value, key)))
        label = key.replace("_", " ").capitalize()
        fields.append(
            {
                "key": key,
                "label": label,
                "unit": "" if unit.shown == "1" else unit.shown,
                "low": low,
                "high": high,
                "value": now,
                "say": f"{meaning(type(value), key)} {unit.range()}.",
            }
        )
    return fields


def _number(unit: Unit, value: float) -> float:
    """Return an SI value in the shown unit, rounded for a field."""
    return float(unit.brief(value, 4).split()[0])
