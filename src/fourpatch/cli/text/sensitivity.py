"""What one step of every adjuster does, in tables, in words and for JSON."""

import difflib
from collections.abc import Iterator, Sequence
from math import ceil, isfinite
from typing import Any

import numpy as np

from fourpatch.advice.sensitivity import DIRECTIONS, EffectTable
from fourpatch.analysis.event_measures import CORNER_PHASES
from fourpatch.car.adjusters import Adjuster
from fourpatch.car.scale_words import counted
from fourpatch.cli.output import write_table, write_text
from fourpatch.document.content import finite, json_unit, settings_content
from fourpatch.errors import EventError
from fourpatch.events.bumps import BumpEvent
from fourpatch.events.corner import Corner
from fourpatch.picture.head import Head
from fourpatch.picture.shown import measure_of, pretty, rounded, shown

_SEEN = 0.005
"""Change below which a balance shows as 0. [points]"""

_LOAD_SEEN = 5.0
"""Change of an axle's load below which nothing is said of it. [N]"""

_WORTH_SAYING = 0.05
"""Share of what bumps cost below which no step is said to give anything back. [1]"""

_MOSTLY = 1.0 / 3.0
"""Change of the largest load, over a swing, below which the swing is the same load at another time. [1]"""

_SOON = 0.1
"""Delay beyond which it is not. [s]"""

_STEPS = "one step down / up"

_BUMPS = (
    ("grip_left", "front"),
    ("grip_left", "rear"),
    ("time_off_ground", "front"),
    ("time_off_ground", "rear"),
    ("body_throw", ""),
)

_SHORT = {"grip_left": "grip left", "time_off_ground": "time off\nground", "body_throw": "body\nthrow"}


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
            f'--sort-by is "{text}", which no measure is called.{meant} Name one, or some of its parts '
            "between "
            f"points: {', '.join(parts)}."
        )
    return found


def corners_of(table: EffectTable) -> list[str]:
    """Return the names of the corners among the events."""
    return [name for name, event in table.events.items() if isinstance(event, Corner)]


def bumps_of(table: EffectTable) -> list[str]:
    """Return the names of the roads and kerbs among the events."""
    return [name for name, event in table.events.items() if not isinstance(event, Corner)]


def write_corner(table: EffectTable, corner: str, order: Sequence[int] | None) -> None:
    """Write what one step does in the phases of a corner: to the balance, and to the front axle's load.

    Parameters
    ----------
    order : of the adjusters; by their largest effect on the balance in this corner if None.
    """
    balances = _phases(table, corner, "balance")
    rows = table.order(balances) if order is None else order
    now = [Head(text=p, now=_present(table.present[k])) for p, k in zip(CORNER_PHASES, balances, strict=True)]
    plain = [Head(text=phase) for phase in CORNER_PHASES]
    _write_pairs(table, rows, now, balances, title=f"{corner}: change of balance [points], {_STEPS}")
    write_text(f"What this means: {corner_meaning(table, corner)}")
    dampers = [k for k in rows if table.adjusters[k].system == "dampers"]
    for shown_rows, quantity, title in (
        (dampers, ("balance_swing",), "damper adjusters, largest momentary change of balance [points]"),
        (rows, ("axle_load_swing", "front"), "largest momentary change of the front axle's load [N]"),
    ):
        places = _phases(table, corner, *quantity)
        if order is None:
            shown_rows = [k for k in table.order(places) if k in shown_rows]
        if _moving(table, shown_rows, places):
            _write_pairs(table, shown_rows, plain, places, title=f"{corner}: {title}, {_STEPS}")
    write_text(f"What this means: {load_meaning(table, corner)}")


def _phases(table: EffectTable, corner: str, *quantity: str) -> list[int]:
    """Return a quantity's places in the phases of a corner."""
    return [table.index(".".join((corner, phase, *quantity))) for phase in CORNER_PHASES]


def write_bumps(table: EffectTable, event: str, order: Sequence[int] | None) -> None:
    """Write what one step does on a road or over a kerb.

    Parameters
    ----------
    order : of the adjusters; by their largest effect on the grip that bumps leave if None.
    """
    places = [table.index(".".join(part for part in (event, *names) if part)) for names in _BUMPS]
    heads = []
    for (quantity, axle), place in zip(_BUMPS, places, strict=True):
        unit = table.measures[place].unit
        heads.append(
            Head(
                text=_SHORT[quantity] + f"\n{axle}" if axle else _SHORT[quantity],
                unit=pretty(measure_of(unit).shown),
                now=shown(table.present[place], unit),
            )
        )
    rows = table.order(places[:2]) if order is None else order
    _write_pairs(table, rows, heads, places, title=f"{event}: change for {_STEPS}", with_step=False)
    write_text(f"What this means: {bumps_meaning(table, event)}")


def write_all(table: EffectTable, order: Sequence[int]) -> None:
    """Write every measure that an adjuster changes, adjuster by adjuster."""
    for place in order:
        one = table.adjusters[place]
        rows = []
        for k, measure in enumerate(table.measures):
            pair = [
                shown(table.effects[place, d, k], measure.unit, signed=True) for d in range(len(DIRECTIONS))
            ]
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
                title=step_of(one),
            )


def _write_pairs(
    table: EffectTable,
    order: Sequence[int],
    heads: Sequence[Head],
    places: Sequence[int],
    *,
    title: str,
    with_step: bool = True,
) -> None:
    moving = _moving(table, order, places)
    called = {k: step_of(table.adjusters[k]) if with_step else table.adjusters[k].name for k in moving}
    rows = [(called[k], *(_pair(table, k, place) for place in places)) for k in moving]
    first = "adjuster, one step" if with_step else "adjuster"
    write_table([Head(text=first, right=False), *heads], rows, title=title)
    still = [table.adjusters[k].name for k in order if k not in moving]
    if still:
        write_text(f"No change here: {'; '.join(still)}.")


def step_of(adjuster: Adjuster) -> str:
    """Return an adjuster's name and its step."""
    return f"{adjuster.name}, {counted(adjuster.step, adjuster.unit)}"


def _moving(table: EffectTable, order: Sequence[int], places: Sequence[int]) -> list[int]:
    """Return the adjusters that change one of the measures enough to show."""
    return [
        k for k in order if any(_pair(table, k, place) not in ("0 / 0", "- / 0", "0 / -") for place in places)
    ]


def _present(value: float) -> str:
    text = f"{value:+.1f}"
    return "0" if float(text) == 0.0 else text


def _pair(table: EffectTable, adjuster: int, place: int) -> str:
    unit = table.measures[place].unit
    return " / ".join(shown(value, unit, signed=True) for value in table.effects[adjuster, :, place])


def corner_meaning(table: EffectTable, corner: str) -> str:
    """Name, for each phase, the step that moves the balance most either way."""
    said = list(_beyond_grip(table, corner))
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


def _beyond_grip(table: EffectTable, corner: str) -> Iterator[str]:
    uses = {
        (phase, axle): float(table.present[table.index(f"{corner}.{phase}.use.{axle}")])
        for phase in CORNER_PHASES
        for axle in ("front", "rear")
    }
    (phase, axle), use = max(uses.items(), key=lambda item: item[1])
    if use > 1.0:
        yield (
            f"this car cannot follow this motion, whose {phase} asks for {ceil(100.0 * use)} % of the "
            f"{axle}'s grip, and the changes are those of a car that could"
        )


def load_meaning(table: EffectTable, corner: str) -> str:
    """Say of the largest swing of the front's load in each phase when it is, and whether it is more load."""
    said = []
    for phase in CORNER_PHASES:
        place = table.index(f"{corner}.{phase}.axle_load_swing.front")
        effects = table.effects[:, :, place]
        k, column = np.unravel_index(int(np.nanargmax(np.abs(effects))), effects.shape)
        swing = float(effects[k, column])
        if abs(swing) < _LOAD_SEEN:
            continue
        after, delay, peak = (
            float(table.effects[k, column, table.index(f"{corner}.{phase}.{quantity}.front")])
            for quantity in ("axle_load_swing_time", "axle_load_delay", "axle_load_peak")
        )
        step = f"{table.adjusters[int(k)].name} {('down', 'up')[int(column)]}"
        what = f"{phase}: {step} {swing:+.0f} N at {after:.2f} s of the phase"
        if abs(delay) <= _SOON and abs(peak) <= _MOSTLY * abs(swing):
            when = "later" if delay > 0.0 else "earlier"
            what += f", which is mostly the same load {1e3 * abs(delay):.0f} ms {when}"
        said.append(f"{what} (largest load of the phase {rounded(peak, 0, signed=True)} N)")
    return f"{'; '.join(said) or 'no step moves the front axle by a load to speak of'}."


def bumps_meaning(table: EffectTable, event: str) -> str:
    """Name the step that leaves most grip in front and at the rear, where it is worth naming."""
    said = []
    for axle in ("front", "rear"):
        place = table.index(f"{event}.grip_left.{axle}")
        lost, left = float(table.present[table.index(f"{event}.grip_lost.{axle}")]), table.present[place]
        change, step = max(_steps(table, place), default=(0.0, ""))
        cost = f"bumps cost the {axle} {100.0 * lost:.2f} % of its lateral grip"
        taken = lost / (1.0 - lost) * left
        if taken > 0.0 and change >= _WORTH_SAYING * taken:
            cost += f"; the largest single step is {step}: {100.0 * change / left:+.2f} % of the grip left"
        said.append(cost)
    return "; ".join(said) + "."


def _steps(table: EffectTable, place: int) -> Iterator[tuple[float, str]]:
    """Yield the change of a measure for each step, and the step in words."""
    for k, one in enumerate(table.adjusters):
        for direction, change in zip(("down", "up"), table.effects[k, :, place], strict=True):
            if isfinite(change):
                yield float(change), f"{one.name} {direction}"


def effect_content(table: EffectTable) -> dict[str, Any]:
    """Return the whole table for JSON."""
    return {
        "events": {
            name: {"kind": event.kind, **settings_content(event)}
            for name, event in table.events.items()
            if isinstance(event, Corner | BumpEvent)
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
