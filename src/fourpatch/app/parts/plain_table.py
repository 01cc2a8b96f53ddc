"""A table of texts; on a narrow screen each row stands as a block, every cell with its head before it."""

from collections.abc import Collection, Sequence
from html import escape

from nicegui import ui
from nicegui.element import Element

from fourpatch.picture.chosen_units import said, texts_shown


def plain_table(
    heads: Sequence[str],
    rows: Sequence[Sequence[str]],
    *,
    caption: str,
    numbers: Collection[int] = (),
    bars: Sequence[float] = (),
) -> Element:
    """Draw a table whose first column names its rows.

    Parameters
    ----------
    numbers : columns that are set as numbers.
    bars : by row, how long a bar stands below its name, 0 to 1; none if left out.
    """
    return ui.html(table_html(heads, rows, caption=caption, numbers=numbers, bars=bars), sanitize=False)


def table_html(
    heads: Sequence[str],
    rows: Sequence[Sequence[str]],
    *,
    caption: str,
    numbers: Collection[int] = (),
    bars: Sequence[float] = (),
) -> str:
    """Return the same as HTML, in the reader's units."""
    heads, rows = texts_shown(heads, rows)

    def cell(row: int, column: int, text: str) -> str:
        kind = ' class="fp-num"' if column in numbers else ""
        if column == 0:
            return f'<th scope="row">{escape(text)}{bar_html(bars[row]) if bars else ""}</th>'
        return f'<td{kind} data-head="{escape(heads[column])}">{escape(text)}</td>'

    top = "".join(
        f'<th scope="col"{" class=fp-num" if column in numbers else ""}>{escape(head)}</th>'
        for column, head in enumerate(heads)
    )
    body = "".join(
        f"<tr>{''.join(cell(place, column, text) for column, text in enumerate(row))}</tr>"
        for place, row in enumerate(rows)
    )
    return (
        f'<table class="fp-table fp-plain"><caption>{escape(said(caption))}</caption>'
        f"<thead><tr>{top}</tr></thead><tbody>{body}</tbody></table>"
    )


def bar_html(share: float) -> str:
    """Return a bar for the eye; its number stands beside it in words."""
    width = 100.0 * min(max(share, 0.0), 1.0)
    return f'<span class="fp-bar" aria-hidden="true"><i style="width:{width:.0f}%"></i></span>'
