"""What evidence taught of a car, in tables and sentences."""

from collections.abc import Iterator

import numpy as np

from fourpatch.advice.plausible import APART
from fourpatch.car.evidence import OBSERVABLES, Comparison, Item, Reading
from fourpatch.evidence.believed import Believed, Narrowed, Taught
from fourpatch.evidence.unknowns import LIMIT, LIMIT_SHARE, LIMIT_SPREAD, NEUTRAL, NEUTRAL_SPREAD
from fourpatch.evidence.weighing import FEW
from fourpatch.picture.blocks import Block, Sentence, Table, means
from fourpatch.picture.head import Head
from fourpatch.picture.shown import rounded, words
from fourpatch.units import Unit

_NAMED = 12  # unknowns in the table
_FAR = 2.0  # standard deviations beyond which an item counts as not explained
_MUCH = 0.8  # share of its spread before, below which a number counts as told

EMPTY = (
    "nothing was observed of this car yet, so every plausible car counts alike. Write down what you know: "
    'a number read (fourpatch evidence reading my_car.toml "top speed" "212 km/h"), what it does '
    '(fourpatch evidence words my_car.toml "loose on exit"), what a change did (fourpatch evidence '
    "comparison)."
)


def evidence_blocks(found: Believed) -> list[Block]:
    """Return what was observed and taught, what is known better now, and what it means."""
    if not found.taught:
        return [means(EMPTY)]
    blocks: list[Block] = [_items_table(found)]
    if found.narrowed:
        blocks.append(_narrowed_table(found))
    return [*blocks, *(Sentence(one) for one in _cautions(found)), means(" ".join(_meaning(found)))]


def item_text(item: Item) -> str:
    """Return an item of evidence in one line."""
    match item:
        case Reading():
            place = f"{item.place} " if item.place else ""
            bend = f" at {item.radius:g} m" if item.radius else ""
            return f"{place}{item.quantity}{bend}: {item.value}"
        case Comparison():
            return f'{" and ".join(item.changes)}: {item.outcome} at "{item.text}"'
        case _:
            return f'nothing of "{item.text}"' if item.nothing else f'"{item.text}"'


def number_text(value: float, unit: str, item: Item) -> str:
    """Return the number behind an item, in the unit its reader uses."""
    if isinstance(item, Reading):
        return OBSERVABLES[item.quantity].unit.brief(value)
    return f"{rounded(value, 1, signed=True)} {unit}"


def _size_text(size: float, unit: str, item: Item) -> str:
    if isinstance(item, Reading):
        return difference(size, OBSERVABLES[item.quantity].unit)
    return rounded(size, 1)


def difference(size: float, unit: Unit) -> str:
    """Return a spread in the shown unit, without it, to two figures."""
    scale = 1.0 if unit.shown == "1" else unit.parse_difference(f"1 {unit.shown}")
    return f"{float(f'{size / scale:.2g}'):g}"


def _items_table(found: Believed) -> Table:
    heads = [
        Head(text="no."),
        Head(text="observed", right=False),
        Head(text="plausible cars\nshowed", right=False),
        Head(text="and show now", right=False),
        Head(text="by itself it tells", right=False),
    ]
    rows = [
        (
            str(number),
            item_text(one.item),
            _pair(one.before, one),
            _pair(one.after, one),
            _alone(one),
        )
        for number, one in enumerate(found.taught, start=1)
    ]
    return Table(heads=heads, rows=rows, title="What was observed, and what it taught")


def _pair(pair: tuple[float, float], one: Taught) -> str:
    middle, spread = pair
    return f"{number_text(middle, one.unit, one.item)} ± {_size_text(spread, one.unit, one.item)}"


def _alone(one: Taught) -> str:
    if one.alone:
        return "; ".join(unknown_name(narrowed.name) for narrowed in one.alone[:2])
    if one.after[1] < _MUCH * one.before[1]:
        return "many numbers together, none by itself"
    return "next to nothing"


def unknown_name(name: str) -> str:
    """Return the name of an unknown in words."""
    if name in (NEUTRAL, LIMIT):
        return name
    if "." in name:
        return words(name.replace(".value", "").replace(".", " "))
    return f"what a step of {name} does"


def _narrowed_table(found: Believed) -> Table:
    heads = [
        Head(text="what", right=False),
        Head(text="as the file says", right=False),
        Head(text="now", right=False),
        Head(text="spread left", unit="%"),
    ]
    rows = [
        (unknown_name(one.name), *_values(found, one), f"{100.0 * one.left:.0f}")
        for one in found.narrowed[:_NAMED]
    ]
    return Table(heads=heads, rows=rows, title="What is known better now")


def _values(found: Believed, one: Narrowed) -> tuple[str, str]:
    """Return an unknown before and after, each with its spread."""
    unknowns = found.unknowns
    if one.name in unknowns.groups:
        moves = unknowns.groups[one.name]
        first, size = moves[0].parameter, moves[0].weight * moves[0].size
        if one.name.endswith(APART):
            whole = sum(abs(each.weight) * each.size for each in moves)
            way = "more" if one.moved > 0.0 else "less"
            return (
                f"as written ± {difference(whole, first.unit)}",
                f"front {difference(abs(whole * one.moved), first.unit)} {way}, "
                f"± {difference(one.left * whole, first.unit)}",
            )
        after = unknowns.said(one.name, one.moved)
        scale = size * abs(after / first.value) if first.unit.low >= 0.0 and first.value > 0.0 else size
        return (
            f"{first.unit.brief(first.value)} ± {difference(size, first.unit)}",
            f"{first.unit.brief(after)} ± {difference(one.left * scale, first.unit)}",
        )
    if one.name == NEUTRAL:
        return (
            f"0 ± {NEUTRAL_SPREAD:.1f} points",
            f"{rounded(NEUTRAL_SPREAD * one.moved, 1, signed=True)} ± {NEUTRAL_SPREAD * one.left:.1f} points",
        )
    if one.name == LIMIT:
        after = min(LIMIT_SHARE * np.exp(LIMIT_SPREAD * one.moved), 1.0)
        return (
            f"{100.0 * LIMIT_SHARE:.0f} ± {100.0 * LIMIT_SPREAD:.0f} % of the grip",
            f"{100.0 * after:.0f} ± {100.0 * LIMIT_SPREAD * one.left:.0f} %",
        )
    return "as its map", f"{'more' if one.moved > 0.0 else 'less'} than its map"


def _cautions(found: Believed) -> Iterator[str]:
    if found.weighed.wider > 1.0:
        worst = max(found.taught, key=lambda one: abs(one.beyond))
        number = found.taught.index(worst) + 1
        yield (
            "No plausible car shows all of this together. Each item therefore counts as if it were "
            f"{found.weighed.wider:.1f} times as unsure as said. Farthest off is {number}, "
            f"{item_text(worst.item)}: the cars still miss it by {abs(worst.beyond):.1f} times its error. "
            "Look at it again, and at the spreads in the car's file, which may be too small; or the car does "
            "something that the model does not."
        )
    else:
        for number, one in enumerate(found.taught, start=1):
            if abs(one.beyond) > _FAR:
                yield (
                    f"{number}, {item_text(one.item)}, is not explained by the rest: the cars miss it by "
                    f"{abs(one.beyond):.1f} times its error. Take it back if it was a slip."
                )
    if found.effective < FEW:
        yield (
            f"Few of the cars that were tried explain this: they count as {found.effective:.0f}. Take the "
            "spreads below as rough."
        )


def _meaning(found: Believed) -> Iterator[str]:
    """Yield what the evidence comes to, as a driver would say it."""
    balances = [one for one in found.taught if one.unit == "points" and not isinstance(one.item, Comparison)]
    for place, one in enumerate(found.taught):
        if one in balances:
            yield _of_a_balance(found, place, one)
    yield from _not_told_apart(found)
    told = [one for one in found.taught if one.after[1] < _MUCH * one.before[1]]
    silent = len(found.taught) - len(told)
    if told:
        best = min(told, key=lambda one: one.after[1] / one.before[1])
        number = found.taught.index(best) + 1
        yield f"Most was learnt of {best.meaning} ({number})."
    if silent:
        what = "One item" if silent == 1 else f"{silent} items"
        yield f"{what} told little that the file did not say."
    yield (
        f"{len(found.weighed.weights)} plausible cars were run, and they count as {found.effective:.0f}; "
        "cure and its sureness ask these."
    )


def _not_told_apart(found: Believed) -> Iterator[str]:
    """Yield of each number that is known better through what it cannot be told which number made it."""
    names = found.unknowns.names
    for number, one in enumerate(found.taught, start=1):
        slope = found.weighed.law.slope[number - 1]
        first, second = np.argsort(-np.abs(slope), kind="stable")[:2]
        if one.after[1] < _MUCH * one.before[1] and slope[second] and not _alone_told(one):
            # Along the ridge both move so that their effects cancel.
            other = "lower" if slope[first] * slope[second] > 0.0 else "higher"
            yield (
                f"{number} cannot tell {unknown_name(names[first])} from {unknown_name(names[second])}: the "
                f"one higher and the other {other} show the same."
            )


def _alone_told(one: Taught) -> bool:
    return bool(one.alone) and one.alone[0].left < _MUCH


def _of_a_balance(found: Believed, place: int, one: Taught) -> str:
    numbers = found.weighed.numbers[:, place]
    before = found.weighed.with_only([each.heard for each in found.observed], [])
    was, now = (round(100.0 * float(w[numbers > 0.0].sum())) for w in (before, found.weighed.weights))
    said = f'"{getattr(one.item, "text", "")}"'
    return f"{said} was true of {was} in 100 plausible cars and is of {now} now ({place + 1})."
