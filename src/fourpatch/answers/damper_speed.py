"""How fast the dampers move over bumps and kerbs."""

from typing import TYPE_CHECKING, Annotated, ClassVar, get_args

if TYPE_CHECKING:
    import xarray as xr


from fourpatch.analysis import damper_speed
from fourpatch.analysis.quantity import DAMPER_SPEED, Corners
from fourpatch.analysis.standard_events import standard_bumps
from fourpatch.answers.answer import Answer
from fourpatch.answers.question import Asked, Found, Question
from fourpatch.answers.rig_runs import runs_on_rig
from fourpatch.document.content import settings_content
from fourpatch.events.bumps import BumpEvent
from fourpatch.events.files import Event
from fourpatch.picture.blocks import Block, Heading, Picture, Table, means
from fourpatch.picture.bump_meaning import speed_meaning
from fourpatch.picture.head import Head
from fourpatch.picture.shown import rounded, shown, words
from fourpatch.units import Unit

CORNERS = Corners._fields


class DamperSpeeds(Question):
    """Share of the time each damper moves at each speed, over bumps and kerbs."""

    command: ClassVar[str] = "analyse damper-speed"
    question: ClassVar[str] = "How fast do the dampers move?"
    finds: ClassVar[dict[str, Found]] = {"damper_speeds": damper_speed.UNITS}
    by_event: ClassVar[bool] = True
    events: ClassVar[tuple[type[Event], ...]] = get_args(BumpEvent)
    events_for: ClassVar[str] = "bumps are looked at"
    drawn: ClassVar[bool] = True

    split: Annotated[float, Unit("m/s", "mm/s", 1e-3, 1.0)] = damper_speed.SPLIT
    """Damper speed that parts low from high."""

    def answer(self, asked: Asked) -> Answer:
        """Compute it."""
        runs = runs_on_rig(asked, standard_bumps)
        blocks: list[Block] = []
        found = {}
        for name, run in runs.done.items():
            speeds = run.damper_speeds(split=self.split)
            found[name] = speeds.dataset
            blocks += [Heading(runs.title(name)), *speeds_blocks(speeds.dataset)]
            blocks.append(Picture(draw=speeds.draw, says=self.question))
        about = {**runs.content(), **settings_content(self)}
        return Answer(title=asked.car.named, about=about, found={"damper_speeds": found}, blocks=blocks)


def speeds_blocks(found: "xr.Dataset") -> list[Block]:
    """Return shares of time and mean speeds of each corner; the histogram itself is for figure and JSON."""
    rows = []
    for name, values in found.data_vars.items():
        if "damper_speed" in values.dims:
            continue
        of_one = [float(values.sel(corner=corner)) for corner in CORNERS]
        match name, values.attrs["units"]:
            case ("skew", _):
                cells, unit = [f"{value:.2f}" for value in of_one], ""
            case (_, "m/s"):
                cells, unit = [rounded(value / DAMPER_SPEED.scale, 0) for value in of_one], DAMPER_SPEED.shown
            case _:
                cells, unit = [shown(value, "1") for value in of_one], "%"
        rows.append((words(str(name)), *cells, unit))
    heads = [Head(text="damper", right=False), *(Head(text=c) for c in CORNERS)]
    dampers = Table(heads=[*heads, Head(text="unit", right=False)], rows=rows)
    return [dampers, means(speed_meaning(found))]
