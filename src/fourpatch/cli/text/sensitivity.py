"""What one step of every adjuster does, in tables, in words and for JSON."""

import difflib
import math
from collections.abc import Iterator, Sequence
from typing import Any

from fourpatch.advice.sensitivity import CORNER_PHASES, DIRECTIONS, EffectTable
from fourpatch.cli.events import settings
from fourpatch.cli.output import Head, finite, json_unit, write_table, write_text
from fourpatch.errors import EventError
from fourpatch.events.corner import Corner
from fourpatch.picture.shown import measure_of, pretty, shown, words

_SEEN = 0.005
"""Change below which a balance shows as 0. [points]"""

_BUMPS = (
    ("grip_lost", "front"),
    ("grip_lost", "rear"),
    ("time_off_ground", "front"),
    ("time_off_ground", "rear"),
    ("body_throw", ""),
)


def chosen_measures(table: EffectTable, text: str) -> list[int]:
    """Return the measures whose dotted name holds all parts of a text: ``balance``, ``kerb.body_throw``.

    Raises
    ------
    EventError
        If there is none; the text proposes near names.
    """
    wanted = set(text.split("."))
    found = [k for k, measure in enumerate(table.measures) if wanted <= set(measure.name.split("."))]
    if not found:
        parts = sorted({part for measure in table.measures for part in measure.name.split(".")})
        near = difflib.get_close_matches(text, [*parts, *(m.name for m in table.measures)], n=3, cutoff=0.5)
        meant = f" Did you mean {' or '.join(near)}?" if near else ""
        raise EventError(
            f'--sort-by is "{text}", which no measure is called.{meant} Name one, or some of its parts between '
            f"points: {', '.join(parts)}."
        )
    return found


def corners_of(table: EffectTable) -> list[str]:
    """Return the names of the corners among the events."""
    return [name for name, event in table.events.items() if isinstance(event, Corner)]


def bumps_of(table: EffectTable) -> list[str]:
    """Return the names of the roads and kerbs among the events."""
    return [name for name, event in table.events.items() if not isinstance(event, Corner)]


def write_corner(table: EffectTable, corner: str, order: Sequence[int]) -> None:
    """Write what one step does in the phases of a corner: to the balance, then to the load of the front axle."""
    places = [table.index(f"{corner}.{phase}.balance") for phase in CORNER_PHASES]
    now = [f"{phase}, now {table.present[place]:+.1f}" for phase, place in zip(CORNER_PHASES, places, strict=True)]
    _write_pairs(
        table,
        order,
        list(zip(now, places, strict=True)),
        title=f"{corner}: change of balance [points] for one step down / up",
    )
    write_text(f"What this means: {corner_meaning(table, corner)}")
    loads = [table.index(f"{corner}.{phase}.axle_load.front") for phase in CORNER_PHASES]
    if _moving(table, order, loads):
        _write_pairs(
            table,
            order,
            list(zip(CORNER_PHASES, loads, strict=True)),
            title=f"{corner}: change of the front axle's load [N] for one step down / up",
        )


def write_bumps(table: EffectTable, event: str, order: Sequence[int]) -> None:
    """Write what one step does on a road or over a kerb."""
    columns = []
    for quantity, axle in _BUMPS:
        place = table.index(".".join(part for part in (event, quantity, axle) if part))
        measure = table.measures[place]
        unit = pretty(measure_of(measure.unit).shown)
        now = shown(table.present[place], measure.unit)
        columns.append((f"{words(quantity)} {axle} [{unit}], now {now}", place))
    _write_pairs(table, order, columns, title=f"{event}: change for one step down / up")
    write_text(f"What this means: {bumps_meaning(table, event)}")


def write_all(table: EffectTable, order: Sequence[int]) -> None:
    """Write every measure that an adjuster changes, adjuster by adjuster."""
    for place in order:
        one = table.adjusters[place]
        rows = []
        for k, measure in enumerate(table.measures):
            pair = [shown(table.effects[place, d, k], measure.unit, signed=True) for d in range(len(DIRECTIONS))]
            if any(text not in ("0", "-") for text in pair):
                unit = pretty(measure_of(measure.unit).shown)
                rows.append((measure.name, shown(table.present[k], measure.unit), *pair, unit))
        if rows:
            write_table(
                [
                    Head(text="measure", right=False),
                    Head(text="now"),
                    Head(text="one step down"),
                    Head(text="one step up"),
                    Head(text="unit", right=False),
                ],
                rows,
                title=f"{one.name}, {one.step:g} {one.unit}".rstrip(),
            )


def _write_pairs(
    table: EffectTable, order: Sequence[int], columns: Sequence[tuple[str, int]], *, title: str
) -> None:
    moving = _moving(table, order, [place for _, place in columns])
    heads = [Head(text="adjuster", right=False), Head(text="one step", right=False)]
    rows = []
    for k in moving:
        one = table.adjusters[k]
        pairs = (_pair(table, k, place) for _, place in columns)
        rows.append((one.name, f"{one.step:g} {pretty(one.unit)}".rstrip(), *pairs))
    write_table([*heads, *(Head(text=head) for head, _ in columns)], rows, title=title)
    still = [table.adjusters[k].name for k in order if k not in moving]
    if still:
        write_text(f"No change here: {', '.join(still)}.")


def _moving(table: EffectTable, order: Sequence[int], places: Sequence[int]) -> list[int]:
    """Return the adjusters that change one of the measures enough to show."""
    return [k for k in order if any(_pair(table, k, place) not in ("0 / 0", "- / 0", "0 / -") for place in places)]


def _pair(table: EffectTable, adjuster: int, place: int) -> str:
    unit = table.measures[place].unit
    return " / ".join(shown(value, unit, signed=True) for value in table.effects[adjuster, :, place])


def corner_meaning(table: EffectTable, corner: str) -> str:
    """Name, for each phase, the step that moves the balance most either way."""
    said = []
    for phase in CORNER_PHASES:
        place = table.index(f"{corner}.{phase}.balance")
        steps = list(_steps(table, place))
        up, down = max(steps, default=None), min(steps, default=None)
        parts = []
        if up and up[0] >= _SEEN:
            parts.append(f"{up[1]} most towards understeer ({up[0]:+.2f})")
        if down and down[0] <= -_SEEN:
            parts.append(f"{down[1]} most towards oversteer ({down[0]:+.2f})")
        said.append(f"{phase}: {', '.join(parts) or 'no step moves the balance'}")
    return "; ".join(said) + "."


def bumps_meaning(table: EffectTable, event: str) -> str:
    """Name the steps that save most grip in front and at the rear."""
    said = []
    for axle in ("front", "rear"):
        place = table.index(f"{event}.grip_lost.{axle}")
        change, step = min(_steps(table, place), default=(0.0, ""))
        now = 100.0 * table.present[place]
        if change < 0.0:
            said.append(
                f"bumps cost the {axle} {now:.2f} % of its lateral grip; {step} saves most of it "
                f"({100.0 * change:+.2f} % of grip)"
            )
        else:
            said.append(f"bumps cost the {axle} {now:.2f} % of its lateral grip; no single step saves any")
    return "; ".join(said) + "."


def _steps(table: EffectTable, place: int) -> Iterator[tuple[float, str]]:
    """Yield the change of a measure for each step, and the step in words."""
    for k, one in enumerate(table.adjusters):
        for direction, change in zip(("down", "up"), table.effects[k, :, place], strict=True):
            if math.isfinite(change):
                yield float(change), f"{one.name} {direction}"


def effect_content(table: EffectTable) -> dict[str, Any]:
    """Return the whole table for JSON."""
    return {
        "events": {
            name: {"kind": event.kind, **settings(event, for_json=True)} for name, event in table.events.items()
        },
        "measures": {
            measure.name: {
                "value": finite(value),
                "unit": json_unit(measure.unit),
                "meaning": measure.meaning,
            }
            for measure, value in zip(table.measures, table.present, strict=True)
        },
        "effects": {
            one.name: {
                name: {
                    measure.name: finite(value)
                    for measure, value in zip(table.measures, table.effects[k, column], strict=True)
                }
                for column, name in enumerate(("step_down", "step_up"))
            }
            for k, one in enumerate(table.adjusters)
        },
    }
