"""Numbers an analysis found, each with its unit and its meaning: one pattern for table, JSON and manual.

A result is a `Findings` model whose numbers are annotated with a `Measure` and followed by one sentence::

    class Ride(Findings):
        wheel_rate: Annotated[Axles, RATE]
        '''Spring force per wheel travel, at the wheel.'''

Values are SI. `quantities` walks a result, `columns` a series of results of one kind; `table`,
`columns_table` and `json_ready` write them.
"""

import math
from collections.abc import Iterable, Iterator, Sequence
from dataclasses import dataclass
from typing import TYPE_CHECKING, Any, NamedTuple

from pydantic import ConfigDict

from fourpatch.car.gravity import GRAVITY
from fourpatch.document.aligned import aligned
from fourpatch.document.content import finite, number, ready
from fourpatch.document.html import html_table
from fourpatch.document.meaning import Described, meaning

if TYPE_CHECKING:
    import pandas as pd


class Axles(NamedTuple):
    """One number per axle."""

    front: float
    rear: float


class Corners(NamedTuple):
    """One number per corner."""

    FL: float
    FR: float
    RL: float
    RR: float


@dataclass(frozen=True, slots=True)
class Measure:
    """Unit of a result: SI inside, and how it is shown."""

    si: str
    shown: str
    scale: float = 1.0
    """SI value of one shown unit."""

    def text(self, value: float | None) -> str:
        """Write an SI value in the shown unit, without the unit, to four figures."""
        if value is None:
            return "none"
        number = value / self.scale
        size = abs(number)
        if not math.isfinite(number) or size < 1e-9:
            return f"{number:g}" if size else "0"
        if size < 1e-3:
            return f"{number:.3e}"
        return f"{number:.{max(3 - math.floor(math.log10(size)), 0)}f}"


MASS = Measure("kg", "kg")
LENGTH = Measure("m", "mm", 1e-3)
ALONG = Measure("m", "m")
TIME = Measure("s", "s")
FORCE = Measure("N", "N")
RATE = Measure("N/m", "N/mm", 1e3)
DAMPING = Measure("N*s/m", "N*s/m")
ROLL_STIFFNESS = Measure("N*m/rad", "N*m/deg", 180.0 / math.pi)
SHARE = Measure("1", "%", 0.01)
RATIO = Measure("1", "1")
FREQUENCY = Measure("Hz", "Hz")
DECAY = Measure("1/s", "1/s")
ANGLE = Measure("rad", "deg", math.pi / 180.0)
SPEED = Measure("m/s", "km/h", 1.0 / 3.6)
ACCELERATION = Measure("m/s**2", "m/s²")
DAMPER_SPEED = Measure("m/s", "mm/s", 1e-3)
ANGLE_GRADIENT = Measure("rad*s**2/m", "deg/g", math.pi / 180.0 / GRAVITY)
LOAD_GRADIENT = Measure("N*s**2/m", "N/(m/s**2)")
CORNERING_STIFFNESS = Measure("N/rad", "N/deg", 180.0 / math.pi)
SLIDING = Measure("J/m", "kJ/km")
POINTS = Measure("points", "points")
OWN = Measure("", "")
"""Of a number whose unit the finding itself says, in its ``unit``."""
BARE = "bare"
"""Marks what JSON says without a unit: a share, or a position on a driver's own scale."""


@dataclass(frozen=True, slots=True)
class Number:
    """A number that says its own unit, where those beside it have others."""

    value: float | None
    unit: str
    """SI, or points."""

    def content(self) -> dict[str, Any]:
        """Return it for JSON."""
        return number(math.nan if self.value is None else self.value, self.unit)


class Findings(Described):
    """Base of all results: frozen; attribute docstrings become the meanings."""

    model_config = ConfigDict(frozen=True, extra="forbid")

    def __repr__(self) -> str:
        """Print short: what it is, and how to see all of it."""
        found = list(quantities(self))
        shown = [f"{one.name} {one.text()}" for one in found[:_PRINTED]]
        more = [f"{len(found) - _PRINTED} more: print() shows them"] if len(found) > _PRINTED else []
        return f"{type(self).__name__}({', '.join([*shown, *more])})"

    def __str__(self) -> str:
        """Write it as `table`."""
        return table(self)

    def _repr_html_(self) -> str:
        """Show it in a notebook."""
        return html_table(("", "value", "unit", "meaning"), _rows(self), title=type(self).__name__)

    def content(self) -> dict[str, Any]:
        """Return it for JSON, as `json_ready`."""
        written: dict[str, Any] = json_ready(self)
        return written

    def to_dataframe(self) -> "pd.DataFrame":
        """Return a row for each quantity: its values in SI by place, unit and meaning."""
        import pandas as pd

        rows = {
            one.name: {
                **dict(zip(one.places or ("value",), one.values, strict=True)),
                "unit": one.measure.si,
                "meaning": one.meaning.replace("\n", " "),
            }
            for one in quantities(self)
        }
        return pd.DataFrame.from_dict(rows, orient="index")


_PRINTED = 3
"""Quantities that stand where a result is printed short."""


@dataclass(frozen=True, slots=True, kw_only=True)
class Quantity:
    """One number of a result, or one per axle or corner."""

    name: str
    """Dotted, as in the result: ``ride.wheel_rate``."""
    places: tuple[str, ...]
    """Which axle or corner each value belongs to; empty for a single value."""
    values: tuple[float | None, ...]
    """SI; None where there is no such value."""
    measure: Measure
    meaning: str

    def text(self) -> str:
        """Write its values as shown, with the unit."""
        unit = "" if self.measure.shown == "1" else f" {self.measure.shown}"
        return f"{' / '.join(map(self.measure.text, self.values))}{unit}"


def quantities(findings: Findings, above: str = "") -> Iterator[Quantity]:
    """Yield every number of a result in its order.

    Parameters
    ----------
    above : put before each name.

    Raises
    ------
    TypeError
        If a number has no `Measure`: a fault of the model, not of its user.
    """
    for name, field in type(findings).model_fields.items():
        value = getattr(findings, name)
        if isinstance(value, Findings):
            yield from quantities(value, f"{above}{name}.")
        elif not _is_no_number(value) and BARE not in field.metadata:
            measures = [m for m in field.metadata if isinstance(m, Measure)]
            said = meaning(type(findings), name)
            if not measures and (value is None or isinstance(value, int)):
                continue  # a count, or none
            if len(measures) != 1 or not said:
                raise TypeError(f"{type(findings).__name__}.{name} needs one Measure and a docstring")
            places = getattr(value, "_fields", ())
            unit = getattr(findings, "unit", "")
            yield Quantity(
                name=above + name,
                places=places,
                values=tuple(value) if places else (value,),
                measure=Measure(unit, unit) if measures[0] is OWN else measures[0],
                meaning=said,
            )


def _is_no_number(value: object) -> bool:
    several = isinstance(value, tuple | dict) and not hasattr(value, "_fields")
    return isinstance(value, str | bool | Number) or several


def table(findings: Findings) -> str:
    """Write a result as text: a line per quantity with its values, unit and meaning."""
    return aligned(_rows(findings))


def _rows(findings: Findings) -> list[tuple[str, ...]]:
    return [
        (
            quantity.name.replace("_", " ").replace(".", ": "),
            " / ".join(map(quantity.measure.text, quantity.values)),
            "" if quantity.measure.shown == "1" else quantity.measure.shown,
            quantity.meaning.replace("\n", " "),
        )
        for quantity in quantities(findings)
    ]


@dataclass(frozen=True, slots=True, kw_only=True)
class Column:
    """One number through a series of results."""

    name: str
    """With its axle or corner at the end: ``ride_height front``."""
    values: tuple[float | None, ...]
    """SI, one per result."""
    measure: Measure
    meaning: str


def columns(series: Sequence[Findings]) -> list[Column]:
    """Turn a series of results of one kind into columns, for a table, a plot or a CSV file."""
    rows = [list(quantities(findings)) for findings in series]
    return [
        Column(
            name=f"{first.name} {place}".rstrip(),
            values=tuple(row[k].values[n] for row in rows),
            measure=first.measure,
            meaning=first.meaning,
        )
        for k, first in enumerate(rows[0] if rows else ())
        for n, place in enumerate(first.places or ("",))
    ]


def columns_table(series: Sequence[Findings], names: Sequence[str] = ()) -> str:
    """Write a series of results as text, a line per result.

    Parameters
    ----------
    names : what to call each result; by default its ``name``, if it has one.
    """
    return aligned(columns_rows(series, names))


def columns_rows(series: Sequence[Findings], names: Sequence[str] = ()) -> list[tuple[str, ...]]:
    """Return the cells of `columns_table`, its head first."""
    found = columns(series)
    called = names or [str(getattr(findings, "name", "")) for findings in series]
    head = ("", *(f"{c.name.replace('_', ' ')} [{c.measure.shown}]" for c in found))
    body = [
        (called[n], *(column.measure.text(column.values[n]) for column in found)) for n in range(len(series))
    ]
    return [head, *body]


def json_ready(findings: Findings | Iterable[Findings]) -> Any:
    """Return a result as nested dictionaries and lists; each number with its SI unit.

    Notes
    -----
    A number is ``{"value": 95000.0, "unit": "N/m"}``, its value a dictionary where there is one per axle
    or corner. What is not finite becomes null, which JSON can say.
    """
    if not isinstance(findings, Findings):
        return [json_ready(item) for item in findings]
    written: dict[str, Any] = {}
    numbers = {quantity.name: quantity for quantity in quantities(findings)}
    for name in type(findings).model_fields:
        value = getattr(findings, name)
        if name in numbers:
            one = numbers[name]
            values = [None if v is None else finite(v) for v in one.values]
            shown = dict(zip(one.places, values, strict=True)) if one.places else values[0]
            written[name] = {"value": shown, "unit": one.measure.si}
        elif isinstance(value, dict) and (measure := measure_of_field(findings, name)):
            named = {key: finite(size) for key, size in value.items()}
            written[name] = {"value": named, "unit": measure.si}
        else:
            written[name] = ready(value)
    return written


def measure_of_field(findings: Findings | type[Findings], name: str) -> Measure | None:
    """Return the measure of a number, or of numbers by name; None of a text, a part or a list."""
    model = findings if isinstance(findings, type) else type(findings)
    return next((one for one in model.model_fields[name].metadata if isinstance(one, Measure)), None)
