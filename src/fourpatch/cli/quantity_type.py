"""A quantity as an option of a command: text with its unit in, SI out."""

from typing import TYPE_CHECKING, Any

import click

from fourpatch.errors import EventError

if TYPE_CHECKING:
    from fourpatch.units import Unit


class QuantityType(click.ParamType[float]):
    """A number with a unit, checked against a range."""

    name = "quantity"

    def __init__(self, *, si: str, shown: str, low: float, high: float) -> None:
        self._described = (si, shown, low, high)

    def unit(self) -> "Unit":
        """Return unit and range."""
        from fourpatch.units import Unit

        return Unit(*self._described)

    def convert(self, value: Any, param: click.Parameter | None, ctx: click.Context | None) -> float:
        """Read text into SI; a number is taken to be that already."""
        if isinstance(value, float):
            return value
        try:
            return self.unit().read(str(value), from_file=True)
        except ValueError as error:
            named = param.opts[0] if param else ""
            raise EventError(f"{named} {error}") from None


LAP_SCATTER = QuantityType(si="s", shown="s", low=0.001, high=60.0)
"""Of a lap time."""
