"""A centre line as it was drawn, with what had to be done to it."""

from pathlib import PurePath
from typing import NamedTuple

from fourpatch.track.centre_line import CentreLine


class DrawnLine(NamedTuple):
    """A line to measure along, and how it differs from what was given."""

    line: CentreLine
    adjustment: str
    """What was changed to close or smooth it, in a sentence without full stop."""


def renamed(file: str, what: str) -> str:
    """Return the name of a file whose rows were ``mirrored`` or ``reversed``; twice is as before.

    >>> renamed("bumps.csv", "mirrored"), renamed("bumps-mirrored.csv", "mirrored")
    ('bumps-mirrored.csv', 'bumps.csv')
    """
    path = PurePath(file)
    stem = path.stem
    changed = stem.removesuffix(f"-{what}") if stem.endswith(f"-{what}") else f"{stem}-{what}"
    return path.with_name(f"{changed}{path.suffix}").as_posix()
