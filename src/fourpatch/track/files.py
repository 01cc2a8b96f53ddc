"""Track files: TOML in, TOML out, the CSV files beside them, and everything that is wrong said at once."""

import os
from collections.abc import Callable, Iterator
from functools import partial
from pathlib import Path
from typing import Any, NamedTuple

from fourpatch.document.fault import Fault, Key
from fourpatch.document.reading import read_file
from fourpatch.document.refusals import read_part
from fourpatch.document.saving import write_texts
from fourpatch.errors import FileError
from fourpatch.track.checks import track_checks
from fourpatch.track.curvature_line import CurvatureLine, curvature_table_text, load_curvature_table
from fourpatch.track.points import PointLine, load_points, points_text
from fourpatch.track.surface_profile import load_surface_profile, surface_profile_text
from fourpatch.track.track import MeasuredSurface, Track

FilePath = str | os.PathLike[str]
Table = dict[str, Any]


class _Beside(NamedTuple):
    """What a kind of table keeps in a CSV file, and how that is read."""

    name: str
    load: Callable[[Path], object]


_BESIDE = {
    "points": _Beside("points", load_points),
    "curvature": _Beside("table", load_curvature_table),
    "profile": _Beside("profile", load_surface_profile),
}
"""By the kind of the table that names the file."""


def load_track(path: FilePath) -> Track:
    """Read a track file and the CSV files it names.

    Raises
    ------
    FileError
        If a file cannot be read or says something that cannot be meant: all of it, a paragraph each, with
        line, key, value, what is allowed and a remedy.
    """
    file = Path(path)
    return read_file(file, partial(_read_track, file.parent), checks=track_checks())


def save_track(track: Track, path: FilePath) -> None:
    """Write a track file, and beside it the CSV files it names unless they are there; all or nothing.

    They read back to the same track.

    Raises
    ------
    FileError
        If a file cannot be written, or a CSV file of that name is there and says something else: it may be
        the only copy of a measurement.
    """
    from fourpatch.track.writing import track_text

    file = Path(path)
    texts = {file: track_text(track)}
    for name, text, value, load in _named_files(track):
        beside = file.parent / name
        if not beside.exists():
            texts[beside] = text
        elif load(beside) != value:
            raise FileError(
                f"{beside}: is there and says something else than the track's own {name}. Move it away, or "
                "save the track in another folder."
            )
    write_texts(texts)


def _read_track(folder: Path, data: Table) -> tuple[Track, list[Fault]]:
    """Read a track's tables, with what the files they name hold put into them."""
    faults: list[Fault] = []
    for key, table in _tables_with_files(data):
        beside = _BESIDE[table["kind"]]
        if beside.name in table:
            faults.append(Fault((*key, beside.name), "stands in the file that `file` names. Delete it here."))
        try:
            table[beside.name] = beside.load(folder / table["file"])
        except FileError as error:
            table.pop(beside.name, None)
            text = f'is "{table["file"]}", which cannot be used:\n{error}'
            faults.append(Fault((*key, "file"), text))
    track, others = read_part(Track, data)
    rows = {beside.name for beside in _BESIDE.values()}
    # Rows that are missing because their file is at fault: that is said already.
    return track, [*faults, *(fault for fault in others if not (fault.key and fault.key[-1] in rows))]


def _tables_with_files(data: Table) -> Iterator[tuple[Key, Table]]:
    """Yield the tables that name a CSV file, with their places."""
    road = data.get("road")
    surfaces = road.get("surface") if isinstance(road, dict) else None
    tables: list[tuple[Key, object]] = [(("centre_line",), data.get("centre_line"))]
    if isinstance(surfaces, list):
        tables += [(("road", "surface", place), one) for place, one in enumerate(surfaces)]
    for key, table in tables:
        if isinstance(table, dict) and isinstance(table.get("file"), str):
            if isinstance(table.get("kind"), str) and table["kind"] in _BESIDE:
                yield key, table


def _named_files(track: Track) -> Iterator[tuple[str, str, object, Callable[[Path], object]]]:
    """Yield name, text, value and reader of every CSV file a track names."""
    line = track.centre_line
    if isinstance(line, PointLine):
        yield line.file, points_text(line.points), line.points, load_points
    elif isinstance(line, CurvatureLine):
        yield line.file, curvature_table_text(line.table), line.table, load_curvature_table
    for one in track.road.surface:
        if isinstance(one, MeasuredSurface):
            yield one.file, surface_profile_text(one.profile), one.profile, load_surface_profile
