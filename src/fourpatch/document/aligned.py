"""A table as plain text."""

from collections.abc import Sequence


def aligned(rows: Sequence[Sequence[str]]) -> str:
    """Write rows as text, their columns one below the other."""
    widths = [max(map(len, column)) for column in zip(*rows, strict=True)]
    lines = ("  ".join(cell.ljust(w) for cell, w in zip(row, widths, strict=True)) for row in rows)
    return "\n".join(line.rstrip() for line in lines)
