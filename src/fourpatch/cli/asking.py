"""Commands made from questions: an option for each setting, and the answer as text, JSON, picture or page.

What a command takes is kept beside this file (`commands.json`, written by ``docs/generate.py`` from the
questions), so that help is there at once, without what computes the answers.
"""

import json
from dataclasses import replace
from functools import cache
from pathlib import Path
from typing import TYPE_CHECKING, Any

import click

from fourpatch.cli.long_work import leave_stopped, long_work
from fourpatch.cli.output import CAUTION, note, write_json, write_text
from fourpatch.cli.subject import (
    car_argument,
    change_option,
    figure_option,
    good_option,
    history_option,
    json_option,
    new_setup_option,
    page_option,
    recording_option,
    setup_option,
    subject,
    track_argument,
    track_option,
)

if TYPE_CHECKING:
    from collections.abc import Callable, Mapping

    from matplotlib.figure import Figure

    from fourpatch.answers.answer import Answer
    from fourpatch.answers.question import Asked, Question
    from fourpatch.events.files import Event

KEPT = Path(__file__).parent / "commands.json"


@cache
def kept() -> dict[str, Any]:
    """Return what the command of each question takes."""
    read: dict[str, Any] = json.loads(KEPT.read_text(encoding="utf-8"))
    return read


class Questions(click.Group):
    """A verb whose commands are questions, each made when it is asked for."""

    def list_commands(self, ctx: click.Context) -> list[str]:
        """Return the questions of the verb."""
        own = [name.partition(" ")[2] for name in kept() if name.startswith(f"{self.name} ")]
        return sorted({*own, *super().list_commands(ctx)})

    def get_command(self, ctx: click.Context, cmd_name: str) -> click.Command | None:
        """Return the command of one question."""
        takes = kept().get(f"{self.name} {cmd_name}")
        return _command(f"{self.name} {cmd_name}", takes) if takes else super().get_command(ctx, cmd_name)


def taken(question: "type[Question]") -> dict[str, Any]:
    """Return what the command of a question takes, to be kept."""
    import inspect

    from fourpatch.cli.events import setting_options

    options = [
        {
            "name": one.opts[0],
            "metavar": one.metavar,
            "help": one.help,
            "multiple": one.multiple,
            "is_flag": one.is_flag,
        }
        for one in setting_options(question)
        if one.name not in question.arguments
    ]
    return {
        "help": inspect.cleandoc(question.__doc__ or ""),
        "arguments": question.arguments,
        "options": options,
        "of": question.of,
        "of_a_change": question.of_a_change,
        "with_good": question.with_good,
        "events": bool(question.events),
        "drawn": question.drawn,
        "writes": question.writes,
    }


events_option = click.option(
    "--event",
    "event_files",
    multiple=True,
    metavar="FILE",
    help="Event file; may be repeated. Standard events if left out.",
)


_WRITERS = {"history": history_option, "recording": recording_option, "setup": new_setup_option}


def _command(name: str, takes: dict[str, Any]) -> click.Command:
    def asked(as_json: bool, page: str | None, figure: str | None = None, **given: Any) -> None:
        files = {"figure": figure, "page": page}
        files |= {written: given.pop(written) for written in takes["writes"]}
        _ask(name, given, files, as_json=as_json)

    command: Any = asked
    for written in reversed(takes["writes"]):
        command = _WRITERS[written](command)
    command = json_option(command)
    command = page_option(figure_option(command) if takes["drawn"] else command)
    if takes["events"]:
        command = events_option(command)
    of = takes["of"]
    if of != "track":
        command = setup_option(command)
    if of in ("car on a track", "car, on a track or not"):
        command = track_option(command, required=of == "car on a track")
    if takes["of_a_change"]:
        command = change_option(command)
    if takes["with_good"]:
        command = good_option(command)
    command = (track_argument if of == "track" else car_argument)(command)
    made = click.command(name.partition(" ")[2], help=takes["help"])(command)
    place = next(
        k
        for k, one in enumerate(made.params)
        if one.name in ("event_files", "as_json", "figure", "page", *takes["writes"])
    )
    made.params[place:place] = [
        click.Option(
            [one["name"]], **{key: told for key, told in one.items() if key != "name" and told is not False}
        )
        for one in takes["options"]
    ]
    made.params[1:1] = [click.Argument([one]) for one in takes["arguments"]]
    return made


def _ask(name: str, given: "Mapping[str, Any]", files: "Mapping[str, str | None]", *, as_json: bool) -> None:
    from fourpatch.answers.listing import question
    from fourpatch.cli.engine import announce_compilation
    from fourpatch.cli.events import part_from_options
    from fourpatch.cli.export import refuse_to_write_over
    from fourpatch.cli.screen import write_answer

    if new_setup := files.get("setup"):
        refuse_to_write_over(new_setup, given["force"])
    model = question(name)
    asked = _asked(model, given)
    what = part_from_options(model, {key: given[key] for key in model.model_fields})
    what.refuse(asked)
    announce_compilation()
    if model.takes_long:
        with long_work() as work:
            answer = what.answer(replace(asked, progress=work.progress, cancelled=work.cancelled))
    else:
        answer = what.answer(asked)
    if as_json:
        write_json(name, answer.content())
    else:
        write_answer(answer)
        if name.startswith(("advise", "run")):
            write_text(CAUTION)
    _write_files(what, asked, answer, files, car=given.get("car", ""))
    if answer.stopped:
        leave_stopped()


def _write_files(
    what: "Question", asked: "Asked", answer: "Answer", files: "Mapping[str, str | None]", *, car: str
) -> None:
    """Write what is wanted beside the answer."""
    from fourpatch.errors import EventError

    if history := files.get("history"):
        from fourpatch.runs.history import write_history

        known = asked.car.content() | {"car_file": car}
        write_history(what.history(asked, answer).assign_attrs(known), Path(history))
        note(f"Wrote the history to {history}.")
    if figure := files["figure"]:
        if answer.drawing is None:
            raise EventError(f"--figure: {what.nothing_drawn}")
        draw_answer(answer.drawing, figure)
    if page := files["page"]:
        write_page(answer, page)
    if new_setup := files.get("setup"):
        from fourpatch.car.files import save_setup

        save_setup(what.setup(asked, answer), Path(new_setup), asked.car.car)
        note(f"Wrote {new_setup}. To look at it: fourpatch check setup {new_setup} --car {car}")
    if recording := files.get("recording"):
        from fourpatch.recording.recorder import write_recording

        write_recording(what.recording(asked, answer), Path(recording))
        note(
            f"Wrote an invented recording of the lap to {recording}. To read it: fourpatch read recording "
            f"{recording} --open"
        )


def _asked(model: "type[Question]", given: "Mapping[str, Any]") -> "Asked":
    from fourpatch.answers.question import Asked
    from fourpatch.cli.events import events_from_files
    from fourpatch.face.named import track_by_name

    about = subject(given["car"], given["setup_file"]) if model.of != "track" else None
    named = given.get("track" if model.of == "track" else "track_name")
    track = track_by_name(named) if named else None
    events: dict[str, Event] = {}
    if given.get("event_files"):
        events |= events_from_files(given["event_files"], model.events, purpose=model.events_for)
    other = about.with_changes(given["changes"]) if about and model.of_a_change else None
    if about and given.get("good_file"):
        other = about.with_setup(given["good_file"])
    return Asked(about=about, other=other, track=track, events=events)


def draw_answer(draw: "Callable[[], Figure]", figure: str) -> None:
    """Draw the picture of an answer to a file, and say so."""
    from fourpatch.picture.sheet import save

    save(draw(), Path(figure))
    note(f"Drew {figure}.")


def write_page(answer: "Answer", name: str) -> None:
    """Write an answer as a page of its own.

    Raises
    ------
    FileError
        If it cannot be written.
    """
    from fourpatch.document.saving import write_texts
    from fourpatch.picture.page import page

    write_texts({Path(name): page(answer.title, answer.blocks)})
    note(f"Wrote {name}.")
