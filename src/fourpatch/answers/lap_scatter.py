"""One driver's laps, which are never twice alike."""

import math
from collections.abc import Iterator
from typing import Annotated, ClassVar

from pydantic import Field

from fourpatch.analysis.lap_drive import DRIVER_MARGIN
from fourpatch.analysis.lap_scatter import CornerScatter, LapScatter, ScatterStudy, study_scatter
from fourpatch.answers.answer import Answer
from fourpatch.answers.lap_drive import MARGIN, PACE, driven_content
from fourpatch.answers.question import About, Asked, Found, Question
from fourpatch.document.content import finite, settings_content
from fourpatch.events.driver_style import DriverScatter
from fourpatch.events.style_file import load_style
from fourpatch.picture.blocks import Block, Picture, Sentence, Table, drawing, means
from fourpatch.picture.head import Head
from fourpatch.picture.lap_meaning import lap_scatter_meaning, laps_text, scatter_driven_how
from fourpatch.picture.shown import lap_time_text

EACH = {
    "lap_time": ("s", "Of each lap, `null` if it was not finished."),
    "largest_sideslip": ("rad", "In each lap."),
    "least_reserve": ("1/s", "In each lap."),
}
"""What is said of every lap: unit and meaning."""


class LapsDriven(DriverScatter, Question):
    """Drive CAR round a track many times with a driver's scatter: how repeatable is it?

    Each lap he brakes a little earlier or later, judges a corner's speed a little high or low, and his hands
    are not quite steady; spreads are one standard deviation. Stopped by Ctrl-C, it shows the laps driven by
    then.
    """

    command: ClassVar[str] = "run laps"
    question: ClassVar[str] = "How repeatable is this driver with this set-up on this track?"
    finds: ClassVar[dict[str, Found]] = {"laps": LapScatter, "each": EACH}
    of: ClassVar[About] = "car on a track"
    drawn: ClassVar[bool] = True
    takes_long: ClassVar[bool] = True
    files: ClassVar[frozenset[str]] = frozenset({"style"})
    page: ClassVar[str] = "/lap"

    laps: Annotated[int, Field(ge=2, le=2000)] = 40
    """How many to drive."""
    pace: Annotated[float, PACE] | None = None
    """Of the quasi-steady speeds, such as 92%; if left out, the driver practises and keeps back what his own
    unevenness asks for."""
    style: str | None = None
    """Style file of the driver: fourpatch export style FILE."""
    margin: Annotated[float, MARGIN] = DRIVER_MARGIN
    """Between the side of the car on its line and the edge."""
    seed: Annotated[int, Field(ge=0)] = 1
    """The same seed lays the same bumps and draws the same laps."""

    def answer(self, asked: Asked) -> Answer:
        """Compute it."""
        about = asked.car
        scatter = DriverScatter(**{name: getattr(self, name) for name in DriverScatter.model_fields})
        study = study_scatter(
            about.standing,
            asked.on,
            laps=self.laps,
            scatter=scatter,
            style=load_style(self.style) if self.style else None,
            pace=self.pace,
            margin=self.margin,
            seed=self.seed,
            progress=asked.progress,
            cancelled=asked.cancelled,
        )
        title = f"{about.named}; {study.track.name}, {laps_text(study.summary)}, computed by the drive"
        draw = drawing("lap_scatter.lap_scatter_figure", study, question=self.question, source=title)
        settings = settings_content(self)
        return Answer(
            title=title,
            about={
                **driven_content(asked, stopped=study.stopped),
                **{name: settings[name] for name in ("pace", "margin", "seed") if name in settings},
                "scatter": settings_content(scatter),
            },
            found={"laps": study.summary, "each": _each(study)},
            blocks=[*laps_blocks(study), Picture(draw=draw, says=self.question)],
            source=study,
            stopped=study.stopped,
        )


def _each(study: ScatterStudy) -> dict[str, object]:
    laps = study.laps
    rows = {name: list(map(finite, getattr(laps, name).tolist())) for name in EACH}
    return {
        "good": laps.good.tolist(),
        **{name: {"value": row, "unit": EACH[name][0]} for name, row in rows.items()},
    }


_HEADS = (
    Head(text="corner"),
    Head(text="time", unit="s"),
    Head(text="spread", unit="s"),
    Head(text="of the lap's", unit="%"),
    Head(text="least\nreserve", unit="1/s"),
    Head(text="spread", unit="1/s"),
)


def laps_blocks(study: ScatterStudy) -> Iterator[Block]:
    """Yield lap times, corners, stability, and what they mean."""
    found, scatter = study.summary, study.scatter
    yield Sentence(
        f"{scatter_driven_how(found)}; spreads of the driver: brake point {scatter.brake_point:g} m, "
        f"corner speed {100.0 * scatter.corner_speed:g} %, steering wheel "
        f"{math.degrees(scatter.steering):.2f} deg."
    )
    yield Sentence(
        f"Good laps {found.good_laps} of {found.laps}. Lap time {lap_time_text(found.lap_time)}, spread "
        f"{found.lap_time_spread:.3f} s, from {lap_time_text(found.fastest)} to "
        f"{lap_time_text(found.slowest)}."
    )
    yield Sentence(
        f"Largest sideslip angle {math.degrees(found.largest_sideslip):.1f} deg, spread "
        f"{math.degrees(found.largest_sideslip_spread):.2f} deg; least stability reserve "
        f"{found.least_reserve:+.1f} 1/s, spread {found.least_reserve_spread:.2f} 1/s (positive: the car "
        "would swing round if the driver held still)."
    )
    total = sum(one.spread**2 for one in found.corners)
    if found.corners:
        rows = [_row(one, total) for one in found.corners]
        yield Table(heads=_HEADS, rows=rows, title="Corners, good laps")
    yield means(lap_scatter_meaning(found))


def _row(one: CornerScatter, total: float) -> list[str]:
    share = one.spread**2 / total if total > 0.0 else 0.0
    return [
        one.corner,
        f"{one.time:.2f}",
        f"{one.spread:.3f}",
        f"{100.0 * share:.0f}",
        f"{one.least_reserve:+.1f}",
        f"{one.least_reserve_spread:.2f}",
    ]
