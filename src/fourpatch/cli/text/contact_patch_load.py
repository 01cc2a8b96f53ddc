"""What bumps did to tyres and body, in tables."""

import xarray as xr

from fourpatch.cli.output import Head, write_table, write_text
from fourpatch.face.numbers import number_tables
from fourpatch.picture.bump_meaning import bump_meaning


def write_bumps(bumps: xr.Dataset, *, title: str) -> None:
    """Write what a rough road or a kerb did to tyres and body."""
    for what, one in zip(("tyre", "car"), number_tables(bumps), strict=True):
        _, *places, unit = one.heads
        heads = [Head(text=what, right=False), *(Head(text=place) for place in places)]
        write_table([*heads, Head(text=unit, right=False)], one.rows, title=title if what == "tyre" else "")
    write_text(f"What this means: {bump_meaning(bumps)}")
