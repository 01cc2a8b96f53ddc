"""Files of the command line given to the notebook, and taken from it."""

import io
import zipfile
from collections.abc import Mapping
from typing import NamedTuple

from fourpatch.errors import FileError
from fourpatch.notebook.entries import Document
from fourpatch.notebook.kinds import Written, file_name, names_of_files


class TakenFile(NamedTuple):
    """A file for the user's own disk."""

    name: str
    content: bytes
    media_type: str


def written_in(files: Mapping[str, str]) -> Written:
    """Return what a TOML file and the CSV files beside it say.

    Parameters
    ----------
    files : the text of each, by its name.

    Raises
    ------
    FileError
        If there is not exactly one TOML file, or a file beside that it does not name.
    """
    heads = [name for name in files if name.lower().endswith(".toml")]
    if len(heads) != 1:
        raise FileError(
            f"{len(heads)} TOML files were given: {', '.join(heads) or 'none'}. Give one, and with it the "
            "CSV files that it names."
        )
    text = files[heads[0]].removeprefix("\ufeff")
    named = names_of_files(text)
    beside = {name: content for name, content in files.items() if name != heads[0]}
    if strange := [name for name in beside if name not in named]:
        raise FileError(f"{heads[0]}: does not name {', '.join(strange)}. Give only the files that it names.")
    return Written(text=text, beside=beside)


def decoded(files: Mapping[str, bytes]) -> dict[str, str]:
    """Return the texts of files.

    Raises
    ------
    FileError
        If one is not UTF-8.
    """
    texts = {}
    for name, content in files.items():
        try:
            texts[name] = content.decode("utf-8-sig")
        except UnicodeDecodeError:
            raise FileError(f"{name}: has a byte that is not UTF-8 text. Save it as UTF-8.") from None
    return texts


def taken_file(document: Document) -> TakenFile:
    """Return a document as a file: its TOML file, or a zip of that and the CSV files that it names."""
    name, written = file_name(document.entry.name), document.written
    if not written.beside:
        return TakenFile(name, written.text.encode(), "application/toml; charset=utf-8")
    packed = io.BytesIO()
    with zipfile.ZipFile(packed, "w", zipfile.ZIP_DEFLATED) as archive:
        for one, text in {name: written.text, **written.beside}.items():
            archive.writestr(one, text)
    return TakenFile(name.removesuffix(".toml") + ".zip", packed.getvalue(), "application/zip")
