"""Fields of a form that are words: lines, longer texts, days and choices; what is typed is told at once."""

from collections.abc import Mapping, Sequence
from dataclasses import dataclass, field
from typing import Literal

from nicegui import events, ui
from nicegui.element import Element

from fourpatch.app.parts.plain import plain

_TYPED = "(event) => emit(event.target.value)"


@dataclass(frozen=True, slots=True, kw_only=True)
class WordField:
    """One field."""

    key: str
    label: str
    kind: Literal["line", "text", "day", "choice"] = "line"
    options: Mapping[str, str] = field(default_factory=dict)
    """Of a choice: what is written, by value."""
    example: str = ""
    start: str = ""


class TextForm(Element):
    """A grid of fields; `values` is what stands in them."""

    def __init__(self, fields: Sequence[WordField]) -> None:
        super().__init__("div")
        self.classes("fp-words")
        self.values = {one.key: one.start for one in fields}
        self._drawn: dict[str, Element] = {}
        with self:
            for one in fields:
                self._draw(one)

    def empty(self, *keys: str) -> None:
        """Take out what stands in fields."""
        for key in keys:
            self.values[key] = ""
            self._drawn[key]._props["value"] = ""
            self._drawn[key].update()

    def show(self) -> None:
        """Write what was typed again: a page drawn anew begins with what stood there first."""
        for one in self._drawn.values():
            one.update()

    def _draw(self, one: WordField) -> None:
        with ui.element("label").classes("fp-small fp-words-wide" if one.kind == "text" else "fp-small"):
            plain(one.label)
            tag = {"line": "input", "day": "input", "text": "textarea", "choice": "select"}[one.kind]
            drawn = ui.element(tag).classes("fp-select" if one.kind == "choice" else "fp-field")
            if one.kind == "day":
                drawn._props["type"] = "date"
            if one.kind == "text":
                drawn._props["rows"] = 3
            if one.example:
                drawn._props["placeholder"] = one.example
            if one.kind == "choice":
                with drawn:
                    for value, text in one.options.items():
                        option = ui.element("option")
                        option._props |= {"value": value} | ({"selected": True} if value == one.start else {})
                        with option:
                            plain(text)
            else:
                drawn._props["value"] = one.start
            self._drawn[one.key] = drawn

            def typed(event: events.GenericEventArguments) -> None:
                self.values[one.key] = str(event.args)
                if one.kind != "choice":
                    drawn._props["value"] = str(event.args)

            drawn.on("change" if one.kind == "choice" else "input", typed, js_handler=_TYPED)
