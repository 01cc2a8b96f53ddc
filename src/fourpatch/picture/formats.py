"""The kinds of files a figure is written as."""

from pathlib import Path

from fourpatch.document.saving import refuse_unwritable
from fourpatch.errors import FileError

FORMATS = (".svg", ".png", ".pdf")


def refuse_other_formats(path: Path) -> None:
    """Refuse a file that no figure is written as, or that cannot be written.

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
    refuse_unwritable(path)
