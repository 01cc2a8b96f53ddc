"""Laps with their times, as a driver types or pastes them: by runs, each with its set-up."""

import math
import re
from collections.abc import Iterator, Mapping, Sequence
from dataclasses import dataclass, field, replace
from typing import Final

from fourpatch.errors import RecordingError
from fourpatch.recording.csv_shape import cells_of

SHORTEST: Final = 1.0
"""That a lap, a sector or a corner may take. [s]"""
LONGEST: Final = 3600.0
"""[s]"""
MOST_LAPS: Final = 5000
"""In one comparison."""
MOST_PARTS: Final = 60
"""Sectors or corners."""

LEFT_OUT: Final = frozenset(
    "out in outlap inlap out-lap in-lap traffic yellow flag pit mistake spin off slow cool warm-up x".split()
)
"""Words with which a lap is marked as one that does not count."""


@dataclass(frozen=True, slots=True, kw_only=True)
class TimedLap:
    """One lap, as it was timed."""

    run: int
    """From one time in the pits to the next, counted from 1 in the order they were driven."""
    setup: str
    """As the driver calls it: A, B."""
    lap: int
    """Counted from 1 within the run, those that do not count included."""
    time: float
    """[s]"""
    parts: Mapping[str, float] = field(default_factory=dict)
    """Times of sectors or corners, by name; of one that is not known nothing. [s]"""
    fuel: float | None = None
    """On board at its beginning, if known. [kg]"""
    note: str = ""
    left_out: bool = False
    """Whether the driver says that it does not count."""


def read_run(text: str, *, run: int, setup: str, name: str) -> tuple[TimedLap, ...]:
    """Read the laps of one run: times alone, or a table whose head names the time.

    Parameters
    ----------
    run, setup : of all of them.
    name : of the run, for errors.

    Raises
    ------
    RecordingError
        As `read_timed_laps`.
    """
    lines = text.strip("\n").splitlines()
    head = lines[0] if lines else ""
    delimiter = next((sign for sign in "\t;|," if "time" in _meant(cells_of(head, sign))), "")
    if not delimiter or len(lines) < 2:
        laps = read_timed_laps(f"{_NOBODY}: {' '.join(lines)}", name=name)
    elif "setup" in _meant(cells_of(head, delimiter)):
        laps = read_timed_laps(text, name=name)
    else:
        rows = [
            f"{delimiter}{line}" if place else f"set-up{delimiter}{line}" for place, line in enumerate(lines)
        ]
        laps = read_timed_laps(
            "\n".join([rows[0], *(f"{_NOBODY}{row}" for row in rows[1:] if row.strip(delimiter + " "))]),
            name=name,
        )
    return tuple(replace(one, run=run, setup=setup, lap=lap) for lap, one in enumerate(laps, start=1))


_NOBODY: Final = "run"
"""Stands for the set-up while the laps of a run are read."""


def read_timed_laps(text: str, *, name: str = "lap times") -> tuple[TimedLap, ...]:
    """Read laps from a table, or from a line for each run.

    Parameters
    ----------
    text : a table whose head names at least a set-up and a time, its columns parted by commas, semicolons,
        tabs or bars; or lines ``A: 1:32.4 1:32.9x 1:32.1``, one for each run.
    name : of the text, for errors.

    Raises
    ------
    RecordingError
        If a line cannot be read, or there are no laps; it says which.
    """
    numbered = enumerate(text.lstrip("\ufeff").splitlines(), start=1)
    lines = [(place, line) for place, line in numbered if line.strip() and not line.lstrip().startswith("#")]
    if not lines:
        raise RecordingError(f"{name}: there is nothing in it. {_EXAMPLE}")
    if len(lines) > MOST_LAPS:
        raise RecordingError(f"{name}: {len(lines)} lines, more than {MOST_LAPS}. Leave some runs out.")
    delimiter = next((sign for sign in "\t;|," if _is_head(cells_of(lines[0][1], sign))), "")
    found = tuple(_of_table(lines, delimiter, name) if delimiter else _of_runs(lines, name))
    if len(found) > MOST_LAPS:
        raise RecordingError(f"{name}: {len(found)} laps, more than {MOST_LAPS}. Leave some runs out.")
    return found


_EXAMPLE: Final = 'Write a line for each run, "A: 1:32.41 1:32.18 1:35.0x", x at a lap that does not count.'

# A line for each run

_RUN: Final = re.compile(r"\s*(?P<setup>[^:=\d][^:=]*?)\s*[:=]\s*(?P<laps>.*)")
_SHORT_RUN: Final = re.compile(r"\s*(?P<setup>[^\W\d]\w{0,15})\s+(?P<laps>.*)")


def _of_runs(lines: Sequence[tuple[int, str]], name: str) -> Iterator[TimedLap]:
    for run, (place, line) in enumerate(lines, start=1):
        where = f"{name}, line {place}"
        told = _RUN.fullmatch(line) or _SHORT_RUN.fullmatch(line)
        if told is None:
            raise RecordingError(f'{where}: "{line[:60]}" names no set-up before its times. {_EXAMPLE}')
        laps = re.sub(r"\(([^)]*)\)", lambda found: f"({'_'.join(found[1].split())})", told["laps"])
        words = [part for one in re.split(r"[\s;|]+", laps) for part in _apart(one)]
        lap = 0
        for word in _joined(words):
            lap += 1
            time, _, note = word.partition("(")
            note = note.rstrip(")").replace("_", " ")
            crossed = time.rstrip("xX")
            yield TimedLap(
                run=run,
                setup=told["setup"],
                lap=lap,
                time=_seconds(crossed, where),
                note=note,
                left_out=crossed != time or _says_left_out(note),
            )
        if not lap:
            raise RecordingError(f"{where}: there is no time behind {told['setup']}. {_EXAMPLE}")


def _apart(word: str) -> list[str]:
    """Part times with commas between them; in ``92,41`` the comma is the decimal one."""
    between = "." in word or re.search(r",\d+:", word)
    return [one for one in (word.split(",") if between else [word.strip(",")]) if one]


def _joined(words: Sequence[str]) -> Iterator[str]:
    """Put a mark or a remark that stands apart to the time it is of."""
    held = ""
    for word in words:
        if held and (word.startswith("(") or word.lower() in ("x", *LEFT_OUT)):
            held += word if word.startswith("(") or word.lower() == "x" else f"({word})"
            continue
        if held:
            yield held
        held = word
    if held:
        yield held


# A table

_MEANT: Final = {
    "run": ("run", "stint", "session"),
    "setup": ("setup", "set-up", "set up", "car", "a/b", "ab", "config", "state"),
    "lap": ("lap", "lap number", "no", "nr", "#"),
    "time": ("time", "lap time", "laptime", "lap_time"),
    "fuel": ("fuel",),
    "note": ("note", "notes", "remark", "remarks", "comment"),
}
_BY_HEAD: Final = {head: meant for meant, heads in _MEANT.items() for head in heads}


def _plain(head: str) -> str:
    return re.sub(r"\s*[\[(].*?[\])]", "", head).strip().strip("\"'").lower()


def _meant(cells: Sequence[str]) -> set[str | None]:
    return {_BY_HEAD.get(_plain(one)) for one in cells}


def _is_head(cells: Sequence[str]) -> bool:
    return {"setup", "time"} <= _meant(cells)


def _of_table(lines: Sequence[tuple[int, str]], delimiter: str, name: str) -> Iterator[TimedLap]:
    heads = [one.strip().strip("\"'") for one in cells_of(lines[0][1], delimiter)]
    columns = [_BY_HEAD.get(_plain(one), "") for one in heads]
    twice = next((one for one in columns if one and columns.count(one) > 1), "")
    parts = [head for head, meant in zip(heads, columns, strict=True) if not meant and head]
    if twice or len(set(parts)) < len(parts) or len(parts) > MOST_PARTS:
        what = f"two columns are the {twice}" if twice else "a name of a sector or corner stands twice"
        if len(parts) > MOST_PARTS:
            what = f"{len(parts)} sectors or corners, more than {MOST_PARTS}"
        raise RecordingError(f"{name}, line {lines[0][0]}: {what}. Name each column once.")
    run, lap, before = 0, 0, ("", "")
    for place, line in lines[1:]:
        where = f"{name}, line {place}"
        cells = [one.strip().strip('"') for one in cells_of(line, delimiter)]
        if len(cells) != len(heads):
            raise RecordingError(
                f"{where}: has {len(cells)} cells under {len(heads)} heads. Give every lap each of them; a "
                "time that is not known stays empty."
            )
        said = {meant: cell for meant, cell in zip(columns, cells, strict=True) if meant}
        if not said["setup"]:
            raise RecordingError(f"{where}: names no set-up. Write A or B, or what you call it.")
        now = (said.get("run", ""), said["setup"])
        run, lap = (run + 1, 1) if now != before and (_parted(now, before) or not run) else (run, lap + 1)
        before = now
        note = said.get("note", "")
        yield TimedLap(
            run=run,
            setup=said["setup"],
            lap=lap,
            time=_seconds(said["time"].rstrip("xX "), where),
            parts={
                head: _seconds(cell, f"{where}, {head}", least=0.05)
                for head, meant, cell in zip(heads, columns, cells, strict=True)
                if not meant and head and cell
            },
            fuel=_fuel(said.get("fuel", ""), where),
            note=note,
            left_out=said["time"].endswith(("x", "X")) or _says_left_out(note),
        )
    if len(lines) < 2:
        raise RecordingError(f"{name}: there is no lap below its head. {_EXAMPLE}")


def _parted(now: tuple[str, str], before: tuple[str, str]) -> bool:
    """Say whether a run ends between two laps: by its number, or without numbers by the set-up."""
    return now[0] != before[0] if now[0] or before[0] else now[1] != before[1]


def _says_left_out(note: str) -> bool:
    return bool(LEFT_OUT & set(re.findall(r"[\w-]+", note.lower())))


def _fuel(text: str, where: str) -> float | None:
    if not text:
        return None
    number = re.fullmatch(r"(\d+(?:[.,]\d+)?)\s*(?:kg)?", text)
    if number is None:
        raise RecordingError(f'{where}: fuel is "{text}", which is no mass. Write kilograms, such as 24 kg.')
    return float(number[1].replace(",", "."))


_TIME: Final = re.compile(r"(?:(?:(\d{1,2})[:h])?(\d{1,3})[:'])?(\d{1,4})(?:[.,](\d{1,6}))?\s*(?:s|sec|\")?")


def _seconds(text: str, where: str, *, least: float = SHORTEST) -> float:
    """Return a time in seconds: ``1:32.41``, ``92.41``, ``1'32"41`` or ``92,41``."""
    told = _TIME.fullmatch(re.sub(r'"(\d)', r".\1", text.strip()))
    if told is None:
        raise RecordingError(f'{where}: "{text[:40]}" is no time. Write 1:32.41 or 92.41.')
    hours, minutes, whole, part = told.groups()
    if (minutes and int(whole) >= 60) or (hours and int(minutes) >= 60):
        raise RecordingError(f'{where}: "{text}" is no time: more than 59 behind a colon. Write 1:32.41.')
    time = 3600.0 * int(hours or 0) + 60.0 * int(minutes or 0) + float(f"{whole}.{part or 0}")
    if not (math.isfinite(time) and least <= time <= LONGEST):
        raise RecordingError(
            f'{where}: "{text}" is {time:g} s, outside {least:g} to {LONGEST:g} s. Write 1:32.41 or 92.41.'
        )
    return time
