"""What a driver reads first of an answer: one sentence, and one mark of how sure it is."""

from dataclasses import dataclass
from typing import Literal

Grade = Literal["sure", "likely", "open", "disputed", "computing"]

GRADE_WORDS: dict[Grade, str] = {
    "sure": "sure",
    "likely": "likely",
    "open": "open",
    "disputed": "disputed: not before a recording has said which holds",
    "computing": "how sure is still being computed",
}
"""The mark in words."""

MOST_CARS, MANY_CARS = 0.9, 2.0 / 3.0
"""Shares of the plausible cars in which a change must go the right way to be sure, and likely.

Choices of this project."""


@dataclass(frozen=True, slots=True, kw_only=True)
class FirstAnswer:
    """The sentence and its mark."""

    sentence: str
    """What to turn, what will be felt, what it costs."""
    grade: Grade
    because: str
    """Why it is no surer and no less sure: what rig, drive and plausible cars say; empty while computing."""
