"""What bumps did to tyres and body, in tables."""

from collections.abc import Iterator

import xarray as xr

from fourpatch.analysis.quantity import Corners
from fourpatch.cli.output import Head, write_table, write_text
from fourpatch.picture.bump_meaning import bump_meaning
from fourpatch.picture.shown import measure_of, pretty, shown, words

CORNERS = Corners._fields


def write_bumps(bumps: xr.Dataset, *, title: str) -> None:
    """Write what a rough road or a kerb did to tyres and body."""
    write_table(
        [Head(text="tyre", right=False), *(Head(text=c) for c in CORNERS), Head(text="unit", right=False)],
        list(_tyre_rows(bumps)),
        title=title,
    )
    write_table(
        [Head(text="car", right=False), Head(text="value"), Head(text="unit", right=False)],
        list(_body_rows(bumps)),
    )
    write_text(f"What this means: {bump_meaning(bumps)}")


def _tyre_rows(bumps: xr.Dataset) -> Iterator[tuple[str, ...]]:
    for name, values in bumps.data_vars.items():
        if "corner" in values.dims:
            unit = values.attrs["units"]
            cells = (shown(float(values.sel(corner=corner)), unit) for corner in CORNERS)
            yield words(str(name)), *cells, pretty(measure_of(unit).shown)


def _body_rows(bumps: xr.Dataset) -> Iterator[tuple[str, ...]]:
    for name, values in bumps.data_vars.items():
        if "corner" not in values.dims:
            unit = values.attrs["units"]
            yield words(str(name)), shown(float(values), unit), pretty(measure_of(unit).shown)
