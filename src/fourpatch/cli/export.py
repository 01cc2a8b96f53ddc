"""`fourpatch export`: a car, its baseline set-up, a track, or a driver's style, as a file to edit."""

from pathlib import Path

import click

from fourpatch.cli.output import note
from fourpatch.cli.subject import car_argument, force_option, setup_option, track_argument


@click.group()
def export() -> None:
    """Write a car, its baseline set-up, a track, or a driver's style as a file to edit."""


@export.command("car")
@car_argument
@click.argument("file")
@force_option
def export_car(car: str, file: str, force: bool) -> None:
    """Write CAR to FILE, every parameter with its unit and meaning beside it."""
    from fourpatch.car.files import save_car
    from fourpatch.face.named import car_by_name

    found = car_by_name(car)
    refuse_to_write_over(file, force)
    save_car(found, file)
    note(f"Wrote {file}. After editing: fourpatch check car {file}")


@export.command("setup")
@car_argument
@click.argument("file")
@force_option
def export_setup(car: str, file: str, force: bool) -> None:
    """Write the baseline set-up of CAR to FILE, each adjuster with its scale beside it."""
    from fourpatch.car.files import save_setup
    from fourpatch.car.setup import baseline_setup
    from fourpatch.face.named import car_by_name

    found = car_by_name(car)
    refuse_to_write_over(file, force)
    save_setup(baseline_setup(found), file, found)
    note(f"Wrote {file}. After editing: fourpatch check setup {file} --car {car}")


@export.command("track")
@track_argument
@click.argument("file")
@force_option
def export_track(track: str, file: str, force: bool) -> None:
    """Write TRACK to FILE, every quantity with its unit, and beside it the CSV files it names."""
    from fourpatch.face.named import track_by_name
    from fourpatch.track.files import save_track

    found = track_by_name(track)
    refuse_to_write_over(file, force)
    save_track(found, file)
    note(f"Wrote {file}. After editing: fourpatch check track {file}")


@export.command("style")
@click.argument("file")
@force_option
def export_style(file: str, force: bool) -> None:
    """Write the usual style of a driver to FILE, every habit with its unit and meaning beside it."""
    from fourpatch.events.driver_style import DriverStyle
    from fourpatch.events.style_file import save_style

    refuse_to_write_over(file, force)
    save_style(DriverStyle(), file)
    note(f"Wrote {file}. After editing: fourpatch check style {file}")


@export.command("rules")
@click.argument("file")
@force_option
def export_rules(file: str, force: bool) -> None:
    """Write the rules of thumb to FILE, as they are checked: a pattern for rules of your own."""
    from importlib.resources import files

    from fourpatch.advice.rules.catalogue import OURS
    from fourpatch.document.saving import write_texts

    refuse_to_write_over(file, force)
    write_texts({Path(file): (files("fourpatch.advice.rules") / OURS).read_text(encoding="utf-8")})
    note(f"Wrote {file}. Keep what you change under names of your own, then: advise rules CAR --own {file}")


@export.command("share")
@car_argument
@click.argument("file")
@setup_option
@click.option(
    "--question", default="", metavar="TEXT", help="A complaint in a driver's words, to be looked at."
)
@click.option("--lesson", metavar="FILE", help="Lesson of your own, about this car with this set-up.")
@force_option
def export_share(
    car: str, file: str, setup_file: str | None, question: str, lesson: str | None, force: bool
) -> None:
    """Write CAR, a set-up and a question or lesson to FILE, for another user to drop on a page of the app."""
    from fourpatch.car.writing import car_text
    from fourpatch.cli.subject import subject
    from fourpatch.document.saving import write_texts
    from fourpatch.notebook.kinds import Written, take
    from fourpatch.notebook.own_lesson import load_own_lesson
    from fourpatch.notebook.share import read_share, share_text

    about = subject(car, setup_file)
    refuse_to_write_over(file, force)
    own = Path(car)
    written = take(own) if own.suffix else Written(text=car_text(about.car))
    own_lesson = load_own_lesson(lesson) if lesson else None
    text = share_text(written, about.setup, about.car, question, own_lesson)
    read_share(text, file)  # what could not be taken is not given
    write_texts({Path(file): text})
    note(f"Wrote {file}. Taken by: fourpatch notebook take {file}, or dropped on a page of the app.")


def refuse_to_write_over(file: str, force: bool) -> None:
    """Keep a file that is there already, unless it is to be written over."""
    from fourpatch.errors import FileError

    if Path(file).exists() and not force:
        raise FileError(f"{file}: is there already. Choose another name, or say --force to write over it.")
