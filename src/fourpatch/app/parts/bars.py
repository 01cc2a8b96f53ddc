"""A picture of a few amounts as lying bars, each with its name before and its number behind it in words."""

from collections.abc import Sequence
from dataclasses import dataclass, field
from html import escape
from typing import Literal

from nicegui import ui
from nicegui.element import Element

Kind = Literal["a", "b", "good", "part", "broken", "agrees", "depends", "disagrees", "hardly", "none"]
"""What a bar stands for: its colour and, for who sees no colours, its pattern."""


@dataclass(frozen=True, slots=True, kw_only=True)
class Bar:
    """One bar, of one piece or of several."""

    name: str
    pieces: Sequence[tuple[float, Kind]]
    """Sizes in the unit of the picture, and what each stands for."""
    told: str
    """Its number, in words."""
    tells: str = field(default="")
    """More of it, on hovering."""


def bars(
    rows: Sequence[Bar],
    *,
    caption: str,
    mark: tuple[float, str] | None = None,
    key: Sequence[tuple[Kind, str]] = (),
) -> Element:
    """Draw bars on one scale, from 0 to the longest.

    Parameters
    ----------
    caption : says what is drawn and in which unit.
    mark : a size at which a line stands across all bars, and what it says.
    key : what the kinds of piece stand for, where the names do not say it.
    """
    return ui.html(bars_html(rows, caption=caption, mark=mark, key=key), sanitize=False)


def bars_html(
    rows: Sequence[Bar],
    *,
    caption: str,
    mark: tuple[float, str] | None = None,
    key: Sequence[tuple[Kind, str]] = (),
) -> str:
    """Return the same as HTML: a figure with a list, read as words by who cannot see it."""
    sums = [sum(abs(size) for size, _ in row.pieces) for row in rows]
    most = max([*sums, abs(mark[0]) if mark else 0.0], default=0.0) or 1.0
    line = f'<i class="fp-bars-mark" style="left:{100.0 * mark[0] / most:.1f}%"></i>' if mark else ""
    items = "".join(
        f'<li title="{escape(row.tells, quote=True)}"><span class="fp-bars-name">{escape(row.name)}</span>'
        f'<span class="fp-bars-lane" aria-hidden="true">{_pieces(row, most)}{line}</span>'
        f'<span class="fp-bars-told fp-num">{escape(row.told)}</span></li>'
        for row in rows
    )
    meant = "".join(
        f'<span><i class="fp-bars-piece fp-bars-{kind}" aria-hidden="true"></i>{escape(text)}</span>'
        for kind, text in key
    )
    marked = f'<span><i class="fp-bars-mark" aria-hidden="true"></i>{escape(mark[1])}</span>' if mark else ""
    said = f'<div class="fp-bars-key">{meant}{marked}</div>' if meant or marked else ""
    return (
        f'<figure class="fp-bars"><figcaption>{escape(caption)}</figcaption><ul>{items}</ul>{said}</figure>'
    )


def _pieces(row: Bar, most: float) -> str:
    return "".join(
        f'<i class="fp-bars-piece fp-bars-{kind}" style="width:{100.0 * abs(size) / most:.1f}%"></i>'
        for size, kind in row.pieces
        if size
    )
