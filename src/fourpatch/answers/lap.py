"""A car round a track, quasi-steadily."""

from typing import Annotated, Any, ClassVar

from fourpatch.analysis.lap_summary import PROFILE_UNITS, LapCorner, LapSummary
from fourpatch.analysis.quantity import SPEED
from fourpatch.answers.answer import Answer
from fourpatch.answers.question import SPEED as STARTED
from fourpatch.answers.question import About, Asked, Found, Question
from fourpatch.document.content import settings_content
from fourpatch.face.lap import Lap
from fourpatch.picture.blocks import Block, Picture, Sentence, Table, means
from fourpatch.picture.head import Head
from fourpatch.picture.lap_meaning import lap_meaning
from fourpatch.picture.shown import lap_time_text
from fourpatch.units import Unit

USE = Unit("1", "%", 0.05, 1.0)
"""Of the worse axle's grip."""


class QuasiSteadyLap(Question):
    """Lap of CAR on a track, computed quasi-steadily: time, sectors, speed in every corner, what limits."""

    command: ClassVar[str] = "analyse lap"
    question: ClassVar[str] = "How fast is the car along the lap, and what holds it back?"
    finds: ClassVar[dict[str, Found]] = {"lap": LapSummary, "profile": PROFILE_UNITS}
    of: ClassVar[About] = "car on a track"
    drawn: ClassVar[bool] = True

    use: Annotated[float, USE] = 1.0
    """How much of the worse axle's grip is used."""
    start_speed: Annotated[float, STARTED] | None = None
    """At the start of an open track; as fast as its first place allows if left out."""

    def answer(self, asked: Asked) -> Answer:
        """Compute it."""
        found = asked.car.lap(asked.on, use=self.use, start_speed=self.start_speed)
        profile = {
            str(name): {"value": row.values.tolist(), "unit": row.attrs["units"]}
            for name, row in found.dataset.variables.items()
        }
        return Answer(
            title=found.source,
            about={**lap_content(asked, found), "mode": "quasi-steady", **settings_content(self)},
            found={"lap": found.summary, "profile": profile},
            blocks=[*lap_blocks(found.summary), Picture(draw=found.plot, says=self.question)],
        )


def lap_content(asked: Asked, found: Lap) -> dict[str, Any]:
    """Return what was driven for JSON."""
    return {**asked.car.content(), "track": found.study.track.name, "line": "least curvature"}


def lap_blocks(found: LapSummary) -> list[Block]:
    """Return time, sectors, extremes, a line for each corner, and what it means."""
    sectors = ", ".join(f"{one.time:.2f} s" for one in found.sectors)
    whole = Sentence(
        f"Lap time {lap_time_text(found.lap_time)} ({sectors}); {_kmh(found.lowest_speed)} to "
        f"{_kmh(found.highest_speed)} km/h, {_kmh(found.mean_speed)} km/h on average; up to "
        f"{found.acceleration:.1f} m/s² gaining speed, {found.deceleration:.1f} m/s² braking, "
        f"{found.lateral_acceleration:.1f} m/s² sideways."
    )
    rows = [_row(one) for one in found.corners]
    corners = [Table(heads=_HEADS, rows=rows, title="Corners")] if rows else []
    return [whole, *corners, means(lap_meaning(found))]


_HEADS = (
    Head(text="corner"),
    Head(text="way", right=False),
    Head(text="class", right=False),
    Head(text="slowest\nat", unit="m"),
    Head(text="entry", unit="km/h"),
    Head(text="slowest", unit="km/h"),
    Head(text="exit", unit="km/h"),
    Head(text="time", unit="s"),
    Head(text="sideways", unit="m/s²"),
    Head(text="limit", right=False),
)


def _row(corner: LapCorner) -> tuple[str, ...]:
    return (
        corner.corner,
        corner.direction,
        f"{corner.speed_class}, {corner.length_class}",
        f"{corner.slowest_at:.0f}",
        _kmh(corner.entry_speed),
        _kmh(corner.slowest_speed),
        _kmh(corner.exit_speed),
        f"{corner.time:.2f}",
        f"{corner.lateral_acceleration:.1f}",
        corner.limit,
    )


def _kmh(speed: float) -> str:
    return f"{speed / SPEED.scale:.0f}"
