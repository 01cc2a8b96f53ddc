"""Units as a reader has chosen them: the one place where what is said in usual units is put into those.

Everything is computed in SI and said in the usual units of this code. Who shows it to a reader (the terminal,
a page, paper) passes it through here last; JSON, files and what is typed keep their own units. Scales of
adjusters are the car's own and stay as they are.
"""

import json
import math
import re
from collections.abc import Iterable, Mapping, Sequence
from dataclasses import replace
from functools import lru_cache
from pathlib import Path
from types import MappingProxyType
from typing import Any, Final

from fourpatch.document.saving import write_texts
from fourpatch.errors import FieldsError, FileError
from fourpatch.notebook.place import notebook_path
from fourpatch.picture.blocks import Block, Changes, Heading, Picture, Sentence, Table
from fourpatch.picture.head import Head
from fourpatch.units import Unit, to_si

CHOICES: Final[Mapping[str, tuple[str, ...]]] = MappingProxyType(
    {
        "speed": ("km/h", "mph"),
        "damper speed": ("mm/s", "in/s"),
        "length": ("mm", "in"),
        "distance": ("m", "ft"),
        "mass": ("kg", "lb"),
        "force": ("N", "lbf", "kgf"),
        "spring rate": ("N/mm", "lbf/in", "kgf/mm"),
        "damping": ("N*s/m", "lbf*s/in"),
        "torque": ("N*m", "lbf*ft"),
        "pressure": ("bar", "psi", "kPa"),
        "power": ("kW", "hp", "PS"),
    }
)
"""Units in which a measure may be shown, the usual one first."""

_SI: Final = {
    "km/h": "m/s",
    "mm/s": "m/s",
    "mm": "m",
    "m": "m",
    "kg": "kg",
    "N": "N",
    "N/mm": "N/m",
    "N*s/m": "N*s/m",
    "N*m": "N*m",
    "bar": "Pa",
    "kW": "W",
}
_SAME: Final = {"kN": "N", "N*s/mm": "N*s/m"}
"""Units that follow the choice made for another one of the same measure."""
_SETS: Final[Mapping[str, Mapping[str, str]]] = {
    "si": {},
    "imperial": {units[0]: units[1] for units in CHOICES.values()},
}
"""Words for a choice of all measures at once."""

Chosen = Mapping[str, str]
"""Unit chosen for a usual one; those that stay are left out."""


class _Reader:
    """What whoever reads here has chosen; a program has one reader."""

    chosen: Chosen | None = None
    """None until it is asked for: then what was kept."""


def _chosen() -> Chosen:
    if _Reader.chosen is None:
        recall()
    assert _Reader.chosen is not None
    return _Reader.chosen


def choose(chosen: Chosen) -> None:
    """Show everything in these units from now on.

    Raises
    ------
    FieldsError
        If a measure cannot be shown so.
    """
    for usual, unit in chosen.items():
        allowed = next((units for units in CHOICES.values() if units[0] == usual), ())
        if unit not in allowed:
            raise FieldsError({usual: f'is "{unit}"; choose one of {", ".join(allowed) or "none"}.'})
    _Reader.chosen = MappingProxyType({usual: unit for usual, unit in chosen.items() if unit != usual})


def chosen_now() -> dict[str, str]:
    """Return the unit in which each measure is shown, by its usual one."""
    return {units[0]: _chosen().get(units[0], units[0]) for units in CHOICES.values()}


def named(words: Iterable[str]) -> dict[str, str]:
    """Return a choice from names of units, ``mph psi``, ``imperial``, ``SI``: what is not named stays.

    Raises
    ------
    FieldsError
        If one is no unit that can be chosen.
    """
    found = chosen_now()
    known = {unit: units[0] for units in CHOICES.values() for unit in units}
    known |= {unit.replace("*", "·"): usual for unit, usual in known.items()}
    for word in words:
        if (whole := _SETS.get(word.lower())) is not None:
            found = {units[0]: units[0] for units in CHOICES.values()} | dict(whole)
        elif word in known:
            found[known[word]] = word.replace("·", "*")
        else:
            allowed = "; ".join(f"{what}: {', '.join(units)}" for what, units in CHOICES.items())
            raise FieldsError(
                {"": f'"{word}" is no unit to choose. There are SI and imperial, or {allowed}.'}
            )
    return found


# Kept beside the notebook


def kept_at(notebook: Path | None = None) -> Path:
    """Return the file in which the choice is kept, beside a notebook; the user's own if left out."""
    place = notebook or notebook_path()
    return place.with_name(f"{place.stem}.units.json")


def keep(chosen: Chosen, notebook: Path | None = None) -> None:
    """Choose, and keep the choice for the next time.

    Raises
    ------
    FieldsError, FileError
        If a measure cannot be shown so, or the file cannot be written.
    """
    choose(chosen)
    place = kept_at(notebook)
    place.parent.mkdir(parents=True, exist_ok=True)
    write_texts({place: json.dumps(dict(_chosen()), indent=1) + "\n"})


def recall(notebook: Path | None = None) -> None:
    """Choose what was kept; the usual units if nothing was, or if it cannot be read."""
    try:
        kept = json.loads(kept_at(notebook).read_text(encoding="utf-8"))
        choose({str(usual): str(unit) for usual, unit in kept.items()})
    except (OSError, ValueError, AttributeError, FieldsError, FileError):
        choose({})


# Said in them


def unit_shown(unit: str) -> str:
    """Return the unit in which what is said in a usual one is shown, spelled as that is."""
    plain = _plain(unit)
    other = _other(plain)
    return unit if other is None else other.replace("*", "·") if plain != unit else other


def scale_shown(unit: str) -> float:
    """Return how many of the shown unit one of a usual unit is."""
    other = _other(_plain(unit))
    return 1.0 if other is None else _factor(_plain(unit), other)


def decimals_shown(unit: str, decimals: int) -> int:
    """Return decimals that say of the shown unit as much as these of a usual one."""
    return max(0, decimals + math.floor(0.3 - math.log10(scale_shown(unit))))


def shown_unit(unit: Unit) -> Unit:
    """Return how a quantity that is typed or shown in a field is written."""
    return replace(unit, shown=unit_shown(unit.shown))


def _plain(unit: str) -> str:
    return unit.replace("·", "*").replace(" ", "*")


def _other(plain: str) -> str | None:
    """Return the unit chosen for a usual one, None where it stays."""
    if plain in _chosen():
        return _chosen()[plain]
    if plain.endswith("/deg") and plain.removesuffix("/deg") in _chosen():
        return f"{_chosen()[plain.removesuffix('/deg')]}/deg"
    return _chosen().get(_SAME.get(plain, ""))


@lru_cache(maxsize=64)
def _factor(usual: str, other: str) -> float:
    if usual.endswith("/deg"):
        return _factor(usual.removesuffix("/deg"), other.removesuffix("/deg"))
    si = _SI[_SAME.get(usual, usual)]
    return to_si(1.0, usual, si) / to_si(1.0, other, si)


_NUMBER = r"[-+−±]?\d+(?:\.\d+)?"
_UNITS = "|".join(
    re.escape(unit)
    for unit in sorted(
        {
            spelled
            for unit in (*_SI, *_SAME, "N*m/deg", "N/deg")
            for spelled in (unit, unit.replace("*", "·"), unit.replace("*", " "))
        },
        key=len,
        reverse=True,
    )
)
_SAID = re.compile(
    rf"(?<![\w.,^])((?:{_NUMBER}(?:\s(?:to|and|or|against|→)\s|\s?/\s?|\s?→\s?|–))*{_NUMBER})"
    rf"(\s?)({_UNITS})(?![\w²³^*·/])"
)
_PLAIN_NUMBER = re.compile(rf"(?<![\w.,]){_NUMBER}(?![\w]|[.,]\d)")


def said(text: str) -> str:
    """Put every number with a unit in a sentence into the reader's units.

    >>> choose({"km/h": "mph", "mm": "in"})
    >>> said("from 120 to 85 km/h over a kerb of 50 mm")
    'from 75 to 53 mph over a kerb of 2.0 in'
    >>> choose({})
    """
    if not _chosen():
        return text
    return _SAID.sub(lambda found: f"{_numbers(found[1], found[3])}{found[2]}{unit_shown(found[3])}", text)


def _numbers(text: str, unit: str) -> str:
    """Put all numbers of a text into the shown unit."""
    scale = scale_shown(unit)
    return text if scale == 1.0 else _PLAIN_NUMBER.sub(lambda one: _number(one[0], unit, scale), text)


def _number(text: str, unit: str, scale: float) -> str:
    sign, digits = (text[0], text[1:]) if text[0] in "-+−±" else ("", text)
    value = float(digits) * scale
    if value == 0.0:
        return text
    decimals = decimals_shown(unit, len(digits.partition(".")[2]))
    enough = 1 - math.floor(math.log10(value))  # two figures say at least what one did
    return f"{sign}{value:.{min(max(decimals, enough), 6)}f}"


def head_shown(head: Head) -> Head:
    """Put the head of a column into the reader's units."""
    now = _numbers(head.now, head.unit) if head.unit else said(head.now)
    return replace(head, text=said(head.text), unit=unit_shown(head.unit), now=now)


def table_shown(heads: Sequence[Head], rows: Iterable[Sequence[str]]) -> tuple[list[Head], list[list[str]]]:
    """Put a table into the reader's units: those of its heads, of a column of units, and within its texts.

    The first column names the rows and is left alone.
    """
    written = [list(row) for row in rows]
    if not _chosen():
        return list(heads), written
    of_units = next((k for k, head in enumerate(heads) if head.text == "unit"), None)
    shown = []
    for row in written:
        unit = row[of_units] if of_units is not None and of_units < len(row) else ""
        cells = row[:1]
        for column, cell in enumerate(row[1:], start=1):
            head = heads[column]
            if column == of_units:
                cells.append(unit_shown(cell))
            elif head.unit:
                cells.append(_numbers(cell, head.unit))
            elif unit and head.right:
                cells.append(_numbers(cell, unit))
            else:
                cells.append(said(cell))
        shown.append(cells)
    return [head_shown(head) for head in heads], shown


_IN_A_HEAD = re.compile(rf"\[({_UNITS})\]")


def texts_shown(heads: Sequence[str], rows: Iterable[Sequence[str]]) -> tuple[list[str], list[list[str]]]:
    """Put a table whose heads are texts into the reader's units: those in brackets, and within its texts."""
    if not _chosen():
        return list(heads), [list(row) for row in rows]
    units = [found[1] if (found := _IN_A_HEAD.search(head)) else "" for head in heads]
    shown = [
        [
            *row[:1],
            *(
                _numbers(cell, unit) if unit else said(cell)
                for cell, unit in zip(row[1:], units[1:], strict=True)
            ),
        ]
        for row in rows
    ]
    return [_IN_A_HEAD.sub(lambda unit: f"[{unit_shown(unit[1])}]", said(head)) for head in heads], shown


def cell_shown(cell: Mapping[str, Any], unit: str) -> dict[str, Any]:
    """Put a cell of a table of the app into the reader's units: its number and change, and what it says."""
    if not _chosen():
        return dict(cell)
    numbers = {
        key: _numbers(cell[key], unit) if unit else said(cell[key]) for key in _CELL_TEXTS if key in cell
    }
    return {**cell, **numbers, **({"say": said(cell["say"])} if "say" in cell else {})}


_CELL_TEXTS: Final = ("now", "text", "change")


def blocks_shown(blocks: Sequence[Block]) -> list[Block]:
    """Put an answer into the reader's units; lists of changes stand on scales of the car and stay."""
    return [_block(one) for one in blocks] if _chosen() else list(blocks)


def _block(block: Block) -> Block:
    match block:
        case Sentence(text, lead):
            return Sentence(said(text), lead)
        case Heading(text):
            return Heading(said(text))
        case Table():
            heads, rows = table_shown(block.heads, block.rows)
            return replace(block, heads=heads, rows=rows, title=said(block.title))
        case Picture() | Changes():
            return block
