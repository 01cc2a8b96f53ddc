"""The phases of a run in words: who is nearer to its limit, and which way the load goes."""

from collections.abc import Mapping
from math import ceil
from typing import TYPE_CHECKING

from fourpatch.analysis.phase_balance import PARTS
from fourpatch.analysis.within_grip import remedy

if TYPE_CHECKING:
    import xarray as xr

_ALIKE = 0.5
"""Balance within which neither axle is said to be nearer to its limit. [points]"""
_WORKING = 0.2
"""Use of grip below which an axle is not near any limit. [1]"""


def phase_meaning(phases: "xr.Dataset", at_most: Mapping[str, float]) -> str:
    """Say whether the car can do it, in which phases which axle is nearer to its limit, and where nearest."""
    nearer: dict[str, list[str]] = {"front": [], "rear": []}
    for name in map(str, phases.phase.values):
        one = phases.sel(phase=name)
        balance = float(one.balance)
        if _tells_balance(one) and float(one.use.max()) >= _WORKING and abs(balance) >= _ALIKE:
            nearer["front" if balance > 0.0 else "rear"].append(f"{name} (by {abs(balance):.1f} points)")
    peak = phases.peak_use.isel(phases.peak_use.argmax(...))
    said = []
    if float(peak) > 1.0:
        said.append(
            f"this car cannot follow this motion: the {peak.axle.item()} would need {_above(float(peak))} % "
            f"of its grip in {peak.phase.item()}; {remedy(at_most)}"
        )
    said += [
        f"the {axle} is nearer to its limit in {', '.join(names)}" for axle, names in nearer.items() if names
    ]
    if float(peak) <= 1.0:
        said.append(
            f"the nearest any axle comes is {100.0 * float(peak):.0f} % of its grip, the {peak.axle.item()} "
            f"in {peak.phase.item()}"
        )
    return "; ".join(said) + "."


def _tells_balance(phase: "xr.Dataset") -> bool:
    """Say whether a phase has a balance: straight ahead under power, use is traction at the driven wheels."""
    return bool(phase.front_transfer_share.notnull()) or float(phase.longitudinal_acceleration) < 0.0


def _above(use: float) -> int:
    """Return a use above the whole in whole percent, rounded away from what would read as possible."""
    return ceil(100.0 * use)


def transfer_meaning(phases: "xr.Dataset") -> str:
    """Say where the dampers carry most of the load transfer."""
    share = abs(phases.damper_transfer) / abs(phases.lateral_transfer).where(
        phases.front_transfer_share.notnull()
    )
    place = share.argmax(...)
    phase = str(phases.phase.values[int(place["phase"])])
    axle = str(phases.axle.values[int(place["axle"])])
    return (
        f"averaged over a phase, the dampers carry at most {100.0 * float(share.max()):.1f} % of an axle's "
        "transfer, "
        f"at the {axle} in {phase}; springs, bars and links carry the rest."
    )


_MOVED = 0.05
"""Change of balance from which on it is spoken of. [points]"""


def change_meaning(after: "xr.Dataset", before: "xr.Dataset") -> str:
    """Say in which phase a change of set-up moves the balance most, and by which path; empty if in none.

    Parameters
    ----------
    after, before : phases of two set-ups in the same motion.

    Notes
    -----
    The paths are compared by what they add to the front axle's lateral transfer and take from the rear's:
    half the difference of the two, which is what moves the front share.
    """
    change = after.balance - before.balance
    told = [name for name in map(str, after.phase.values) if _tells_balance(after.sel(phase=name))]
    if not told:
        return ""
    change = change.sel(phase=told)
    place = int(abs(change).argmax("phase"))
    phase, points = told[place], float(change[place])
    if abs(points) < _MOVED:
        return ""
    said = f"the largest change is in {phase}: {abs(points):.1f} points of balance toward the "
    said += "front" if points > 0.0 else "rear"
    if not bool(after.front_transfer_share.sel(phase=phase).notnull()):
        return said + "."
    moved = {}
    for part in PARTS:
        both = (after[f"{part}_transfer"] - before[f"{part}_transfer"]).sel(phase=phase)
        moved[part] = 0.5 * float(both.sel(axle="front") - both.sel(axle="rear"))
    part = max(moved, key=lambda one: abs(moved[one]))
    if abs(moved[part]) < 1.0:
        return said + "; the load transfer of the two axles hardly changes."
    way = "to the front axle" if moved[part] > 0.0 else "to the rear axle"
    return f"{said}; by the {part} path {abs(moved[part]):.0f} N of lateral load transfer move {way}."
