"""What a document may be, and how its text is read and written: just as the command line does with files."""

import re
import tempfile
import tomllib
from collections.abc import Callable, Iterator, Mapping
from dataclasses import dataclass
from importlib.resources import files
from pathlib import Path
from typing import TYPE_CHECKING, Final, Generic, Literal, TypeVar

import tomlkit
from pydantic import Field

from fourpatch.car.car import Car
from fourpatch.car.files import load_car, save_car
from fourpatch.document.part import Part
from fourpatch.document.reading import file_text
from fourpatch.document.saving import write_texts
from fourpatch.errors import FileError, NotebookError
from fourpatch.events.driver_style import DriverStyle
from fourpatch.events.style_file import load_style, save_style
from fourpatch.notebook.own_lesson import OwnLesson, load_own_lesson, save_own_lesson
from fourpatch.recording.meeting import Meeting
from fourpatch.recording.meeting_file import load_meeting, save_meeting

if TYPE_CHECKING:
    from fourpatch.track.track import Track

KindName = Literal["car", "track", "style", "meeting", "lesson"]
ValueT = TypeVar("ValueT", bound=Part)

LONGEST_NAME = 80
_UNFIT_FOR_A_FILE = re.compile(r'[<>:"/\\|?*\x00-\x1f\x7f]')
_A_DEVICE = re.compile(r"(?:con|prn|aux|nul|com[0-9¹²³]|lpt[0-9¹²³])(?:\.|$)", re.IGNORECASE)
"""Names that Windows keeps for itself, with any ending (Microsoft, Naming Files, Paths, and Namespaces)."""
_CONTROL = re.compile(r"[\x00-\x1f\x7f-\x9f\u2028\u2029]")


class Written(Part):
    """A document as text: its TOML file, and the CSV files it names."""

    text: str
    """Of the TOML file, as typed: comments and provenance included."""
    beside: dict[str, str] = Field(default_factory=dict)
    """Text of each file that it names, by that name."""


@dataclass(frozen=True, slots=True, kw_only=True)
class Kind(Generic[ValueT]):
    """A kind of document."""

    name: KindName
    load: Callable[[Path], ValueT]
    save: Callable[[ValueT, Path], None]
    has_name: bool
    """Whether the file itself says what it is called."""

    def read(self, written: Written, name: str) -> ValueT:
        """Return what a text says.

        Raises
        ------
        FileError
            As the reader of such a file, which is called by ``name`` in the message.
        """
        absent = [one for one in names_of_files(written.text) if one not in written.beside]
        if absent:
            raise FileError(
                f"{file_name(name)}: names {', '.join(absent)}, which is not with it. Give it too."
            )
        if not all(is_unicode(one) for one in (name, written.text, *written.beside.values())):
            raise FileError("The text has half of a sign in it (a lone surrogate). Delete it.")
        with tempfile.TemporaryDirectory(prefix="fourpatch-") as folder:
            path = Path(folder) / file_name(name)
            _put(written, path)
            return self.load(path)

    def write(self, value: ValueT) -> Written:
        """Return a value as text."""
        with tempfile.TemporaryDirectory(prefix="fourpatch-") as folder:
            path = Path(folder) / file_name("document")
            self.save(value, path)
            return take(path)

    def named(self, written: Written, name: str) -> tuple[Written, str]:
        """Return a text and its name, after it has been given that name if there is one.

        Raises
        ------
        NotebookError
            If the name is empty or too long.
        """
        if not self.has_name:
            return written, checked_name(name)
        document = tomlkit.parse(written.text)
        if name and document["name"] != name:
            document["name"] = checked_name(name)
            return Written(text=tomlkit.dumps(document), beside=written.beside), name
        return written, str(document["name"])


def _load_track(path: Path) -> "Track":
    from fourpatch.track.files import load_track  # brings half of scipy: not before a track is asked for

    return load_track(path)


def _save_track(track: "Track", path: Path) -> None:
    from fourpatch.track.files import save_track

    save_track(track, path)


CAR: Final[Kind[Car]] = Kind(name="car", load=load_car, save=save_car, has_name=True)
TRACK: Final["Kind[Track]"] = Kind(name="track", load=_load_track, save=_save_track, has_name=True)
STYLE: Final[Kind[DriverStyle]] = Kind(name="style", load=load_style, save=save_style, has_name=False)
MEETING: Final[Kind[Meeting]] = Kind(name="meeting", load=load_meeting, save=save_meeting, has_name=True)
LESSON: Final[Kind[OwnLesson]] = Kind(
    name="lesson", load=load_own_lesson, save=save_own_lesson, has_name=True
)

KINDS: Final[Mapping[KindName, Kind[Part]]] = {one.name: one for one in (CAR, TRACK, STYLE, MEETING, LESSON)}  # type: ignore[misc]


def is_unicode(text: str) -> bool:
    """Say whether a text can be written: JSON may bring half of a sign."""
    return not re.search(r"[\ud800-\udfff]", text)


def checked_name(name: str) -> str:
    """Return a name that can be one.

    Raises
    ------
    NotebookError
        If it is empty or too long, or has a sign in it that is none.
    """
    if not name.strip() or len(name) > LONGEST_NAME:
        what = f'"{name[:LONGEST_NAME]}..." has {len(name)} of them' if name.strip() else "is empty"
        raise NotebookError(f"The name {what}; give it 1 to {LONGEST_NAME} characters.")
    if not is_unicode(name):
        raise NotebookError("The name has half of a sign in it (a lone surrogate). Delete it.")
    if _CONTROL.search(name):
        raise NotebookError("The name has a line end or another control character in it. Delete it.")
    return name


def file_name(name: str) -> str:
    """Return the name of the TOML file for what is called so, on any system."""
    fit = _UNFIT_FOR_A_FILE.sub("-", name)[:LONGEST_NAME].strip(" .") or "unnamed"
    return f"{'_' if _A_DEVICE.match(fit) else ''}{fit}.toml"


def take(path: Path) -> Written:
    """Return the text of a TOML file that can be read, and of the files it names.

    Raises
    ------
    FileError
        If one cannot be read.
    """
    text = file_text(path)
    return Written(text=text, beside={name: file_text(path.parent / name) for name in names_of_files(text)})


def names_of_files(text: str) -> list[str]:
    """Return the names of the files that a TOML text names, none if it cannot be read."""
    try:
        return sorted(set(_named(tomllib.loads(text))))
    except (ValueError, RecursionError):
        return []


def _named(value: object) -> Iterator[str]:
    if isinstance(value, list):
        for element in value:
            yield from _named(element)
    elif isinstance(value, dict):
        if isinstance(value.get("file"), str):
            yield value["file"]
        for element in value.values():
            yield from _named(element)


def put(written: Written, path: Path) -> None:
    """Write a text to a file, and the files it names beside it; none of those is written over.

    Raises
    ------
    FileError
        If one cannot be written, or a file beside is there and says something else.
    """
    for name, text in written.beside.items():
        there = path.parent / name
        if there.exists() and file_text(there) != text:
            raise FileError(
                f"{there}: is there and says something else than the notebook's own {name}. Move it away, or "
                "choose another folder."
            )
    _put(written, path)


def _put(written: Written, path: Path) -> None:
    beside = {path.parent / name: text for name, text in written.beside.items()}
    if any(file.parent != path.parent for file in beside):
        raise FileError(f"{path.name}: names a file in another folder. Put it beside, and name it alone.")
    if strange := [name for name in written.beside if _CONTROL.search(name)]:
        raise FileError(f"{path.name}: no file can be called {strange[0]!r}. Give it another name.")
    write_texts({path: written.text, **beside})


def demo_texts(kind: KindName) -> list[Written]:
    """Return the texts of the demo cars or tracks. All are invented, and say so."""
    # Not by the packages' own readers: those of tracks bring half of scipy, at each first start.
    folder = files(f"fourpatch.{kind}") / "demo"
    texts = sorted((one for one in folder.iterdir() if one.name.endswith(".toml")), key=lambda one: one.name)
    return [Written(text=one.read_text(encoding="utf-8")) for one in texts]
