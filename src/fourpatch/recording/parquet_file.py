"""Parquet recordings."""

from collections.abc import Collection
from pathlib import Path
from typing import Any, Final

import numpy as np

from fourpatch.errors import RecordingError
from fourpatch.recording.arrow import numbers_of, words_to_numbers
from fourpatch.recording.csv_shape import unit_in_name
from fourpatch.recording.raw import MOST_COLUMNS, MOST_VALUES, Array, RawColumn, RawRecording, distinct

UNIT_KEYS: Final = (b"unit", b"units", b"Unit", b"Units")
"""Of a column's own metadata, under which its unit may stand."""


def read_parquet(
    path: Path, *, only: Collection[str] | None = None, most_rows: int | None = None
) -> RawRecording:
    """Read a Parquet file; a column's unit stands in its metadata or in brackets in its name.

    Parameters
    ----------
    only : names of the columns that are wanted; all if left out.
    most_rows : after which reading may stop.

    Raises
    ------
    RecordingError
        If it cannot be read, has no columns of numbers, or more than goes into memory.
    """
    import pyarrow as pa
    import pyarrow.parquet as pq

    try:
        file = pq.ParquetFile(path)
        return _read(file, path.name, only, most_rows)
    except (pa.ArrowException, OSError, ValueError) as error:
        if isinstance(error, RecordingError):
            raise
        raise RecordingError(
            f"{path.name}: is damaged, it cannot be read as Parquet. Copy or export it again."
        ) from None


def _read(file: Any, name: str, only: Collection[str] | None, most_rows: int | None) -> RawRecording:
    schema = file.schema_arrow
    _require_usable(schema, name)
    titles = [unit_in_name(field.name) for field in schema]
    names, repeated = distinct([title for title, _ in titles])
    usable = [place for place, field in enumerate(schema) if _may_be_numbers(field.type)]
    wanted = [place for place in usable if only is None or names[place] in only]
    rows = min(file.metadata.num_rows, most_rows or file.metadata.num_rows)
    if rows * len(wanted) > MOST_VALUES:
        raise RecordingError(
            f"{name}: holds {rows * len(wanted) / 1e6:.0f} million values, too many for memory. Export a "
            "part of it, or fewer channels."
        )
    blocks: dict[int, list[Array]] = {place: [] for place in wanted}
    lost = dict.fromkeys(wanted, 0)
    read = 0
    for batch in file.iter_batches(
        batch_size=min(max(rows, 1), 1 << 16), columns=[schema.names[place] for place in wanted]
    ):
        for place in wanted:
            numbers, words = _numbers(batch.column(schema.names[place]))
            blocks[place].append(numbers)
            lost[place] += words
        read += batch.num_rows
        if read >= rows:
            break
    worded = {place for place in wanted if lost[place] > 0.5 * read} | (set(range(len(names))) - set(usable))
    columns = tuple(
        RawColumn(
            name=names[place],
            unit=titles[place][1] or _unit_of(schema.field(place)),
            values=np.concatenate(blocks.pop(place)),
        )
        for place in wanted
        if read and place not in worded
    )
    if not columns:
        raise RecordingError(f"{name}: holds no columns of numbers. Export the recording again.")
    notes = [
        f'"{names[one]}" holds no numbers and was passed over.' for one in sorted(worded) if only is None
    ]
    notes += [f'Columns of the same name were numbered: "{one}".' for one in dict.fromkeys(repeated)]
    return RawRecording(
        name=name,
        format="Parquet",
        columns=columns,
        notes=tuple(notes),
        complete=read >= file.metadata.num_rows,
    )


def _require_usable(schema: Any, name: str) -> None:
    if len(schema) > MOST_COLUMNS:
        raise RecordingError(
            f"{name}: has {len(schema)} columns; {MOST_COLUMNS} is the most that is read. Export fewer "
            "channels."
        )
    twice = next((one for one in schema.names if schema.names.count(one) > 1), None)
    if twice is not None:
        raise RecordingError(f'{name}: two columns are named "{twice}". Rename one and export again.')


def _may_be_numbers(kind: Any) -> bool:
    import pyarrow as pa

    tests = (
        pa.types.is_integer,
        pa.types.is_floating,
        pa.types.is_boolean,
        pa.types.is_temporal,
        pa.types.is_decimal,
        pa.types.is_string,
        pa.types.is_large_string,
    )
    return any(test(kind) for test in tests)


def _numbers(column: Any) -> tuple[Array, int]:
    """Return a column as numbers, and how many of its cells were words."""
    import pyarrow as pa

    if pa.types.is_string(column.type) or pa.types.is_large_string(column.type):
        return words_to_numbers(column, decimal=".")
    return numbers_of(column), 0


def _unit_of(field: Any) -> str:
    metadata = field.metadata or {}
    found = next((metadata[key] for key in UNIT_KEYS if key in metadata), b"")
    return str(found.decode("utf-8", errors="replace"))
