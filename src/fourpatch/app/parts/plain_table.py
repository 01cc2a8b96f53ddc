"""A table of texts; on a narrow screen each row stands as a block, every cell with its head before it."""

from collections.abc import Collection, Sequence
from html import escape

from nicegui import ui
from nicegui.element import Element


def plain_table(
    heads: Sequence[str], rows: Sequence[Sequence[str]], *, caption: str, numbers: Collection[int] = ()
) -> Element:
    """Draw a table whose first column names its rows.

    Parameters
    ----------
    numbers : columns that are set as numbers.
    """
    return ui.html(table_html(heads, rows, caption=caption, numbers=numbers), sanitize=False)


def table_html(
    heads: Sequence[str], rows: Sequence[Sequence[str]], *, caption: str, numbers: Collection[int] = ()
) -> str:
    """Return the same as HTML."""

    def cell(column: int, text: str) -> str:
        kind = ' class="fp-num"' if column in numbers else ""
        if column == 0:
            return f'<th scope="row">{escape(text)}</th>'
        return f'<td{kind} data-head="{escape(heads[column])}">{escape(text)}</td>'

    top = "".join(
        f'<th scope="col"{" class=fp-num" if column in numbers else ""}>{escape(head)}</th>'
        for column, head in enumerate(heads)
    )
    body = "".join(f"<tr>{''.join(cell(*pair) for pair in enumerate(row))}</tr>" for row in rows)
    return (
        f'<table class="fp-table fp-plain"><caption>{escape(caption)}</caption>'
        f"<thead><tr>{top}</tr></thead><tbody>{body}</tbody></table>"
    )
