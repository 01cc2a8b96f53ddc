"""A result of many numbers as tables: one row each, front and rear side by side."""

from collections.abc import Iterator, Sequence
from itertools import groupby

from fourpatch.analysis.quantity import Axles, Corners, Findings, Quantity, quantities
from fourpatch.document.meaning import meaning
from fourpatch.picture.blocks import Table
from fourpatch.picture.head import Head
from fourpatch.picture.shown import pretty, words


def findings_tables(findings: Findings, only: Sequence[str] = ()) -> Iterator[Table]:
    """Yield the tables of a result: of its own numbers with their meanings, then one or two for each part.

    Parameters
    ----------
    only : the parts that are wanted; all by default.
    """
    for part, members in groupby(quantities(findings), key=_part_of):
        if not part:
            yield _with_meanings(list(members))
        elif not only or part in only:
            said = meaning(type(findings), part)
            name = words(part).capitalize()
            yield from _part(f"{name}: {_in_a_sentence(said)}" if said else name, list(members))


def _part_of(found: Quantity) -> str:
    """Return the part that a number belongs to; nothing if it is the result's own."""
    part, dot, _ = found.name.partition(".")
    return part if dot else ""


def _with_meanings(members: list[Quantity]) -> Table:
    heads = [_NAME, Head(text="value"), _UNIT, Head(text="meaning", right=False)]
    rows = []
    for found in members:
        name, *values, unit = _row(found)
        rows.append((name, " / ".join(values), unit, found.meaning.replace("\n", " ")))
    return Table(heads=heads, rows=rows)


def _in_a_sentence(text: str) -> str:
    """Return a docstring's sentence as the second half of one."""
    return text[0].lower() + text[1:].removesuffix(".")


def _part(title: str, members: list[Quantity]) -> Iterator[Table]:
    cornered = [found for found in members if found.places == Corners._fields]
    others = [found for found in members if found.places != Corners._fields]
    if cornered:
        heads = [_NAME, *(Head(text=place) for place in Corners._fields), _UNIT]
        yield Table(heads=heads, rows=[_row(found) for found in cornered], title=title)
        title = ""
    if others:
        heads = [_NAME, Head(text="car"), *(Head(text=place) for place in Axles._fields), _UNIT]
        yield Table(heads=heads, rows=list(_car_or_axles(others)), title=title)


_NAME = Head(text="quantity", right=False)
_UNIT = Head(text="unit", right=False)


def _car_or_axles(found: Sequence[Quantity]) -> Iterator[tuple[str, ...]]:
    for quantity in found:
        name, *values, unit = _row(quantity)
        yield (name, "", *values, unit) if quantity.places else (name, *values, "", "", unit)


def _row(quantity: Quantity) -> tuple[str, ...]:
    unit = "" if quantity.measure.shown == "1" else pretty(quantity.measure.shown)
    return (
        words(quantity.name.partition(".")[2] or quantity.name),
        *map(quantity.measure.text, quantity.values),
        unit,
    )
