"""A centre line as it was drawn, with what had to be done to it."""

from typing import NamedTuple

from fourpatch.track.centre_line import CentreLine


class DrawnLine(NamedTuple):
    """A line to measure along, and how it differs from what was given."""

    line: CentreLine
    adjustment: str
    """What was changed to close or smooth it, in a sentence without full stop."""
