"""CSV recordings: read in blocks by pyarrow, in as little memory as the wanted columns take."""

import io
import re
from collections.abc import Collection, Iterator
from pathlib import Path
from typing import TYPE_CHECKING, Any, Final

import numpy as np

from fourpatch.errors import RecordingError
from fourpatch.recording.arrow import numbers_of, words_to_numbers
from fourpatch.recording.csv_shape import NOTHING, SAMPLE, CsvShape, cells_of, csv_shape
from fourpatch.recording.raw import MOST_VALUES, Array, RawColumn, RawRecording
from fourpatch.recording.text_source import encoding_of, open_bytes

if TYPE_CHECKING:
    import pyarrow as pa

_BLOCK = 8 << 20  # bytes read at once
_SEARCHED = 300_000_000  # bytes in which a line at fault is looked for
_NAMED = 3  # lines at fault that are named

MOST_LOST: Final = 0.02
"""Share of rows that may be unreadable before the file is refused."""


def shape_of(path: Path) -> CsvShape:
    """Tell how a CSV file is written.

    Raises
    ------
    RecordingError
        If it cannot be read or holds no table of numbers.
    """
    with open_bytes(path) as file:
        sample = file.read(SAMPLE)
        whole = len(sample) < SAMPLE
    encoding = encoding_of(sample, path.name)
    text = io.TextIOWrapper(io.BytesIO(sample), encoding=encoding, errors="replace", newline="").read()
    return csv_shape(text, encoding, whole=whole, name=path.name)


def read_csv(
    path: Path, *, only: Collection[str] | None = None, most_rows: int | None = None
) -> RawRecording:
    """Read a CSV file.

    Parameters
    ----------
    only : names of the columns that are wanted; all if left out.
    most_rows : after which reading may stop.

    Raises
    ------
    RecordingError
        If it cannot be read, holds no table of numbers, too many rows of it are unreadable, or more is wanted
        than goes into memory.
    """
    shape = shape_of(path)
    wanted = [name for name in shape.names if only is None or name in only]
    try:
        reader = _Reader(path, shape, wanted, most_rows)
        blocks = reader.read(as_words=False)
    except _NotAsExpected:
        reader = _Reader(path, shape, wanted, most_rows)
        blocks = reader.read(as_words=True)
    units = dict(zip(shape.names, shape.units, strict=True))
    columns = tuple(
        RawColumn(name=name, unit=units[name], values=np.concatenate(blocks.pop(name)))
        for name in wanted
        if name in blocks
    )
    if not columns or not columns[0].values.size:
        raise RecordingError(f"{path.name}: holds no rows of numbers. Export the recording again.")
    notes = [*shape.notes, *reader.notes()]
    return RawRecording(
        name=path.name, format="CSV", columns=columns, notes=tuple(notes), complete=reader.complete
    )


class _NotAsExpected(Exception):
    """A cell that is no number in a column of numbers: the file must be read as words."""


class _Reader:
    """One reading of a file."""

    def __init__(self, path: Path, shape: CsvShape, wanted: list[str], most_rows: int | None) -> None:
        self._path, self._shape, self._wanted, self._most_rows = path, shape, wanted, most_rows
        self._invalid = 0
        self._rows = 0
        self._lost: dict[str, int] = {}
        self.complete = True

    def read(self, *, as_words: bool) -> dict[str, list[Array]]:
        """Return the blocks of each column that holds numbers.

        Parameters
        ----------
        as_words : whether numbers are told from other cells one by one.
        """
        found: dict[str, list[Array]] = {name: [] for name in self._wanted}
        for batch in self._batches(as_words=as_words):
            for place, name in enumerate(self._wanted):
                self._add(found, name, batch.column(place))
            self._rows += batch.num_rows
            if self._rows * len(self._wanted) > MOST_VALUES:
                raise RecordingError(
                    f"{self._path.name}: more than {MOST_VALUES / 1e6:.0f} million values are wanted of it, "
                    "too many for memory. Export a part of it, or fewer channels."
                )
            if self._most_rows is not None and self._rows >= self._most_rows:
                self.complete = False
                break
        self._require_readable()
        for name, lost in self._lost.items():
            if lost > 0.5 * self._rows:
                del found[name]  # a column of words
        return found

    def _add(self, found: dict[str, list[Array]], name: str, column: "pa.Array") -> None:
        import pyarrow as pa

        if pa.types.is_floating(column.type):
            found[name].append(numbers_of(column))
            return
        numbers, lost = words_to_numbers(column, decimal=self._shape.decimal)
        self._lost[name] = self._lost.get(name, 0) + lost
        found[name].append(numbers)

    def _batches(self, *, as_words: bool) -> Iterator[Any]:
        import pyarrow as pa
        from pyarrow import csv

        shape = self._shape
        types = {
            name: pa.float64() if plain and not as_words else pa.string()
            for name, plain in zip(shape.names, shape.numeric, strict=True)
        }
        with open_bytes(self._path) as file:
            source = _text_bytes(file, shape)
            try:
                yield from csv.open_csv(
                    source,
                    read_options=csv.ReadOptions(
                        column_names=list(shape.names), skip_rows=shape.first, block_size=_BLOCK
                    ),
                    parse_options=csv.ParseOptions(
                        delimiter=shape.delimiter, invalid_row_handler=self._passed_over
                    ),
                    convert_options=csv.ConvertOptions(
                        column_types={name: types[name] for name in self._wanted},
                        include_columns=self._wanted,
                        null_values=list(NOTHING),
                        strings_can_be_null=True,
                        decimal_point=shape.decimal,
                        check_utf8=False,
                    ),
                )
            except pa.ArrowInvalid as error:
                if not as_words:
                    raise _NotAsExpected from None
                raise RecordingError(
                    f"{self._path.name}: cannot be read as a table: {_first_sentence(error)}. Export the "
                    "recording again."
                ) from None

    def _passed_over(self, row: Any) -> str:
        self._invalid += 1
        return "skip"

    def _require_readable(self) -> None:
        if self._invalid > max(MOST_LOST * (self._rows + self._invalid), 2):
            raise RecordingError(
                f"{self._path.name}: {self._invalid} of {self._rows + self._invalid} rows do not have "
                f"{len(self._shape.names)} columns, the first in {self._lines_at_fault()}. It may be two "
                "files in one, or have been changed by hand; export the recording again."
            )

    def notes(self) -> list[str]:
        """Say what was unreadable."""
        notes = []
        if self._invalid:
            notes.append(
                f"{self._invalid} rows have not {len(self._shape.names)} columns and were passed over: "
                f"{self._lines_at_fault()}."
            )
        for name, lost in self._lost.items():
            if lost > 0.5 * self._rows:
                notes.append(f'"{name}" holds words and was passed over.')
            elif lost:
                notes.append(
                    f'{lost} cells of "{name}" are no numbers and count as missing: {self._lines_at_fault()}.'
                )
        return notes

    def _lines_at_fault(self) -> str:
        """Name the first lines that are not as the others."""
        shape, words = self._shape, set(NOTHING)
        found: list[int] = []
        plain = [place for place, numeric in enumerate(shape.numeric) if numeric]
        with open_bytes(self._path) as file:
            text = io.TextIOWrapper(file, encoding=shape.encoding, errors="replace", newline=None)
            read = 0
            for number, line in enumerate(text, start=1):
                read += len(line)
                if read > _SEARCHED or len(found) == _NAMED:
                    break
                if number <= shape.first or not line.strip():
                    continue
                cells = cells_of(line.rstrip("\r\n"), shape.delimiter)
                if len(cells) != len(shape.names) or not all(
                    cells[k] in words or _is_number(cells[k], shape.decimal) for k in plain
                ):
                    found.append(number)
        if not found:
            return "a line far down"
        return f"line {found[0]}" if len(found) == 1 else f"lines {', '.join(map(str, found))}"


def _text_bytes(file: io.BufferedReader, shape: CsvShape) -> Any:
    """Return bytes that are ASCII but for words, blanks in a row as one where they part columns."""
    if shape.encoding in ("utf-8", "utf-8-sig", "cp1252") and shape.delimiter != " ":
        if shape.encoding == "utf-8-sig":
            file.read(3)
        return _Plain(file)
    return _Recoded(file, shape.encoding, squeeze=shape.delimiter == " ")


class _Plain(io.RawIOBase):
    """Bytes beyond ASCII as question marks: numbers have none, and pyarrow trips over them."""

    _TABLE = bytes(byte if 0 < byte < 128 else ord("?") for byte in range(256))

    def __init__(self, file: io.BufferedReader) -> None:
        super().__init__()
        self._file = file

    def readable(self) -> bool:
        return True

    def read(self, size: int | None = -1) -> bytes:
        return self._file.read(size).translate(self._TABLE)


class _Recoded(io.RawIOBase):
    """Text of another encoding as ASCII; see `_Plain`."""

    def __init__(self, file: io.BufferedReader, encoding: str, *, squeeze: bool) -> None:
        super().__init__()
        self._text = io.TextIOWrapper(file, encoding=encoding, errors="replace", newline=None)
        self._squeeze, self._left = squeeze, b""

    def readable(self) -> bool:
        return True

    def readinto(self, buffer: Any) -> int:
        view = memoryview(buffer)
        if not self._left:
            lines = self._text.readlines(1 << 20)
            text = "".join(lines)
            if self._squeeze:
                text = re.sub(r"^ +| +$", "", re.sub(r"[ \t]+", " ", text), flags=re.MULTILINE)
            self._left = text.encode("ascii", errors="replace")
        part, self._left = self._left[: view.nbytes], self._left[view.nbytes :]
        view[: len(part)] = part
        return len(part)


def _is_number(cell: str, decimal: str) -> bool:
    try:
        float(cell.replace(decimal, "."))
    except ValueError:
        return False
    return True


def _first_sentence(error: Exception) -> str:
    return str(error).splitlines()[0][:120].rstrip(". ")
