"""What a command writes: tables and sentences for people, JSON for programs, notes beside both."""

import json
import math
import os
import sys
from collections.abc import Iterable, Sequence
from dataclasses import dataclass
from typing import TYPE_CHECKING, Any

import click

from fourpatch import __version__

if TYPE_CHECKING:
    import xarray as xr
    from rich.console import Console

PIPED_WIDTH = 100
"""Columns of a table that is not written to a terminal."""

CAUTION = (
    "These values are computed from a model. The maker's limits, the rules of your series and licensed practice "
    "come first; change one thing at a time and try it where there is room."
)


@dataclass(frozen=True, slots=True, kw_only=True)
class Head:
    """The head of a table's column."""

    text: str
    unit: str = ""
    """As shown."""
    right: bool = True
    """Numbers stand at the right, words at the left."""


def console() -> "Console":
    """Return where tables go: as wide as the terminal, or 100 columns when piped."""
    from rich.console import Console

    piped = not sys.stdout.isatty()
    width = int(os.environ.get("COLUMNS") or PIPED_WIDTH) if piped else None
    return Console(file=sys.stdout, width=width, highlight=False, markup=False, emoji=False)


def write_table(heads: Sequence[Head], rows: Iterable[Sequence[str]], *, title: str = "") -> None:
    """Write a table with units in its head."""
    from rich import box
    from rich.table import Table

    table = Table(
        title=title or None,
        title_justify="left",
        title_style="bold",
        box=box.SIMPLE_HEAD,
        header_style="",
        pad_edge=False,
        padding=(0, 1, 0, 0),
    )
    for head in heads:
        unit = f"\n[{head.unit}]" if head.unit else ""
        table.add_column(head.text + unit, justify="right" if head.right else "left", overflow="fold")
    for row in rows:
        table.add_row(*row)
    _print(table)


def write_text(text: str = "") -> None:
    """Write sentences, broken at the width of the console."""
    from rich.text import Text

    _print(Text(text))


def _print(renderable: Any) -> None:
    """Print without blanks at the ends of lines: they only get in the way of who pipes or copies."""
    out = console()
    with out.capture() as captured:
        out.print(renderable)
    click.echo("\n".join(line.rstrip() for line in captured.get().splitlines()))


def note(text: str) -> None:
    """Say something beside the answer, on standard error."""
    click.echo(text, err=True)


def write_json(command: str, content: dict[str, Any]) -> None:
    """Write one JSON object to standard output: the command, the version, then the content."""
    written = {"command": command, "fourpatch": __version__, **content}
    click.echo(json.dumps(written, indent=2, allow_nan=False, ensure_ascii=False))


def number(value: float, unit: str) -> dict[str, Any]:
    """Return a number with its unit for JSON; what is not finite becomes null."""
    return {"value": finite(value), "unit": json_unit(unit)}


def finite(value: float) -> float | None:
    """Return a float that JSON can say, or None."""
    return float(value) if math.isfinite(value) else None


def json_unit(unit: str) -> str:
    """Spell a unit the way car files do: ``m/s**2``."""
    return unit.replace("^", "**").replace("N s", "N*s").replace("N m", "N*m")


def dataset_content(dataset: "xr.Dataset") -> dict[str, Any]:
    """Return a dataset for JSON: under each name its values, SI unit and dimensions.

    Notes
    -----
    Along a dimension with names (corner, axle, phase) values are an object by name, along a number
    (time, frequency) a list; that number is in ``coordinates`` with its unit.
    """
    labels = {
        str(name): [str(label) for label in values.values]
        for name, values in dataset.coords.items()
        if values.dims == (name,) and values.dtype.kind in "UO"
    }
    coordinates = {
        str(name): {"value": _listed(values.values), "unit": json_unit(values.attrs.get("units", ""))}
        for name, values in dataset.coords.items()
        if name not in labels and values.ndim == 1
    }
    quantities = {
        str(name): {
            "value": _keyed(values.values, [labels.get(str(dim)) for dim in values.dims]),
            "unit": json_unit(values.attrs["units"]),
            "dimensions": [str(dim) for dim in values.dims],
        }
        for name, values in dataset.data_vars.items()
    }
    return {"coordinates": coordinates, **quantities} if coordinates else quantities


def _listed(values: Any) -> list[Any]:
    return [finite(v) if isinstance(v, float) else v for v in values.tolist()]


def _keyed(values: Any, labels: Sequence[list[str] | None]) -> Any:
    if not labels:
        return finite(float(values))
    first, rest = labels[0], labels[1:]
    parts = [_keyed(part, rest) for part in values]
    return parts if first is None else dict(zip(first, parts, strict=True))
