"""The phases of a run, in tables."""

from collections.abc import Iterator, Mapping
from math import degrees

import xarray as xr

from fourpatch.cli.output import Head, write_table, write_text
from fourpatch.picture.phase_meaning import phase_meaning, transfer_meaning
from fourpatch.picture.shown import rounded


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
