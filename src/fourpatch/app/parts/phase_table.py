"""The table of the bench: phase by corner speed, then bumps and the kerb."""

from collections.abc import Awaitable, Callable, Mapping
from typing import Any

from nicegui import events
from nicegui.element import Element

from fourpatch.app.words import PHASES
from fourpatch.picture.chosen_units import said

BUMP_EVENTS = ("rough road", "kerb")

_CORNERS = ("slow corner", "medium corner", "fast corner")


class PhaseTable(Element, component="phase_table.js"):
    """Cells with a value and its change against A; tells which was chosen."""

    def __init__(
        self,
        *,
        columns: list[dict[str, str]],
        groups: list[dict[str, Any]],
        caption: str,
        choice: str = "",
        on_choose: Callable[[str, str], Awaitable[None]] | None = None,
        start: Mapping[str, Mapping[str, Any]] | None = None,
    ) -> None:
        """Draw a table.

        Parameters
        ----------
        columns : key, label and note of each.
        groups : key, label and rows (key, label, say) of each.
        choice : row and column chosen at first, as "row|column".
        on_choose : told row and column; without it nothing can be chosen.
        start : cells that it begins with; none if left out.
        """
        super().__init__()
        columns = [{**one, "note": said(one["note"])} if "note" in one else one for one in columns]
        self._props |= {"columns": columns, "groups": groups, "caption": caption, "choice": choice}
        self._props |= {"start": start and dict(start), "still": on_choose is None}
        if on_choose is None:
            return

        async def chosen(event: events.GenericEventArguments) -> None:
            await on_choose(str(event.args["row"]), str(event.args["column"]))

        self.on("chosen", chosen)

    def show(self, cells: Mapping[str, Mapping[str, Any]], *, sequence: int = 0) -> Any:
        """Fill the cells, by "row|column"; await the answer to know that they are shown."""
        return self.run_method("show", dict(cells), sequence)


def bench_columns(notes: Mapping[str, str]) -> list[dict[str, str]]:
    """Return the columns of the bench's table, with a note on each corner."""
    return [
        {"key": name, "label": name.removesuffix(" corner").capitalize(), "note": notes[name]}
        for name in _CORNERS
        if name in notes
    ]


_GROUPS: list[dict[str, Any]] = [
    {
        "key": "corners",
        "rows": PHASES,
    },
    {
        "key": "bumps",
        "label": "Grip lost",
        "heads": ["Front", "Rear", "Body"],
        "rows": [
            {"key": "rough road", "label": "Rough road", "say": "A class B road of ISO 8608, straight"},
            {"key": "kerb", "label": "Kerb", "say": "A ramped kerb under the left wheels"},
        ],
    },
]


def bench_groups(driven: str) -> list[dict[str, Any]]:
    """Return the groups of the bench's table; where one axle alone is driven, the exit's row says so."""
    if not driven:
        return _GROUPS
    note = {
        "note": f"{driven} drives",
        "say": f"Throttle taken up: the driven {driven} is always first to run out; what B moves counts",
    }
    return [
        {**group, "rows": [{**row, **note} if row["key"] == "exit" else row for row in group["rows"]]}
        for group in _GROUPS
    ]
