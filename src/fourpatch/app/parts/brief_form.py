"""What a driver knows of a car, as a form: about ten numbers and choices."""

import inspect
from collections.abc import Callable, Mapping
from typing import Any

from nicegui import events
from nicegui.element import Element
from pydantic.fields import FieldInfo

from fourpatch.app.words import capital
from fourpatch.car.estimate import CarBrief
from fourpatch.document.fields import choices_of, unit_of
from fourpatch.document.meaning import meaning
from fourpatch.picture.chosen_units import said, shown_unit
from fourpatch.picture.shown import pretty

_LABELS = {
    "name": "Name",
    "front_downforce_area": "Front downforce area",
    "rear_downforce_area": "Rear downforce area",
    "grip": "Class of the tyres",
    "body": "Kind of car",
    "driven": "Driven wheels",
}
_EXAMPLES = {
    "name": "My car",
    "mass": "1180",
    "front_weight_share": "61",
    "wheelbase": "2540",
    "power": "125",
    "front_tyre": "205/50R16",
    "rear_tyre": "205/50R16",
    "top_speed": "210",
}
_CHOSEN = {"grip": "semi-slick", "body": "hatchback", "driven": "front", "downforce": "none"}


class BriefForm(Element, component="brief_form.js"):
    """Tells the texts of all fields when the car is to be made."""

    def __init__(self, on_made: Callable[[dict[str, str]], Any]) -> None:
        """Draw the form.

        Parameters
        ----------
        on_made : told the text of each field, with its unit; answer with `refuse` unless the page is left.
        """
        super().__init__()
        self._props["fields"] = brief_fields()

        async def made(event: events.GenericEventArguments) -> None:
            done = on_made({str(key): str(text) for key, text in event.args["values"].items()})
            if inspect.isawaitable(done):
                await done

        self.on("made", made)

    def refuse(self, faults: Mapping[str, str]) -> None:
        """Say what cannot be meant, by field or under "" of the whole."""
        self.run_method("refuse", dict(faults))


def brief_fields() -> list[dict[str, Any]]:
    """Return the fields: key, label, unit, range and meaning, and the choices of those that have some."""
    return [_field(key, field) for key, field in CarBrief.model_fields.items()]


def _field(key: str, field: FieldInfo) -> dict[str, Any]:
    unit, choices = unit_of(field), list(choices_of(field))
    example = _EXAMPLES.get(key, "")
    if unit:
        example = said(f"{example} {unit.shown}").partition(" ")[0]
        unit = shown_unit(unit)
    label = key.replace("_", " ")
    tells = meaning(CarBrief, key)
    return {
        "key": key,
        "label": _LABELS.get(key, capital(label)),
        "say": f"{tells} {pretty(unit.range())}." if unit else tells,
        "unit": pretty(unit.shown) if unit and unit.shown != "1" else "",
        "example": example,
        "value": _CHOSEN.get(key, ""),
        "choices": choices or None,
        "optional": not field.is_required() and not choices,
    }
