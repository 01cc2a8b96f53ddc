"""Damper maps in a table, and for JSON."""

from collections.abc import Mapping
from typing import Any

import xarray as xr

from fourpatch.analysis.damper_map import best_damping, good_ratios, present_value, valley
from fourpatch.cli.output import write_table, write_text
from fourpatch.document.content import dataset_content
from fourpatch.picture.blocks import Head
from fourpatch.picture.damper_map_meaning import maps_meaning, ratio_text
from fourpatch.picture.shown import words


def write_maps(
    maps: Mapping[str, xr.Dataset], *, measure: str, cost: float, ratio: float, title: str
) -> None:
    """Write for each event where the set-up stands, where it would be best, and which ratios are good.

    Parameters
    ----------
    ratio : rebound over bump as the set-up stands.
    cost : allowed above the least, in the measure's own unit.
    """
    rows = []
    for name, one in maps.items():
        best, good = best_damping(one, measure), good_ratios(one, cost=cost, measure=measure)
        present = present_value(one, measure)
        rows.append(
            (
                name,
                f"{100.0 * present:.2f}",
                f"{100.0 * best.value:.2f}",
                f"{100.0 * (present - best.value):.2f}",
                f"{best.bump:.2f}",
                f"{best.rebound:.2f}",
                ratio_text(good, ratio),
            )
        )
    write_table(
        [
            Head(text="event", right=False),
            Head(text=words(measure), unit="%"),
            Head(text="least", unit="%"),
            Head(text="cost of being off", unit="points"),
            Head(text="best bump", unit="× now"),
            Head(text="best rebound", unit="× now"),
            Head(text="good rebound / bump", unit="1", now=f"{ratio:.2f}"),
        ],
        rows,
        title=title,
    )
    write_text(f"What this means: {maps_meaning(maps, measure=measure, cost=cost, ratio=ratio)}")


def maps_content(
    maps: Mapping[str, xr.Dataset], *, measure: str, cost: float, ratio: float
) -> dict[str, Any]:
    """Return the maps for JSON, each with its best, its valley and its good ratios."""
    content: dict[str, Any] = {}
    for name, one in maps.items():
        best, good = best_damping(one, measure), good_ratios(one, cost=cost, measure=measure)
        content[name] = {
            "present": {"value": present_value(one, measure), "unit": "1"},
            "least": {"value": best.value, "unit": "1"},
            "best_bump": {"value": best.bump, "unit": "1"},
            "best_rebound": {"value": best.rebound, "unit": "1"},
            "best_at_edge": best.at_edge,
            "valley": {"value": valley(one, measure).tolist(), "unit": "1"},
            "good_ratio": {
                "value": {"low": good.low * ratio, "high": good.high * ratio},
                "unit": "1",
            },
            "good_ratio_open": {"low": good.low_open, "high": good.high_open},
            "map": dataset_content(one),
        }
    return content
