"""A driver's style as a file: read and refused as event files are, written with every habit explained."""

import os
from functools import partial
from pathlib import Path

import tomlkit

from fourpatch.document.meaning import meaning
from fourpatch.document.reading import read_file
from fourpatch.document.refusals import read_part
from fourpatch.document.saving import write_texts
from fourpatch.document.writing import first_line, toml_item
from fourpatch.events.driver_style import DriverStyle
from fourpatch.units import FROM_FILE

FilePath = str | os.PathLike[str]


def load_style(path: FilePath) -> DriverStyle:
    """Read a style file; what it leaves out is as in `DriverStyle`.

    Raises
    ------
    FileError
        If the file cannot be read or says something that cannot be meant: all of it, a paragraph
        each, with line, key, value, what is allowed and a remedy.
    """
    return read_file(Path(path), partial(read_part, DriverStyle))


def save_style(style: DriverStyle, path: FilePath) -> None:
    """Write a style file. It reads back to the same style.

    Raises
    ------
    FileError
        If the file cannot be written.
    """
    write_texts({Path(path): style_text(style)})


def style_text(style: DriverStyle) -> str:
    """Return a style file's text."""
    document = tomlkit.document()
    for name, value in style.model_dump(context=FROM_FILE).items():
        item = toml_item(value)
        item.comment(first_line(meaning(DriverStyle, name)))
        document.append(name, item)
    return tomlkit.dumps(document)
