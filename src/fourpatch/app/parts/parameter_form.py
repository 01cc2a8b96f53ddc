"""All numbers of a car as a form: searched, changed with their units, saved together."""

import inspect
from collections.abc import Callable, Mapping, Sequence
from typing import Any

from nicegui import events
from nicegui.element import Element

from fourpatch.app.answers.car import CarSheet, ParameterRow
from fourpatch.app.words import capital
from fourpatch.picture.chosen_units import said
from fourpatch.picture.shown import pretty

MARKS = {
    "given": ("●", "given"),
    "estimated": ("≈", "estimated"),
    "identified": ("◆", "measured"),
    "demo": ("○", "invented"),
}
"""Sign and word of each origin of a value."""

_TITLES = {
    "chassis": "Whole car",
    "fuel": "Fuel",
    "front": "Front axle",
    "rear": "Rear axle",
    "steering": "Steering",
    "brakes": "Brakes",
    "driveline": "Driveline",
    "aero": "Aerodynamics",
}

_LETTERS = {
    "constant": "constant",
    "f": "per front height",
    "r": "per rear height",
    "ff": "per front height squared",
    "fr": "per front times rear height",
    "rr": "per rear height squared",
}
"""Coefficients of an aerodynamic map, in words."""


class ParameterForm(Element, component="parameter_form.js"):
    """Tells what is to be looked at, and what is to be kept: texts by dotted name."""

    def __init__(
        self,
        sheet: CarSheet,
        *,
        on_look: Callable[[dict[str, str]], Any],
        on_keep: Callable[[dict[str, str]], Any],
    ) -> None:
        """Draw the form.

        Parameters
        ----------
        on_look : told all changed values whenever one changes; answer with `tell`.
        on_keep : told them when they are to be saved; answer with `tell` or `load`.
        """
        super().__init__()
        marks = [{"source": source, "sign": sign, "word": word} for source, (sign, word) in MARKS.items()]
        self._props |= {"groups": form_groups(sheet), "marks": marks, "first": hints_of(sheet.hints)}
        for name, action in (("look", on_look), ("keep", on_keep)):
            self.on(name, _told(action))

    def tell(self, faults: Mapping[str, str], hints: Sequence[str]) -> None:
        """Say what is wrong, by field or under "" of the whole, and what is odd."""
        self.run_method("tell", dict(faults), hints_of(hints))

    def load(self, sheet: CarSheet) -> None:
        """Show the car as it is now; nothing is changed any more."""
        self.run_method("load", form_groups(sheet), hints_of(sheet.hints))


def _told(action: Callable[[dict[str, str]], Any]) -> Callable[[events.GenericEventArguments], Any]:
    async def told(event: events.GenericEventArguments) -> None:
        done = action({str(path): str(text) for path, text in event.args["values"].items()})
        if inspect.isawaitable(done):
            await done

    return told


def hints_of(hints: Sequence[str]) -> list[str]:
    """Return hints as they are read."""
    return [pretty(hint) for hint in hints]


def form_groups(sheet: CarSheet) -> list[dict[str, Any]]:
    """Return the rows of the form by part of the car, in the order of the car's file."""
    groups: dict[str, list[dict[str, Any]]] = {}
    for row in sheet.parameters:
        groups.setdefault(row.path.split(".")[0], []).append(_row(row))
    return [{"title": _TITLES.get(part, part), "rows": rows} for part, rows in groups.items()]


def _row(row: ParameterRow) -> dict[str, Any]:
    top, *between, last = row.path.split(".")
    if last.isdigit():
        last = f"{between.pop()} {last}"
    sign, word = MARKS[row.source]
    sub = ", ".join(_words(one) for one in between if one != "map")
    label = _LETTERS.get(last, _words(last)) if "map" in between else _words(last)
    turned = " and ".join(f'"{name}"' for name in row.adjusters)
    spread = f" ± {said(pretty(row.spread_text.removeprefix('±')))}" if row.spread_text else ""
    return {
        "path": row.path,
        "label": capital(label),
        "place": f"{_TITLES.get(top, top)}, {sub}:" if sub else f"{_TITLES.get(top, top)}:",
        "sub": capital(sub),
        "text": said(pretty(row.text)),
        "allowed": f"Can be {said(pretty(row.allowed))}",
        "meaning": row.meaning,
        "turned": f"A set-up turns it by {turned}: its step there decides." if turned else "",
        "mark": {
            "source": row.source,
            "sign": sign,
            "word": f"{word}{spread}",
            "say": _origin_text(row),
        },
        "find": " ".join((row.path, _TITLES.get(top, ""), sub, label, row.meaning, *row.adjusters)).lower(),
    }


def _words(name: str) -> str:
    return name.replace("_", " ").replace("cg ", "CG ")


def _origin_text(row: ParameterRow) -> str:
    said = {
        "given": "Given by whoever wrote the car",
        "estimated": "Estimated",
        "identified": f"Found in the recording {row.recording}",
        "demo": "Invented for demonstration",
    }[row.source]
    method = f": {row.method}" if row.method and row.source != "demo" else ""
    spread = f"; one standard deviation is {row.spread_text}" if row.spread_text else ""
    return f"{said}{method}{spread}."
