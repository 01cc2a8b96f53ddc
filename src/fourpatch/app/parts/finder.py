"""A search over pages, settings and words, answered while one types."""

from collections.abc import Sequence
from typing import Literal

from nicegui.element import Element
from pydantic import BaseModel


class Findable(BaseModel):
    """Something that can be found."""

    kind: Literal["page", "setting"]
    name: str
    says: str
    path: str


class Finder(Element, component="finder.js"):
    """Asks the server for the words when it is first used."""

    def __init__(self, known: Sequence[Findable]) -> None:
        """Draw it.

        Parameters
        ----------
        known : what can be found besides words.
        """
        super().__init__()
        self._props["known"] = [one.model_dump() for one in known]
