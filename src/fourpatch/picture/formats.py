"""The kinds of files a figure is written as."""

from pathlib import Path

from fourpatch.errors import FileError

FORMATS = (".svg", ".png", ".pdf")


def refuse_other_formats(path: Path) -> None:
    """Refuse a file that no figure is written as, or whose folder is not there.

    Raises
    ------
    FileError
        With the endings that are allowed.
    """
    *most, last = FORMATS
    if path.suffix.lower() not in FORMATS:
        raise FileError(
            f'{path}: a figure is written as {", ".join(most)} or {last}, not as "{path.suffix}"; change the '
            "ending of the name."
        )
    if not path.parent.is_dir():
        raise FileError(f"{path}: there is no folder {path.parent}. Make it, or choose another place.")
