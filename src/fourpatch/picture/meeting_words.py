"""A race meeting or test day in words: the command line, the page and the sheets show these."""

from collections.abc import Iterator

from fourpatch.advice.change_effect import change_effect
from fourpatch.document.fields import unit_of
from fourpatch.errors import AdviceError
from fourpatch.picture.change_effect_words import effect_sentences
from fourpatch.picture.shown import lap_time_text, words
from fourpatch.recording.meeting import Meeting, NumberedRun, RunNotes, SessionNotes, differing
from fourpatch.recording.timed_laps import TimedLap

RUN_HEADS = ("run", "set-up", "tyres", "fuel", "laps", "best", "middle")
_RUN_FIELDS = RunNotes.model_fields
_SESSION_FIELDS = SessionNotes.model_fields


def meeting_line(meeting: Meeting) -> str:
    """Return when, where, with what and by whom, what of it is known."""
    return ", ".join(one for one in (meeting.date, meeting.track, meeting.car, meeting.driver) if one)


def conditions(session: SessionNotes) -> str:
    """Return the conditions of a session that were noted."""
    said = [session.start, session.track_state]
    for name in ("air_temperature", "track_temperature", "wind_speed"):
        unit, value = unit_of(_SESSION_FIELDS[name]), getattr(session, name)
        if unit is not None and value is not None:
            said.append(
                f"{words(name.removesuffix('_temperature').removesuffix('_speed'))} {unit.brief(value, 3)}"
            )
    if session.wind_from:
        said.append(f"wind from {session.wind_from}")
    return ", ".join(one for one in said if one)


def run_row(one: NumberedRun, laps: list[TimedLap]) -> tuple[str, ...]:
    """Return the cells of a run under `RUN_HEADS`."""
    run = one.run
    tyres = [run.tyres, "" if run.tyre_laps is None else f"{run.tyre_laps} laps before"]
    unit = unit_of(_RUN_FIELDS["fuel"])
    fuel = "" if run.fuel is None or unit is None else unit.brief(run.fuel, 4)
    times = sorted(lap.time for lap in laps if not lap.left_out)
    best = lap_time_text(times[0]) if times else ""
    middle = lap_time_text(times[len(times) // 2]) if times else ""
    told = ", ".join(word for word in tyres if word)
    return one.called, run.setup, told, fuel, str(len(laps) or ""), best, middle


def run_rows(meeting: Meeting) -> list[tuple[str, ...]]:
    """Return a row for each run."""
    laps = meeting.laps()
    return [run_row(one, [lap for lap in laps if lap.run == one.number]) for one in meeting.runs()]


def run_sentences(meeting: Meeting) -> Iterator[str]:
    """Yield what was changed, tried and said in each run."""
    before: RunNotes | None = None
    for one in meeting.runs():
        run = one.run
        said: list[str] = []
        changed = [
            f"{name} {was:g} → {now:g}"
            for name, was, now in (differing(before, run) if before is not None else ())
            if was is not None and now is not None
        ]
        if changed:
            said.append(f"changed: {', '.join(changed)}")
        if run.tried:
            said.append(f"tried: {run.tried}{f' ({run.outcome})' if run.outcome else ''}")
        for remark in run.remarks:
            where = " ".join(
                word for word in (remark.corner and f"corner {remark.corner}", remark.phase) if word
            )
            said.append(f"{where}: {remark.text}" if where else remark.text)
        said += [run.note] if run.note else []
        if said:
            yield f"{one.called}: {'; '.join(said)}"
        before = run if run.values else before


def meeting_effects(meeting: Meeting) -> list[str]:
    """Return what the laps tell of each change of the set-up, the first driven against each other.

    Notes
    -----
    Of two set-ups the laps of both are taken, wherever in the meeting they were driven. Laps on another
    state of the track or other tyres are no comparison: what was noted is for the reader to judge.
    """
    laps = meeting.laps()
    there = list(dict.fromkeys(one.setup for one in laps))
    said: list[str] = []
    for other in there[1:]:
        try:
            said += effect_sentences(change_effect(laps, before=there[0], after=other))
        except AdviceError as error:
            said.append(str(error))
    return said
