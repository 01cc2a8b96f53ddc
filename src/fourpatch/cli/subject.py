"""What a command is about: a car or a track, by the name of a demo or from a file, and a set-up of a car."""

import difflib
from collections.abc import Callable, Sequence
from dataclasses import dataclass
from pathlib import Path
from typing import TYPE_CHECKING, Any, TypeVar

import click

from fourpatch.cli.quantity_type import MARGIN
from fourpatch.errors import FileError

if TYPE_CHECKING:
    from fourpatch.car.car import Car
    from fourpatch.car.setup import Setup
    from fourpatch.track.track import Track

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


def track_option(function: F) -> F:
    """Take the track that a lap is about."""
    return click.option(
        "--track",
        "track_name",
        metavar="TRACK",
        required=True,
        help="Name of a demo track, or a track file.",
    )(function)


def style_option(function: F) -> F:
    """Take the driver's style file."""
    return click.option(
        "--style",
        "style_file",
        metavar="FILE",
        help="Style file of the driver: fourpatch export style FILE.",
    )(function)


def margin_option(function: F) -> F:
    """Take the room that a driver's line leaves at the edges."""
    return click.option(
        "--margin",
        type=MARGIN,
        metavar="QUANTITY",
        help="Between the side of the car on its line and the edge; 0.6 m if left out.",
    )(function)


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


def history_option(function: F) -> F:
    """Take the name of a file for the whole history."""
    return click.option(
        "--history",
        metavar="FILE",
        callback=_history_file,
        help="Write the whole history: .csv, or .nc for NetCDF (docs/json.md).",
    )(function)


def _history_file(context: click.Context, option: click.Parameter, name: str | None) -> str | None:
    """Refuse a bad name before anything is computed."""
    from fourpatch.runs.history_formats import refuse_other_formats

    if name is not None and not context.resilient_parsing:
        refuse_other_formats(Path(name))
    return name


def _writable(context: click.Context, option: click.Parameter, name: str | None) -> str | None:
    from fourpatch.picture.formats import refuse_other_formats

    if name is not None and not context.resilient_parsing:
        refuse_other_formats(Path(name))
    return name


@dataclass(frozen=True, slots=True, kw_only=True)
class Subject:
    """A car and the set-up it is looked at with."""

    car: "Car"
    """As written, its adjusters at baseline."""
    setup: "Setup"
    standing: "Car"
    """As it stands with the set-up."""

    @property
    def named(self) -> str:
        """Both names, for a title."""
        return f"{self.car.name}, set-up {self.setup.name}"

    def content(self) -> dict[str, Any]:
        """Both names, for JSON."""
        return {"car": self.car.name, "setup": self.setup.name}


def car_by_name(name: str) -> "Car":
    """Return a demo car by its name, or a car from its file.

    Raises
    ------
    FileError
        If there is neither; as `load_car` for what is wrong in a file.
    """
    from fourpatch.car.demo import demo_car, demo_names
    from fourpatch.car.files import load_car

    if name in demo_names():
        return demo_car(name)
    if Path(name).suffix or Path(name).exists():
        return load_car(name)
    raise _unknown(name, "car", demo_names())


def track_by_name(name: str) -> "Track":
    """Return a demo track by its name, or a track from its file.

    Raises
    ------
    FileError
        If there is neither; as `load_track` for what is wrong in a file.
    """
    from fourpatch.track.demo import demo_track, demo_track_names
    from fourpatch.track.files import load_track

    if name in demo_track_names():
        return demo_track(name)
    if Path(name).suffix or Path(name).exists():
        return load_track(name)
    raise _unknown(name, "track", demo_track_names())


def _unknown(name: str, what: str, demos: Sequence[str]) -> FileError:
    """Return the refusal of a name that is neither a demo nor a file."""
    near = difflib.get_close_matches(name, demos, n=1)
    meant = f" Did you mean {near[0]}?" if near else ""
    return FileError(
        f"{name}: there is no demo {what} of that name and no such file.{meant} Demo {what}s are "
        f"{', '.join(demos)}; a file is named with its ending, {name}.toml."
    )


def subject(car_name: str, setup_file: str | None) -> Subject:
    """Return a car with the set-up of a file, or with its baseline.

    Raises
    ------
    FileError
        As `car_by_name`, and for what is wrong in the set-up file.
    """
    from fourpatch.car.files import load_setup
    from fourpatch.car.setup import apply_setup, baseline_setup

    car = car_by_name(car_name)
    setup = load_setup(setup_file, car) if setup_file else baseline_setup(car)
    return Subject(car=car, setup=setup, standing=apply_setup(car, setup))
