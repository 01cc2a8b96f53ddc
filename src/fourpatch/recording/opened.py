"""A recording from file to run in one go: read, mapped as kept or proposed, faults found and mended."""

import difflib
from collections.abc import Sequence
from dataclasses import dataclass
from pathlib import Path
from typing import Final

from fourpatch.errors import RecordingError
from fourpatch.recording.faults import Fault, find_faults, mended
from fourpatch.recording.files import format_of, read_file
from fourpatch.recording.loading import load_run
from fourpatch.recording.mapping import MappedColumn, Mapping, kept_mapping
from fourpatch.recording.proposal import Proposal, propose, with_columns
from fourpatch.recording.raw import RawRecording
from fourpatch.runs.run import Run

LARGE: Final = 400_000_000
"""Bytes of a file, from which on its columns are told from its first rows, and only known ones are read."""

_FIRST_ROWS = 300_000


@dataclass(frozen=True, slots=True, kw_only=True)
class Opened:
    """A recording that was read."""

    run: Run
    mapping: Mapping
    """By which its columns became channels."""
    proposal: Proposal
    """What was thought of them."""
    kept: bool
    """Whether the mapping is the one that was kept for this source."""
    faults: tuple[Fault, ...]
    """That were found, mended or not."""
    mended: tuple[str, ...]
    """Keys of those that were mended."""
    raw: RawRecording
    """Its columns; of a large file the first rows."""


def open_recording(
    path: str | Path,
    *,
    columns: Sequence[MappedColumn] = (),
    agreed: Sequence[str] = (),
    mend: Sequence[str] = (),
    rate: float = 0.0,
    afresh: bool = False,
    folder: Path | None = None,
) -> Opened:
    """Read a recording.

    Parameters
    ----------
    path : of the file.
    columns : what some of its columns are, as the user says.
    agreed : keys of questions of the proposal that are answered by yes, or "all".
    mend : keys of faults to be mended, or "all".
    rate : rows per second, if no column is the time. [1/s]
    afresh : whether a mapping that was kept for this source is passed over.
    folder : where mappings are kept; the user's own if left out.

    Raises
    ------
    RecordingError
        If it cannot be read, nothing says the time, or something is agreed to that was not asked.
    """
    file = Path(path)
    large = format_of(file) in ("CSV", "Parquet") and file.stat().st_size > LARGE
    raw = read_file(file, most_rows=_FIRST_ROWS if large else None)
    kept = None if afresh else kept_mapping(raw.layout, folder)
    proposal = propose(raw, rate=rate or (kept.rate if kept else 0.0)).agreed(agreed)
    mapping = kept if kept is not None and not agreed else proposal.mapping
    if columns:
        require_there(raw, columns)
        mapping = with_columns(mapping, columns)
    whole = raw if raw.complete else read_file(file, only={one.column for one in mapping.columns})
    run, clocks = load_run(whole, mapping)
    faults = find_faults(run, clocks)
    done = tuple(one.key for one in faults if one.remedy and ("all" in mend or one.key in mend))
    return Opened(
        run=mended(run, faults, mend),
        mapping=mapping,
        proposal=proposal,
        kept=mapping is kept,
        faults=tuple(faults),
        mended=done,
        raw=raw,
    )


def require_there(raw: RawRecording, columns: Sequence[MappedColumn]) -> None:
    """Refuse what is said of columns that a recording has not.

    Raises
    ------
    RecordingError
        With near names.
    """
    names = [one.name for one in raw.columns]
    for one in columns:
        if one.column not in names:
            near = difflib.get_close_matches(one.column, names, n=3, cutoff=0.4) or names[:5]
            listed = ", ".join(f'"{name}"' for name in near)
            raise RecordingError(f'{raw.name}: has no column "{one.column}". There are {listed} and others.')
