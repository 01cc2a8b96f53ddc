"""Recordings of positions in GPX 1.1: track points with latitude, longitude, elevation and time."""

import re
from pathlib import Path
from typing import Any, Final
from xml.parsers import expat

import numpy as np

from fourpatch.errors import RecordingError
from fourpatch.recording.raw import MOST_COLUMNS, MOST_VALUES, RawColumn, RawRecording
from fourpatch.recording.text_source import open_bytes

NAMESPACE: Final = "http://www.topografix.com/GPX/1/1"
"""Of the schema gpx.xsd of GPX 1.1, by which elements are told."""

UNITS: Final = {"lat": "deg", "lon": "deg", "ele": "m", "time": "s"}
"""Of what the schema says of a track point; hdop and such are passed over."""

_TIME = re.compile(r"(\d{4}-\d\d-\d\d)T(\d\d):(\d\d):(\d\d(?:\.\d+)?)(Z|([-+])(\d\d):?(\d\d))?")


def read_gpx(path: Path) -> RawRecording:
    """Read the track points of a GPX file, plain or packed by gzip.

    Raises
    ------
    RecordingError
        If it is no GPX 1.1, is cut off, or has no track points.

    Notes
    -----
    Numbers below a point's ``extensions`` become columns by their element's name. Segments and tracks follow
    one another; the gaps between them are gaps in time. Entities are refused, so no small file can grow.
    """
    points = _Points(path.name)
    parser = expat.ParserCreate(namespace_separator=" ")
    parser.StartElementHandler = points.start
    parser.EndElementHandler = points.end
    parser.CharacterDataHandler = points.text
    parser.EntityDeclHandler = points.entity
    parser.buffer_text = True
    with open_bytes(path) as file:
        try:
            parser.ParseFile(file)
        except expat.ExpatError as error:
            raise RecordingError(
                f"{path.name}: is no sound GPX, line {error.lineno}: "
                f"{expat.errors.messages.get(error.code, 'not well formed')}. Export it again."
            ) from None
        except (LookupError, ValueError):
            raise RecordingError(
                f"{path.name}: names an encoding that does not exist. Export it again, in UTF-8."
            ) from None
    return points.recording()


class _Points:
    """Collects track points while the file is parsed."""

    def __init__(self, name: str) -> None:
        self._name = name
        self._path: list[str] = []
        self._columns: dict[str, list[float]] = {}
        self._point: dict[str, float] = {}
        self._text = ""
        self._count = 0

    def entity(self, *_: Any) -> None:
        """Refuse an entity."""
        raise RecordingError(
            f"{self._name}: declares XML entities, which GPX does not need. Export it again."
        )

    def start(self, tag: str, attributes: dict[str, str]) -> None:
        """Take an element's begin."""
        space, _, name = tag.rpartition(" ")
        if not self._path and (name != "gpx" or space != NAMESPACE):
            raise RecordingError(
                f"{self._name}: its outermost element is {name[:40]!r} of {space[:80] or 'no namespace'!r}; "
                f"GPX 1.1 has 'gpx' of '{NAMESPACE}'. Export it as GPX 1.1."
            )
        self._path.append(name)
        self._text = ""
        if name == "trkpt":
            self._point = {key: self._number(attributes.get(key, "")) for key in ("lat", "lon")}

    def text(self, data: str) -> None:
        """Take text."""
        self._text += data[: 200 - len(self._text)]

    def end(self, tag: str) -> None:
        """Take an element's end."""
        name = self._path.pop()
        if name == "trkpt":
            self._store()
        elif "trkpt" in self._path:
            parent = self._path[-1]
            if name == "ele" and parent == "trkpt":
                self._point["ele"] = self._number(self._text)
            elif name == "time" and parent == "trkpt":
                self._point["time"] = _seconds(self._text)
            elif "extensions" in self._path and self._text.strip():
                number = self._number(self._text)
                if np.isfinite(number) and name not in UNITS:
                    self._point[name] = number
        self._text = ""

    def _store(self) -> None:
        for key in self._point:
            if key not in self._columns:
                if len(self._columns) >= MOST_COLUMNS:
                    raise RecordingError(
                        f"{self._name}: has over {MOST_COLUMNS} kinds of values. Export fewer."
                    )
                self._columns[key] = [float("nan")] * self._count
        for key, column in self._columns.items():
            column.append(self._point.get(key, float("nan")))
        self._count += 1
        if self._count * len(self._columns) > MOST_VALUES // 10:
            raise RecordingError(f"{self._name}: has too many points for memory. Export a part of it.")

    @staticmethod
    def _number(text: str) -> float:
        try:
            value = float(text)
        except ValueError:
            return float("nan")
        return value if np.isfinite(value) else float("nan")

    def recording(self) -> RawRecording:
        """Return what was collected."""
        if self._count < 2:
            raise RecordingError(
                f"{self._name}: has {self._count} track points (trkpt); a recording has more. Export the "
                "track, not way points or a route."
            )
        columns = tuple(
            RawColumn(name=name, unit=UNITS.get(name, ""), values=np.array(values))
            for name, values in self._columns.items()
        )
        notes = [] if "time" in self._columns else ["No track point says its time, so nothing tells speed."]
        return RawRecording(name=self._name, format="GPX", columns=columns, notes=tuple(notes))


def _seconds(text: str) -> float:
    """Return a time of the schema's type xsd:dateTime [s since 1970], not a number if it is none."""
    match = _TIME.fullmatch(text.strip())
    if not match:
        return float("nan")
    try:
        day = (np.datetime64(match[1]) - np.datetime64("1970-01-01")).astype(int)
    except ValueError:
        return float("nan")
    zone = 0.0
    if match[6]:
        zone = (1.0 if match[6] == "+" else -1.0) * (3600.0 * int(match[7]) + 60.0 * int(match[8]))
    return float(day) * 86400.0 + 3600.0 * int(match[2]) + 60.0 * int(match[3]) + float(match[4]) - zone
