"""What bumps did to tyres and body, in tables and in words."""

from collections.abc import Iterator

import xarray as xr

from fourpatch.analysis.quantity import Corners
from fourpatch.cli.output import Head, write_table, write_text
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


def bump_meaning(bumps: xr.Dataset) -> str:
    """Say what the bumps cost in grip, how long a tyre flies, how high the body is thrown."""
    front = 100.0 * float(bumps.grip_lost.sel(corner=["FL", "FR"]).mean())
    rear = 100.0 * float(bumps.grip_lost.sel(corner=["RL", "RR"]).mean())
    said = "load that comes and goes costs "
    said += f"the front tyres {front:.1f} % and the rear tyres {rear:.1f} % of their lateral grip; "
    flight = float(bumps.longest_flight.max())
    if flight > 0.0:
        corner = CORNERS[int(bumps.longest_flight.argmax("corner"))]
        said += f"{corner} is off the road for {1e3 * flight:.0f} ms at the longest; "
    else:
        said += "no tyre leaves the road; "
    stop = float(bumps.stop_contact.max())
    if stop > 0.0:
        corner = CORNERS[int(bumps.stop_contact.argmax("corner"))]
        said += f"{corner} is on its bump stop {100.0 * stop:.1f} % of the time; "
    return f"{said}the body's centre of gravity rises by up to {1e3 * float(bumps.body_throw):.0f} mm."
