"""What a driver reads first of an answer: one sentence, and one mark of how sure it is."""

from collections.abc import Iterator
from typing import Literal

from fourpatch.analysis.quantity import Findings
from fourpatch.picture.blocks import Sentence, means

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


class FirstAnswer(Findings):
    """The sentence and its mark."""

    sentence: str
    """What to turn, what will be felt, what it costs."""
    grade: Grade
    """How sure it is."""
    because: str
    """Why it is no surer and no less sure: what rig, drive and plausible cars say; empty while computing."""


def first_blocks(first: FirstAnswer | None) -> Iterator[Sentence]:
    """Yield the sentence, and the mark with what it rests on; nothing where nothing is known yet."""
    if first is None:
        return
    grade = GRADE_WORDS[first.grade].capitalize()
    yield means(first.sentence)
    yield Sentence(first.because or f"{grade}.", lead=f"How sure? {grade}" if first.because else "How sure")
