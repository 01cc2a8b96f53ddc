"""Who runs out of grip first in each phase of a corner, and by which path load is moved."""

from collections.abc import Iterator, Mapping
from math import degrees
from typing import TYPE_CHECKING, ClassVar

if TYPE_CHECKING:
    import xarray as xr


from fourpatch.analysis import phase_balance
from fourpatch.analysis.standard_events import standard_corners
from fourpatch.answers.answer import Answer
from fourpatch.answers.question import Asked, Found, Question
from fourpatch.answers.rig_runs import runs_on_rig
from fourpatch.events.braking import Braking
from fourpatch.events.corner import Corner
from fourpatch.events.files import Event
from fourpatch.picture.blocks import Block, Heading, Table, means
from fourpatch.picture.head import Head
from fourpatch.picture.phase_meaning import phase_meaning, transfer_meaning
from fourpatch.picture.shown import rounded


class PhaseBalance(Question):
    """Who runs out of grip first in each phase of a corner, and by which path load is moved."""

    command: ClassVar[str] = "analyse phase-balance"
    question: ClassVar[str] = "Which axle runs out of grip first, phase by phase?"
    finds: ClassVar[dict[str, Found]] = {"phases": phase_balance.UNITS}
    by_event: ClassVar[bool] = True
    events: ClassVar[tuple[type[Event], ...]] = (Corner, Braking)
    events_for: ClassVar[str] = "phases are looked at"

    def answer(self, asked: Asked) -> Answer:
        """Compute it."""
        runs = runs_on_rig(asked, standard_corners)
        blocks: list[Block] = []
        for name, run in runs.done.items():
            blocks.append(Heading(runs.title(name)))
            blocks += phases_blocks(run.phases().dataset, at_most=run.at_most())
        found = {name: run.phases().dataset for name, run in runs.done.items()}
        return Answer(title=asked.car.named, about=runs.content(), found={"phases": found}, blocks=blocks)


def phases_blocks(phases: "xr.Dataset", *, at_most: Mapping[str, float]) -> list[Block]:
    """Return the phases of a run: balance, use of grip, loads, attitude; then load transfer by its paths.

    Parameters
    ----------
    at_most : what of the motion to take back for it to be within grip, as `most_within_grip` returns it.
    """
    blocks: list[Block] = [
        Table(heads=_PHASE_HEADS, rows=list(_phase_rows(phases))),
        means(phase_meaning(phases, at_most)),
    ]
    if bool(phases.front_transfer_share.notnull().any()):
        paths = list(_transfer_rows(phases))
        blocks += [
            Table(heads=_TRANSFER_HEADS, rows=paths, title="Lateral load transfer by its path"),
            means(transfer_meaning(phases)),
        ]
    return blocks


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


def _phase_rows(phases: "xr.Dataset") -> Iterator[tuple[str, ...]]:
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


def _transfer_rows(phases: "xr.Dataset") -> Iterator[tuple[str, ...]]:
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
