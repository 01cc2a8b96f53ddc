"""The base of everything a file can hold."""

from pydantic import ConfigDict

from fourpatch.document.meaning import Described


class Part(Described):
    """Base of all parts: frozen, no unknown keys, a docstring below each attribute."""

    model_config = ConfigDict(frozen=True, extra="forbid")
