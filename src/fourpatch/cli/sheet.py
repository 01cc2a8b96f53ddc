"""`fourpatch sheet`: what to pin up in the garage or to give away, as PDF or as one HTML file."""

from collections.abc import Callable
from pathlib import Path
from typing import TYPE_CHECKING, Any, TypeVar

import click

from fourpatch.cli.notebook import notebook_option
from fourpatch.cli.output import note
from fourpatch.cli.quantity_type import LAP_SCATTER
from fourpatch.cli.subject import car_argument, force_option, setup_option, subject

if TYPE_CHECKING:
    from fourpatch.advice.trial_plan import SessionPlan
    from fourpatch.face.cured import Cured
    from fourpatch.face.standing_car import StandingCar
    from fourpatch.picture.blocks import Block
    from fourpatch.track.track import Track

F = TypeVar("F", bound=Callable[..., Any])


@click.group("sheet")
def sheet() -> None:
    """Print a set-up, an answer or a day: PDF or one HTML file, legible in black and white."""


def _to_file(function: F) -> F:
    return click.option(
        "--paper", type=click.Choice(["a4", "letter"]), default="a4", show_default=True, help="Of a PDF."
    )(force_option(function))


def _file_argument(function: F) -> F:
    return click.argument("file", metavar="FILE", callback=_checked)(function)


def _checked(context: click.Context, parameter: click.Parameter, name: str) -> str:
    """Refuse a bad name before anything is computed."""
    from fourpatch.picture.paper import refuse_other_endings

    if not context.resilient_parsing:
        refuse_other_endings(Path(name))
    return name


@sheet.command("setup")
@car_argument
@_file_argument
@setup_option
@click.option(
    "--against", metavar="FILE", help="Set-up file that changes are marked against; else the baseline."
)
@_to_file
def setup(car: str, file: str, setup_file: str | None, against: str | None, paper: Any, force: bool) -> None:
    """Write where every adjuster of CAR stands to FILE, in order, changes marked, with room to write."""
    from fourpatch.car.files import load_setup
    from fourpatch.car.setup import baseline_setup
    from fourpatch.picture.setup_sheet import setup_sheet

    about = subject(car, setup_file)
    other = load_setup(against, about.car) if against else baseline_setup(about.car)
    blocks = setup_sheet(about.car, about.setup, other if setup_file or against else None)
    _write(about.named, blocks, file, paper, force)


@sheet.command("day")
@click.argument("meeting")
@_file_argument
@notebook_option
@_to_file
def day(meeting: str, file: str, chosen: str | None, paper: Any, force: bool) -> None:
    """Write the report of MEETING, of the notebook, to FILE."""
    from fourpatch.cli.log import named_meeting
    from fourpatch.notebook.notebook import open_notebook
    from fourpatch.picture.meeting_sheet import meeting_sheet

    with open_notebook(chosen) as opened:
        found = opened.meetings.read(named_meeting(opened, meeting).id)
    _write(found.name, meeting_sheet(found), file, paper, force)


@sheet.command("cure")
@car_argument
@click.argument("complaint")
@_file_argument
@click.option("--track", "track_name", metavar="TRACK", help="Name of a demo track, or a track file.")
@setup_option
@click.option(
    "--scatter",
    type=LAP_SCATTER,
    default="0.3 s",
    show_default=True,
    metavar="QUANTITY",
    help="Standard deviation of your lap time, for the test plan.",
)
@click.option(
    "--draws", type=click.IntRange(0, 1000), default=32, show_default=True, help="Plausible cars asked."
)
@_to_file
def cure(
    car: str,
    complaint: str,
    file: str,
    track_name: str | None,
    setup_file: str | None,
    scatter: float,
    draws: int,
    paper: Any,
    force: bool,
) -> None:
    """Write what cures COMPLAINT on CAR to FILE: cause, what to turn, price, how sure, how to try it."""
    from fourpatch.face.cure_blocks import cure_sheet
    from fourpatch.face.named import track_by_name

    about = subject(car, setup_file)
    track = track_by_name(track_name) if track_name else None
    answer, plan = _answered(about, complaint, track, scatter, draws)
    _write(about.named, list(cure_sheet(answer, plan)), file, paper, force)


def _answered(
    about: "StandingCar", complaint: str, track: "Track | None", scatter: float, draws: int
) -> "tuple[Cured, SessionPlan | None]":
    from fourpatch.advice.complaint_text import read_complaint
    from fourpatch.advice.trial_plan import session_plan
    from fourpatch.cli.engine import announce_compilation
    from fourpatch.cli.long_work import long_work
    from fourpatch.face.cured import cured

    reading = read_complaint(complaint)
    announce_compilation()
    with long_work() as work:
        watched: Any = {"progress": work.progress, "cancelled": work.cancelled}
        answer = cured(about.car, about.setup, reading, track=track, draws=draws, **watched)
        plan = None
        if answer.sets:
            changed = answer.sets[0].setup
            plan = session_plan(about.car, about.setup, changed, scatter=scatter, track=track, **watched)
    return answer, plan


def _write(title: str, blocks: "list[Block]", file: str, paper: Any, force: bool) -> None:
    from fourpatch.cli.export import refuse_to_write_over
    from fourpatch.picture.paper import save_sheet

    refuse_to_write_over(file, force)
    save_sheet(title, blocks, Path(file), paper=paper)
    note(f"Wrote {file}.")
