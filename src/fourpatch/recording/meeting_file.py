"""A meeting as a file: read and refused as all files are, written without what is empty."""

import os
from collections.abc import Mapping
from functools import partial
from pathlib import Path
from typing import Any

import tomlkit

from fourpatch.document.reading import read_file
from fourpatch.document.refusals import read_part
from fourpatch.document.saving import write_texts
from fourpatch.recording.meeting import Meeting
from fourpatch.units import FROM_FILE

FilePath = str | os.PathLike[str]


def load_meeting(path: FilePath) -> Meeting:
    """Read the file of a meeting; all but the name may be left out.

    Raises
    ------
    FileError
        If the file cannot be read or says something that cannot be meant: all of it, a paragraph each.
    """
    return read_file(Path(path), partial(read_part, Meeting))


def save_meeting(meeting: Meeting, path: FilePath) -> None:
    """Write the file of a meeting. It reads back to the same.

    Raises
    ------
    FileError
        If the file cannot be written.
    """
    write_texts({Path(path): meeting_text(meeting)})


def meeting_text(meeting: Meeting) -> str:
    """Return the text of a meeting's file."""
    return tomlkit.dumps(_said(meeting.model_dump(context=FROM_FILE)))


def _said(table: Mapping[str, Any]) -> dict[str, Any]:
    """Return what of a table is said: nothing that is empty, texts of several lines as such."""
    written: dict[str, Any] = {}
    for name, value in table.items():
        if value is None or value in ("", [], {}):
            continue
        match value:
            case list():
                written[name] = [_said(one) for one in value]
            case dict():
                inline = tomlkit.inline_table()
                inline.update({key: _whole(one) for key, one in value.items()})
                written[name] = inline
            case str() if "\n" in value:
                written[name] = tomlkit.string(value, multiline=True)
            case _:
                written[name] = value
    return written


def _whole(value: float) -> float | int:
    return int(value) if value == int(value) and abs(value) < 1e15 else value
