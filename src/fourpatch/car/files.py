"""Car and set-up files: TOML in, TOML out, and everything that is wrong with one said at once."""

import os
import re
import tomllib
from collections.abc import Callable, Iterable, Sequence
from pathlib import Path
from typing import Any, TypeVar

from fourpatch.car.car import Car
from fourpatch.car.checks import FAULT_CHECKS, packs
from fourpatch.car.lines import Lines
from fourpatch.car.parameters import Part
from fourpatch.car.paths import Fault, Key
from fourpatch.car.refusals import read_part
from fourpatch.car.setup import Setup, setup_faults
from fourpatch.errors import FileError

PartT = TypeVar("PartT", bound=Part)
FilePath = str | os.PathLike[str]
Table = dict[str, Any]


def load_car(path: FilePath) -> Car:
    """Read a car file.

    Raises
    ------
    FileError
        If the file cannot be read or says something that cannot be meant: all of it, a paragraph
        each, with line, key, value, what is allowed and a remedy.
    """
    return _load(Path(path), Car, checks=FAULT_CHECKS, last=packs)


def load_setup(path: FilePath, car: Car) -> Setup:
    """Read a set-up file for a car.

    Raises
    ------
    FileError
        As `load_car`; also for a value outside its adjuster's range or between two steps.
    """
    return _load(Path(path), Setup, checks=(lambda setup: setup_faults(setup, car),), last=_nothing)


def save_car(car: Car, path: FilePath) -> None:
    """Write a car file: every parameter with its unit and meaning. It reads back to the same car.

    Raises
    ------
    FileError
        If the file cannot be written.
    """
    from fourpatch.car.writing import car_text

    _write(Path(path), car_text(car))


def save_setup(setup: Setup, path: FilePath, car: Car | None = None) -> None:
    """Write a set-up file; with its car, each adjuster's scale stands beside its value.

    Raises
    ------
    FileError
        If the file cannot be written.
    """
    from fourpatch.car.writing import setup_text

    _write(Path(path), setup_text(setup, car))


def _nothing(part: object) -> tuple[()]:
    return ()


def _load(
    path: Path,
    model: type[PartT],
    *,
    checks: Sequence[Callable[[PartT], Iterable[Fault]]],
    last: Callable[[PartT], Iterable[Fault]],
) -> PartT:
    text = _text(path)
    data = _data(path, text)
    nested = _unquoted_provenance(data)
    part, faults = read_part(model, data)
    faults = [*nested, *faults]
    incomplete = bool(faults)
    for check in checks:
        try:
            faults.extend(check(part))
        except AttributeError:
            if not incomplete:
                raise
            # It needs a value that is at fault, and said so.
    faults = faults or list(last(part))
    if faults:
        raise FileError(_paragraphs(path, faults, Lines(text), data))
    return part


def _paragraphs(path: Path, faults: list[Fault], lines: Lines, data: Table) -> str:
    """Return one paragraph per faulty key, in the order of the file."""
    said: dict[Key, tuple[int, str]] = {}
    for key, text in faults:
        line = lines.of(key)
        place = f"{path.name}, line {line}" if line else path.name
        said.setdefault(key, (line or 0, f"{place}: {_subject(key, data)} {text}"))
    return "\n\n".join(text for _, text in sorted(said.values(), key=lambda item: item[0]))


def _subject(key: Key, data: Table) -> str:
    """Return a key as the subject of a sentence; adjusters go by their names."""
    names = [str(name + 1) if isinstance(name, int) else name for name in key]
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
    faults = []
    for name, entry in list(entries.items()) if isinstance(entries, dict) else []:
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


def _text(path: Path) -> str:
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
            if not refused:
                return data
            break
    raise FileError("\n\n".join(refused))


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
    found = f"cannot be read: {line.strip()}"
    if match := _SPACED_NAME.match(line):
        return f'{found}\nA key has no blanks: {match[1].replace(" ", "_")}. An adjuster\'s name goes in quotes: "{match[1]}"'
    if match := _DECIMAL_COMMA.search(line):
        return f"{found}\nThe decimal sign is a point: {match[1]}.{match[2]}"
    if match := _UNQUOTED_QUANTITY.search(line):
        return f'{found}\nA quantity with a unit goes in quotes: "{match[1]}"'
    if match := _UNQUOTED_TEXT.search(line):
        return f'{found}\nText goes in quotes: "{match[1]}"'
    if "Cannot" in reason:
        return f"{found}\nThe same key or section a second time ({reason}). Delete one of the two."
    return f"{found}\n{reason}. A line is name = value, text and quantities in quotes, sections in [brackets]."


def _write(path: Path, text: str) -> None:
    """Write a file as a whole or not at all."""
    unfinished = path.with_name(f".{path.name}.unfinished")
    try:
        unfinished.write_text(text, encoding="utf-8", newline="\n")
        os.replace(unfinished, path)
    except OSError as error:
        raise FileError(f"{path}: cannot be written: {error.strerror}. Check the folder and its rights.") from None
