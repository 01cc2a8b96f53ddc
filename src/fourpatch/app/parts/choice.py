"""A native choice of one among few."""

from collections.abc import Awaitable, Callable, Mapping

from nicegui import events, ui
from nicegui.element import Element

from fourpatch.app.parts.plain import plain


class Choice(Element):
    """A label with a list to choose from; made inside what is open."""

    def __init__(
        self,
        label: str,
        options: Mapping[str, str],
        value: str,
        *,
        on_choose: Callable[[str], Awaitable[None] | None],
        tell: str = "",
    ) -> None:
        """Draw it.

        Parameters
        ----------
        options : what is written, by value.
        on_choose : told the value; may be a coroutine function.
        tell : what is chosen, shown on hovering.
        """
        super().__init__("label")
        self.classes("fp-choice fp-small")
        if tell:
            self._props["title"] = tell
        with self:
            plain(label)
            with ui.element("select").classes("fp-select") as self._select:
                self._select._props["aria-label"] = label
                for key, text in options.items():
                    option = ui.element("option")
                    option._props |= {"value": key} | ({"selected": True} if key == value else {})
                    with option:
                        plain(text)

        async def chosen(event: events.GenericEventArguments) -> None:
            if str(event.args) in options and (waiting := on_choose(str(event.args))) is not None:
                await waiting

        self._select.on("change", chosen, js_handler="(event) => emit(event.target.value)")
