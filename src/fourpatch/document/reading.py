"""Reading a TOML file as a whole: its text, its syntax, and everything that is wrong with it at once."""

import re
import tomllib
from collections.abc import Callable, Iterable, Sequence
from pathlib import Path
from typing import Any, TypeVar

from fourpatch.document.fault import Fault, Key
from fourpatch.document.lines import Lines
from fourpatch.document.part import Part
from fourpatch.errors import FileError

PartT = TypeVar("PartT", bound=Part)
Table = dict[str, Any]


def read_file(
    path: Path,
    read: Callable[[Table], tuple[PartT, list[Fault]]],
    *,
    checks: Sequence[Callable[[PartT], Iterable[Fault]]] = (),
    last: Sequence[Callable[[PartT], Iterable[Fault]]] = (),
    model: str = "",
) -> PartT:
    """Read a file, run ``checks`` on as much as can be read, and ``last`` if all that finds nothing.

    Parameters
    ----------
    model : where a whole file to start from is to be had, as a sentence.
    read : returns what the file's tables say and what is wrong with them, as `refusals.read_part`.

    Raises
    ------
    FileError
        If the file cannot be read or says something that cannot be meant: all of it, a paragraph
        each, with line, key, value, what is allowed and a remedy.
    """
    text = file_text(path)
    data = _data(path, text)
    nested = _unquoted_provenance(data)
    part, faults = read(data)
    faults = [*nested, *_cut_off(faults, data, model)]
    incomplete = bool(faults)
    for check in checks:
        try:
            faults.extend(check(part))
        except AttributeError:
            if not incomplete:
                raise
            # It needs a value that is at fault, and said so.
    faults = faults or [fault for check in last for fault in check(part)]
    if faults:
        raise FileError(_paragraphs(path, faults, Lines(text), data))
    return part


_CUT_OFF = 3
"""Sections missing from which on a file is not incomplete but cut off."""


def _cut_off(faults: list[Fault], data: Table, model: str) -> list[Fault]:
    """Say once, of a file without most of its sections, what it lacks and where a whole one is to be had."""
    missing = [key for key, text in faults if len(key) == 1 and key[0] not in data and "is missing" in text]
    if len(missing) < _CUT_OFF:
        return faults
    what = "is empty" if not data else "looks cut off"
    text = f"{what}: {', '.join(str(key[0]) for key in missing)} are missing. {model}".rstrip()
    return [Fault((), text), *(fault for fault in faults if fault.key not in missing)]


def _paragraphs(path: Path, faults: list[Fault], lines: Lines, data: Table) -> str:
    """Return one paragraph per faulty key, in the order of the file."""
    said: dict[Key, tuple[int, str]] = {}
    for key, text in faults:
        line = lines.of(key)
        place = f"{path.name}, line {line}" if line else path.name
        said.setdefault(key, (line or 0, f"{place}: {_subject(key, data)} {text}"))
    return _joined([text for _, text in sorted(said.values(), key=lambda item: item[0])])


MOST_FAULTS = 60
"""Paragraphs of a message; of more the rest is counted."""
_MOST_SHOWN = 200
"""Signs of a name, or of a line, that are shown."""
_LONGEST = 2000
"""Signs of a paragraph; no fault of a file written by hand takes more."""


def _cut(text: str) -> str:
    """Return a text as it can stand in a sentence."""
    return text if len(text) <= _MOST_SHOWN else f"{text[:_MOST_SHOWN]}..."


def _joined(paragraphs: Sequence[str]) -> str:
    """Return a message that can be read, whatever was in the file."""
    told = [one if len(one) <= _LONGEST else f"{one[:_LONGEST]} ..." for one in paragraphs[:MOST_FAULTS]]
    if len(paragraphs) > MOST_FAULTS:
        told.append(f"... and {len(paragraphs) - MOST_FAULTS} more like these.")
    return "\n\n".join(told)


def _subject(key: Key, data: Table) -> str:
    """Return a key as the subject of a sentence; adjusters go by their names."""
    names = [str(name + 1) if isinstance(name, int) else _cut(name) for name in key]
    match key:
        case ():
            return "the file"
        case ("adjusters", int(place), *_):
            adjuster = data["adjusters"][place] if isinstance(data.get("adjusters"), list) else {}
            name = adjuster.get("name", "") if isinstance(adjuster, dict) else ""
            called = f'adjuster "{name}"' if name and key[2:] != ("name",) else f"adjuster {place + 1}"
            return ", ".join((called, ".".join(names[2:]))) if names[2:] else called
        case ("provenance", str(name), *_):
            return ", ".join((f'provenance of "{name}"', *names[2:]))
        case ("values", str(name)):
            return f'"{name}"'
    return ".".join(names)


def _unquoted_provenance(data: Table) -> list[Fault]:
    """Take out, and refuse, entries whose dotted name lacks its quotes and so became tables in tables."""
    entries = data.get("provenance")
    if not isinstance(entries, dict):
        return []
    faults = []
    for name, entry in list(entries.items()):
        full, below = name, entry
        while isinstance(below, dict) and below and all(isinstance(value, dict) for value in below.values()):
            first, below = next(iter(below.items()))
            full = f"{full}.{first}"
        if full != name:
            text = f'is read as tables within tables. Put the dotted name in quotes: "{full}" = {{ ... }}.'
            faults.append(Fault(("provenance", name), text))
            del entries[name]
    return faults


# Text and syntax


def file_text(path: Path) -> str:
    """Return the text of a file.

    Raises
    ------
    FileError
        If it is not there, cannot be read, or is no UTF-8.
    """
    try:
        return path.read_text(encoding="utf-8-sig")
    except FileNotFoundError:
        raise FileError(f"{path}: there is no such file. Check the name and the folder.") from None
    except IsADirectoryError:
        raise FileError(f"{path}: is a folder. Name a file in it.") from None
    except UnicodeDecodeError as error:
        line = error.object[: error.start].count(b"\n") + 1
        raise FileError(
            f"{path.name}, line {line}: a byte that is not UTF-8 text. Save the file as UTF-8 in your editor."
        ) from None
    except OSError as error:
        raise FileError(f"{path}: cannot be read: {error.strerror}.") from None
    except ValueError:  # of the system: it takes no such name
        raise FileError(f"{path}: no file can be called that: a sign in it is none. Name another.") from None


def _data(path: Path, text: str) -> Table:
    """Return what a TOML text says; if it cannot be read, refuse all lines at fault at once."""
    lines = text.replace("\r\n", "\n").split("\n")
    refused: list[str] = []
    while True:
        try:
            data = tomllib.loads("\n".join(lines))
        except ValueError as error:
            number, reason = _where_and_why(error, len(lines))
            line = lines[number - 1]
            refused.append(f"{path.name}, line {number}: {_syntax(line, reason)}")
            if not _PAIR.match(line) or len(refused) == MOST_SYNTAX_FAULTS:
                break  # beyond a broken heading or an open quote nothing can be told
            lines[number - 1] = ""
        except RecursionError:
            refused.append(f"{path.name}: brackets within brackets without end. Check where each one closes.")
            break
        else:
            if _is_too_deep(data):
                refused.append(f"{path.name}: tables within tables without end. Look for a name with dots.")
            if not refused:
                return data
            break
    raise FileError(_joined(refused))


_DEEPEST = 30
"""Tables within tables; no file of ours has a third of it."""


def _is_too_deep(data: Table) -> bool:
    level: list[Any] = [data]
    for _ in range(_DEEPEST):
        level = [
            below
            for one in level
            for below in (one.values() if isinstance(one, dict) else one)
            if isinstance(below, dict | list)
        ]
        if not level:
            return False
    return True


MOST_SYNTAX_FAULTS = 20

_PAIR = re.compile(r"^\s*[^=#\[\"']+=")
_PLACE = re.compile(r" \(at (?:line (\d+), column \d+|end of document)\)$")
_UNQUOTED_QUANTITY = re.compile(r"=\s*([-+]?[\d.]+(?:e[-+]?\d+)?\s*[A-Za-z%°][^#,\]}]*?)\s*(?:[#,\]}]|$)")
_DECIMAL_COMMA = re.compile(r"=\s*\"?([-+]?\d+),(\d+)")
_UNQUOTED_TEXT = re.compile(r"=\s*([A-Za-z][^#,\]}\"]*?)\s*(?:[#,\]}]|$)")
_SPACED_NAME = re.compile(r"^\s*([A-Za-z][\w,-]*(?: [\w,-]+)+)\s*=")


def _where_and_why(error: ValueError, last: int) -> tuple[int, str]:
    text = str(error)
    place = _PLACE.search(text)
    number = int(place[1]) if place and place[1] else last
    return min(number, last), _PLACE.sub("", text)


def _syntax(line: str, reason: str) -> str:
    """Return what is wrong with a line of TOML and the likely remedy."""
    line = _cut(line.strip())
    found = f"cannot be read: {line}"
    if match := _SPACED_NAME.match(line):
        joined = match[1].replace(" ", "_")
        return f'{found}\nA key has no blanks: {joined}. The name of an adjuster goes in quotes: "{match[1]}"'
    if match := _DECIMAL_COMMA.search(line):
        return f"{found}\nThe decimal sign is a point: {match[1]}.{match[2]}"
    if match := _UNQUOTED_QUANTITY.search(line):
        return f'{found}\nA quantity with a unit goes in quotes: "{match[1]}"'
    if match := _UNQUOTED_TEXT.search(line):
        return f'{found}\nText goes in quotes: "{match[1]}"'
    if "Cannot" in reason:
        return f"{found}\nThe same key or section a second time ({reason}). Delete one of the two."
    return (
        f"{found}\n{reason}. A line is name = value, text and quantities in quotes, sections in [brackets]."
    )
