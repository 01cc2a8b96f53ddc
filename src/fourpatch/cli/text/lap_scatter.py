"""A driver's laps that differ, in tables and in words."""

import math

from fourpatch.analysis.lap_scatter import CornerScatter, ScatterStudy
from fourpatch.cli.output import CAUTION, write_table, write_text
from fourpatch.picture.head import Head
from fourpatch.picture.lap_meaning import lap_scatter_meaning, scatter_driven_how
from fourpatch.picture.shown import lap_time_text

_HEADS = (
    Head(text="corner"),
    Head(text="time", unit="s"),
    Head(text="spread", unit="s"),
    Head(text="of the lap's", unit="%"),
    Head(text="least\nreserve", unit="1/s"),
    Head(text="spread", unit="1/s"),
)


def write_lap_scatter(study: ScatterStudy, *, title: str) -> None:
    """Write lap times, corners, stability, and what they mean."""
    found, scatter = study.summary, study.scatter
    write_text(title)
    write_text(
        f"{scatter_driven_how(found)}; spreads of the driver: brake point {scatter.brake_point:g} m, "
        f"corner speed {100.0 * scatter.corner_speed:g} %, steering wheel "
        f"{math.degrees(scatter.steering):.2f} deg."
    )
    write_text(
        f"Good laps {found.good_laps} of {found.laps}. Lap time {lap_time_text(found.lap_time)}, spread "
        f"{found.lap_time_spread:.3f} s, from {lap_time_text(found.fastest)} to "
        f"{lap_time_text(found.slowest)}."
    )
    write_text(
        f"Largest sideslip angle {math.degrees(found.largest_sideslip):.1f} deg, spread "
        f"{math.degrees(found.largest_sideslip_spread):.2f} deg; least stability reserve "
        f"{found.least_reserve:+.1f} 1/s, spread {found.least_reserve_spread:.2f} 1/s (positive: the car "
        "would swing round if the driver held still)."
    )
    total = sum(one.spread**2 for one in found.corners)
    if found.corners:
        write_table(_HEADS, [_row(one, total) for one in found.corners], title="Corners, good laps")
    write_text(f"What this means: {lap_scatter_meaning(found)}")
    write_text(CAUTION)


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
