"""Which column of a source is which channel: a small document, kept for the next file of that source."""

import os
from pathlib import Path
from typing import Annotated, Final, Literal

from platformdirs import user_data_path
from pydantic import Field

from fourpatch.document.part import Part
from fourpatch.document.saving import write_texts
from fourpatch.errors import FileError
from fourpatch.units import Unit


class MappedColumn(Part):
    """What one column is."""

    column: str = Field(min_length=1)
    """Its name in the file."""
    channel: str = Field(min_length=1)
    """Name of the channel, "time", or "none" for a column that is not to be read."""
    wheel: Literal["", "FL", "FR", "RL", "RR"] = ""
    """Which wheel, for a channel of wheels."""
    unit: str = ""
    """Of its numbers, as recorders write it; empty for SI."""
    reversed: bool = False
    """Whether its sign is the other one."""


class Mapping(Part):
    """What the columns of a source are."""

    layout: str = ""
    """Of the files it holds for: a digest of their columns and units."""
    columns: list[MappedColumn] = Field(default_factory=list)
    """In the order of the file; a column that is not named is not read."""
    rate: Annotated[float, Unit("1/s", "1/s", 0.0, 1e5)] = 0.0
    """Rows per second where no column is the time; else 0."""

    def column_of(self, channel: str, wheel: str = "") -> MappedColumn | None:
        """Return what column is a channel, if any."""
        return next((one for one in self.columns if (one.channel, one.wheel) == (channel, wheel)), None)


VARIABLE: Final = "FOURPATCH_SOURCES"
"""Environment variable that names another folder for the mappings that are kept."""


def sources_folder() -> Path:
    """Return where mappings are kept: the folder of the environment, else one among the user's own data."""
    named = os.environ.get(VARIABLE)
    if named:
        return Path(named).expanduser().absolute()
    return user_data_path("fourpatch", appauthor=False, roaming=False) / "sources"


def kept_mapping(layout: str, folder: Path | None = None) -> Mapping | None:
    """Return the mapping that was kept for files of a layout, if there is one that can be read."""
    path = (folder or sources_folder()) / f"{layout}.json"
    try:
        return Mapping.model_validate_json(path.read_text(encoding="utf-8"))
    except (OSError, ValueError):
        return None  # the proposal asks again, which loses nothing


def keep_mapping(mapping: Mapping, folder: Path | None = None) -> Path:
    """Keep a mapping for the next file of its source.

    Raises
    ------
    FileError
        If it cannot be written.
    """
    place = folder or sources_folder()
    try:
        place.mkdir(parents=True, exist_ok=True)
    except OSError as error:
        raise FileError(f"{place}: cannot be made: {error.strerror}. Name another in {VARIABLE}.") from None
    path = place / f"{mapping.layout}.json"
    write_texts({path: mapping.model_dump_json(indent=1)})
    return path
