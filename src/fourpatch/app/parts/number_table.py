"""A table of numbers with their change against A."""

from collections.abc import Mapping, Sequence
from typing import Any

from nicegui.element import Element

from fourpatch.picture.chosen_units import cell_shown, said, unit_shown


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
            "groups": [_group(one) for one in groups],
        }
        self._units = {row["key"]: row.get("unit", "") for one in groups for row in one["rows"]}

    def show(self, cells: Mapping[str, Mapping[str, str]], *, sequence: int = 0) -> Any:
        """Fill the cells, by "row|column": now, change, sense, say; await to know that they are shown."""
        shown = {
            place: cell_shown(one, self._units.get(place.split("|")[0], "")) for place, one in cells.items()
        }
        return self.run_method("show", shown, sequence)


def _group(group: Mapping[str, Any]) -> dict[str, Any]:
    rows = [{**row, "unit": unit_shown(row["unit"]), "say": said(row["say"])} for row in group["rows"]]
    return {**group, "rows": rows}
