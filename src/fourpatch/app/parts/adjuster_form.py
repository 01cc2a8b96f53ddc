"""A form for an adjuster: its scale, what it acts on, and what a step does."""

from collections.abc import Awaitable, Callable, Mapping, Sequence
from typing import Any, get_args

from nicegui import events
from nicegui.element import Element
from pydantic.fields import FieldInfo

from fourpatch.app.words import capital
from fourpatch.car.adjuster_editing import MAPS, SPREAD
from fourpatch.car.adjusters import Adjuster

_LABELS = {
    "more_means": "A higher number",
    "targets": "Acts on",
    "map.kind": "A step",
    "map.unit": "Unit of the value",
    "map.rate": "Change per one on the scale",
    "baseline": "Car as written at",
}
_KINDS = {
    "direct": "the number is the value itself",
    "rate": "adds the same each time",
    "table": "as in a table",
    "curve": "as a polynomial",
    "unknown": "nobody knows: a plausible range",
}
_SAID = {
    "targets": "Dotted names of the car's numbers; commas between several.",
    "map.kind": "How positions become values.",
    SPREAD: "How unsure the range is: one standard deviation as a share, 30 %.",
}

Fields = Mapping[str, str]


class AdjusterForm(Element, component="adjuster_form.js"):
    """All fields of one adjuster; says beside each what cannot be."""

    def __init__(
        self,
        start: Fields,
        *,
        title: str,
        paths: Sequence[str],
        on_keep: Callable[[Fields], Awaitable[None]],
        on_remove: Callable[[], Awaitable[None]] | None,
        on_close: Callable[[], None],
    ) -> None:
        """Draw the form.

        Parameters
        ----------
        start : what the fields hold, as `fourpatch.car.adjuster_editing.adjuster_fields`.
        paths : what an adjuster may act on.
        on_keep : told the fields.
        on_remove : takes the adjuster out; None for one that is not there yet.
        """
        super().__init__()
        self._props |= {
            "title": title,
            "fields": form_fields(),
            "start": {one["key"]: start.get(one["key"], one["value"]) for one in form_fields()},
            "paths": list(paths),
            "removable": on_remove is not None,
        }

        async def keep(event: events.GenericEventArguments) -> None:
            await on_keep({str(key): str(text) for key, text in event.args["fields"].items()})

        async def remove() -> None:
            if on_remove is not None:
                await on_remove()

        self.on("keep", keep)
        self.on("remove", remove)
        self.on("close", lambda: on_close())

    def refuse(self, faults: Fields) -> None:
        """Say what cannot be, by field."""
        self.run_method("refuse", dict(faults))


def form_fields() -> list[dict[str, Any]]:
    """Return the fields: key, label, meaning, first value, choices, and for which maps each is."""
    own = [
        _field(key, field) for key, field in Adjuster.model_fields.items() if key not in ("map", "provenance")
    ]
    kind = {
        **_blank("map.kind", _SAID["map.kind"]),
        "choices": list(MAPS),
        "words": _KINDS,
        "value": "direct",
    }
    of_maps: dict[str, dict[str, Any]] = {}
    for name, model in MAPS.items():
        for key, field in model.model_fields.items():
            if key != "kind":
                one = of_maps.setdefault(key, {**_field(f"map.{key}", field), "kinds": []})
                one["kinds"].append(name)
    spread = {**_blank(SPREAD, _SAID[SPREAD]), "kinds": ["unknown"]}
    return [*own, kind, *of_maps.values(), spread]


def _field(key: str, field: FieldInfo) -> dict[str, Any]:
    choices = [one for one in get_args(field.annotation) if isinstance(one, str)]
    default = field.default if isinstance(field.default, str | float) else ""
    first = f"{default:g}" if isinstance(default, float) else default or (choices[0] if choices else "")
    return {
        **_blank(key, _SAID.get(key, field.description or "")),
        "choices": choices or None,
        "value": first,
    }


def _blank(key: str, say: str) -> dict[str, Any]:
    label = _LABELS.get(key, capital(key.removeprefix("map.").replace("_", " ")))
    return {"key": key, "label": label, "say": say, "choices": None, "words": {}, "value": "", "kinds": None}
