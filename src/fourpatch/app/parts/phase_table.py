"""The table of the bench: phase by corner speed, then bumps and the kerb."""

from collections.abc import Awaitable, Callable, Mapping
from typing import Any

from nicegui import events
from nicegui.element import Element


class PhaseTable(Element, component="phase_table.js"):
    """Cells with a value and its change against A; tells which was chosen."""

    def __init__(
        self,
        *,
        columns: list[dict[str, str]],
        groups: list[dict[str, Any]],
        caption: str,
        choice: str,
        on_choose: Callable[[str, str], Awaitable[None]],
    ) -> None:
        """Draw an empty table.

        Parameters
        ----------
        columns : key, label and note of each.
        groups : key, label and rows (key, label, say) of each.
        choice : row and column chosen at first, as "row|column".
        on_choose : told row and column.
        """
        super().__init__()
        self._props |= {"columns": columns, "groups": groups, "caption": caption, "choice": choice}

        async def chosen(event: events.GenericEventArguments) -> None:
            await on_choose(str(event.args["row"]), str(event.args["column"]))

        self.on("chosen", chosen)

    def show(self, cells: Mapping[str, Mapping[str, Any]], *, sequence: int = 0) -> Any:
        """Fill the cells, by "row|column"; await the answer to know that they are shown."""
        return self.run_method("show", dict(cells), sequence)
