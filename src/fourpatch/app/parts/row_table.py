"""A table of numbers with their changes; its rows can be chosen."""

from collections.abc import Awaitable, Callable, Sequence
from typing import Any

from nicegui import events
from nicegui.element import Element

from fourpatch.picture.chosen_units import cell_shown, said, unit_shown


class RowTable(Element, component="row_table.js"):
    """Rows of cells, each a text with a change beside it; on a narrow screen a row becomes a card."""

    def __init__(
        self,
        *,
        caption: str,
        columns: Sequence[dict[str, Any]],
        on_choose: Callable[[str], Awaitable[None]] | None = None,
        shown: bool = False,
    ) -> None:
        """Draw an empty table.

        Parameters
        ----------
        columns : label, unit and what it says of each; the first one names the row.
        on_choose : told the key of a row that was chosen; if left out, rows cannot be.
        shown : whether the caption is seen.
        """
        super().__init__()
        self._props |= {
            "caption": caption,
            "columns": [{**one, "unit": unit_shown(one["unit"]), "say": said(one["say"])} for one in columns],
            "choosable": on_choose is not None,
            "shown": shown,
        }
        self._units = [one["unit"] for one in columns]
        if on_choose is not None:

            async def chosen(event: events.GenericEventArguments) -> None:
                await on_choose(str(event.args))

            self.on("chosen", chosen)

    def show(self, rows: Sequence[dict[str, Any]]) -> Any:
        """Fill it: key and cells of each row; of a cell text, change, sense (better, worse) and say."""
        shown = [
            {**row, "cells": [cell_shown(*one) for one in zip(row["cells"], self._units, strict=False)]}
            for row in rows
        ]
        return self.run_method("show", shown)

    def choose(self, key: str) -> Any:
        """Mark a row."""
        return self.run_method("choose", key)
