"""Recordings in ASAM MDF 4, by the library asammdf."""

import contextlib
import gc
import io
import logging
import sys
from collections.abc import Collection, Iterator
from pathlib import Path
from typing import Any, Final

import numpy as np

from fourpatch.errors import RecordingError
from fourpatch.recording.raw import MOST_COLUMNS, MOST_VALUES, Array, RawColumn, RawRecording, distinct

MAGIC: Final = (b"MDF     ", b"UnFinMF ")
"""First bytes of a finished and of an unfinished file."""


def read_mdf(path: Path, *, only: Collection[str] | None = None) -> RawRecording:
    """Read an MDF file: each channel group has its own clock.

    Parameters
    ----------
    only : names of the columns that are wanted; all if left out.

    Raises
    ------
    RecordingError
        If asammdf is not installed, or the file cannot be read, has no channels of numbers or more than go
        into memory.
    """
    with _opened(path) as mdf:
        places = [
            (group, channel)
            for group, one in enumerate(mdf.groups)
            for channel in range(len(one.channels))
            if one.channel_group.cycles_nr > 0 and channel != mdf.masters_db.get(group)
        ]
        if len(places) > MOST_COLUMNS:
            raise RecordingError(
                f"{path.name}: has {len(places)} channels; {MOST_COLUMNS} is the most that is read. "
                "Export fewer."
            )
        titles = [str(mdf.groups[group].channels[channel].name) for group, channel in places]
        names, repeated = distinct(titles)
        if sum(int(mdf.groups[group].channel_group.cycles_nr) for group, _ in places) > MOST_VALUES:
            raise RecordingError(
                f"{path.name}: holds too many values for memory. Export a part of it, or fewer channels."
            )
        return _read(mdf, path, list(zip(names, places, strict=True)), repeated, only)


def _read(
    mdf: Any,
    path: Path,
    places: list[tuple[str, tuple[int, int]]],
    repeated: list[str],
    only: Collection[str] | None,
) -> RawRecording:
    columns: list[RawColumn] = []
    clocks: dict[int, Array] = {}
    order: list[int] = []
    words = []
    for name, (group, channel) in places:
        if only is not None and name not in only:
            continue
        signal = _signal(mdf, path, group, channel)
        values = np.asarray(signal.samples)
        if values.ndim != 1 or values.dtype.kind not in "iufb" or values.size == 0:
            words.append(name)
            continue
        numbers = values.astype(np.float64)
        if signal.invalidation_bits is not None:
            numbers[np.asarray(signal.invalidation_bits, dtype=bool)] = np.nan
        numbers[np.isinf(numbers)] = np.nan
        if group not in clocks:
            clocks[group] = np.asarray(signal.timestamps, dtype=np.float64)
            order.append(group)
        columns.append(
            RawColumn(name=name, unit=str(signal.unit or ""), values=numbers, clock=order.index(group))
        )
    if not columns:
        raise RecordingError(f"{path.name}: holds no channels of numbers. Check that it is the right file.")
    notes = [f'"{one}" holds no plain numbers and was passed over.' for one in words]
    notes += [f'Channels of the same name were numbered: "{one}".' for one in dict.fromkeys(repeated)]
    return RawRecording(
        name=path.name,
        format="MDF 4",
        columns=tuple(columns),
        clocks=tuple(clocks[group] for group in order),
        notes=tuple(notes),
    )


def _signal(mdf: Any, path: Path, group: int, channel: int) -> Any:
    try:
        return mdf.get(group=group, index=channel, ignore_invalidation_bits=True)
    except Exception:  # the library fails in many ways on a damaged file; all mean the same here
        raise _damaged(path) from None


@contextlib.contextmanager
def _opened(path: Path) -> Iterator[Any]:
    """Open a file; what the library prints and logs is kept from the user."""
    try:
        from asammdf import MDF
    except ImportError:
        raise RecordingError(
            f"{path.name}: to read ASAM MDF, the library asammdf is needed: pip install fourpatch[mdf]. Or "
            "export the recording as CSV or Parquet."
        ) from None
    with _quiet():
        mdf = None
        with contextlib.suppress(Exception):  # as in _signal
            mdf = MDF(path)
        if mdf is None:
            gc.collect()  # what the library left half-made, while it is quiet
            raise _damaged(path)
        try:
            if not str(mdf.version).startswith("4"):
                raise RecordingError(
                    f"{path.name}: is MDF {mdf.version}; version 4 is read. Convert it, with asammdf for "
                    "example."
                )
            yield mdf
        finally:
            with contextlib.suppress(Exception):
                mdf.close()


@contextlib.contextmanager
def _quiet() -> Iterator[None]:
    """Keep from the screen what the library says, also where it trips over its own half-made objects."""
    logging.getLogger("asammdf").setLevel(logging.CRITICAL)
    hook = sys.unraisablehook
    sys.unraisablehook = lambda _: None
    try:
        with contextlib.redirect_stdout(io.StringIO()), contextlib.redirect_stderr(io.StringIO()):
            yield
    finally:
        sys.unraisablehook = hook


def _damaged(path: Path) -> RecordingError:
    return RecordingError(
        f"{path.name}: is damaged or unfinished, it cannot be read as ASAM MDF 4. Copy or export it again."
    )
