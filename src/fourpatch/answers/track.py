"""What a track is."""

import math
from typing import Annotated, ClassVar

from fourpatch.analysis.track_summary import TrackCorner, TrackStudy, TrackSummary, study_track
from fourpatch.answers.answer import Answer
from fourpatch.answers.question import About, Asked, Found, Question
from fourpatch.document.content import settings_content
from fourpatch.picture.blocks import Block, Picture, Sentence, Table, drawing, means
from fourpatch.picture.head import Head
from fourpatch.track.racing_line import DEFAULT_CAR_WIDTH, DEFAULT_MARGIN
from fourpatch.units import Unit


class TrackItself(Question):
    """Length, widths, slopes and corners of TRACK, and its line of least curvature."""

    command: ClassVar[str] = "analyse track"
    question: ClassVar[str] = "Where does the track turn, and how straight can it be driven?"
    finds: ClassVar[dict[str, Found]] = {"summary": TrackSummary}
    of: ClassVar[About] = "track"
    drawn: ClassVar[bool] = True

    car_width: Annotated[float, Unit("m", "m", 0.5, 3.0)] = DEFAULT_CAR_WIDTH
    """Over the tyres, for the line of least curvature."""
    margin: Annotated[float, Unit("m", "m", 0.0, 10.0)] = DEFAULT_MARGIN
    """Between car and edge of the road."""

    def answer(self, asked: Asked) -> Answer:
        """Compute it."""
        study = study_track(asked.on, car_width=self.car_width, margin=self.margin)
        line = f"line of least curvature for a car {self.car_width:g} m wide, {self.margin:g} m off the edges"
        title = f"{study.track.name}; {line}"
        draw = drawing("track_map.track_figure", study, question=self.question, source=title)
        closed = {"track": study.track.name, "closed": study.layout.closed}
        return Answer(
            title=title,
            about={**closed, **settings_content(self)},
            found={"summary": study.summary},
            blocks=[*track_blocks(study), Picture(draw=draw, says=self.question)],
        )


def track_blocks(study: TrackStudy) -> list[Block]:
    """Return what a track is, its corners, and what they mean."""
    found = study.summary
    kind = "A lap" if study.layout.closed else "From start to end"
    even = found.widest - found.narrowest < 0.05
    widths = f"{found.widest:.1f}" if even else f"{found.narrowest:.1f} to {found.widest:.1f}"
    what = Sentence(
        f"{kind} of {found.length:.1f} m, {widths} m wide; {found.rise:.1f} m from the lowest to the highest "
        f"place, steepest {100.0 * found.steepest:.1f} % at {found.steepest_at:.0f} m; banking up to "
        f"{math.degrees(found.banking):.1f} deg; {len(study.track.road.kerbs)} kerbs."
    )
    blocks: list[Block] = [what, Sentence(f"Centre line: {found.adjustment}.")]
    if found.corners:
        corners = Table(
            heads=[
                Head(text="corner"),
                Head(text="way", right=False),
                Head(text="from", unit="m"),
                Head(text="to", unit="m"),
                Head(text="angle", unit="deg"),
                Head(text="radius", unit="m"),
                Head(text="radius of\nthe line", unit="m"),
                Head(text="class", right=False),
                Head(text="chicane"),
            ],
            rows=[_row(one) for one in found.corners],
            title="Corners, along the centre line",
        )
        blocks.append(corners)
    return [*blocks, means(track_meaning(found))]


def _row(corner: TrackCorner) -> tuple[str, ...]:
    return (
        corner.corner,
        corner.direction,
        f"{corner.start:.0f}",
        f"{corner.end:.0f}",
        f"{math.degrees(corner.angle):.0f}",
        f"{corner.apex_radius:.0f}",
        "-" if corner.line_radius is None else f"{corner.line_radius:.0f}",
        f"{corner.speed_class}, {corner.length_class}",
        corner.chicane or "-",
    )


def track_meaning(found: TrackSummary) -> str:
    """Say which way the track turns, where it is tightest, and what the line saves."""
    if not found.corners:
        return "nothing on it counts as a corner."
    turned = {
        way: sum(one.angle for one in found.corners if one.direction == way) for way in ("left", "right")
    }
    way = max(turned, key=lambda one: turned[one])
    share = 100.0 * turned[way] / sum(turned.values())
    tightest = min(found.corners, key=lambda one: one.apex_radius)
    wider = [one for one in found.corners if one.line_radius is not None]
    said = [
        f"{share:.0f} % of the turning is to the {way}, so the tyres of the other side work hardest",
        f"corner {tightest.corner} is the tightest, {tightest.apex_radius:.0f} m",
    ]
    if wider:
        gain = [one.line_radius / one.apex_radius for one in wider if one.line_radius is not None]
        longer = found.line_length - found.length
        than = "longer than" if longer > 0.0 else "shorter than"
        said.append(
            f"the line of least curvature is {abs(longer):.0f} m {than} "
            f"the centre line and makes radii {min(gain):.2g} to {max(gain):.2g} times as large"
        )
    return "; ".join(said) + ". Least curvature is not least time: it is a line to begin with."
