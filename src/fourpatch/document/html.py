"""A table as a notebook shows it."""

import re
from collections.abc import Iterable, Sequence
from html import escape


def html_table(heads: Sequence[str], rows: Iterable[Sequence[str]], *, title: str = "") -> str:
    """Return a table: the first column names the rows, what is a number stands at the right."""
    head = "".join(f"<th>{escape(one)}</th>" for one in heads)
    caption = f'<caption style="text-align: left">{escape(title)}</caption>' if title else ""
    body = "".join(f"<tr>{''.join(_cells(row))}</tr>" for row in rows)
    return f"<table>{caption}<thead><tr>{head}</tr></thead><tbody>{body}</tbody></table>"


def _cells(row: Sequence[str]) -> Iterable[str]:
    first, *rest = row
    yield f'<th style="text-align: left">{escape(first)}</th>'
    for cell in rest:
        side = "right" if re.fullmatch(r"[-+−]?[\d.]+(e[-+]?\d+)?", cell) else "left"
        yield f'<td style="text-align: {side}">{escape(cell)}</td>'
