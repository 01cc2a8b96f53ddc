"""How fast the dampers move, in a table and in words."""

import xarray as xr

from fourpatch.analysis.quantity import DAMPER_SPEED, Corners
from fourpatch.cli.output import Head, write_table, write_text
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


def speed_meaning(found: xr.Dataset) -> str:
    """Say how much of the time the dampers are slow, and which way they are the faster."""
    split = 1e3 * float(found.attrs["split"])
    said = []
    for axle, corners in (("front", ["FL", "FR"]), ("rear", ["RL", "RR"])):
        one = found.sel(corner=corners).mean("corner")
        low = 100.0 * float(one.low_bump + one.low_rebound)
        bump, rebound = 1e3 * float(one.mean_bump_speed), 1e3 * float(one.mean_rebound_speed)
        said.append(
            f"the {axle} dampers are slower than {split:g} mm/s {low:.0f} % of the time, at {bump:.0f} mm/s "
            f"in bump and {rebound:.0f} mm/s in rebound on average"
        )
    return "; ".join(said) + "."
