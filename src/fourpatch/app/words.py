"""Numbers as they stand on the screen: one place for their form, sign and word."""

from collections.abc import Mapping
from typing import Any

from fourpatch.app.answers.bench import BenchAnswer, BenchCell

_EVEN = 0.05
"""Points below which neither axle runs out first."""

_FULL_BAR = 15.0
"""Points at which a cell's bar is full."""

_COLUMNS = ("slow corner", "medium corner", "fast corner")


def bench_cells(answer: BenchAnswer) -> dict[str, Mapping[str, Any]]:
    """Return the cells of the bench by "row|column"."""
    cells: dict[str, Mapping[str, Any]] = {}
    places: dict[str, int] = {}
    for cell in answer.cells:
        if cell.part:
            cells[f"{cell.part}|{cell.event}"] = _balance(cell)
        else:
            place = places.setdefault(cell.event, 0)
            places[cell.event] += 1
            cells[f"{cell.event}|{_COLUMNS[place]}"] = _bump(cell)
    return cells


def balance_text(points: float) -> str:
    """Return a balance in words: which axle runs out first, and by how many points of its grip."""
    if abs(points) < _EVEN:
        return "even"
    return f"{'front' if points > 0 else 'rear'} {abs(points):.1f}"


def balance_change_text(points: float) -> str:
    """Return a change of balance: by how much it moves to which axle; empty below what counts."""
    if abs(points) < _EVEN:
        return ""
    return f"{abs(points):.1f} → {'front' if points > 0 else 'rear'}"


def _balance(cell: BenchCell) -> dict[str, Any]:
    side = "even" if abs(cell.value) < _EVEN else "front" if cell.value > 0 else "rear"
    moved = balance_change_text(cell.change)
    return {
        "now": balance_text(cell.value),
        "change": moved,
        "tone": side,
        "sense": ("front" if cell.change > 0 else "rear") if moved else "",
        "share": cell.value / _FULL_BAR,
        "say": f"{cell.event}, {cell.part}: front axle uses {cell.value:+.2f} points more of its grip than the rear; "
        f"with A {cell.reference:+.2f}",
    }


def _bump(cell: BenchCell) -> dict[str, Any]:
    number, smallest, unit = {
        "1": (100.0, 0.005, "%"),
        "m": (1000.0, 0.05, "mm"),
    }.get(cell.unit, (1.0, 0.005, "m/s²"))
    value, change = number * cell.value, number * cell.change
    digits = 1 if unit == "mm" else 2
    seen = abs(change) >= smallest
    return {
        "now": f"{value:.{digits}f} {unit}",
        "change": f"{change:+.{digits}f}".replace("-", "−") if seen else "",
        "tone": "even",
        "sense": ("worse" if change > 0 else "better") if seen else "",
        "share": 0.0,
        "say": f"{cell.meaning}; with A {number * cell.reference:.{digits}f} {unit}",
    }
