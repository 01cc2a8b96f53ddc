"""What to observe next, as a driver would be told."""

from collections import Counter

from fourpatch.car.evidence import Comparison, Item, Reading
from fourpatch.evidence.next_look import Look, NextLooks
from fourpatch.picture.blocks import Block, Table, means
from fourpatch.picture.head import Head

_NAMED = 3  # of each kind: words, readings, changes


def look_text(item: Item) -> str:
    """Return a look as what to do."""
    match item:
        case Reading():
            place = f"{item.place} " if item.place else ""
            bend = f" of {item.radius:g} m" if item.radius else ""
            return f"read {place}{item.quantity}{bend}"
        case Comparison():
            return f"turn {' and '.join(item.changes)}, say if it got better"
        case _:
            return f"say if it {item.text}"


def next_look_blocks(found: NextLooks) -> list[Block]:
    """Return the looks that settle most, and what to do first."""
    blocks: list[Block] = []
    if found.looks:
        heads = [Head(text="what to do", right=False), Head(text="would settle", unit="%")]
        rows = [(look_text(one.item), f"{100.0 * one.settles:.0f}") for one in _best_of_each_kind(found)]
        blocks.append(Table(heads=heads, rows=rows, title=f'What would settle whether it is "{found.about}"'))
    return [*blocks, means(_meaning(found))]


def _best_of_each_kind(found: NextLooks) -> list[Look]:
    count: Counter[str] = Counter()
    best = []
    for one in found.looks:
        count[one.item.kind] += 1
        if count[one.item.kind] <= _NAMED:
            best.append(one)
    return best


def _meaning(found: NextLooks) -> str:
    stands = (
        f'"{found.about}": the plausible cars say {found.middle:+.1f} ± {found.spread:.1f} points toward it, '
        "the driver's own neutral left out."
    )
    if not found.looks:
        return (
            f"{stands} None of {found.tried} looks that were compared would settle a twentieth of that; a "
            "measured tyre or damper would, or a recording."
        )
    first = found.looks[0]
    return (
        f"{stands} First {look_text(first.item)}: expected to settle {100.0 * first.settles:.0f} % of what "
        "is open (of the variance, by a straight law over the plausible cars)."
    )
