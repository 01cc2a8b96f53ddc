"""Numbers that were found, with their names and units: as a table, a dataset, a data frame and a picture."""

from collections.abc import Callable, Iterator
from dataclasses import dataclass
from itertools import product
from typing import TYPE_CHECKING, NamedTuple

from fourpatch.document.aligned import aligned
from fourpatch.document.html import html_table
from fourpatch.picture.shown import measure_of, pretty, shown, words

if TYPE_CHECKING:
    import pandas as pd
    import xarray as xr
    from matplotlib.figure import Figure

_PRINTED = 4
"""Names that stand where numbers are printed short."""


@dataclass(frozen=True, slots=True, kw_only=True, repr=False, eq=False)
class Numbers:
    """Numbers of one car: print them, let a notebook show them, take one by its name.

    ``found["mean_load"]`` is a labelled array in SI, and ``found.mean_load`` the same.
    """

    title: str
    """What they are of."""
    dataset: "xr.Dataset"
    """All of them, SI, each with its ``units`` and ``long_name``."""
    draw: "Callable[[], Figure]"

    def plot(self) -> "Figure":
        """Draw what they are of."""
        return self.draw()

    def to_dataframe(self) -> "pd.DataFrame":
        """Return a column for each number, in SI, and a row for each of their places."""
        return self.dataset.to_dataframe()

    def __getitem__(self, name: str) -> "xr.DataArray":
        """Return one by its name."""
        return self.dataset[name]

    def __getattr__(self, name: str) -> "xr.DataArray":
        """Return one by its name."""
        if name in self.dataset.data_vars:
            return self.dataset[name]
        known = ", ".join(map(str, self.dataset.data_vars))
        raise AttributeError(f"{self.title}: has no {name}, but {known}.")

    def __dir__(self) -> list[str]:
        """Return what may stand behind the point."""
        return [*object.__dir__(self), *map(str, self.dataset.data_vars)]

    def __repr__(self) -> str:
        """Print short."""
        names = list(map(str, self.dataset.data_vars))
        more = f" and {len(names) - _PRINTED} more; print() shows them" if len(names) > _PRINTED else ""
        return f"<{self.title}: {', '.join(names[:_PRINTED])}{more}>"

    def __str__(self) -> str:
        """Write them as tables."""
        tables = (aligned([one.heads, *one.rows]) for one in number_tables(self.dataset))
        return "\n\n".join((self.title, *tables))

    def _repr_html_(self) -> str:
        titles = (self.title, *("" for _ in self.dataset.data_vars))
        tables = zip(titles, number_tables(self.dataset), strict=False)
        return "".join(html_table(one.heads, one.rows, title=title) for title, one in tables)


class NumberTable(NamedTuple):
    """A table of numbers: names in the first column, units in the last."""

    heads: tuple[str, ...]
    rows: list[tuple[str, ...]]


def number_tables(dataset: "xr.Dataset") -> Iterator[NumberTable]:
    """Yield a table for the numbers of each kind of place: of axles in phases, of tyres, of the car."""
    tables: dict[tuple[str, ...], list[tuple[str, ...]]] = {}
    for name, one in dataset.data_vars.items():
        dims = tuple(map(str, one.dims))
        if all(dataset[dim].dtype.kind in "UO" for dim in dims):  # else a curve: for a picture, not a table
            inner = product(*(dataset[dim].values for dim in dims[1:]))
            for place in inner:
                at = one.sel(dict(zip(dims[1:], place, strict=True)))
                tables.setdefault(dims[:1], []).append(_row(", ".join((words(str(name)), *place)), at))
    for dims, rows in sorted(tables.items(), key=lambda table: -len(table[0])):
        labels = map(str, dataset[dims[0]].values) if dims else ("value",)
        yield NumberTable(heads=("", *labels, "unit"), rows=rows)


def _row(name: str, values: "xr.DataArray") -> tuple[str, ...]:
    unit = values.attrs["units"]
    cells = (shown(float(one), unit) for one in values.values.reshape(-1))
    return name, *cells, pretty(measure_of(unit).shown)
