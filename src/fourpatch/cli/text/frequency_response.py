"""The answer to a wavy road, in a table, in words and for JSON."""

from typing import Any

import numpy as np
import xarray as xr

from fourpatch.cli.output import Head, finite, json_unit, write_table, write_text

AT = (0.5, 1.0, 1.5, 2.0, 2.5, 3.0, 4.0, 5.0, 7.0, 10.0, 12.0, 15.0, 20.0, 30.0)
"""Frequencies of the table's rows. [Hz]"""


def write_response(found: xr.Dataset, *, title: str) -> None:
    """Write sizes per millimetre of road at some frequencies."""
    rows = []
    for frequency in AT:
        one = abs(found.interp(frequency=frequency))
        rows.append(
            (
                f"{frequency:g}",
                *(f"{float(one.tyre_load.sel(corner=c)) * 1e-3:.1f}" for c in ("FL", "RL")),
                *(f"{float(one.travel.sel(corner=c)):.3f}" for c in ("FL", "RL")),
                f"{float(one.heave_acceleration) * 1e-3:.3f}",
                f"{np.degrees(float(one.pitch_acceleration)) * 1e-3:.2f}",
                f"{np.degrees(float(one.roll_acceleration)) * 1e-3:.2f}",
            )
        )
    write_table(
        [
            Head(text="frequency", unit="Hz"),
            Head(text="load FL", unit="N/mm"),
            Head(text="load RL", unit="N/mm"),
            Head(text="travel FL", unit="mm/mm"),
            Head(text="travel RL", unit="mm/mm"),
            Head(text="heave", unit="m/s² per mm"),
            Head(text="pitch", unit="deg/s² per mm"),
            Head(text="roll", unit="deg/s² per mm"),
        ],
        rows,
        title=title,
    )
    write_text(f"What this means: {response_meaning(found)}")


def response_meaning(found: xr.Dataset) -> str:
    """Say at which frequencies load and body answer most."""
    said = []
    for axle, corner in (("front", "FL"), ("rear", "RL")):
        size = np.abs(found.tyre_load.sel(corner=corner).values)
        peak = int(np.argmax(size))
        said.append(
            f"each millimetre of road moves the {axle} tyre's load by up to {size[peak] * 1e-3:.0f} N, at "
            f"{float(found.frequency[peak]):.1f} Hz"
        )
    return "; ".join(said) + "."


def response_content(found: xr.Dataset) -> dict[str, Any]:
    """Return magnitudes and phases for JSON."""
    content: dict[str, Any] = {"frequency": {"value": found.frequency.values.tolist(), "unit": "Hz"}}
    for name, values in found.data_vars.items():
        content[str(name)] = {
            "magnitude": {"value": _by_corner(abs(values)), "unit": json_unit(values.attrs["units"])},
            "phase": {"value": _by_corner(xr.apply_ufunc(np.angle, values)), "unit": "rad"},
        }
    return content


def _by_corner(values: xr.DataArray) -> Any:
    if "corner" not in values.dims:
        return [finite(value) for value in values.values.tolist()]
    return {str(place): _by_corner(values.sel(corner=place, drop=True)) for place in values.corner.values}
