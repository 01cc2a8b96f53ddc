"""A table of numbers with their change against A."""

from collections.abc import Mapping, Sequence
from typing import Any

from nicegui.element import Element


class NumberTable(Element, component="number_table.js"):
    """Rows are quantities, columns places or phases; each cell a value, and what B moves against A."""

    def __init__(
        self, *, caption: str, columns: Sequence[Mapping[str, str]], groups: Sequence[Mapping[str, Any]]
    ) -> None:
        """Draw an empty table.

        Parameters
        ----------
        caption : what it shows, read out.
        columns : key, label and say of each.
        groups : label and rows (key, label, unit, say) of each.
        """
        super().__init__()
        self._props |= {
            "caption": caption,
            "columns": [dict(one) for one in columns],
            "groups": [dict(one) for one in groups],
        }

    def show(self, cells: Mapping[str, Mapping[str, str]], *, sequence: int = 0) -> Any:
        """Fill the cells, by "row|column": now, change, sense, say; await to know that they are shown."""
        return self.run_method("show", dict(cells), sequence)
