"""What the linear model says of a rough road, beside the run on the rig."""

from collections.abc import Iterator
from typing import TYPE_CHECKING

if TYPE_CHECKING:
    import xarray as xr


from fourpatch.analysis.ride_spectrum import NUMBERS, ride_numbers
from fourpatch.picture.blocks import Block, Table, means
from fourpatch.picture.head import Head
from fourpatch.picture.shown import measure_of, pretty, shown, words

_APART = 0.05
"""Difference of load variation up to which run and endless road are called alike; 8 s scatter by 3 %."""

_AXLES: tuple[tuple[str, list[str]], ...] = (("front", ["FL", "FR"]), ("rear", ["RL", "RR"]))
_WHOLE: tuple[tuple[str, list[str]], ...] = (("", []),)


def linear_blocks(bumps: "xr.Dataset", spectrum: "xr.Dataset") -> list[Block]:
    """Return the numbers of rig and linear model side by side.

    Parameters
    ----------
    bumps : of the run, as `contact_patch_load` measures it.
    spectrum : of `analysis.ride_spectrum`.
    """
    numbers = ride_numbers(spectrum)
    side_by_side = Table(
        heads=[
            Head(text="on this road", right=False),
            Head(text="rig, this run"),
            Head(text="linear model"),
            Head(text="unit", right=False),
        ],
        rows=list(_rows(bumps, numbers)),
    )
    return [side_by_side, means(linear_meaning(bumps, numbers))]


def _rows(bumps: "xr.Dataset", numbers: "xr.Dataset") -> Iterator[tuple[str, ...]]:
    for name in NUMBERS:
        unit = numbers[name].attrs["units"]
        of_axles = "corner" in numbers[name].dims
        for axle, corners in _AXLES if of_axles else _WHOLE:
            values = [
                float(found[name].sel(corner=corners).mean() if of_axles else found[name])
                for found in (bumps, numbers)
            ]
            yield (
                f"{words(name)} {axle}".rstrip(),
                *(shown(value, unit) for value in values),
                pretty(measure_of(unit).shown),
            )


def linear_meaning(bumps: "xr.Dataset", numbers: "xr.Dataset") -> str:
    """Say whether a linear car would do on this road."""
    rig, linear = (float(found.load_variation.mean()) for found in (bumps, numbers))
    said = (
        "the linear model has straight dampers that take from this road what the curves take, and tyres that "
        "never lift; "
    )
    if abs(rig / linear - 1.0) <= _APART:
        return said + "it finds the same load variation, so little else bends the answer here."
    more = "more" if rig > linear else "less"
    return said + (
        f"the run has {100.0 * abs(rig / linear - 1.0):.0f} % {more} load variation: tyres that leave the "
        "road, stops, or a run too short to be typical."
    )
