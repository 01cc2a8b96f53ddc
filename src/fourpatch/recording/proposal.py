"""Which column is which channel: proposed from names, units, ranges and physics; what is unsure is asked."""

from collections.abc import Iterable, Sequence
from dataclasses import dataclass, replace
from typing import Final

import numpy as np

from fourpatch.errors import RecordingError
from fourpatch.recording import agreement
from fourpatch.recording.clocks import clock_times, mended_clock, time_column
from fourpatch.recording.draft import Draft, drafts
from fourpatch.recording.mapping import MappedColumn, Mapping
from fourpatch.recording.question import Question
from fourpatch.recording.raw import Array, RawRecording
from fourpatch.recording.signals import binned, bins_of
from fourpatch.runs.channels import CHANNELS

LONGEST: Final = 7200.0
"""Of a recording so much is looked at to tell its channels. [s]"""


@dataclass(frozen=True, slots=True, kw_only=True)
class Proposal:
    """A mapping with its reasons, and what the user should say about it."""

    mapping: Mapping
    """As it is taken if nobody answers: only what is sure."""
    reasons: dict[str, str]
    """Why each column is thought to be what it is, by its name; also of those that are asked about."""
    questions: tuple[Question, ...]
    unread: tuple[str, ...]
    """Columns that are nothing known."""

    def agreed(self, keys: Iterable[str]) -> "Proposal":
        """Return the proposal with some of its questions answered by yes.

        Parameters
        ----------
        keys : of the questions, or "all".

        Raises
        ------
        RecordingError
            If there is no question of that key.
        """
        wanted = set(keys)
        known = {one.key for one in self.questions}
        odd = sorted(wanted - known - {"all"})
        if odd:
            listed = ", ".join(sorted(known)) or "none"
            raise RecordingError(f'"{odd[0]}" is no question about this recording. Those are: {listed}.')
        mapping = self.mapping
        for one in self.questions:
            if one.key in wanted or "all" in wanted:
                mapping = with_columns(mapping, one.agreed)
        left = tuple(one for one in self.questions if one.key not in wanted and "all" not in wanted)
        return replace(self, mapping=mapping, questions=left)


def with_columns(mapping: Mapping, columns: Sequence[MappedColumn]) -> Mapping:
    """Return a mapping in which some columns are what is said now, and nothing else is what they are."""
    names = {one.column for one in columns}
    places = {(one.channel, one.wheel) for one in columns}
    kept = [
        one for one in mapping.columns if one.column not in names and (one.channel, one.wheel) not in places
    ]
    return mapping.model_copy(update={"columns": [*kept, *columns]})


def propose(raw: RawRecording, *, rate: float = 0.0) -> Proposal:
    """Propose what the columns of a recording are.

    Parameters
    ----------
    rate : rows per second if no column is the time, else 0. [1/s]

    Raises
    ------
    RecordingError
        If nothing says the time.
    """
    times = _times_of(raw, rate)
    mapping = Mapping(layout=raw.layout, rate=rate, columns=times)
    clocks = [mended_clock(one) for one in clock_times(raw, mapping)]
    longest = max(clocks, key=lambda one: np.ptp(one.time) if one.time.size > 1 else 0.0)
    if longest.time.size < 20 or np.ptp(longest.time) < 2.0:
        raise RecordingError(
            f"{raw.name}: lasts less than 2 s by its clock, too short to tell anything. Check which column "
            "is the time and its unit."
        )
    middles = bins_of(longest.time[longest.time < longest.time[0] + LONGEST])
    taken = {one.column for one in times}
    rows: dict[str, Array] = {
        one.name: binned(clocks[one.clock].time, one.values[clocks[one.clock].rows], middles)
        for one in raw.columns
        if one.name not in taken and clocks[one.clock].time.size > 1
    }
    found = drafts(rows, {one.name: one for one in raw.columns if one.name in rows})
    questions = agreement.judge(found, rows, {one.name: one for one in raw.columns})
    asked = [*questions, *_unsure(found)]
    sure = [one.mapped() for one in found if one.sure]
    named = taken | {one.column.name for one in found}
    return Proposal(
        mapping=mapping.model_copy(update={"columns": [*times, *sure]}),
        reasons={one.column.name: "; ".join(one.reasons) for one in found},
        questions=tuple(asked),
        unread=tuple(one.name for one in raw.columns if one.name not in named),
    )


def _times_of(raw: RawRecording, rate: float) -> list[MappedColumn]:
    found = []
    for number, clock in enumerate(raw.clocks):
        told = None if clock is not None or rate > 0.0 else time_column(raw, number)
        if told:
            found.append(MappedColumn(column=told.column, channel="time", unit=told.unit))
    return found


def _unsure(found: Sequence[Draft]) -> list[Question]:
    questions = []
    for one in found:
        if one.sure:
            continue
        said = CHANNELS[one.channel].meaning
        what = f"{one.channel.replace('_', ' ')} {one.wheel}".strip()
        units = f" in {one.units[0]}" + (f" (or {' or '.join(one.units[1:])})" if one.units[1:] else "")
        questions.append(
            Question(
                key=one.column.name,
                text=f'Is "{one.column.name}" the {what}{units}: {said}?',
                agreed=(one.mapped(),),
            )
        )
    return questions
