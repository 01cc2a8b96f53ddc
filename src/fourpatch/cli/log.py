"""`fourpatch log`: race meetings and test days in the notebook."""

from collections.abc import Callable
from pathlib import Path
from typing import TYPE_CHECKING, Any, TypeVar

import click

from fourpatch.cli.notebook import BY, notebook_option
from fourpatch.cli.output import note, write_heading, write_json, write_table, write_text
from fourpatch.cli.subject import force_option, json_option
from fourpatch.errors import NotebookError

if TYPE_CHECKING:
    from fourpatch.notebook.entries import Entry
    from fourpatch.notebook.notebook import Notebook

F = TypeVar("F", bound=Callable[..., Any])


@click.group("log")
def log() -> None:
    """Keep race meetings and test days in the notebook: sessions, runs, conditions, laps, what was said."""


@log.command("example")
@click.argument("file")
@force_option
def example(file: str, force: bool) -> None:
    """Write an invented meeting to FILE, to see how one is written. All but the name may be left out."""
    from fourpatch.cli.export import refuse_to_write_over
    from fourpatch.recording.demo_meeting import demo_meeting
    from fourpatch.recording.meeting_file import save_meeting

    refuse_to_write_over(file, force)
    save_meeting(demo_meeting(), file)
    note(f"Wrote {file}. After editing: fourpatch log add {file}")


@log.command("add")
@click.argument("file")
@notebook_option
def add(file: str, chosen: str | None) -> None:
    """Keep the meeting in FILE; one of its name that is there already becomes as FILE says."""
    from fourpatch.notebook.notebook import open_notebook

    with open_notebook(chosen) as opened:
        shelf = opened.meetings
        name = shelf.kind.load(Path(file)).name
        known = next((one for one in shelf.listed() if one.name == name), None)
        if known is None:
            entry = shelf.import_file(Path(file), by=BY)
            note(f'Kept "{entry.name}".')
            return
        from fourpatch.notebook.kinds import take

        entry = shelf.change(known.id, take(Path(file)), revision=known.revision, by=BY)
        same = entry.revision == known.revision
        note(f'"{entry.name}" is as it was.' if same else f'Kept "{entry.name}", revision {entry.revision}.')


@log.command("list")
@notebook_option
@json_option
def listing(chosen: str | None, as_json: bool) -> None:
    """List all meetings, the latest first."""
    from fourpatch.notebook.notebook import open_notebook
    from fourpatch.picture.head import Head

    with open_notebook(chosen) as opened:
        lines = opened.logbook.timeline()
    if as_json:
        write_json("log list", {"meetings": [one.model_dump() for one in lines]})
        return
    if not lines:
        write_text("No meeting yet. See how one is written: fourpatch log example day.toml")
        return
    heads = [Head(text=head, right=False) for head in ("date", "meeting", "track", "car", "driver")]
    write_table(heads, [(one.date, one.name, one.track, one.car, one.driver) for one in lines])


@log.command("show")
@click.argument("meeting")
@notebook_option
@json_option
def show(meeting: str, chosen: str | None, as_json: bool) -> None:
    """Show MEETING: conditions, runs, what was changed and said, and what the laps tell of it."""
    from fourpatch.notebook.notebook import open_notebook
    from fourpatch.picture.head import Head
    from fourpatch.picture.meeting_words import (
        RUN_HEADS,
        conditions,
        meeting_effects,
        meeting_line,
        run_rows,
        run_sentences,
    )

    with open_notebook(chosen) as opened:
        found = opened.meetings.read(named_meeting(opened, meeting).id)
    if as_json:
        content = {"meeting": found.model_dump(mode="json"), "said": meeting_effects(found)}
        write_json("log show", content)
        return
    write_text(found.name)
    for sentence in (meeting_line(found), found.note):
        if sentence:
            write_text(sentence)
    for place, session in enumerate(found.sessions, start=1):
        write_text(f"{session.name or f'Session {place}'}: {conditions(session)}".rstrip(": "))
    rows = run_rows(found)
    if rows:
        write_table([Head(text=head, right=head in RUN_HEADS[3:]) for head in RUN_HEADS], rows, title="Runs")
    _write_part("What was changed and said", list(run_sentences(found)))
    _write_part("What the laps tell", meeting_effects(found))
    _write_part("Next time", [found.next_time] if found.next_time else [])


@log.command("search")
@click.argument("words", nargs=-1, required=True)
@notebook_option
@json_option
def search(words: tuple[str, ...], chosen: str | None, as_json: bool) -> None:
    """Find what holds all WORDS: meetings, set-ups, complaints, cars, tracks, styles."""
    from fourpatch.notebook.notebook import open_notebook

    with open_notebook(chosen) as opened:
        found = opened.logbook.search(" ".join(words))
    if as_json:
        write_json("log search", {"found": [one.model_dump() for one in found]})
        return
    if not found:
        write_text(f"Nothing holds {' and '.join(words)}. Try fewer or shorter words.")
    for one in found:
        write_text(f"{one.kind} {one.name}")
        for line in one.lines:
            write_text(f"  {line}")


@log.command("next")
@click.option("--track", default="", metavar="NAME", help="Name of the track, as in the meetings.")
@click.option("--car", default="", metavar="NAME", help="Name of the car, as in the meetings.")
@notebook_option
@json_option
def take_along(track: str, car: str, chosen: str | None, as_json: bool) -> None:
    """Say what earlier meetings at a track or with a car carry over to the next."""
    from fourpatch.notebook.notebook import open_notebook

    if not (track or car):
        raise NotebookError('name the track or the car: --track "Demo chicanes", --car "Demo GT".')
    with open_notebook(chosen) as opened:
        found = opened.logbook.take_along(track=track, car=car)
    if as_json:
        write_json("log next", {"meetings": [one.model_dump() for one in found]})
        return
    if not found:
        write_text("No earlier meeting there or with it.")
    for one in found:
        write_heading(f"{one.meeting.date} {one.meeting.name} ({one.why})".strip())
        for sentence in (
            one.meeting.next_time,
            f"Ended with the set-up {one.setup}." if one.setup else "",
            *one.tried,
        ):
            if sentence:
                write_text(sentence)


def named_meeting(opened: "Notebook", name: str) -> "Entry":
    """Return the meeting of a name."""
    import difflib

    listed = opened.meetings.listed()
    found = next((one for one in listed if one.name.casefold() == name.casefold()), None)
    if found is None:
        near = difflib.get_close_matches(name, [one.name for one in listed], n=3, cutoff=0.4)
        meant = f" Did you mean {' or '.join(near)}?" if near else " fourpatch log list shows them."
        raise NotebookError(f'There is no meeting "{name}" in the notebook.{meant}')
    return found


def _write_part(title: str, sentences: list[str]) -> None:
    if sentences:
        write_heading(title)
        for sentence in sentences:
            write_text(sentence)
