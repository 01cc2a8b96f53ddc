"""The garage screen of a car as a table of rows to be filled in."""

from collections.abc import Awaitable, Callable, Mapping, Sequence
from typing import Any

from nicegui import events
from nicegui.element import Element
from pydantic import ValidationError

from fourpatch.app.answers.garage import GarageLine, Pasted
from fourpatch.car.garage import GarageRow

Rows = list[GarageRow]


class GarageTable(Element, component="garage_table.js"):
    """Tells its rows when they are to be kept, or lines pasted into them."""

    def __init__(
        self,
        lines: Sequence[GarageLine],
        *,
        on_keep: Callable[[Rows], Awaitable[None]],
        on_paste: Callable[[Rows, str], Pasted],
    ) -> None:
        """Draw the table.

        Parameters
        ----------
        on_keep : told the rows; answer with `kept` or `refuse`.
        on_paste : puts pasted lines into the rows.
        """
        super().__init__()
        self._props["lines"] = _shown(lines)

        async def keep(event: events.GenericEventArguments) -> None:
            rows = self._rows(event.args["rows"])
            if rows is not None:
                await on_keep(rows)

        def paste(event: events.GenericEventArguments) -> None:
            rows = self._rows(event.args["rows"])
            if rows is None:
                return
            found = on_paste(rows, str(event.args["text"])[:20_000])
            unread = len(found.unread)
            left = (
                f"{unread} of them fit no setting and stay here."
                if unread
                else "All of them are in their rows."
            )
            told = f" The scale of {', '.join(found.moved)} was moved to hold it: look at its ends."
            moved = told if found.moved else ""
            put = [one.model_dump() for one in found.rows]
            self.run_method("put", put, f"{left}{moved}", "\n".join(found.unread))

        self.on("keep", keep)
        self.on("paste", paste)

    def refuse(self, faults: Mapping[str, Mapping[str, str]]) -> None:
        """Say what cannot be, by row and field; under an empty row of the whole."""
        general = " ".join(faults.get("", {}).values())
        self.run_method("refuse", {key: dict(one) for key, one in faults.items() if key}, general)

    def kept(self, lines: Sequence[GarageLine], text: str) -> None:
        """Show the car as it is now, and say so."""
        self.run_method("kept", _shown(lines), text)

    def _rows(self, given: Any) -> Rows | None:
        try:
            return [GarageRow.model_validate(one) for one in given]
        except ValidationError:
            self.refuse({"": {"": "A field holds more than it can. Shorten it."}})
            return None


def _shown(lines: Sequence[GarageLine]) -> list[dict[str, Any]]:
    return [one.model_dump() for one in lines]
