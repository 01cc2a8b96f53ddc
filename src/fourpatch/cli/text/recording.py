"""A recording in tables and in words: its channels, what is asked and what is wrong, laps and corners."""

from collections.abc import Callable
from typing import Any

import numpy as np

from fourpatch.analysis.quantity import SPEED, json_ready
from fourpatch.analysis.recorded_laps import CornerRecorded, RecordedLaps
from fourpatch.cli.output import write_heading, write_table, write_text
from fourpatch.document.content import number
from fourpatch.events.phase import PHASES
from fourpatch.picture.head import Head
from fourpatch.picture.shown import lap_time_text, words
from fourpatch.recording.opened import Opened
from fourpatch.runs.channels import CHANNELS


def write_channels(opened: Opened) -> None:
    """Write what each column is, what is asked, and what is wrong."""
    run, raw = opened.run, opened.raw
    times = [one.time for one in run.channels.values()]
    length = max(float(one[-1]) for one in times) - min(float(one[0]) for one in times)
    write_text(f"{raw.name}: {raw.format}, {len(raw.columns)} columns, {_minutes(length)}.")
    write_table(
        [
            Head(text="column", right=False),
            Head(text="channel", right=False),
            Head(text="unit", right=False),
            Head(text="per second"),
            Head(text="why", right=False),
        ],
        [
            (
                one.column,
                f"{words(one.channel)} {one.wheel}".strip(),
                f"{one.unit}{', sign turned' if one.reversed else ''}",
                _rate(opened, one.channel),
                _why(opened, one.column),
            )
            for one in opened.mapping.columns
            if one.channel != "none"
        ],
        title="Channels",
    )
    if opened.kept:
        write_text("The columns are what you said of an earlier file of this source; --afresh forgets it.")
    if opened.proposal.unread and not opened.kept:
        write_text(f"Not known, and not read: {', '.join(opened.proposal.unread)}.")
    for sentence in raw.notes:
        write_text(sentence)
    if opened.proposal.questions and not opened.kept:
        write_heading("Asked (answer by yes: --agree NAME; by anything else: --column)")
        for question in opened.proposal.questions:
            write_text(f"{question.key}: {question.text}")
    if opened.faults:
        write_heading("Wrong with it")
        for fault in opened.faults:
            done = fault.key in opened.mended
            mending = f" Mended: {fault.remedy}." if done else f' To mend it: --mend "{fault.key}".'
            write_text(f"{fault.key}: {fault.text}{mending if fault.remedy else ''}")


def _minutes(seconds: float) -> str:
    return f"{seconds:.0f} s" if seconds < 120.0 else f"{seconds / 60.0:.1f} min"


def _rate(opened: Opened, channel: str) -> str:
    one = opened.run.channels.get(channel)
    return "" if one is None else f"{1.0 / one.interval:.3g}"


def _why(opened: Opened, column: str) -> str:
    return "as you said" if opened.kept else opened.proposal.reasons.get(column, "")


def write_laps(study: RecordedLaps | None, without: str, *, track: str) -> None:
    """Write laps and corners, or why there are none."""
    if study is None:
        write_text(f"No laps and corners: {without}")
        return
    if study.laps is not None:
        write_laps_table(study)
    if not study.corner_rows:
        write_text("There is no corner in it: nothing bends more than a radius of 400 m by 10 degrees.")
        return
    of = f"numbered as on {track}, with which the bends agree to {100.0 * study.agreement:.0f} %"
    numbers = list(dict.fromkeys(one.corner for one in study.corner_rows))
    write_table(
        _CORNER_HEADS,
        [_corner_row(number, study) for number in numbers],
        title=f"Corners, mean of the laps; {of if track else 'of the driven line'}",
    )
    write_table(
        _PHASE_HEADS, [_phase_row(number, study) for number in numbers], title="How long their phases last"
    )


def write_laps_table(study: RecordedLaps) -> None:
    """Write a line for each lap."""
    if study.laps is None:
        return
    write_table(
        [
            Head(text="lap"),
            Head(text="time"),
            Head(text="length", unit="m"),
            Head(text="slowest", unit="km/h"),
            Head(text="fastest", unit="km/h"),
            Head(text="", right=False),
        ],
        [
            (
                one.lap,
                lap_time_text(one.time),
                f"{one.length:.0f}",
                f"{one.lowest_speed / SPEED.scale:.0f}",
                f"{one.highest_speed / SPEED.scale:.0f}",
                "" if one.kind == "like the others" else one.kind,
            )
            for one in study.lap_rows
        ],
        title=f"Laps. {study.laps.told_by}",
    )


_CORNER_HEADS = (
    Head(text="corner"),
    Head(text="way"),
    Head(text="from", unit="m"),
    Head(text="to", unit="m"),
    Head(text="entry", unit="km/h"),
    Head(text="slowest", unit="km/h"),
    Head(text="exit", unit="km/h"),
    Head(text="time", unit="s"),
    Head(text="spread", unit="s"),
    Head(text="sideways", unit="m/s²"),
)

_PHASE_HEADS = (Head(text="corner"), *(Head(text=name, unit="s") for name in PHASES))


def _of_corner(number: str, study: RecordedLaps) -> tuple[CornerRecorded, Callable[[str], float]]:
    """Return the first passage of a corner, and what gives the mean of a number over all."""
    rows = [one for one in study.corner_rows if one.corner == number]
    return rows[0], lambda name: float(np.mean([getattr(one, name) for one in rows]))


def _corner_row(number: str, study: RecordedLaps) -> tuple[str, ...]:
    first, mean = _of_corner(number, study)
    times = [one.time for one in study.corner_rows if one.corner == number]
    return (
        number,
        first.direction,
        f"{first.start:.0f}",
        f"{first.end:.0f}",
        *(f"{mean(f'{name}_speed') / SPEED.scale:.0f}" for name in ("entry", "slowest", "exit")),
        f"{mean('time'):.2f}",
        f"{float(np.std(times, ddof=1)):.2f}" if len(times) > 1 else "",
        f"{mean('lateral_acceleration'):.1f}",
    )


def _phase_row(number: str, study: RecordedLaps) -> tuple[str, ...]:
    _, mean = _of_corner(number, study)
    return (number, *(f"{mean(name):.2f}" for name in PHASES))


def recording_content(opened: Opened, study: RecordedLaps | None, without: str) -> dict[str, Any]:
    """Return all that is known of a recording for JSON."""
    return {
        "recording": opened.raw.name,
        "format": opened.raw.format,
        "mode": "recording",
        "notes": list(opened.raw.notes),
        "channels": [
            {
                "column": one.column,
                "channel": one.channel,
                "wheel": one.wheel,
                "written_unit": one.unit,
                "reversed": one.reversed,
                "si": CHANNELS[one.channel].unit if one.channel in CHANNELS else "s",
                "reason": _why(opened, one.column),
            }
            for one in opened.mapping.columns
        ],
        "unread": list(opened.proposal.unread),
        "questions": [{"key": one.key, "text": one.text} for one in opened.proposal.questions],
        "faults": [
            {
                "key": one.key,
                "text": one.text,
                "remedy": one.remedy,
                "mended": one.key in opened.mended,
            }
            for one in opened.faults
        ],
        "without_laps": without,
        "told_by": study.laps.told_by if study and study.laps else "",
        "agreement": number(study.agreement if study else float("nan"), "1"),
        "laps": json_ready(study.lap_rows) if study else [],
        "corners": json_ready(study.corner_rows) if study else [],
    }
