"""What a command writes: tables and sentences for people, JSON for programs, notes beside both."""

import json
import os
import re
import sys
from collections.abc import Iterable, Sequence
from typing import TYPE_CHECKING, Any, Final

import click

from fourpatch import __version__
from fourpatch.picture.caution import COMPUTED
from fourpatch.picture.head import Head

if TYPE_CHECKING:
    from rich.console import RenderableType
    from rich.table import Table

    from fourpatch.car.car import Car

PIPED_WIDTH = 100
"""Columns of a table that is not written to a terminal."""

CAUTION = COMPUTED
"""What stands below advice."""

_CONTROL: Final = re.compile(r"[\x00-\x08\x0b-\x1f\x7f-\x9f]")


def sayable(text: str) -> str:
    """Return a text without what would steer a terminal: such a sign in a name or a file is written out."""
    return _CONTROL.sub(lambda sign: f"\\x{ord(sign[0]):02x}", text)


def console_width() -> int:
    """Return how wide answers are: the terminal, or 100 columns when piped, unless COLUMNS says otherwise."""
    import shutil

    piped = not sys.stdout.isatty()
    return shutil.get_terminal_size((PIPED_WIDTH, 24)).columns if not piped else _piped_width()


def _piped_width() -> int:
    columns = os.environ.get("COLUMNS", "")
    return int(columns) if columns.isdigit() and int(columns) > 0 else PIPED_WIDTH


def write_table(heads: Sequence[Head], rows: Iterable[Sequence[str]], *, title: str = "") -> None:
    """Write a table with units in its head, in the reader's."""
    from fourpatch.picture.chosen_units import said, table_shown

    heads, written = table_shown(heads, rows)
    title = said(title)
    if title:
        write_heading(title)
    else:
        click.echo()
    for columns in _fitting(heads, written):
        _print(_table([heads[k] for k in columns], [[row[k] for k in columns] for row in written]))


def _fitting(heads: Sequence[Head], rows: Sequence[Sequence[str]]) -> list[list[int]]:
    """Part the columns of a table that is wider than the console: the first stands in each part."""
    parts = [[0]]
    for column in range(1, len(heads)):
        wider = [*parts[-1], column]
        table = _table([heads[k] for k in wider], [[row[k] for k in wider] for row in rows])
        if len(parts[-1]) > 1 and _least_width(table) > console_width():
            parts.append([0, column])
        else:
            parts[-1] = wider
    return parts


def _table(heads: Sequence[Head], rows: Iterable[Sequence[str]]) -> "Table":
    from rich import box
    from rich.table import Table

    table = Table(box=box.SIMPLE_HEAD, header_style="", pad_edge=False, padding=(0, 1, 0, 0))
    for head in heads:
        lines = (head.text, f"[{head.unit}]" if head.unit else "", f"now {head.now}" if head.now else "")
        table.add_column(
            sayable("\n".join(line for line in lines if line)),
            justify="right" if head.right else "left",
            no_wrap=head.right,
            overflow="fold",
        )
    for row in rows:
        table.add_row(*map(sayable, row))
    return table


def write_text(text: str) -> None:
    """Write sentences, broken at the width of the console, in the reader's units."""
    from rich.text import Text

    from fourpatch.picture.chosen_units import said

    _print(Text(sayable(said(text))))


def write_heading(text: str) -> None:
    """Write the heading of what follows, a line below what was."""
    from rich.text import Text

    from fourpatch.picture.chosen_units import said

    click.echo()
    _print(Text(sayable(said(text)), style="bold"))


def _print(renderable: "RenderableType") -> None:
    """Print without blanks at the ends of lines: they only get in the way of who pipes or copies."""
    from rich.console import Console

    out = Console(file=sys.stdout, highlight=False, markup=False, emoji=False)
    # Rather a line that the terminal breaks than a number cut short.
    out.width = max(console_width(), _least_width(renderable))
    with out.capture() as captured:
        out.print(renderable)
    lines = [line.rstrip() for line in captured.get().splitlines()]
    click.echo("\n".join(lines).strip("\n"))


def _least_width(renderable: "RenderableType") -> int:
    """Return the width in which something can stand with no number cut short."""
    from rich.console import Console
    from rich.measure import Measurement

    wide = Console(width=1000)
    return Measurement.get(wide, wide.options, renderable).minimum


def note(text: str) -> None:
    """Say something beside the answer, on standard error."""
    click.echo(sayable(text), err=True)


def write_origins(car: "Car") -> None:
    """Say how far an answer rests on numbers that nobody measured."""
    from fourpatch.answers.origins import origin_blocks

    for one in origin_blocks(car):
        write_text(one.text)


def write_json(command: str, content: dict[str, Any]) -> None:
    """Write one JSON object to standard output: the command, the version, then the content."""
    written = {"command": command, "fourpatch": __version__, **content}
    click.echo(json.dumps(written, indent=2, allow_nan=False, ensure_ascii=False))
