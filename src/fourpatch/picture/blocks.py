"""What an answer is said in: tables, sentences, headings, pictures and lists of changes.

Whoever shows an answer draws these five and knows nothing of what was asked: the terminal
(`fourpatch.cli.screen`), a page to print (`fourpatch.picture.page`), plain text (`plain` below) and the app
(`fourpatch.app.parts.said_blocks`).
"""

from collections.abc import Callable, Iterator, Sequence
from dataclasses import dataclass
from importlib import import_module
from typing import TYPE_CHECKING, Any

from fourpatch.document.aligned import aligned
from fourpatch.picture.head import Head

if TYPE_CHECKING:
    from matplotlib.figure import Figure

MEANS = "What this means"
"""What a sentence begins with that says what the numbers come to."""


@dataclass(frozen=True, slots=True, kw_only=True)
class Table:
    """Rows below heads, the first cell of a row being its name."""

    heads: Sequence[Head]
    rows: Sequence[Sequence[str]]
    title: str = ""


@dataclass(frozen=True, slots=True)
class Sentence:
    """What a driver reads."""

    text: str
    lead: str = ""
    """What it begins with, before a colon."""
    warns: bool = False
    """Whether it is a warning, set apart where that can be."""

    def whole(self) -> str:
        """Return it with its lead."""
        return f"{self.lead}: {self.text}" if self.lead else self.text


@dataclass(frozen=True, slots=True)
class Heading:
    """What the blocks below are about."""

    text: str


@dataclass(frozen=True, slots=True, kw_only=True)
class Picture:
    """Something drawn, when somebody wants to see it."""

    draw: "Callable[[], Figure]"
    says: str
    """The question it answers, for who cannot see it."""


@dataclass(frozen=True, slots=True, kw_only=True)
class Change:
    """One adjuster put elsewhere."""

    adjuster: str
    before: float
    """Position on the driver's own scale."""
    after: float
    unit: str
    """Of that scale."""


@dataclass(frozen=True, slots=True, kw_only=True)
class Changes:
    """Adjusters to put elsewhere, together."""

    changes: Sequence[Change]
    title: str = ""

    def as_table(self) -> Table:
        """Return it as a table."""
        heads = [
            Head(text="adjuster", right=False),
            Head(text="stands at"),
            Head(text="goes to"),
            Head(text="unit", right=False),
        ]
        rows = [(one.adjuster, f"{one.before:g}", f"{one.after:g}", one.unit) for one in self.changes]
        return Table(heads=heads, rows=rows, title=self.title)


def drawing(name: str, *given: Any, **named: Any) -> "Callable[[], Figure]":
    """Return what draws by a function of ``fourpatch.picture``, loaded when somebody wants to see it.

    Parameters
    ----------
    name : of the function with its module: ``modes.modes_figure``.
    """

    def draw() -> "Figure":
        module, _, function = name.rpartition(".")
        drawn: Figure = getattr(import_module(f"fourpatch.picture.{module}"), function)(*given, **named)
        return drawn

    return draw


Block = Table | Sentence | Heading | Picture | Changes


def means(text: str) -> Sentence:
    """Return the sentence that says what the numbers come to."""
    return Sentence(text, lead=MEANS)


def plain(blocks: Sequence[Block]) -> str:
    """Write blocks as text that needs no terminal; pictures are left out."""
    return "\n\n".join(part for block in blocks for part in _plain(block))


def _plain(block: Block) -> Iterator[str]:
    match block:
        case Sentence():
            yield block.whole()
        case Heading():
            yield block.text
        case Table():
            if block.title:
                yield block.title
            yield aligned([[head.in_a_line() for head in block.heads], *block.rows])
        case Changes():
            yield from _plain(block.as_table())
        case Picture():
            pass
