"""The phases of a track's corners, in tables and in words."""

import math
from collections.abc import Iterator, Sequence

import xarray as xr

from fourpatch.analysis.lap_summary import LapCorner
from fourpatch.cli.output import write_table, write_text
from fourpatch.picture.blocks import Head

_ALIKE = 0.5  # balance within which neither axle is said to be nearer to its limit [points]


def write_track_corners(found: xr.Dataset, corners: Sequence[LapCorner], *, title: str) -> None:
    """Write balance, use and stability of each corner, a column for each phase."""
    write_text(title)
    names = [str(name) for name in found.phase.values]
    balance = [Head(text=f"{name}\nbalance", unit="points") for name in names]
    use = [Head(text=f"{name}\npeak use", unit="%") for name in names]
    heads = [*_CORNER, *balance, *use]
    write_table(heads, list(_balance_rows(found, corners)), title="Who runs out first")
    reserve = [Head(text=f"{name}\nreserve", unit="1/s") for name in names]
    tyre = [Head(text=f"{name}\ntyre", unit="%") for name in names]
    write_table(
        [*_CORNER, *reserve, *tyre],
        list(_stability_rows(found, corners)),
        title="Stability reserve, above 0 it swings round; use of the busiest tyre",
    )
    write_text(f"What this means: {corners_meaning(found)}")


_CORNER = (Head(text="corner"), Head(text="slowest", unit="km/h"))


def _named(corner: LapCorner) -> tuple[str, str]:
    return f"{corner.corner} {corner.direction}", f"{corner.slowest_speed * 3.6:.0f}"


def _balance_rows(found: xr.Dataset, corners: Sequence[LapCorner]) -> Iterator[tuple[str, ...]]:
    for corner in corners:
        one = found.sel(track_corner=corner.corner)
        yield (
            *_named(corner),
            *(_number(value, "+.1f") for value in one.balance.values),
            *(_number(100.0 * value, ".0f") for value in one.peak_use.max("axle").values),
        )


def _stability_rows(found: xr.Dataset, corners: Sequence[LapCorner]) -> Iterator[tuple[str, ...]]:
    for corner in corners:
        one = found.sel(track_corner=corner.corner)
        yield (
            *_named(corner),
            *(_number(value, "+.1f") for value in one.stability_reserve.values),
            *(_busiest(one.tyre_use.sel(phase=name)) for name in one.phase.values),
        )


def _number(value: float, form: str) -> str:
    return "-" if math.isnan(value) else format(value, form)


def _busiest(use: xr.DataArray) -> str:
    if bool(use.isnull().all()):
        return "-"
    most = use.isel(corner=int(use.argmax("corner")))
    share = float(most)
    return f"{most.corner.item()} {100.0 * share:.0f}" if share <= 1.0 else f"{most.corner.item()} > 100"


def corners_meaning(found: xr.Dataset) -> str:
    """Say by phase in how many corners which axle is nearer to its limit, and where the car diverges."""
    said = []
    for name in map(str, found.phase.values):
        balance = found.balance.sel(phase=name).dropna("track_corner")
        if balance.size == 0:
            continue
        front, rear = int((balance > _ALIKE).sum()), int((balance < -_ALIKE).sum())
        said.append(
            f"{name}: the front is nearer to its limit in {front}, the rear in {rear} of {balance.size}"
        )
    worst = found.stability_reserve.fillna(-math.inf)
    place = worst.isel(worst.argmax(...))
    if float(place) > 0.0:
        said.append(
            f"left alone the car would swing round fastest in {place.phase.item()} of corner "
            f"{place.track_corner.item()}, twice as far every {math.log(2.0) / float(place):.2f} s"
        )
    else:
        said.append("in the middle of every phase a disturbance dies away by itself")
    return "; ".join(said) + "."
