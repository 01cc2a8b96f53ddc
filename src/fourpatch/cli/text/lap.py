"""A quasi-steady lap, in tables and in words."""

from fourpatch.analysis.lap_summary import LapCorner, LapSummary
from fourpatch.analysis.quantity import SPEED
from fourpatch.cli.output import Head, write_table, write_text


def lap_time_text(seconds: float) -> str:
    """Write a time of a minute or more as minutes and seconds."""
    minutes, rest = divmod(round(seconds, 2), 60.0)
    return f"{minutes:.0f} min {rest:05.2f} s" if minutes else f"{rest:.2f} s"


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


def lap_meaning(found: LapSummary) -> str:
    """Say what limits the car for how much of the lap, and in which corners which axle does."""
    shares = {
        "the engine": found.engine_limited,
        "the front axle": found.front_limited,
        "the rear axle": found.rear_limited,
        "the brakes' torque": found.brakes_limited,
    }
    limits = [f"{what} {100.0 * share:.0f} %" for what, share in shares.items() if share >= 0.005]
    said = [f"of the lap time {', '.join(limits)} is what limits the car"]
    for axle in ("front axle", "rear axle"):
        numbers = [one.corner for one in found.corners if one.limit == axle]
        if numbers:
            said.append(f"where it is slowest the {axle} gives way first in {_named(numbers)}")
    free = [one.corner for one in found.corners if one.limit == "none"]
    if free:
        said.append(f"the car could corner faster where it is slowest in {_named(free)}")
    return (
        f"{'; '.join(said)}. Pedals and steering act at once here: a driver is some tenths of a second a "
        "corner slower."
    )


def _named(numbers: list[str]) -> str:
    return f"corner{'s' if len(numbers) > 1 else ''} {', '.join(numbers)}"
