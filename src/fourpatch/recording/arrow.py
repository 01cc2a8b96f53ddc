"""Columns of pyarrow as numbers: missing ones not a number, times in seconds, words told from both."""

from typing import TYPE_CHECKING, Any

import numpy as np

from fourpatch.recording.raw import Array

if TYPE_CHECKING:
    import pyarrow as pa

_TRUE_WORDS = ("true", "on", "yes")
_FALSE_WORDS = ("false", "off", "no")


def numbers_of(column: "pa.Array") -> Array:
    """Return a column of numbers or times, without a copy where none is needed.

    Parameters
    ----------
    column : of floats, whole numbers, truth values, durations, times of day or dates. An infinite number
        counts as missing.
    """
    import pyarrow as pa
    import pyarrow.compute as pc

    kind: Any = column.type
    if pa.types.is_temporal(kind):
        unit = (
            "day" if pa.types.is_date32(kind) else getattr(kind, "unit", "ms")
        )  # dates of 64 bits count in ms
        scale = {"day": 86400.0, "s": 1.0, "ms": 1e-3, "us": 1e-6, "ns": 1e-9}[unit]
        whole = column.cast(pa.int32() if kind.bit_width == 32 else pa.int64())
        return numbers_of(whole) * scale
    if pa.types.is_boolean(kind) or not pa.types.is_float64(kind):
        column = column.cast(pa.uint8()) if pa.types.is_boolean(kind) else column
        column = pc.cast(column, pa.float64(), safe=False)
    count = column.offset + len(column)
    if not count:
        return np.empty(0)
    # By the buffers, because the library's own way to fill gaps and to make an array loads pandas first.
    known, numbers = column.buffers()
    values = np.frombuffer(numbers, dtype=np.float64, count=count)[column.offset :]
    if column.null_count and known is not None:
        bits = np.unpackbits(np.frombuffer(known, dtype=np.uint8), count=count, bitorder="little")
        values = np.where(bits[column.offset :] == 1, values, np.nan)
    if np.isinf(values).any():
        values = np.where(np.isinf(values), np.nan, values)
    return np.asarray(values)


def words_to_numbers(column: "pa.Array", *, decimal: str) -> tuple[Array, int]:
    """Return the numbers, or times in seconds, that a column of words says, and how many say none.

    Parameters
    ----------
    column : of text; times are written 12:34:56.7, 34:56.7 or as dates with a time (ISO 8601).
    decimal : sign between whole and parts.
    """
    import pyarrow as pa
    import pyarrow.compute as pc

    text = pc.ascii_trim_whitespace(column.cast(pa.large_string()))
    text = pc.if_else(pc.equal(text, ""), pa.scalar(None, pa.large_string()), text)
    said = len(text) - text.null_count
    if not said:
        return np.full(len(text), np.nan), 0
    if decimal != ".":
        text = pc.replace_substring(text, decimal, ".")
    if pc.any(pc.match_substring_regex(text, r"^(\d{4}-\d\d-\d\d[T ])?\d+:\d\d")).as_py():
        found = _clock(text)
    else:
        plain = pc.match_substring_regex(text, r"^[-+]?(\d+\.?\d*|\.\d+)([eE][-+]?\d+)?$")
        lower = pc.ascii_lower(text)
        text = pc.if_else(pc.is_in(lower, pa.array(_TRUE_WORDS, pa.large_string())), "1", text)
        text = pc.if_else(pc.is_in(lower, pa.array(_FALSE_WORDS, pa.large_string())), "0", text)
        plain = pc.or_(plain, pc.match_substring_regex(text, "^[01]$"))
        text = pc.replace_substring_regex(text, r"^\+", "")
        found = numbers_of(pc.if_else(plain, text, pa.scalar(None, pa.large_string())).cast(pa.float64()))
    return found, said - int(np.isfinite(found).sum())


def _clock(text: "pa.Array") -> Array:
    """Return times of day or dates [s]; of dates since 1970."""
    import pyarrow as pa
    import pyarrow.compute as pc

    parts = pc.extract_regex(
        text,
        r"^(?P<day>\d{4}-\d\d-\d\d)?[T ]?(?:(?P<h>\d+):)?(?P<m>\d+):(?P<s>\d\d(?:\.\d+)?)"
        r"(?:Z|[-+]\d\d:?\d\d)?$",
    )

    def part(name: str) -> Array:
        row = pc.struct_field(parts, name)
        row = pc.if_else(pc.equal(row, ""), "0", row)
        return numbers_of(row.cast(pa.float64()))

    seconds = 3600.0 * part("h") + 60.0 * part("m") + part("s")
    days = pc.struct_field(parts, "day")
    dated = pc.if_else(pc.equal(days, ""), pa.scalar(None, days.type), days)
    if dated.null_count < len(dated):
        try:
            whole = numbers_of(dated.cast(pa.date32()))
        except pa.ArrowInvalid:
            return np.full(len(text), np.nan)
        seconds = seconds + np.nan_to_num(whole)
    return np.asarray(seconds)
