"""Recordings as files: the format told by what a file holds, whatever its name ends in."""

from collections.abc import Collection
from pathlib import Path

from fourpatch.errors import RecordingError
from fourpatch.recording.csv_file import read_csv
from fourpatch.recording.gpx_file import read_gpx
from fourpatch.recording.mdf_file import MAGIC, read_mdf
from fourpatch.recording.parquet_file import read_parquet
from fourpatch.recording.raw import Format, RawRecording
from fourpatch.recording.text_source import open_bytes

_LOOK = 4096
_OTHERS = {
    b"PK\x03\x04": "a ZIP archive or a workbook: unpack it, or save the sheet as CSV",
    b"\x28\xb5\x2f\xfd": "packed by zstd: unpack it",
    b"BZh": "packed by bzip2: unpack it",
    b"\xfd7zXZ": "packed by xz: unpack it",
    b"SQLite format 3": "a database: export the recording from what wrote it",
    b"\x89HDF": "HDF5: export it as CSV or Parquet",
    b"CDF": "NetCDF: write it as CSV",
}


def format_of(path: Path) -> Format:
    """Tell the format of a file by its first bytes.

    Raises
    ------
    RecordingError
        If it cannot be read or is in a format that is not.
    """
    if path.is_dir():
        raise RecordingError(f"{path}: is a folder. Name the file of one recording.")
    with open_bytes(path) as file:
        head = file.read(_LOOK)
    if not head:
        raise RecordingError(f"{path.name}: is empty. Export the recording again.")
    for start, what in _OTHERS.items():
        if head.startswith(start):
            raise RecordingError(f"{path.name}: is {what}.")
    if head.startswith(b"PAR1"):
        return "Parquet"
    if head.startswith(MAGIC):
        return "MDF 4"
    plain = head.removeprefix(b"\xef\xbb\xbf").lstrip()
    if plain.startswith(b"<"):
        if b"<gpx" in head or b":gpx" in head:
            return "GPX"
        raise RecordingError(
            f"{path.name}: is XML, but not GPX 1.1: there is no element 'gpx' at its beginning. Export the "
            "recording as CSV, Parquet, MDF 4 or GPX 1.1."
        )
    return "CSV"


def read_file(
    path: str | Path, *, only: Collection[str] | None = None, most_rows: int | None = None
) -> RawRecording:
    """Read the columns of a recording.

    Parameters
    ----------
    path : of a CSV file, plain or packed by gzip, a Parquet, MDF 4 or GPX 1.1 file.
    only : names of the columns that are wanted; all if left out.
    most_rows : after which the reading of CSV and Parquet may stop.

    Raises
    ------
    RecordingError
        If it cannot be read; the text says where and what to do.
    """
    file = Path(path)
    match format_of(file):
        case "Parquet":
            return read_parquet(file, only=only, most_rows=most_rows)
        case "MDF 4":
            return read_mdf(file, only=only)
        case "GPX":
            return read_gpx(file)
        case "CSV":
            return read_csv(file, only=only, most_rows=most_rows)
