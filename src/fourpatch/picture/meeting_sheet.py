"""A race meeting or test day as a sheet."""

from fourpatch.picture.blocks import Block, Heading, Sentence, Table
from fourpatch.picture.head import Head
from fourpatch.picture.meeting_words import (
    RUN_HEADS,
    conditions,
    meeting_effects,
    meeting_line,
    run_rows,
    run_sentences,
)
from fourpatch.recording.meeting import Meeting


def meeting_sheet(meeting: Meeting) -> list[Block]:
    """Return the blocks of a meeting's report."""
    blocks: list[Block] = [Sentence(one) for one in (meeting_line(meeting), meeting.note) if one]
    for place, session in enumerate(meeting.sessions, start=1):
        said = ", ".join(one for one in (conditions(session), session.note) if one)
        blocks.append(Sentence(said, lead=session.name or f"Session {place}"))
    rows = run_rows(meeting)
    if rows:
        heads = [Head(text=head, right=head in RUN_HEADS[3:]) for head in RUN_HEADS]
        blocks += [Heading("Runs"), Table(heads=heads, rows=rows)]
    for title, sentences in (
        ("What was changed and said", list(run_sentences(meeting))),
        ("What the laps tell", meeting_effects(meeting)),
        ("Next time", [meeting.next_time] if meeting.next_time else []),
    ):
        if sentences:
            blocks += [Heading(title), *(Sentence(one) for one in sentences)]
    return blocks
