"""`fourpatch film`: a lap from above or an event, one set-up or A against B, as MP4, WebM or GIF."""

from collections.abc import Callable
from pathlib import Path
from typing import TYPE_CHECKING, Any

import click

from fourpatch.cli.output import note
from fourpatch.cli.subject import car_argument, force_option, setup_option, subject, track_option

if TYPE_CHECKING:
    from collections.abc import Iterator

    from fourpatch.face.standing_car import StandingCar
    from fourpatch.picture.moving_sheet import Frame, MovingSheet

RATE = 25
"""Frames per second."""


@click.group("film")
def film() -> None:
    """Film a lap or an event, alone or A against B, for a phone or a lesson: 1280 x 720."""


def _checked(context: click.Context, parameter: click.Parameter, name: str) -> str:
    """Refuse a bad name before anything is computed."""
    from fourpatch.picture.film import refuse_other_endings

    if not context.resilient_parsing:
        refuse_other_endings(Path(name))
    return name


_change = click.option(
    "--change",
    "changes",
    multiple=True,
    metavar="CHANGE",
    help='B, beside the car as it is: "front bar=+2" for two steps up, "front bar=3" for a position.',
)
_start = click.option(
    "--start",
    type=click.FloatRange(0.0, 3600.0),
    default=0.0,
    metavar="SECONDS",
    help="In the lap of A, or in the event.",
)
_length = click.option(
    "--length",
    type=click.FloatRange(0.1, 120.0),
    metavar="SECONDS",
    help="Of the film; the whole of it if left out, 120 s at most.",
)
_caption = click.option("--caption", default="", metavar="TEXT", help="What is said below the title.")


def _slow(usual: float) -> Callable[[Any], Any]:
    return click.option(
        "--slow",
        type=click.FloatRange(0.2, 20.0),
        default=usual,
        show_default=True,
        metavar="NUMBER",
        help="Times slower than it was.",
    )


@film.command("lap")
@car_argument
@click.argument("file", callback=_checked)
@track_option
@setup_option
@_change
@_start
@_length
@_slow(1.0)
@click.option(
    "--alike",
    type=click.Choice(["time", "place"]),
    default="time",
    show_default=True,
    help="Whether A and B are shown at the same time or at the same place.",
)
@_caption
@force_option
def lap(
    car: str,
    file: str,
    track_name: str,
    setup_file: str | None,
    changes: tuple[str, ...],
    start: float,
    length: float | None,
    slow: float,
    alike: Any,
    caption: str,
    force: bool,
) -> None:
    """Film a lap of CAR on a track, computed quasi-steadily, to FILE.

    By its ending .mp4, .webm or .gif; .png and .svg are its first picture.
    """
    from fourpatch.cli.engine import announce_compilation
    from fourpatch.face.named import track_by_name
    from fourpatch.picture.lap_film import Filmed, LapFilm

    cars, names = _cars(car, setup_file, changes, file, force)
    track = track_by_name(track_name)
    announce_compilation()
    laps = [one.lap(track) for one in cars]
    filmed = tuple(Filmed(name=name, study=one.study) for name, one in zip(names, laps, strict=True))
    made = LapFilm(
        filmed, title=f"{cars[0].car.name} on {track.name}", source=laps[0].source, caption=caption
    )
    seconds = _seconds(made.lap_time, start, length, slow, "the lap")
    _save(made, made.frames(start=start, seconds=seconds, rate=RATE, slow=slow, alike=alike), file)


@film.command("event")
@car_argument
@click.argument("event")
@click.argument("file", callback=_checked)
@setup_option
@_change
@_start
@_length
@_slow(4.0)
@_caption
@force_option
def event(
    car: str,
    event: str,
    file: str,
    setup_file: str | None,
    changes: tuple[str, ...],
    start: float,
    length: float | None,
    slow: float,
    caption: str,
    force: bool,
) -> None:
    """Film CAR in EVENT, of the rig or of the drive, to FILE.

    EVENT is an event file, or a kind of event as it is where nothing is set, such as kerb-strike, step-steer,
    corner or braking-in-a-turn. FILE ends in .mp4, .webm or .gif; .png and .svg are its first picture.
    """
    from fourpatch.cli.engine import announce_compilation
    from fourpatch.face.filmed_event import event_film

    cars, names = _cars(car, setup_file, changes, file, force)
    announce_compilation()
    made = event_film(cars, names, event, caption=caption)
    seconds = _seconds(made.length, start, length, slow, "the event")
    _save(made, made.frames(start=start, seconds=seconds, rate=RATE, slow=slow), file)


def _cars(
    car: str, setup_file: str | None, changes: tuple[str, ...], file: str, force: bool
) -> "tuple[list[StandingCar], list[str]]":
    """Return the car, and with changes beside it, and what they are called."""
    from fourpatch.cli.export import refuse_to_write_over

    about = subject(car, setup_file)
    refuse_to_write_over(file, force)
    if not changes:
        return [about], [about.setup.name]
    return [about, about.with_changes(changes)], ["A", f"B ({', '.join(changes)})"]


def _seconds(whole: float, start: float, length: float | None, slow: float, what: str) -> float:
    """Return how long the film is."""
    from fourpatch.errors import EventError

    left = whole - start
    if left <= 0.0:
        raise EventError(f"--start {start:g}: {what} is over after {whole:.1f} s. Begin earlier.")
    return min(left * slow, 120.0) if length is None else length


def _save(made: "MovingSheet", frames: "Iterator[Frame]", file: str) -> None:
    from fourpatch.picture.film import save_film

    save_film(frames, Path(file), of=made, rate=RATE)
    note(f"Wrote {file}.")
