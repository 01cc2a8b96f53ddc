"""Did it help: what laps before and after a change tell."""

from dataclasses import dataclass
from typing import Any

from pydantic import BaseModel, Field

from fourpatch.advice.change_effect import ChangeEffect, change_effect
from fourpatch.analysis.quantity import json_ready
from fourpatch.picture.change_effect_words import effect_details, effect_sentences
from fourpatch.recording.timed_laps import TimedLap, read_timed_laps

MOST_TEXT = 200_000
"""Signs of lap times that are taken."""


class HelpAsked(BaseModel):
    """Laps before and after a change, as typed or pasted."""

    laps: str = Field(
        max_length=MOST_TEXT,
        description='A line for each run, "A: 1:32.4 1:32.9x", or a table whose head names set-up and time.',
    )
    before: str = Field(default="", max_length=200, description="The first of the two set-ups compared.")
    after: str = Field(default="", max_length=200, description="The other.")


class HelpAnswer(BaseModel):
    """What the laps tell."""

    said: list[str] = Field(description="The answer in sentences.")
    details: list[str] = Field(description="What it rests on.")
    effect: dict[str, Any] = Field(description="As of the command, `advise did-it-help` in docs/json.md.")


@dataclass(frozen=True, slots=True, kw_only=True)
class Helped:
    """Laps as they were read, and what they tell."""

    laps: tuple[TimedLap, ...]
    found: ChangeEffect

    def answer(self) -> HelpAnswer:
        """Return it for the API."""
        return HelpAnswer(
            said=list(effect_sentences(self.found)),
            details=list(effect_details(self.found)),
            effect=json_ready(self.found),
        )


def helped(asked: HelpAsked) -> Helped:
    """Return what laps tell.

    Raises
    ------
    RecordingError, AdviceError
        If they cannot be read, or there are not enough with two set-ups.
    """
    laps = read_timed_laps(asked.laps)
    return Helped(laps=laps, found=change_effect(laps, before=asked.before, after=asked.after))
