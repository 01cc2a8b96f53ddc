"""`fourpatch notebook`: where the notebook lies, its backups and their way back, and all of it elsewhere."""

from collections.abc import Callable
from pathlib import Path
from typing import Any, TypeVar

import click

from fourpatch.cli.export import refuse_to_write_over
from fourpatch.cli.output import note, write_json, write_table, write_text
from fourpatch.cli.subject import force_option, json_option
from fourpatch.errors import NotebookError

F = TypeVar("F", bound=Callable[..., Any])

BY = "command line"
"""Who makes a change."""


def notebook_option(function: F) -> F:
    """Take another notebook than the user's own."""
    return click.option(
        "--notebook",
        "chosen",
        metavar="FILE",
        help="The notebook; if left out, that of FOURPATCH_NOTEBOOK, else your own.",
    )(function)


@click.group()
def notebook() -> None:
    """Say where the notebook of the app lies, restore it, or bring all that is in it to another machine."""


@notebook.command("path")
@notebook_option
@json_option
def path(chosen: str | None, as_json: bool) -> None:
    """Say which file the notebook is, and which are its backups. Nothing is made."""
    from fourpatch.notebook.backup import backups
    from fourpatch.notebook.place import notebook_path

    file = notebook_path(chosen)
    copies = [str(one) for one in backups(file)]
    if as_json:
        write_json("notebook path", {"notebook": str(file), "exists": file.exists(), "backups": copies})
        return
    click.echo(str(file))
    if not file.exists():
        note("It is not there yet: fourpatch app makes it.")
    elif copies:
        write_text(f"Backups, the newest first: {len(copies)}")
    for one in copies:
        click.echo(one)


@notebook.command("units")
@click.argument("units", nargs=-1)
@notebook_option
@json_option
def units(units: tuple[str, ...], chosen: str | None, as_json: bool) -> None:
    """Choose the UNITS in which everything is shown: mph psi lb, or SI or imperial for all. None: say which.

    Kept beside the notebook, for commands, app and paper. JSON and files stay in the units they have.
    """
    from fourpatch.notebook.place import notebook_path
    from fourpatch.picture.chosen_units import CHOICES, chosen_now, keep, named, recall
    from fourpatch.picture.head import Head

    file = notebook_path(chosen)
    recall(file)
    if units:
        keep(named(units), file)
    shown = chosen_now()
    if as_json:
        write_json("notebook units", {"units": shown})
        return
    write_table(
        [Head(text=text, right=False) for text in ("what", "shown in", "there are")],
        [(what, shown[known[0]], ", ".join(known)) for what, known in CHOICES.items()],
    )


@notebook.command("backup")
@notebook_option
def backup(chosen: str | None) -> None:
    """Make a backup of the notebook now, beside it. Old ones are thinned by age."""
    from fourpatch.notebook.notebook import open_notebook

    with open_notebook(chosen) as opened:
        click.echo(str(opened.back_up()))


@notebook.command("restore")
@click.argument("backup", required=False)
@notebook_option
def restore(backup: str | None, chosen: str | None) -> None:
    """Put the file BACKUP in the place of the notebook; if left out, the newest backup that is sound.

    What stood there is kept beside the backups, and can be restored the same way. Close the app first.
    """
    from fourpatch.notebook.place import notebook_path
    from fourpatch.notebook.restoring import newest_sound_backup, restore

    file = notebook_path(chosen)
    taken = Path(backup) if backup else newest_sound_backup(file)
    aside = restore(file, taken)
    note(f"{file} is now as in {taken}.")
    if aside:
        note(f"What stood there is kept: {aside}")


@notebook.command("check")
@notebook_option
def check(chosen: str | None) -> None:
    """Look through all of the notebook: whether its file is whole, and every record can be read."""
    from fourpatch.notebook.database import refuse_damaged
    from fourpatch.notebook.notebook import open_notebook

    with open_notebook(chosen) as opened:
        refuse_damaged(opened.path)
        if faults := opened.unreadable():
            raise NotebookError("\n\n".join(faults))
    write_text("The notebook is whole, and every record can be read.")


@notebook.command("take")
@click.argument("file")
@notebook_option
def take(file: str, chosen: str | None) -> None:
    """Keep the car, set-up, question and lesson of the share file FILE. Nothing is written over."""
    from fourpatch.notebook.notebook import open_notebook
    from fourpatch.notebook.share import load_share, take_lesson, take_share

    found = load_share(Path(file))
    with open_notebook(chosen) as opened:
        version = take_share(opened, found, by=BY)
        name = opened.cars.get(version.car_id).entry.name
        lesson = None if found.lesson is None else take_lesson(opened, found.lesson, by=BY)
    write_text(f"{name}, set-up {version.name}.")
    if found.question:
        write_text(f"Asked: {found.question}")
    if lesson is not None:
        write_text(f"Lesson: {lesson.name}")


@notebook.command("export")
@click.argument("file")
@force_option
@notebook_option
def export(file: str, force: bool, chosen: str | None) -> None:
    """Write all that is in the notebook to the zip FILE, each thing as a file of this command line."""
    from fourpatch.notebook.notebook import open_notebook

    refuse_to_write_over(file, force)
    with open_notebook(chosen) as opened:
        left_out = opened.export_all(Path(file))
    for one in left_out:
        note(f"Left out: {one}")
    note(f"Wrote {file}. On the other machine: fourpatch notebook import {file}")


@notebook.command("import")
@click.argument("file")
@notebook_option
@json_option
def import_(file: str, chosen: str | None, as_json: bool) -> None:
    """Bring in all that is in the zip FILE and not yet here. Nothing is written over.

    Where there is another of the same name, what comes in is called "name (imported DATE)".
    """
    from fourpatch.notebook.notebook import open_notebook

    with open_notebook(chosen) as opened:
        came = opened.import_all(Path(file), by=BY)
    if as_json:
        write_json("notebook import", came.model_dump())
        return
    for names, what in (
        (came.added, "New"),
        (came.second, "New, beside another of that name"),
        (came.known, "Here already"),
    ):
        if names:
            write_text(f"{what}: {', '.join(names)}.")
    if not (came.added or came.second or came.known):
        write_text("The zip is of an empty notebook.")
