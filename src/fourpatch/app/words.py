"""Numbers as they stand on the screen: one place for their form, sign and word."""

import re
from collections.abc import Iterable, Mapping, Sequence
from datetime import datetime
from typing import Any

from fourpatch.app.answers.bench import BenchAnswer, BenchCell
from fourpatch.car.car import Car
from fourpatch.notebook.entries import SetupEntry
from fourpatch.picture.chosen_units import cell_shown, said, shown_unit, unit_shown
from fourpatch.picture.shown import measure_of, pretty, rounded
from fourpatch.units import Unit

_EVEN = 0.05
"""Points below which neither axle runs out first."""

_FULL_BAR = 15.0
"""Points at which a cell's bar is full."""

_FULL_CHANGE = 5.0
"""Points of change at which the bar of a cell that always names one end is full."""

_COLUMNS = ("slow corner", "medium corner", "fast corner")


def driven_end(car: Car) -> str:
    """Return the axle that is driven alone, front or rear; empty with all wheels driven."""
    return {0.0: "rear", 1.0: "front"}.get(car.driveline.front_drive_share, "")


def bench_cells(answer: BenchAnswer, driven: str = "") -> dict[str, Mapping[str, Any]]:
    """Return the cells of the bench by "row|column".

    Parameters
    ----------
    driven : axle that is driven alone. On exit it runs out of grip first in every such car, so that its
        cells there show what B moves first, and the standing value small.
    """
    cells: dict[str, Mapping[str, Any]] = {}
    places: dict[str, int] = {}
    for cell in answer.cells:
        if cell.part:
            shown = _balance(cell)
            if driven and cell.part == "exit" and shown["tone"] == driven == _side(cell.reference):
                shown |= {"fixed": True, "share": cell.change / _FULL_CHANGE}
                shown["change"] = shown["change"] or "no change"
            cells[f"{cell.part}|{cell.event}"] = shown
        else:
            place = places.setdefault(cell.event, 0)
            places[cell.event] += 1
            cells[f"{cell.event}|{_COLUMNS[place]}"] = _bump(cell)
    return cells


def balance_text(points: float) -> str:
    """Return a balance in words: which axle runs out first, and by how many points of its grip."""
    side = _side(points)
    return side if side == "even" else f"{side} {abs(points):.1f}"


def balance_change_text(points: float) -> str:
    """Return a change of balance: by how much it moves to which axle; empty below what counts."""
    if abs(points) < _EVEN:
        return ""
    return f"{abs(points):.1f} → {'front' if points > 0 else 'rear'}"


PHASES: list[dict[str, str]] = [
    {"key": "braking", "label": "Braking", "say": "Full brakes, straight"},
    {"key": "entry", "label": "Entry", "say": "Brake released while the steering is wound on"},
    {"key": "mid", "label": "Mid", "say": "Steering held, speed about steady"},
    {"key": "exit", "label": "Exit", "say": "Throttle taken up while the steering is unwound"},
]
"""Phases of a corner, as heads of tables."""


def capital(text: str) -> str:
    """Return text that begins with a capital."""
    return text[:1].upper() + text[1:]


def moment_text(moment: datetime) -> str:
    """Return a moment in the racer's own time, short."""
    return moment.astimezone().strftime("%d %b %H:%M:%S")


_TAB = "the tab opened "


def tab_text(opened: datetime) -> str:
    """Return what a tab is called where its changes are kept: by when it was opened."""
    return f"{_TAB}{moment_text(opened)}"


def where_text(made_by: str, here: str) -> str:
    """Return where something was done, as the tab that is called ``here`` sees it."""
    if made_by == here:
        return "this tab"
    return f"another tab, opened {made_by.removeprefix(_TAB)}" if made_by.startswith(_TAB) else made_by


def setup_names(entries: Iterable[SetupEntry]) -> dict[int, str]:
    """Return how the set-ups of a car are told apart in a list, by id.

    Two may have one name, as two drivers give it; all but the oldest of them are numbered.
    """
    names: dict[int, str] = {}
    counts: dict[str, int] = {}
    for one in sorted(entries, key=lambda entry: entry.id):
        count = counts[one.head.name] = counts.get(one.head.name, 0) + 1
        names[one.id] = one.head.name if count == 1 else f"{one.head.name} ({count})"
    return names


def physical_text(unit: Unit, value: float) -> tuple[str, str]:
    """Return an SI value as short as a stepper has room for, and the unit in which it is shown."""
    unit = shown_unit(unit)
    if unit.shown == "N*s/m":
        return f"{value / 1000.0:.3g}", "N·s/mm"
    number, _, name = unit.brief(value, 3).partition(" ")
    return number.replace("-", "−"), pretty(name)


def step_text(up: BenchAnswer | None, down: BenchAnswer | None, here: BenchAnswer) -> str:
    """Return what one step up and one step down do most, by phase and over bumps.

    Parameters
    ----------
    up, down : with the adjuster one step further; None at its stop.
    here : as the set-up stands.
    """
    standing = {cell.measure: cell.value for cell in here.cells}
    parts = []
    for word, answer in (("up", up), ("down", down)):
        if answer is not None:
            moves = [(cell.value - standing.get(cell.measure, cell.value), cell) for cell in answer.cells]
            parts.append(f"One step {word}: {_largest(moves)}.")
    return " ".join(parts)


def turned_text(answer: BenchAnswer) -> str:
    """Return what B does most against A, by phase and over bumps."""
    return _largest([(cell.change, cell) for cell in answer.cells])


def _largest(moves: Sequence[tuple[float, BenchCell]]) -> str:
    said = []
    balance = max((m for m in moves if m[1].part), key=lambda m: abs(m[0]), default=None)
    if balance and abs(balance[0]) >= _EVEN:
        said.append(f"{balance[1].part} of the {balance[1].event} {balance_change_text(balance[0])}")
    bump = max((m for m in moves if m[1].unit == "1"), key=lambda m: abs(m[0]), default=None)
    if bump and abs(bump[0]) >= 5e-5:
        axle = bump[1].measure.rpartition(".")[2]
        said.append(f"{bump[1].event}, {axle}: grip lost {signed(100.0 * bump[0], 2)} %")
    return "; ".join(said) or "nothing that could be felt here"


def shown_text(text: str) -> str:
    """Return a sentence or a cell as its reader sees it: in the units chosen, with the sign for minus."""
    return true_minus(said(text))


def true_minus(text: str) -> str:
    """Return text with a true minus before its numbers, hyphens as they are."""
    return re.sub(r"(?<![\w-])-(?=\d)", "−", text)


def signed(number: float, decimals: int) -> str:
    """Return a change with its sign, a true minus, and a bare 0 where nothing is left of it."""
    return rounded(number, decimals, signed=True).replace("-", "−")


def _side(points: float) -> str:
    return "even" if abs(points) < _EVEN else "front" if points > 0 else "rear"


def _balance(cell: BenchCell) -> dict[str, Any]:
    moved = balance_change_text(cell.change)
    return {
        "now": balance_text(cell.value),
        "change": moved,
        "tone": _side(cell.value),
        "sense": ("front" if cell.change > 0 else "rear") if moved else "",
        "share": cell.value / _FULL_BAR,
        "say": f"{cell.event}, {cell.part}: the front axle uses {signed(cell.value, 2)} points more of its "
        f"grip than the rear; with A {signed(cell.reference, 2)}",
    }


def _bump(cell: BenchCell) -> dict[str, Any]:
    measure, decimals = measure_of(cell.unit), 1 if cell.unit == "m" else 2
    unit = pretty(measure.shown)
    now = f"{cell.value / measure.scale:.{decimals}f}"
    seen = cell_shown({"now": now, "change": signed(cell.change / measure.scale, decimals)}, unit)
    return {
        "now": f"{seen['now']} {unit_shown(unit)}",
        "change": "" if seen["change"] == "0" else seen["change"],
        "tone": "even",
        "sense": "" if seen["change"] == "0" else "worse" if cell.change > 0 else "better",
        "share": 0.0,
        "say": said(f"{cell.meaning}; with A {cell.reference / measure.scale:.{decimals}f} {unit}"),
    }
