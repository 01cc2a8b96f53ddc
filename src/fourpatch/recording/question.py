"""What a user is asked about a recording."""

from typing import NamedTuple

from fourpatch.recording.mapping import MappedColumn


class Question(NamedTuple):
    """A question that yes answers; unanswered, the file is taken at its word."""

    key: str
    """By which it is answered: the name of the column, or of the fault."""
    text: str
    """In words a driver would say."""
    agreed: tuple[MappedColumn, ...]
    """What the columns are if the answer is yes."""
