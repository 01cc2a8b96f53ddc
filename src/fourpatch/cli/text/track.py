"""A track in a table and in words."""

import math

from fourpatch.analysis.track_summary import TrackCorner, TrackStudy, TrackSummary
from fourpatch.cli.output import write_table, write_text
from fourpatch.picture.blocks import Head


def write_track(study: TrackStudy, *, title: str) -> None:
    """Write what a track is, its corners, and what they mean."""
    found = study.summary
    write_text(title)
    kind = "A lap" if study.layout.closed else "From start to end"
    even = found.widest - found.narrowest < 0.05
    widths = f"{found.widest:.1f}" if even else f"{found.narrowest:.1f} to {found.widest:.1f}"
    write_text(
        f"{kind} of {found.length:.1f} m, {widths} m wide; {found.rise:.1f} m from the lowest to the highest "
        f"place, steepest {100.0 * found.steepest:.1f} % at {found.steepest_at:.0f} m; banking up to "
        f"{math.degrees(found.banking):.1f} deg; {len(study.track.road.kerbs)} kerbs."
    )
    write_text(f"Centre line: {found.adjustment}.")
    if found.corners:
        write_table(
            [
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
            [_row(one) for one in found.corners],
            title="Corners, along the centre line",
        )
    write_text(f"What this means: {track_meaning(found)}")


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
