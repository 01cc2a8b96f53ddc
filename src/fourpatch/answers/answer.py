"""An answer: what was found, as a program reads it, and the blocks in which it is said to people."""

from collections.abc import Callable, Mapping, Sequence
from dataclasses import dataclass, field
from typing import TYPE_CHECKING, Any, NamedTuple

from fourpatch.analysis.quantity import Findings
from fourpatch.document.content import ready
from fourpatch.picture.blocks import Block, Picture, Sentence, plain
from fourpatch.picture.page import blocks_html

if TYPE_CHECKING:
    from matplotlib.figure import Figure


def found_of(findings: Findings) -> dict[str, Any]:
    """Return what stands in findings by its own keys, for an answer that is nothing else."""
    return findings.content()


class Said(NamedTuple):
    """What was found of one thing, and the blocks in which it is said."""

    found: Mapping[str, Any]
    """By the keys of JSON."""
    blocks: list[Block]


@dataclass(frozen=True, slots=True, kw_only=True, repr=False, eq=False)
class Answer:
    """Everything that is said to a question."""

    title: str
    """What it is about, and what computed it."""
    about: Mapping[str, Any]
    """What was asked: car, set-up, what computed it and what was set, for JSON."""
    found: Mapping[str, Any]
    """Findings and datasets by the keys of JSON."""
    blocks: Sequence[Block] = field(default_factory=tuple)
    source: Any = None
    """What it was made of, for a page that draws that in a way of its own."""
    stopped: bool = False
    """Whether it is part of an answer: it was stopped before the end."""

    def content(self) -> dict[str, Any]:
        """Return it for JSON: the same on the command line and over HTTP."""
        said = [block.whole() for block in self.blocks if isinstance(block, Sentence)]
        return {**self.about, **{name: ready(one) for name, one in self.found.items()}, "said": said}

    @property
    def drawing(self) -> "Callable[[], Figure] | None":
        """What draws its picture, if there is one."""
        return next((block.draw for block in self.blocks if isinstance(block, Picture)), None)

    def __repr__(self) -> str:
        """Print short."""
        return f"<{self.title}: {', '.join(self.found)}>"

    def __str__(self) -> str:
        """Write it as text."""
        return "\n\n".join((self.title, plain(self.blocks)))

    def _repr_html_(self) -> str:
        return blocks_html(self.blocks, title=self.title)
