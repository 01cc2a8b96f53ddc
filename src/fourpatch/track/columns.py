"""Rows of numbers beside a track file: CSV with a heading that says each column's unit."""

import math
from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass
from pathlib import Path
from typing import Final, NamedTuple

import numpy as np
from numpy.typing import NDArray

from fourpatch.document.reading import file_text
from fourpatch.errors import FileError
from fourpatch.track.road import FloatArray
from fourpatch.units import Unit, to_si

MOST_FAULTS: Final = 20
"""After so many the rest is only counted."""

_SEPARATORS = (";", "\t", ",")


@dataclass(frozen=True, slots=True, kw_only=True)
class Column:
    """A column that a file must have."""

    name: str
    unit: Unit
    """SI, the unit in which an example is shown, and the range of the numbers."""

    @property
    def heading(self) -> str:
        """How its heading may be written."""
        return f"{self.name} [{self.unit.shown}]"


class Rows(NamedTuple):
    """What a file holds."""

    columns: Mapping[str, FloatArray]
    """SI, by the name of the column, each of shape (n,)."""
    lines: NDArray[np.intp]
    """On which line of the file each row stands, shape (n,)."""


def read_columns(path: Path, columns: Sequence[Column]) -> Rows:
    """Read the columns of a CSV file.

    Parameters
    ----------
    path : of a text file in UTF-8.  Lines that begin with # are comments.  The first other line names the
        columns, each with its unit in brackets, in any order; further columns are passed over.  They are
        parted by commas, semicolons or tabs.
    columns : that are needed.

    Returns
    -------
    Rows
        At least one.

    Raises
    ------
    FileError
        If the file cannot be read, a column is missing, has no unit or a wrong one, or a row does not hold a
        number in range for each: all rows at fault, each with its line.
    """
    numbered = _numbered_lines(path)
    if len(numbered) < 2:
        wanted = ", ".join(column.heading for column in columns)
        raise FileError(
            f"{path.name}: has no rows. Write a heading, {wanted}, and below it a line for each point."
        )
    separator = next((sign for sign in _SEPARATORS if sign in numbered[0][1]), ",")
    places, factors = _places(path, numbered[0], separator, columns)
    values = np.full((len(numbered) - 1, len(columns)), np.nan)
    faults: list[tuple[int, str]] = []
    for row, (line, text) in enumerate(numbered[1:]):
        cells = [cell.strip().strip('"').strip() for cell in text.split(separator)]
        for at, column in enumerate(columns):
            cell = cells[places[at]] if places[at] < len(cells) else ""
            try:
                values[row, at] = number = _number(cell) * factors[at]
                if column.unit.low <= number <= column.unit.high:
                    continue
                if len(faults) < MOST_FAULTS:
                    column.unit.check(number)
                faults.append((line, ""))  # beyond those that are said: only counted, for words take time
            except ValueError as error:
                faults.append((line, f"{column.name} {error}"))
    if faults:
        raise FileError(_paragraphs(path, faults))
    named = {column.name: values[:, at].copy() for at, column in enumerate(columns)}
    return Rows(named, np.array([line for line, _ in numbered[1:]], dtype=np.intp))


def refuse_rows(path: Path, rows: Rows, faults: Iterable[tuple[int, str]]) -> None:
    """Refuse rows that do not belong together.

    Parameters
    ----------
    path, rows : the file and what it holds.
    faults : place of the row, counted from 0, and the rest of a sentence that begins with its line.

    Raises
    ------
    FileError
        If there are any, each with its line.
    """
    said = [(int(rows.lines[place]), f"this point {text}") for place, text in faults]
    if said:
        raise FileError(_paragraphs(path, said))


def columns_text(columns: Sequence[Column], values: Sequence[FloatArray]) -> str:
    """Return a CSV text in SI units that reads back to exactly the same numbers."""
    heading = ", ".join(f"{column.name} [{column.unit.si}]" for column in columns)
    rows = (", ".join(repr(float(one)) for one in row) for row in zip(*values, strict=True))
    return "\n".join((heading, *rows)) + "\n"


def _numbered_lines(path: Path) -> list[tuple[int, str]]:
    """Return the lines that say something, with their numbers."""
    lines = enumerate(file_text(path).splitlines(), start=1)
    return [(line, said) for line, said in lines if said.strip() and not said.lstrip().startswith("#")]


def _places(
    path: Path, heading: tuple[int, str], separator: str, columns: Sequence[Column]
) -> tuple[list[int], list[float]]:
    """Return where each column stands and what turns its numbers into SI."""
    line, text = heading
    found = [_name_and_unit(cell) for cell in text.split(separator)]
    names = [name for name, _ in found]
    places, factors, faults = [], [], []
    for column in columns:
        try:
            place = names.index(column.name)
            unit = found[place][1]
            if unit is None:
                raise ValueError(f"has no unit. Write it in brackets: {column.heading}.")
            factor = _factor(unit, column)
        except ValueError as error:
            missing = f"is missing; the heading is: {text.strip()}. Add {column.heading}."
            faults.append((line, f"column {column.name} {missing if column.name not in names else error}"))
            continue
        places.append(place)
        factors.append(factor)
    if faults:
        raise FileError(_paragraphs(path, faults))
    return places, factors


def _factor(unit: str, column: Column) -> float:
    try:
        return to_si(1.0, unit, column.unit.si)
    except ValueError as error:
        raise ValueError(
            f"has a wrong unit: {error}. Use {' or '.join(column.unit.usual_units())}."
        ) from None


def _name_and_unit(cell: str) -> tuple[str, str | None]:
    name, bracket, rest = cell.strip().strip('"').partition("[")
    return name.strip().lower(), rest.rstrip().removesuffix("]").strip() if bracket else None


def _number(cell: str) -> float:
    """Read a cell, or say what is wrong with it in the rest of a sentence."""
    try:
        value = float(cell)
    except ValueError:
        if not cell:
            raise ValueError("has no value: a gap. Fill it in, or cut the file there.") from None
        if cell.count(",") == 1 and cell.replace(",", "").lstrip("+-").isdigit():
            raise ValueError(f'is "{cell}". The decimal sign is a point: {cell.replace(",", ".")}.') from None
        raise ValueError(f'is "{cell}", not a number. The unit stands in the heading only.') from None
    if not math.isfinite(value):
        raise ValueError(f'is "{cell}", a gap. Fill it in, or cut the file there.')
    return value


def _paragraphs(path: Path, faults: Sequence[tuple[int, str]]) -> str:
    said = [f"{path.name}, line {line}: {text}" for line, text in faults[:MOST_FAULTS]]
    if len(faults) > MOST_FAULTS:
        said.append(f"{path.name}: and {len(faults) - MOST_FAULTS} more like these.")
    return "\n".join(said)
