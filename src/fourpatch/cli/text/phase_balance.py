"""The phases of a run, in tables and in words."""

from collections.abc import Iterator, Mapping
from math import ceil, degrees

import xarray as xr

from fourpatch.analysis.within_grip import remedy
from fourpatch.cli.output import Head, write_table, write_text
from fourpatch.picture.shown import rounded

_ALIKE = 0.5
"""Balance within which neither axle is said to be nearer to its limit. [points]"""
_WORKING = 0.2
"""Use of grip below which an axle is not near any limit. [1]"""


def write_phases(phases: xr.Dataset, *, title: str, at_most: Mapping[str, float]) -> None:
    """Write the phases of a run: balance, use of grip, loads, attitude; then load transfer by its paths.

    Parameters
    ----------
    at_most : what of the motion to take back for it to be within grip, as `most_within_grip` returns it.
    """
    write_table(_PHASE_HEADS, list(_phase_rows(phases)), title=title)
    write_text(f"What this means: {phase_meaning(phases, at_most)}")
    if bool(phases.front_transfer_share.notnull().any()):
        write_table(_TRANSFER_HEADS, list(_transfer_rows(phases)), title="Lateral load transfer by its path")
        write_text(f"What this means: {transfer_meaning(phases)}")


_PHASE_HEADS = (
    Head(text="phase", right=False),
    Head(text="balance", unit="points"),
    Head(text="first\nhalf", unit="points"),
    Head(text="second\nhalf", unit="points"),
    Head(text="front\nuse", unit="%"),
    Head(text="rear\nuse", unit="%"),
    Head(text="front\nload", unit="N"),
    Head(text="rear\nload", unit="N"),
    Head(text="roll", unit="deg"),
    Head(text="pitch", unit="deg"),
)


_BALANCES = ("balance", "early_balance", "late_balance")


def _phase_rows(phases: xr.Dataset) -> Iterator[tuple[str, ...]]:
    for name in map(str, phases.phase.values):
        one = phases.sel(phase=name)
        yield (
            name,
            *(rounded(float(one[key]), 2, signed=True) for key in _BALANCES),
            *(rounded(100.0 * float(one.use.sel(axle=axle)), 1) for axle in ("front", "rear")),
            *(f"{float(one.axle_load.sel(axle=axle)):.0f}" for axle in ("front", "rear")),
            *(rounded(degrees(float(one[key])), 2, signed=True) for key in ("roll", "pitch")),
        )


_PARTS = ("elastic", "geometric", "unsprung", "damper")

_TRANSFER_HEADS = (
    Head(text="phase", right=False),
    *(Head(text=f"{axle}\n{part}", unit="N") for axle in ("front", "rear") for part in _PARTS),
    Head(text="front\nshare", unit="%"),
)


def _transfer_rows(phases: xr.Dataset) -> Iterator[tuple[str, ...]]:
    for name in map(str, phases.phase.values):
        one = phases.sel(phase=name)
        if not bool(one.front_transfer_share.notnull()):
            continue
        yield (
            name,
            *(
                rounded(float(one[f"{part}_transfer"].sel(axle=axle)), 0)
                for axle in ("front", "rear")
                for part in _PARTS
            ),
            f"{100.0 * float(one.front_transfer_share):.1f}",
        )


def phase_meaning(phases: xr.Dataset, at_most: Mapping[str, float]) -> str:
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


def _tells_balance(phase: xr.Dataset) -> bool:
    """Say whether a phase has a balance: straight ahead under power, use is traction at the driven wheels."""
    return bool(phase.front_transfer_share.notnull()) or float(phase.longitudinal_acceleration) < 0.0


def _above(use: float) -> int:
    """Return a use above the whole in whole percent, rounded away from what would read as possible."""
    return ceil(100.0 * use)


def transfer_meaning(phases: xr.Dataset) -> str:
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
