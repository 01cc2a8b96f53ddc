"""What is wrong with a file, and where."""

from typing import NamedTuple

Key = tuple[str | int, ...]
"""Where something stands in a file: table and key names, and places in lists counted from zero."""


class Fault(NamedTuple):
    """Something that cannot be meant: where, and the rest of the sentence whose subject that is."""

    key: Key
    text: str
