"""A native button: focus, keys and readers work as everywhere."""

import inspect
from collections.abc import Callable
from typing import Any

from nicegui import ui
from nicegui.element import Element

from fourpatch.app.parts.plain import plain


class Button(Element):
    """A button with a text; made by `button`."""

    def __init__(self, text: str, *, main: bool = False) -> None:
        super().__init__("button")
        self.classes("fp-button fp-main" if main else "fp-button")
        self._props["type"] = "button"
        with self:
            self._label = ui.element("span")
        self.set_text(text)

    def set_text(self, text: str) -> None:
        """Write another text on it."""
        self._label.clear()
        with self._label:
            plain(text)

    def set_enabled(self, enabled: bool) -> None:
        """Let it be pressed, or not."""
        if enabled:
            self._props.pop("disabled", None)
        else:
            self._props["disabled"] = True
        self.update()


def button(text: str, action: Callable[[], Any], *, tell: str = "", main: bool = False) -> Button:
    """Draw a button.

    Parameters
    ----------
    action : done on a press; may be a coroutine function.
    tell : what it does, shown on hovering and read out.
    main : whether it is what the page is for.
    """
    drawn = Button(text, main=main)
    if tell:
        drawn._props["title"] = tell
    drawn.on("click", action if inspect.iscoroutinefunction(action) else lambda: action() and None)
    return drawn
