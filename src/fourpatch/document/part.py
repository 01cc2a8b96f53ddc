"""The base of everything a file can hold."""

from collections.abc import Iterator

from pydantic import ConfigDict

from fourpatch.document.fields import unit_of
from fourpatch.document.meaning import Described

_SHORT = 80
"""Letters of a text beyond which it is left out where a part is printed."""


class Part(Described):
    """Base of all parts: frozen, no unknown keys, a docstring below each attribute."""

    model_config = ConfigDict(frozen=True, extra="forbid")

    def __str__(self) -> str:
        """Print as in a list."""
        return repr(self)

    def __repr_args__(self) -> Iterator[tuple[str, object]]:
        """Print short: what was set, as it may be written; neither tables, lists nor long texts."""
        for name, field in type(self).model_fields.items():
            value = self.__dict__.get(name)
            if name == "kind" or name not in self.model_fields_set:
                continue
            unit = unit_of(field)
            if unit is not None and isinstance(value, float):
                yield name, value if unit.si == "1" else unit.brief(value, 6)
            elif isinstance(value, bool | int | float) or (isinstance(value, str) and len(value) <= _SHORT):
                yield name, value
