"""What bumps and kerbs do to the load and the grip of the four tyres, and to the body."""

from typing import TYPE_CHECKING, ClassVar, get_args

if TYPE_CHECKING:
    import xarray as xr


from fourpatch.analysis import contact_patch_load
from fourpatch.analysis.standard_events import standard_bumps
from fourpatch.answers.answer import Answer
from fourpatch.answers.question import Asked, Found, Question
from fourpatch.answers.rig_runs import runs_on_rig
from fourpatch.events.bumps import BumpEvent
from fourpatch.events.files import Event
from fourpatch.face.numbers import number_tables
from fourpatch.picture.blocks import Block, Heading, Table, means
from fourpatch.picture.bump_meaning import bump_meaning
from fourpatch.picture.head import Head


class ContactPatchLoad(Question):
    """What bumps and kerbs do to the load and the grip of the four tyres, and to the body."""

    command: ClassVar[str] = "analyse contact-patch-load"
    question: ClassVar[str] = "Do the tyres stay on the road?"
    finds: ClassVar[dict[str, Found]] = {"bumps": contact_patch_load.UNITS}
    by_event: ClassVar[bool] = True
    events: ClassVar[tuple[type[Event], ...]] = get_args(BumpEvent)
    events_for: ClassVar[str] = "bumps are looked at"

    def answer(self, asked: Asked) -> Answer:
        """Compute it."""
        runs = runs_on_rig(asked, standard_bumps)
        found = {name: run.bumps().dataset for name, run in runs.done.items()}
        blocks: list[Block] = []
        for name, bumps in found.items():
            blocks += [Heading(runs.title(name)), *bumps_blocks(bumps)]
        return Answer(title=asked.car.named, about=runs.content(), found={"bumps": found}, blocks=blocks)


def bumps_blocks(bumps: "xr.Dataset") -> list[Block]:
    """Return what a rough road or a kerb did to tyres and body."""
    blocks: list[Block] = []
    for what, one in zip(("tyre", "car"), number_tables(bumps), strict=True):
        _, *places, unit = one.heads
        heads = [Head(text=what, right=False), *(Head(text=place) for place in places)]
        blocks.append(Table(heads=[*heads, Head(text=unit, right=False)], rows=one.rows))
    return [*blocks, means(bump_meaning(bumps))]
