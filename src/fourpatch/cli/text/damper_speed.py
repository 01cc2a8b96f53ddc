"""How fast the dampers move, in a table."""

import xarray as xr

from fourpatch.analysis.quantity import DAMPER_SPEED, Corners
from fourpatch.cli.output import Head, write_table, write_text
from fourpatch.picture.bump_meaning import speed_meaning
from fourpatch.picture.shown import shown, words

CORNERS = Corners._fields


def write_damper_speeds(found: xr.Dataset, *, title: str) -> None:
    """Write shares of time and mean speeds of each corner; the histogram itself is for figure and JSON."""
    rows = []
    for name, values in found.data_vars.items():
        if "damper_speed" in values.dims:
            continue
        of_one = [float(values.sel(corner=corner)) for corner in CORNERS]
        match name, values.attrs["units"]:
            case ("skew", _):
                cells, unit = [f"{value:.2f}" for value in of_one], ""
            case (_, "m/s"):
                cells, unit = [f"{value / DAMPER_SPEED.scale:.0f}" for value in of_one], DAMPER_SPEED.shown
            case _:
                cells, unit = [shown(value, "1") for value in of_one], "%"
        rows.append((words(str(name)), *cells, unit))
    write_table(
        [Head(text="damper", right=False), *(Head(text=c) for c in CORNERS), Head(text="unit", right=False)],
        rows,
        title=title,
    )
    write_text(f"What this means: {speed_meaning(found)}")
