"""An archive as one zip: its files, its history, and a manifest with a digest of each.

Names in a zip are only looked up, never used as places on the disk.
"""

import hashlib
import json
import os
import struct
import zipfile
import zlib
from datetime import datetime
from pathlib import Path
from typing import BinaryIO, Final, Literal

from pydantic import ValidationError

from fourpatch import __version__
from fourpatch.document.part import Part
from fourpatch.document.saving import whole_file
from fourpatch.errors import NotebookError
from fourpatch.notebook.archive import Archive, History
from fourpatch.notebook.shelf import now

ARCHIVE_FORMAT: Final = 2
MANIFEST: Final = "manifest.json"
HISTORY: Final = "history.json"
LARGEST: Final = 200_000_000
"""Of all files of an archive together, so that a small zip cannot fill the memory. [byte]"""
MOST_FILES: Final = 50_000
"""In an archive: ten set-ups a day for more than ten years."""

# PKWARE's description of zip files, 4.3.16: the end of the directory says how many files are in it and how
# large it is; a comment of up to 64 KiB may follow. Python writes another record, 4.3.15, from 65,536 on.
_END: Final = struct.Struct("<4s4H2LH")
_END_SIGN: Final = b"PK\x05\x06"
_LARGE_SIGN: Final = b"PK\x06\x07"
_LONGEST_END: Final = _END.size + 65_535 + 20
_LONGEST_ENTRY: Final = 400
"""Of a file in the directory: 46 bytes and its name. [byte]"""

_NOTHING: Final = "Nothing was imported."


class Manifest(Part):
    """What an archive is, and the digest of each of its files."""

    archive: Literal["fourpatch notebook"] = "fourpatch notebook"
    format: int
    fourpatch: str
    """Version of Fourpatch that wrote it."""
    made: datetime
    files: dict[str, str]
    """SHA-256 of each, by its name."""


def write_archive(archive: Archive, path: Path) -> None:
    """Write a zip, as a whole or not at all.

    Raises
    ------
    NotebookError
        If it cannot be written, or is more than `read_archive` takes.
    """
    contents = {name: text.encode() for name, text in archive.files.items()}
    contents[HISTORY] = archive.history.model_dump_json(indent=1).encode()
    if too_much := _too_much(len(contents), sum(map(len, contents.values()))):
        raise NotebookError(
            f"{path}: the notebook {too_much}, which is what an import takes. Take a backup to the other "
            "machine, and restore it there."
        )
    digests = {name: hashlib.sha256(content).hexdigest() for name, content in contents.items()}
    manifest = Manifest(format=ARCHIVE_FORMAT, fourpatch=__version__, made=now(), files=digests)
    try:
        with whole_file(path) as unfinished, zipfile.ZipFile(unfinished, "w", zipfile.ZIP_DEFLATED) as packed:
            packed.writestr(MANIFEST, manifest.model_dump_json(indent=1))
            for name, content in contents.items():
                packed.writestr(name, content)
    except OSError as error:
        raise NotebookError(
            f"{path}: cannot be written: {error.strerror}. Check the folder and its rights."
        ) from None


_UNREADABLE: Final = (
    zipfile.BadZipFile,
    zlib.error,
    EOFError,
    KeyError,  # a file that is named and not there
    NotImplementedError,  # a way of packing that is not ours
    RuntimeError,  # a password
    ValueError,  # bad JSON, bad UTF-8, a history that is none
)


def read_archive(path: Path) -> Archive:
    """Return what is in a zip, all of which is as it was written.

    Raises
    ------
    NotebookError
        If the file cannot be read, is no such zip, was cut off or changed, or is of a newer Fourpatch.
    """
    try:
        with path.open("rb") as file:
            _refuse_crowded(file)
            with zipfile.ZipFile(file) as packed:
                return _unpacked(packed)
    except NotebookError as error:
        raise NotebookError(f"{path}: {error}") from None
    except OSError as error:
        raise NotebookError(f"{path}: cannot be read: {error.strerror or error}.") from None
    except _UNREADABLE:
        raise NotebookError(
            f"{path}: is no zip of a notebook, or was cut off or changed. {_NOTHING} Export it again."
        ) from None


def _too_much(files: int, size: int) -> str:
    """Return what is too much of an archive, as the rest of a sentence; empty if nothing is."""
    if files > MOST_FILES:
        return f"holds {files} files, more than {MOST_FILES}"
    if size > LARGEST:
        return f"holds {size / 1e6:.0f} MB, more than {LARGEST / 1e6:.0f} MB"
    return ""


def _refuse_crowded(file: BinaryIO) -> None:
    """Refuse a zip of too many files before its directory is read: each would take room in the memory."""
    end = file.seek(0, os.SEEK_END)
    file.seek(max(0, end - _LONGEST_END))
    tail = file.read()
    place = tail.rfind(_END_SIGN)
    if place < 0 or len(tail) < place + _END.size:
        raise zipfile.BadZipFile
    *_, files, directory, _, _ = _END.unpack_from(tail, place)
    file.seek(0)
    if _LARGE_SIGN in tail or files > MOST_FILES or directory > MOST_FILES * _LONGEST_ENTRY:
        raise NotebookError(f"holds more than {MOST_FILES} files. {_NOTHING}")


def _unpacked(packed: zipfile.ZipFile) -> Archive:
    listed = [one.filename for one in packed.infolist()]
    if too_much := _too_much(len(listed), sum(one.file_size for one in packed.infolist())):
        raise NotebookError(f"{too_much}. {_NOTHING}")
    told = json.loads(packed.read(MANIFEST))
    if isinstance(told, dict) and isinstance(told.get("format"), int) and told["format"] > ARCHIVE_FORMAT:
        raise NotebookError(
            f"was written by a newer Fourpatch (format {told['format']}; this one reads up to "
            f"{ARCHIVE_FORMAT}). {_NOTHING} Install the newer one."
        )
    manifest = Manifest.model_validate(told)
    if sorted(listed) != sorted([MANIFEST, *manifest.files]):
        raise NotebookError(f"has not the files that its {MANIFEST} names, each once. {_NOTHING}")
    contents = {name: packed.read(name) for name in manifest.files}
    changed = [
        name
        for name, digest in manifest.files.items()
        if hashlib.sha256(contents[name]).hexdigest() != digest
    ]
    if changed:
        raise NotebookError(
            f"{', '.join(changed)}: changed since it was written. {_NOTHING} Import a file that you edited "
            "by itself."
        )
    try:
        history = History.model_validate_json(contents.pop(HISTORY))
    except ValidationError as error:
        first = error.errors()[0]
        where = ".".join(map(str, first["loc"])) or f"no JSON, {first['type']}"
        raise NotebookError(f"{HISTORY}, {where}: {first['msg']}. {_NOTHING}") from None
    return Archive(history=history, files={name: content.decode() for name, content in contents.items()})
