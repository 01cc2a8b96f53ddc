"""An answer as a part of a page: its tables, sentences and pictures, whatever was asked."""

import re
from collections.abc import Iterator, Sequence
from html import escape

from fourpatch.app.parts.plain_table import table_html
from fourpatch.app.words import capital, true_minus
from fourpatch.picture.blocks import Block, Changes, Heading, Picture, Sentence, Table
from fourpatch.picture.chosen_units import blocks_shown
from fourpatch.picture.page import svg


def blocks_html(blocks: Sequence[Block]) -> str:
    """Return an answer as HTML in the reader's units; a heading or sentence stands over what follows it."""
    return "".join(part for block in blocks_shown(blocks) for part in _html(block))


def _html(block: Block) -> Iterator[str]:
    match block:
        case Heading(text):
            yield f"<h2>{escape(true_minus(text))}</h2>"
        case Sentence(text, lead, warns):
            look = "fp-said fp-warnbox" if warns else "fp-said"
            begin = f"<b>{escape(lead)}.</b> " if lead else ""
            yield f'<p class="{look}">{begin}{escape(true_minus(capital(text)))}</p>'
        case Table():
            yield _table(block)
        case Changes():
            yield _table(block.as_table())
        case Picture():
            drawn = re.sub(r"<title>.*?</title>", "", svg(block))
            yield f'<div class="fp-drawn" role="img" aria-label="{escape(block.says)}">{drawn}</div>'


def _table(table: Table) -> str:
    numbers = [column for column, head in enumerate(table.heads) if head.right]
    heads = [head.in_a_line() for head in table.heads]
    rows = [[true_minus(cell) for cell in row] for row in table.rows]
    return f'<div class="fp-scroll">{table_html(heads, rows, caption=table.title, numbers=numbers)}</div>'
