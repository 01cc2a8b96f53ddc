"""A recording's file as text: unpacked within limits, in whatever encoding it is written."""

import codecs
import gzip
import io
import zlib
from pathlib import Path
from typing import Final

from fourpatch.errors import RecordingError

GZIP: Final = b"\x1f\x8b"

MOST_UNPACKED: Final = 20_000_000_000
"""Bytes that a packed file may unpack to."""

MOST_PACKED: Final = 200.0
"""How many times smaller than its content a packed file may be; recordings pack to a third to a fiftieth."""

_TRUSTED = 64_000_000  # bytes up to which nobody asks how well they are packed


class Unpacked(io.RawIOBase):
    """The bytes of a file that is packed by gzip, no more than may be meant.

    Raises
    ------
    RecordingError
        While it is read, if it is damaged, cut off, or unpacks beyond the limits.
    """

    def __init__(self, path: Path) -> None:
        """Open the file."""
        super().__init__()
        self._name = path.name
        self._packed = path.open("rb")
        self._stream = gzip.GzipFile(fileobj=self._packed)
        self._count = 0

    def readable(self) -> bool:
        """Say that it can be read."""
        return True

    def readinto(self, buffer: object) -> int:
        """Fill a buffer with what comes next."""
        view = memoryview(buffer)  # type: ignore[arg-type]
        try:
            found = self._stream.read(view.nbytes)
        except EOFError:
            raise RecordingError(
                f"{self._name}: the packed file is cut off. Copy it again from where it came from."
            ) from None
        except (OSError, zlib.error):
            raise RecordingError(
                f"{self._name}: is damaged, it cannot be unpacked. Copy it again from where it came from."
            ) from None
        self._count += len(found)
        if self._count > MOST_UNPACKED or (
            self._count > _TRUSTED and self._count > MOST_PACKED * max(self._packed.tell(), 1)
        ):
            raise RecordingError(
                f"{self._name}: unpacks to over {self._count / 1e6:.0f} MB from "
                f"{self._packed.tell() / 1e6:.2f} MB, which no recording does. Unpack it yourself if you "
                "trust it."
            )
        view[: len(found)] = found
        return len(found)

    def close(self) -> None:
        """Close the file."""
        self._stream.close()
        self._packed.close()
        super().close()


def open_bytes(path: Path) -> io.BufferedReader:
    """Open a file, unpacked if it is packed by gzip.

    Raises
    ------
    RecordingError
        If it cannot be opened.
    """
    try:
        with path.open("rb") as file:
            packed = file.read(2) == GZIP
        return io.BufferedReader(Unpacked(path), 1 << 20) if packed else path.open("rb")
    except OSError as error:
        raise RecordingError(f"{path}: cannot be read: {error.strerror}. Check name and rights.") from None


def encoding_of(sample: bytes, name: str) -> str:
    """Return the encoding of a text by its first bytes.

    Parameters
    ----------
    sample : may end within a letter.
    name : of the file, for the error.

    Raises
    ------
    RecordingError
        If the bytes are no text.

    Notes
    -----
    A byte order mark decides; else UTF-8 if it can be read as such; else, as spreadsheets of the West write
    it, Windows 1252, in which letters beyond ASCII stand for names and units alone.
    """
    for mark, encoding in (
        (codecs.BOM_UTF8, "utf-8-sig"),
        (codecs.BOM_UTF16_LE, "utf-16"),
        (codecs.BOM_UTF16_BE, "utf-16"),
    ):
        if sample.startswith(mark):
            return encoding
    even, odd = sample[0::2].count(0), sample[1::2].count(0)
    half = len(sample) // 4
    if len(sample) > 8 and (odd > half > even or even > half > odd):
        return "utf-16-le" if odd > even else "utf-16-be"
    if b"\0" in sample or sum(byte < 9 or 13 < byte < 32 for byte in sample) > 0.01 * len(sample):
        raise RecordingError(
            f"{name}: is no text, and none of the formats that are read. Recordings are read as CSV (plain "
            "or .gz), Parquet, ASAM MDF 4 (.mf4) or GPX 1.1: export it as one of those."
        )
    try:
        codecs.getincrementaldecoder("utf-8")().decode(sample)
    except UnicodeDecodeError:
        return "cp1252"
    return "utf-8"
