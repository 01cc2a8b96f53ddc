"""The heads of tables; by themselves, since every command has them at hand when it starts."""

from dataclasses import dataclass


@dataclass(frozen=True, slots=True, kw_only=True)
class Head:
    """The head of a table's column."""

    text: str
    unit: str = ""
    """As shown."""
    now: str = ""
    """The value from which the column counts changes."""
    right: bool = True
    """Numbers stand at the right and are never broken, words at the left."""

    def in_a_line(self) -> str:
        """Return all of it in a line."""
        parts = (self.text, f"[{self.unit}]" if self.unit else "", f"now {self.now}" if self.now else "")
        return " ".join(" ".join(parts).split())
