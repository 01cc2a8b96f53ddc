"""`fourpatch advise did-it-help`: what laps before and after a change tell."""

import sys
from collections.abc import Sequence
from pathlib import Path
from typing import TYPE_CHECKING, Any

import click

from fourpatch.cli.output import CAUTION, note, write_heading, write_json, write_table, write_text
from fourpatch.cli.subject import figure_option, json_option
from fourpatch.picture.head import Head

if TYPE_CHECKING:
    from fourpatch.advice.change_effect import ChangeEffect
    from fourpatch.advice.trial_plan import SessionPlan
    from fourpatch.recording.timed_laps import TimedLap


@click.command("did-it-help")
@click.argument("file", required=False)
@click.option(
    "--run",
    "runs",
    multiple=True,
    metavar="SETUP=FILE",
    help='A recording of one run instead of typed times: "A=morning.csv"; repeat it in the order driven.',
)
@click.option("--each-corner", is_flag=True, help="Every corner of the recordings by itself.")
@click.option(
    "--before", default="", metavar="SETUP", help="The first of the two compared; else first driven."
)
@click.option("--after", default="", metavar="SETUP", help="The other.")
@click.option("--car", "car_name", metavar="CAR", help="To compute beside it what the change should do.")
@click.option("--setup", "setup_file", metavar="FILE", help="Set-up file of the car before the change.")
@click.option(
    "--change",
    "changes",
    multiple=True,
    metavar="CHANGE",
    help='With --car: "front bar=+2" for two steps up, "front bar=3" for a position; may be repeated.',
)
@click.option("--track", "track_name", metavar="TRACK", help="Demo track or track file that was driven on.")
@json_option
@figure_option
def did_it_help(
    file: str | None,
    runs: tuple[str, ...],
    each_corner: bool,
    before: str,
    after: str,
    car_name: str | None,
    setup_file: str | None,
    changes: tuple[str, ...],
    track_name: str | None,
    as_json: bool,
    figure: str | None,
) -> None:
    """Say whether a change helped, from the laps in FILE (- for standard input) or from recordings.

    FILE has a line for each run, "A: 1:32.41 1:32.18 1:35.0x", x at a lap that does not count, or is a
    table whose head names set-up and time, and run, note, fuel and sectors where you have them.
    """
    from fourpatch.advice.change_effect import change_effect
    from fourpatch.analysis.quantity import json_ready
    from fourpatch.errors import AdviceError

    if bool(file) == bool(runs):
        raise AdviceError(
            "give either a file of lap times, or recordings: --run A=first.csv --run B=next.csv."
        )
    if bool(car_name) != bool(changes):
        raise AdviceError("what a change should do is computed of a car: give both --car and --change.")
    laps = _recorded(runs, track_name, each_corner) if runs else _typed(file or "")
    found = change_effect(laps, before=before, after=after)
    plan = _computed(car_name, setup_file, changes, track_name, found) if car_name else None
    if as_json:
        content: dict[str, Any] = {"mode": "lap times", "effect": json_ready(found)}
        if plan is not None:
            from fourpatch.answers.trial_plan import plan_found

            content["computed"] = {"mode": plan.computed_by, "plan": plan_found(plan).content()}
        write_json("advise did-it-help", content)
    else:
        _write(found, plan)
    if figure:
        from fourpatch.picture.change_effect import change_effect_figure
        from fourpatch.picture.sheet import save

        save(change_effect_figure(laps, found, source=_source(found)), Path(figure))
        note(f"Drew {figure}.")


def _typed(file: str) -> "tuple[TimedLap, ...]":
    from fourpatch.document.reading import file_text
    from fourpatch.errors import FileError
    from fourpatch.recording.timed_laps import read_timed_laps

    if file == "-":
        try:
            pasted = sys.stdin.read()
        except UnicodeDecodeError:
            raise FileError("standard input: is no text in UTF-8. Save it as such.") from None
        return read_timed_laps(pasted, name="standard input")
    return read_timed_laps(file_text(Path(file)), name=file)


def _recorded(runs: Sequence[str], track_name: str | None, each_corner: bool) -> "tuple[TimedLap, ...]":
    from fourpatch.advice.recorded_changes import recorded_laps
    from fourpatch.analysis.recorded_laps import study_recording
    from fourpatch.errors import AdviceError
    from fourpatch.face.named import track_by_name
    from fourpatch.recording.opened import open_recording

    track = track_by_name(track_name) if track_name else None
    studies = []
    for run in runs:
        setup, equals, file = (part.strip() for part in run.partition("="))
        if not (setup and equals and file):
            raise AdviceError(f'--run "{run}": write SETUP=FILE, such as A=morning.csv.')
        studies.append((setup, study_recording(open_recording(file).run, track=track)))
    return recorded_laps(studies, each_corner=each_corner)


def _computed(
    car_name: str,
    setup_file: str | None,
    changes: Sequence[str],
    track_name: str | None,
    found: "ChangeEffect",
) -> "SessionPlan":
    from fourpatch.advice.change_text import read_changes
    from fourpatch.advice.trial_plan import session_plan
    from fourpatch.cli.engine import announce_compilation
    from fourpatch.cli.long_work import long_work
    from fourpatch.cli.subject import subject
    from fourpatch.face.named import track_by_name

    about = subject(car_name, setup_file)
    changed = read_changes(about.car, about.setup, changes)
    announce_compilation()
    with long_work() as work:
        return session_plan(
            about.car,
            about.setup,
            changed,
            scatter=found.lap.scatter,
            track=track_by_name(track_name) if track_name else None,
            progress=work.progress,
            cancelled=work.cancelled,
        )


def _source(found: "ChangeEffect") -> str:
    from fourpatch.picture.change_effect_words import effect_sentences

    return next(iter(effect_sentences(found)))


def _write(found: "ChangeEffect", plan: "SessionPlan | None") -> None:
    from fourpatch.picture.change_effect_words import (
        EFFECT_HEADS,
        effect_details,
        effect_row,
        effect_sentences,
        expectation_sentence,
    )

    for sentence in effect_sentences(found):
        write_text(sentence)
    if plan is not None:
        beside = expectation_sentence(
            found,
            effect=plan.effect,
            computed_by=plan.computed_by,
            timed=plan.timed,
            on_a_track=plan.occasion.study is not None,
        )
        write_text(beside)
    if found.parts:
        heads = [Head(text=head, right=0 < place < 5) for place, head in enumerate(EFFECT_HEADS)]
        write_table(heads, [effect_row(one) for one in (found.lap, *found.parts)], title="Change of the time")
    write_heading("What it rests on")
    for sentence in effect_details(found):
        write_text(sentence)
    if plan is not None:
        write_text(CAUTION)
