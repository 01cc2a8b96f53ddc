"""A button that brings all of a zip into the notebook."""

from collections.abc import Callable
from typing import Any

from nicegui import events
from nicegui.element import Element


class ZipButton(Element, component="zip_button.js"):
    """Tells what was brought in."""

    def __init__(
        self, text: str, on_brought: Callable[[dict[str, Any]], Any], *, address: str, tell: str
    ) -> None:
        """Draw the button.

        Parameters
        ----------
        on_brought : told the answer of the address.
        address : of the API, which takes the zip.
        tell : what it does, shown on hovering.
        """
        super().__init__()
        self._props |= {"text": text, "tell": tell, "address": address}

        def brought(event: events.GenericEventArguments) -> None:
            on_brought(dict(event.args))

        self.on("brought", brought)
