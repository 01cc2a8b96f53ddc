"""Results of one kind in a row: of the corners of a lap, say."""

from collections.abc import Iterator, Sequence
from dataclasses import dataclass
from typing import TYPE_CHECKING

from fourpatch.analysis.quantity import Findings, columns, columns_rows, columns_table
from fourpatch.document.html import html_table

if TYPE_CHECKING:
    import pandas as pd


@dataclass(frozen=True, slots=True, kw_only=True, repr=False, eq=False)
class Series:
    """Results of one kind: go through them, print them, or let a notebook show them."""

    title: str
    members: Sequence[Findings]
    names: Sequence[str]
    """What each is called."""

    def __iter__(self) -> Iterator[Findings]:
        """Go through them."""
        return iter(self.members)

    def __len__(self) -> int:
        """Return how many there are."""
        return len(self.members)

    def __getitem__(self, place: int) -> Findings:
        """Return one by its place."""
        return self.members[place]

    def to_dataframe(self) -> "pd.DataFrame":
        """Return a row for each, in SI."""
        import pandas as pd

        found = {f"{one.name} [{one.measure.si}]": one.values for one in columns(self.members)}
        return pd.DataFrame(found, index=list(self.names))

    def __repr__(self) -> str:
        """Print short."""
        return f"<{self.title}: {', '.join(self.names)}>"

    def __str__(self) -> str:
        """Write them as a table."""
        return f"{self.title}\n{columns_table(self.members, self.names)}"

    def _repr_html_(self) -> str:
        head, *rows = columns_rows(self.members, self.names)
        return html_table(head, rows, title=self.title)
