"""Blocks as a page of their own, to print or to send: one file that needs nothing from outside."""

import io
import re
from collections.abc import Iterator, Sequence
from html import escape

from fourpatch.document.html import html_table
from fourpatch.picture.blocks import Block, Changes, Heading, Picture, Sentence, Table
from fourpatch.picture.caution import COMPUTED
from fourpatch.picture.chosen_units import blocks_shown, said
from fourpatch.picture.palette import GROUND, INK, QUIET, RULE

_STYLE = f"""
:root {{ color-scheme: light }}
body {{ font: 11pt/1.45 system-ui, sans-serif; color: {INK}; background: {GROUND}; max-width: 62rem;
  margin: 1.5rem auto; padding: 0 1rem }}
h1 {{ font-size: 1.25rem }} h2 {{ font-size: 1.05rem; margin-top: 1.4rem }}
.wide {{ overflow-x: auto }}
table {{ border-collapse: collapse; font-size: 0.85rem; margin: 0.8rem 0;
  font-variant-numeric: tabular-nums }}
caption {{ font-weight: 600; padding-bottom: 0.3rem }}
th, td {{ padding: 0.15rem 0.6rem 0.15rem 0; border-bottom: 1px solid {RULE}; font-weight: inherit }}
thead th {{ text-align: left; vertical-align: bottom; font-weight: 600 }}
figure {{ margin: 1rem 0 }} figure svg {{ max-width: 100%; height: auto }}
footer {{ margin-top: 2rem; font-size: 0.8rem; color: {QUIET} }}
@page {{ margin: 15mm }}
@media print {{ body {{ margin: 0; max-width: none }} tr, figure {{ break-inside: avoid }}
  h2 {{ break-after: avoid }} }}
"""


def page(title: str, blocks: Sequence[Block]) -> str:
    """Return a whole page in the reader's units, the caution below it."""
    title = said(title)
    return (
        f'<!doctype html>\n<html lang="en"><head><meta charset="utf-8">'
        f'<meta name="viewport" content="width=device-width"><title>{escape(title)}</title>'
        f"<style>{_STYLE}</style></head>\n<body><main><h1>{escape(title)}</h1>\n"
        f"{blocks_html(blocks)}\n</main><footer><p>{escape(COMPUTED)}</p></footer></body></html>\n"
    )


def blocks_html(blocks: Sequence[Block], *, title: str = "") -> str:
    """Return blocks as a piece of a page.

    Parameters
    ----------
    title : over all of them, if they have no heading of their own.
    """
    head = [f"<p><b>{escape(said(title))}</b></p>"] if title else []
    return "\n".join([*head, *(part for block in blocks_shown(blocks) for part in _html(block))])


def _html(block: Block) -> Iterator[str]:
    match block:
        case Sentence(text, lead):
            yield f"<p>{f'<b>{escape(lead)}:</b> ' if lead else ''}{escape(text)}</p>"
        case Heading(text):
            yield f"<h2>{escape(text)}</h2>"
        case Table():
            heads = [head.in_a_line() for head in block.heads]
            yield f'<div class="wide">{html_table(heads, block.rows, title=block.title)}</div>'
        case Changes():
            yield from _html(block.as_table())
        case Picture():
            yield f'<figure role="img" aria-label="{escape(block.says)}">{svg(block)}</figure>'


def svg(picture: Picture) -> str:
    """Return a picture as it stands in a page."""
    from fourpatch.picture.sheet import styled

    drawn = io.StringIO()
    with styled():
        picture.draw().savefig(drawn, format="svg", metadata={"Date": None})
    return re.sub(r"\A.*?(?=<svg)", "", drawn.getvalue(), flags=re.DOTALL)
