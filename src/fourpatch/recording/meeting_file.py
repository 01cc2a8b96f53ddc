"""A meeting as a file: read and refused as all files are, written without what is empty."""

import os
import re
from collections.abc import Mapping, Sequence
from functools import partial
from pathlib import Path
from typing import Any, Final

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


_SAID: Final = re.compile(r'\s*(?:\w+ = )?(?:"{3}|")?(.*?)(?:"{3}|")?\s*')
_TABLE: Final = re.compile(r"\s*\[+([\w.]+)\]+\s*")


def lines_with(text: str, words: Sequence[str]) -> list[str]:
    """Return what a meeting's text says in lines that have one of the words, if all of them are in it.

    Those with most of the words come first.

    Notes
    -----
    The text is not read as TOML: a search goes through hundreds of them. What a line belongs to is told by
    the heads above it: the session's name and the number of the run.
    """
    wanted = [one.casefold() for one in words]
    found: list[tuple[int, str]] = []
    missing = set(wanted)
    any_of = re.compile("|".join(map(re.escape, wanted)))
    session, run, place = "", 0, ""
    for line in text.splitlines():
        if line.startswith("[") and (table := _TABLE.fullmatch(line)):
            place = table[1]
            run += place == "sessions.runs"
            session = "" if place == "sessions" else session
            continue
        if place == "sessions" and line.startswith("name = "):
            session = _value(line)
        low = line.casefold()
        if any_of.search(low) is None:
            continue
        value = _value(line)
        low = value.casefold()
        here = [one for one in wanted if one in low]
        if here:
            missing.difference_update(here)
            where = [session] if place else []
            where += [f"run {run}"] if place.startswith("sessions.runs") else []
            said = ": ".join(part for part in (", ".join(filter(None, where)), value) if part)
            found.append((len(set(here)), said))
    best = sorted(found, key=lambda one: -one[0])
    return [] if missing else [said for _, said in best]


def _value(line: str) -> str:
    """Return what a line says, without its key and its quotes."""
    told = _SAID.fullmatch(line)
    return line if told is None else told[1].replace('\\"', '"')


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
