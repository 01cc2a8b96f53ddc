"""`fourpatch run`: a car through one event."""

import inspect
from typing import TYPE_CHECKING, Any

import click

from fourpatch.cli.asking import Questions
from fourpatch.cli.output import note, write_json, write_text
from fourpatch.cli.subject import (
    car_argument,
    figure_option,
    history_option,
    json_option,
    page_option,
    setup_option,
    subject,
)

if TYPE_CHECKING:
    from fourpatch.events.files import Event


class Events(Questions):
    """A command per kind of event, made when it is asked for; one for an event file, two for laps."""

    def list_commands(self, ctx: click.Context) -> list[str]:
        """Return the kinds of events, then ``event``, ``lap`` and ``laps``."""
        from fourpatch.events.files import EVENTS

        return [*EVENTS, *super().list_commands(ctx)]

    def get_command(self, ctx: click.Context, cmd_name: str) -> click.Command | None:
        """Return the command of one kind of event."""
        from fourpatch.events.files import EVENTS

        if cmd_name in EVENTS:
            return _command(cmd_name)
        return super().get_command(ctx, cmd_name)


@click.group(cls=Events)
def run() -> None:
    """Put a car through an event and sum up what happened.

    A quantity carries its unit: --speed "120 km/h".
    """


def _output_options(command: Any) -> Any:
    return setup_option(history_option(figure_option(page_option(json_option(command)))))


def _command(kind: str) -> click.Command:
    from fourpatch.cli.events import part_from_options, setting_options
    from fourpatch.events.files import EVENTS

    model = EVENTS[kind]

    @car_argument
    @_output_options
    def command(
        car: str,
        setup_file: str | None,
        history: str | None,
        figure: str | None,
        page: str | None,
        as_json: bool,
        **given: str | None,
    ) -> None:
        event = part_from_options(model, given)
        _run(car, setup_file, event, history=history, figure=figure, page=page, as_json=as_json)

    help_text = f"{inspect.cleandoc(model.__doc__ or '')}\n\nCAR is the name of a demo car or a car file."
    made = click.command(kind, help=help_text)(command)
    made.params[1:1] = setting_options(model)
    return made


@run.command("event")
@click.argument("file")
@car_argument
@_output_options
def run_event_file(
    file: str,
    car: str,
    setup_file: str | None,
    history: str | None,
    figure: str | None,
    page: str | None,
    as_json: bool,
) -> None:
    """Put CAR through the event of FILE (docs/event-file.md)."""
    from fourpatch.events.files import load_event

    _run(car, setup_file, load_event(file), history=history, figure=figure, page=page, as_json=as_json)


def _run(
    car: str,
    setup_file: str | None,
    event: "Event",
    *,
    history: str | None,
    figure: str | None,
    page: str | None,
    as_json: bool,
) -> None:
    from pathlib import Path

    from fourpatch.answers.run import run_answer
    from fourpatch.cli.asking import draw_answer, write_page
    from fourpatch.cli.engine import announce_compilation
    from fourpatch.cli.screen import write_answer
    from fourpatch.runs.history import write_history

    about = subject(car, setup_file)
    announce_compilation()
    done = about.run(event)
    # First of all: what was run is kept and drawn, whether or not it has the values of its kind.
    if history:
        write_history(done.dataset.assign_attrs(about.content() | {"car_file": car}), Path(history))
        note(f"Wrote the history to {history}.")
    if figure:
        draw_answer(done.plot, figure)
    answer = run_answer(about, done)
    if as_json:
        write_json(f"run {event.kind}", answer.content())
    else:
        write_answer(answer)
    if page:
        write_page(answer, page)
    if not (history or figure or as_json or page):
        write_text("More: --history out.csv writes every quantity against time, --figure out.svg draws it.")
