"""Files written as a whole or not at all."""

import os
from collections.abc import Iterator, Mapping
from contextlib import contextmanager, suppress
from pathlib import Path

from fourpatch.errors import FileError


def refuse_unwritable(path: Path) -> None:
    """Refuse a file that could not be written, before anything is computed for it.

    Raises
    ------
    FileError
        If its folder is not there or may not be written to, or the file itself may not.
    """
    folder = path.parent
    if not folder.is_dir():
        raise FileError(f"{path}: there is no folder {folder}. Make it, or choose another place.")
    if path.is_dir():
        raise FileError(f"{path}: is a folder. Name a file in it.")
    if not os.access(path if path.exists() else folder, os.W_OK):
        raise FileError(f"{path}: may not be written. Check the rights of {folder}, or choose another place.")


@contextmanager
def whole_file(path: Path) -> Iterator[Path]:
    """Give a place to write a file to that comes into its own place at the end, or is gone.

    What is no plain file, as ``/dev/stdout``, is written as it comes.

    Raises
    ------
    OSError
        If it cannot be moved into place.
    """
    if path.exists() and not path.is_file():
        yield path
        return
    target = path.resolve()  # of a link what it leads to, not the link
    unfinished = target.with_name(f".{target.stem}.unfinished{target.suffix}")
    try:
        yield unfinished
        os.replace(unfinished, target)
    except BaseException:
        with suppress(OSError):
            unfinished.unlink()
        raise


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
