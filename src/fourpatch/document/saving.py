"""Files written as a whole or not at all."""

import os
from collections.abc import Mapping
from contextlib import suppress
from pathlib import Path

from fourpatch.errors import FileError


def write_texts(texts: Mapping[Path, str]) -> None:
    """Write files as a whole or not at all: each beside its place first, then all moved into place.

    The first may replace one of its name; the others are new.

    Raises
    ------
    FileError
        If one cannot be written.
    """
    first, *others = texts
    made = {path: path.with_name(f".{path.name}.unfinished") for path in texts}
    try:
        for path, text in texts.items():
            made[path].write_text(text, encoding="utf-8", newline="\n")
        for path in (*others, first):
            os.replace(made[path], path)
            made[path] = path
    except OSError as error:
        for path in made.values():
            with suppress(OSError):
                path.unlink()
        raise FileError(
            f"{first}: cannot be written: {error.strerror}. Check the folder and its rights."
        ) from None
