"""How a table of text is written: delimiter, decimal sign, head lines, names, units, where numbers begin."""

import csv
import re
from collections.abc import Sequence
from dataclasses import dataclass
from typing import Final

from fourpatch.errors import RecordingError
from fourpatch.recording.raw import MOST_COLUMNS, distinct
from fourpatch.recording.written_units import is_unit

SAMPLE: Final = 200_000
"""Bytes at the beginning of a file by which its shape is told."""

MOST_HEAD_LINES: Final = 500
"""Lines above the numbers."""

NOTHING: Final = (
    "",
    "nan",
    "NaN",
    "NAN",
    "na",
    "NA",
    "N/A",
    "n/a",
    "null",
    "NULL",
    "None",
    "-",
    "--",
    "#N/A",
)
"""Cells that hold no number, and say so."""

_DELIMITERS = (",", ";", "\t", "|", " ")
_POINT = re.compile(r"[-+]?(\d+\.?\d*|\.\d+)([eE][-+]?\d+)?")
_COMMA = re.compile(r"[-+]?(\d+,?\d*|,\d+)([eE][-+]?\d+)?")
_CLOCK = re.compile(r"(\d{4}-\d\d-\d\d[T ])?\d{1,3}:\d\d(:\d\d)?([.,]\d+)?(Z|[-+]\d\d:?\d\d)?")
_IN_BRACKETS = re.compile(r"^(.*?)\s*[\[(<{]\s*([^\[\](){}<>]*)\s*[\])>}]\s*$")
_ROWS_LOOKED_AT = 100
_MISFITS = 3  # lines at fault that a table of more rows goes on after


@dataclass(frozen=True, slots=True, kw_only=True)
class CsvShape:
    """How a file is written."""

    encoding: str
    delimiter: str
    decimal: str
    names: tuple[str, ...]
    """Of all columns, each once, without unit."""
    units: tuple[str, ...]
    """As written; empty where none is."""
    first: int
    """Lines before the first row of numbers."""
    numeric: tuple[bool, ...]
    """Which columns hold plain numbers, as far as the first rows tell; the others may be times or words."""
    notes: tuple[str, ...]


def csv_shape(text: str, encoding: str, *, whole: bool, name: str) -> CsvShape:
    """Tell how a table is written.

    Parameters
    ----------
    text : beginning of the file.
    encoding : it was read in.
    whole : whether it is the whole file; else the last line may be cut off.
    name : of the file, for the errors.

    Raises
    ------
    RecordingError
        If there is no table of numbers in it, or one beyond the limits.

    Notes
    -----
    Of all delimiters and decimal signs the pair is taken under which the most cells, in the longest stretch
    of lines of one width, are numbers. What stands above that stretch are head lines; the lowest of the same
    width hold the names, and the units if cells are units.
    """
    lines = text.replace("\r\n", "\n").replace("\r", "\n").split("\n")
    if not whole and len(lines) > 1:
        lines = lines[:-1]
    if not any(line.strip() for line in lines):
        raise RecordingError(f"{name}: is empty. Export the recording again.")
    if max(map(len, lines)) > SAMPLE // 2:
        raise RecordingError(
            f"{name}: a line is longer than {SAMPLE // 2000} kB, so this is no table of a recording. Check "
            "that it is the right file."
        )
    found = max(
        (
            _stretch(lines, delimiter, decimal)
            for delimiter in _DELIMITERS
            for decimal in (".", ",")
            if delimiter != decimal
        ),
        key=lambda one: one.score,
    )
    if found.score <= 0:
        raise RecordingError(
            f"{name}: holds no table of numbers: no two lines below each other have two numbers or more, "
            f"parted by commas, semicolons, tabs, bars or blanks. Line {_first_line(lines)} begins "
            f'"{lines[_first_line(lines) - 1][:40]}". Export the recording as CSV with a heading.'
        )
    if found.width > MOST_COLUMNS:
        raise RecordingError(
            f"{name}: has {found.width} columns; {MOST_COLUMNS} is the most that is read. Export fewer "
            "channels."
        )
    names, units, notes = _heading(lines, found)
    return CsvShape(
        encoding=encoding,
        delimiter=found.delimiter,
        decimal=found.decimal,
        names=tuple(names),
        units=tuple(units),
        first=found.first,
        numeric=found.numeric,
        notes=tuple(notes),
    )


@dataclass(frozen=True, slots=True, kw_only=True)
class _Stretch:
    """Lines of one width under one way to part them."""

    delimiter: str
    decimal: str
    first: int
    width: int
    numeric: tuple[bool, ...]
    score: float


def cells_of(line: str, delimiter: str) -> list[str]:
    """Part a line; quotes may hold a delimiter, blanks in a row count as one."""
    if delimiter == " ":
        return line.split()
    if '"' in line:
        try:
            return [cell.strip() for cell in next(csv.reader([line], delimiter=delimiter))]
        except (csv.Error, StopIteration):
            pass
    return [cell.strip() for cell in line.split(delimiter)]


def _stretch(lines: Sequence[str], delimiter: str, decimal: str) -> _Stretch:
    """Find the first long stretch of rows that are mostly numbers."""
    best = _Stretch(delimiter=delimiter, decimal=decimal, first=0, width=0, numeric=(), score=0.0)
    rows: list[list[str]] = []
    first = misfits = 0
    number = _POINT if decimal == "." else _COMMA
    for place, line in enumerate([*lines[: MOST_HEAD_LINES + _ROWS_LOOKED_AT], None]):
        if line is not None and not line.strip():
            continue
        cells = [] if line is None else cells_of(line, delimiter)
        is_row = len(cells) > 1 and _looks_like_row(cells, number)
        if is_row and (not rows or len(cells) == len(rows[0])):
            first = first if rows else place
            rows.append(cells)
            misfits = 0
            continue
        misfits += 1
        if line is not None and len(rows) > _MISFITS and misfits <= _MISFITS:
            continue  # a line at fault, not the end of the table
        best = max(best, _scored(rows, first, delimiter, decimal, number), key=lambda one: one.score)
        rows, first = ([cells], place) if is_row else ([], place)
    return best


def _looks_like_row(cells: Sequence[str], number: "re.Pattern[str]") -> bool:
    numbers = sum(bool(number.fullmatch(cell) or _CLOCK.fullmatch(cell)) for cell in cells)
    words = sum(cell not in NOTHING for cell in cells) - numbers
    return numbers >= 1 and numbers > words


def _scored(
    rows: Sequence[Sequence[str]], first: int, delimiter: str, decimal: str, number: "re.Pattern[str]"
) -> _Stretch:
    width = len(rows[0]) if rows else 0
    numeric = tuple(_is_numeric([row[place] for row in rows], number) for place in range(width))
    # Whole numbers are numbers under either sign; a point is the usual one.
    clear = 1.0 if decimal == "." else 0.999
    clocks = sum(bool(rows) and bool(_CLOCK.fullmatch(rows[0][k])) for k in range(width))
    score = clear * (sum(numeric) + clocks) * len(rows) if len(rows) > 1 and width > 1 else 0.0
    return _Stretch(
        delimiter=delimiter, decimal=decimal, first=first, width=width, numeric=numeric, score=score
    )


def _is_numeric(cells: Sequence[str], number: "re.Pattern[str]") -> bool:
    """Say whether all but a few cells that say anything are numbers."""
    said = [cell for cell in cells if cell not in NOTHING]
    return sum(bool(number.fullmatch(cell)) for cell in said) >= 0.9 * len(said)


def _heading(lines: Sequence[str], found: _Stretch) -> tuple[list[str], list[str], list[str]]:
    """Return names, units and notes from the lines above the numbers."""
    notes: list[str] = []
    above: list[list[str]] = []
    for line in reversed(lines[: found.first]):
        cells = cells_of(line.lstrip("#%/").strip("\r\n "), found.delimiter)
        fits = len(cells) in (found.width, found.width + 1, found.width - 1)
        if not line.strip():
            continue
        if not fits or len(above) == 2:
            break
        above.append([*cells, ""][: found.width])
    if found.first and not above:
        notes.append(
            f"The {found.first} lines above the numbers are no heading of {found.width} columns, so the "
            "columns are numbered."
        )
    elif not found.first:
        notes.append("There is no heading, so the columns are numbered.")
    units = [""] * found.width
    title = [""] * found.width
    for row in above:
        if _is_unit_row(row):
            units = [cell.strip("[]()<>{} ") for cell in row]
        elif any(row):
            title = [
                f"{cell} {below}".strip() if below != cell else cell
                for cell, below in zip(row, title, strict=True)
            ]
    for place, cell in enumerate(title):
        if not units[place]:
            title[place], units[place] = unit_in_name(cell)
    names, repeated = distinct(title)
    if repeated:
        listed = ", ".join(f'"{one}"' for one in dict.fromkeys(repeated[:5]))
        notes.append(f"Columns of the same name were numbered: {listed}.")
    return names, units, notes


def unit_in_name(title: str) -> tuple[str, str]:
    """Part a column's title into name and unit, which may stand in brackets at its end.

    >>> unit_in_name("speed [km/h]"), unit_in_name("travel (left)")
    (('speed', 'km/h'), ('travel (left)', ''))
    """
    match = _IN_BRACKETS.match(title)
    if match and match[1] and (is_unit(match[2]) or not match[2]):
        return match[1], match[2]
    return title, ""


def _is_unit_row(row: Sequence[str]) -> bool:
    """Say whether at least half of what a row says are units, and one of them is no plain word."""
    said = [cell.strip("[]()<>{} ") for cell in row if cell.strip("[]()<>{} ")]
    return bool(said) and sum(map(is_unit, said)) >= 0.5 * len(said)


def _first_line(lines: Sequence[str]) -> int:
    return next(place for place, line in enumerate(lines, start=1) if line.strip())
