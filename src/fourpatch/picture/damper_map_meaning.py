"""Damper maps in words: which ratios of rebound to bump are good."""

from collections.abc import Mapping
from itertools import pairwise
from typing import TYPE_CHECKING

from fourpatch.analysis.damper_map import Ratios, best_damping, good_ratios, present_value
from fourpatch.picture.shown import measure_of, pretty, shown, words

if TYPE_CHECKING:
    import xarray as xr

CLASSES = "ABCDEFGH"
"""From smooth to rough."""


def ratio_text(good: Ratios, ratio: float) -> str:
    """Write a range of ratios; with a sign at an end that the map does not reach."""
    low = f"{'< ' if good.low_open else ''}{good.low * ratio:.2f}"
    high = f"{'> ' if good.high_open else ''}{good.high * ratio:.2f}"
    return f"{low} to {high}"


def maps_meaning(maps: "Mapping[str, xr.Dataset]", *, measure: str, cost: float, ratio: float) -> str:
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


def place_meaning(one: "xr.Dataset", measure: str) -> str:
    """Say where the set-up stands on a map, where it would be best, and what that is worth.

    Parameters
    ----------
    measure : of the map, something that is to be small.
    """
    attributes = one[measure].attrs
    unit = pretty(measure_of(attributes["units"]).shown)
    best, present = best_damping(one, measure), present_value(one, measure)

    def told(value: float) -> str:
        return f"{shown(value, attributes['units'])} {unit}"

    said = f"as the {one.attrs['axle']} dampers stand, {words(measure)} is {told(present)}; "
    if told(present) == told(best.value):
        return f"{said}nothing on this map is better."
    edge = ", at the edge of the map" if best.at_edge else ""
    return (
        f"{said}the least here is {told(best.value)}, with {best.bump:.2f} times the bump and "
        f"{best.rebound:.2f} times the rebound damping{edge}."
    )
