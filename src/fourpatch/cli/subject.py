"""What a command is about, as it asks for it: a car with a set-up, a track, and where the answer goes."""

from collections.abc import Callable
from pathlib import Path
from typing import TYPE_CHECKING, Any, TypeVar

import click

if TYPE_CHECKING:
    from fourpatch.face.standing_car import StandingCar

F = TypeVar("F", bound=Callable[..., Any])


def car_argument(function: F) -> F:
    """Take a car: a demo car's name or a file."""
    return click.argument("car", metavar="CAR")(function)


def track_argument(function: F) -> F:
    """Take a track: a demo track's name or a file."""
    return click.argument("track", metavar="TRACK")(function)


def setup_option(function: F) -> F:
    """Take a set-up file."""
    return click.option(
        "--setup",
        "setup_file",
        metavar="FILE",
        help="Set-up file. Without it every adjuster is at its baseline.",
    )(function)


def track_option(function: F, *, required: bool = True) -> F:
    """Take the track that is driven."""
    without = "" if required else " Standard corners, scaled to the car, if left out."
    return click.option(
        "--track",
        "track_name",
        metavar="TRACK",
        required=required,
        help=f"Name of a demo track, or a track file.{without}",
    )(function)


def change_option(function: F) -> F:
    """Take the change of set-up that is asked about."""
    return click.option(
        "--change",
        "changes",
        multiple=True,
        required=True,
        metavar="CHANGE",
        help='"front bar=+2" for two steps up, "front bar=3" or "front toe=to -0.2" for a position; may be '
        "repeated.",
    )(function)


def good_option(function: F) -> F:
    """Take the set-up with which the car was good."""
    return click.option(
        "--good",
        "good_file",
        metavar="FILE",
        help="Set-up file with which the car did not do it: the changes lead back towards it, no farther.",
    )(function)


def force_option(function: F) -> F:
    """Take the wish to write over a file that is there."""
    return click.option("--force", is_flag=True, help="Write over a file that is there already.")(function)


def made_track_options(name: str, *, of_width: str = "Of the road.") -> Callable[[F], F]:
    """Take what a track is called and how it is laid that is made of something else.

    Parameters
    ----------
    name : what it is called if nothing is said.
    of_width : what is said of its width.
    """

    def take(function: F) -> F:
        function = force_option(function)
        for option in reversed(
            (
                click.option("--name", default=name, show_default=True, help="What the track is called."),
                click.option(
                    "--width",
                    type=click.FloatRange(3.0, 40.0),
                    default=10.0,
                    show_default=True,
                    metavar="METRES",
                    help=of_width,
                ),
                click.option(
                    "--open", "open_road", is_flag=True, help="Take it as a road with two ends, not as a lap."
                ),
                click.option(
                    "--reversed", "backward", is_flag=True, help="To be driven the other way round."
                ),
            )
        ):
            function = option(function)
        return function

    return take


def json_option(function: F) -> F:
    """Take the wish for JSON."""
    return click.option(
        "--json", "as_json", is_flag=True, help="Write JSON to standard output, and nothing else there."
    )(function)


def figure_option(function: F) -> F:
    """Take the name of a figure to write, and refuse a bad one before anything is computed."""
    return click.option(
        "--figure", metavar="FILE", callback=_writable, help="Draw it: a name ending in .svg, .png or .pdf."
    )(function)


def page_option(function: F) -> F:
    """Take the name of a page to write, and refuse a bad one before anything is computed."""
    return click.option(
        "--page",
        metavar="FILE",
        callback=_page_file,
        help="Write it as a page of its own, to print or send: a name ending in .html.",
    )(function)


def history_option(function: F) -> F:
    """Take the name of a file for the whole history."""
    return click.option(
        "--history",
        metavar="FILE",
        callback=_history_file,
        help="Write the whole history: .csv, or .nc for NetCDF (docs/json.md).",
    )(function)


def recording_option(function: F) -> F:
    """Take the name of a file for what sensors would record."""
    return click.option(
        "--recording",
        metavar="FILE",
        callback=_recording_file,
        help="Write what a club racer's sensors would record of it, run-up included: .csv, .parquet or "
        ".mf4. Invented noise, the same for the same --seed.",
    )(function)


def new_setup_option(function: F) -> F:
    """Take the name of a file for the set-up that is found."""
    return click.option("--output", "setup", metavar="FILE", help="Write the set-up to this file.")(
        force_option(function)
    )


def _recording_file(context: click.Context, option: click.Parameter, name: str | None) -> str | None:
    """Refuse a bad name before anything is computed."""
    from fourpatch.recording.recorder import refuse_other_endings

    if name is not None and not context.resilient_parsing:
        refuse_other_endings(Path(name))
    return name


def _history_file(context: click.Context, option: click.Parameter, name: str | None) -> str | None:
    """Refuse a bad name before anything is computed."""
    from fourpatch.runs.history_formats import refuse_other_formats

    if name is not None and not context.resilient_parsing:
        refuse_other_formats(Path(name))
    return name


def _page_file(context: click.Context, option: click.Parameter, name: str | None) -> str | None:
    """Refuse a bad name before anything is computed."""
    from fourpatch.document.saving import refuse_unwritable
    from fourpatch.errors import FileError

    if name is not None and not context.resilient_parsing:
        if not name.lower().endswith(".html"):
            raise FileError(f"{name}: a page is written as .html; change the ending of the name.")
        refuse_unwritable(Path(name))
    return name


def _writable(context: click.Context, option: click.Parameter, name: str | None) -> str | None:
    from fourpatch.picture.formats import refuse_other_formats

    if name is not None and not context.resilient_parsing:
        refuse_other_formats(Path(name))
    return name


def subject(car_name: str, setup_file: str | None) -> "StandingCar":
    """Return a car with the set-up of a file, or with its baseline.

    Raises
    ------
    FileError
        As `car_by_name`, and for what is wrong in the set-up file.
    """
    from fourpatch.face.standing_car import car

    return car(car_name, setup_file)
