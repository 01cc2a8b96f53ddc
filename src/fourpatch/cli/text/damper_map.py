"""Damper maps in a table and in words, and for JSON."""

from collections.abc import Mapping
from itertools import pairwise
from typing import Any

import xarray as xr

from fourpatch.analysis.damper_map import Ratios, best_damping, good_ratios, present_value, valley
from fourpatch.cli.output import Head, dataset_content, write_table, write_text
from fourpatch.picture.shown import words

CLASSES = "ABCDEFGH"
"""From smooth to rough."""


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


def ratio_text(good: Ratios, ratio: float) -> str:
    """Write a range of ratios; with a sign at an end that the map does not reach."""
    low = f"{'< ' if good.low_open else ''}{good.low * ratio:.2f}"
    high = f"{'> ' if good.high_open else ''}{good.high * ratio:.2f}"
    return f"{low} to {high}"


def maps_meaning(maps: Mapping[str, xr.Dataset], *, measure: str, cost: float, ratio: float) -> str:
    """Say which ratios of rebound to bump are good, and how that changes with the roughness of the road."""
    first = next(iter(maps))
    ranges = {name: good_ratios(one, cost=cost, measure=measure) for name, one in maps.items()}
    said = (
        f"on the {first}, rebound over bump of {ratio_text(ranges[first], ratio)} costs at most "
        f"{100.0 * cost:g} points of {words(measure)}, if the damping as a whole is set to suit. "
    )
    if any(one.low_open or one.high_open for one in ranges.values()):
        said += "(< and >: the map ends before the range does.) "
    if any(best_damping(one, measure).at_edge for one in maps.values()):
        said += "Where the best lies on the edge of the map, it may be better still beyond. "
    classes = {name: str(one.attrs["road_class"]) for name, one in maps.items() if "road_class" in one.attrs}
    return said + (
        _by_roughness({classes[name]: ranges[name] for name in classes}) if len(classes) > 1 else ""
    )


def _by_roughness(ranges: Mapping[str, Ratios]) -> str:
    """Say whether the good range widens as the road gets smoother, as computed."""
    ordered = sorted(ranges, key=CLASSES.index, reverse=True)
    widths = [ranges[name].width for name in ordered]
    spans = ", ".join(f"{name} {width:.1f}" for name, width in zip(ordered, widths, strict=True))
    reach = (
        ", as far as the map reaches" if any(one.low_open or one.high_open for one in ranges.values()) else ""
    )
    measured = f"(highest over lowest good ratio{reach}, rough to smooth: {spans}; one road of each class)"
    pairs = list(pairwise(widths))
    if all(after >= before for before, after in pairs) and widths[-1] > widths[0]:
        return f"The smoother the road, the wider the range {measured}."
    if all(after == before for before, after in pairs):
        return f"The range is as wide on every one of these roads {measured}."
    return f"That a smoother road allows a wider range does not hold for this car here {measured}."


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
