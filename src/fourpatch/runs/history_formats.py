"""The kinds of files a history is written as."""

from pathlib import Path

from fourpatch.document.saving import refuse_unwritable
from fourpatch.errors import FileError

FORMATS = (".csv", ".nc")


def refuse_other_formats(path: Path) -> None:
    """Refuse a file that no history is written as, or that cannot be written.

    Raises
    ------
    FileError
        With the endings that are allowed.
    """
    if path.suffix not in FORMATS:
        raise FileError(
            f'{path}: a history is written as {" or ".join(FORMATS)}, not "{path.suffix}"; '
            "change the ending of the name."
        )
    refuse_unwritable(path)
