"""A quasi-steady lap, in tables and in words."""

from fourpatch.analysis.lap_summary import LapCorner, LapSummary
from fourpatch.analysis.quantity import SPEED
from fourpatch.cli.output import write_table, write_text
from fourpatch.picture.blocks import Head
from fourpatch.picture.lap_meaning import lap_meaning
from fourpatch.picture.shown import lap_time_text


def write_lap(found: LapSummary, *, title: str) -> None:
    """Write time, sectors, extremes, a line for each corner, and what it means."""
    write_text(title)
    sectors = ", ".join(f"{one.time:.2f} s" for one in found.sectors)
    write_text(
        f"Lap time {lap_time_text(found.lap_time)} ({sectors}); {_kmh(found.lowest_speed)} to "
        f"{_kmh(found.highest_speed)} km/h, {_kmh(found.mean_speed)} km/h on average; up to "
        f"{found.acceleration:.1f} m/s² gaining speed, {found.deceleration:.1f} m/s² braking, "
        f"{found.lateral_acceleration:.1f} m/s² sideways."
    )
    if found.corners:
        write_table(_HEADS, [_row(one) for one in found.corners], title="Corners")
    write_text(f"What this means: {lap_meaning(found)}")


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
