"""A track made from a sketch in words or from a file with its line, before it is kept."""

import tempfile
from pathlib import Path
from typing import NamedTuple

from pydantic import BaseModel, Field

from fourpatch.recording.line_file import track_from_file
from fourpatch.track.checks import require_sound
from fourpatch.track.sketch import GEAR_SPEEDS, lay_sketch, read_sketch, sketched_track
from fourpatch.track.track import Track, reversed_direction


class Making(BaseModel):
    """What neither a sketch nor a file says."""

    name: str = Field(default="My track", min_length=1, max_length=80, description="What it is called.")
    width: float = Field(default=10.0, ge=3.0, le=40.0, description="Of the road. [m]")
    closed: bool = Field(default=True, description="Whether it is a lap, not a road with two ends.")
    backward: bool = Field(default=False, description="Whether it is driven the other way round.")


class Made(NamedTuple):
    """A track, and what has to be said of how it was made."""

    track: Track
    told: tuple[str, ...]
    """The most important first."""


def sketched(text: str, making: Making) -> Made:
    """Return the track of a sketch.

    Raises
    ------
    FieldsError, TrackError
        If it cannot be read or cannot be a track.
    """
    laid = lay_sketch(read_sketch(text, gear_speeds=GEAR_SPEEDS), closed=making.closed)
    track = sketched_track(laid, name=making.name, width=making.width)
    return _sound(track, (*laid.changes, *laid.estimates), making)


def from_file(name: str, content: bytes, making: Making) -> Made:
    """Return the track of a file with its line.

    Raises
    ------
    RecordingError, RunError, TrackError
        If it cannot be read or cannot be a track; a `PointsError` says where.
    """
    with tempfile.TemporaryDirectory(prefix="fourpatch-") as folder:
        path = Path(folder) / (Path(name).name or "line.csv")
        path.write_bytes(content)
        made = track_from_file(path, name=making.name, width=making.width, closed=making.closed)
    return _sound(made.track, (made.told,), making)


def _sound(track: Track, told: tuple[str, ...], making: Making) -> Made:
    turned = reversed_direction(track) if making.backward else track
    require_sound(turned)
    return Made(turned, told)
