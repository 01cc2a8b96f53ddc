"""`fourpatch film`: a lap from above, one set-up or A against B, as MP4, WebM or GIF."""

from pathlib import Path
from typing import Any

import click

from fourpatch.cli.output import note
from fourpatch.cli.subject import car_argument, force_option, setup_option, subject, track_option


@click.group("film")
def film() -> None:
    """Film a lap, alone or A against B, for a phone or a lesson: 1280 x 720."""


def _checked(context: click.Context, parameter: click.Parameter, name: str) -> str:
    """Refuse a bad name before anything is computed."""
    from fourpatch.picture.film import refuse_other_endings

    if not context.resilient_parsing:
        refuse_other_endings(Path(name))
    return name


@film.command("lap")
@car_argument
@click.argument("file", callback=_checked)
@track_option
@setup_option
@click.option(
    "--change",
    "changes",
    multiple=True,
    metavar="CHANGE",
    help='B, beside the car as it is: "front bar=+2" for two steps up, "front bar=3" for a position.',
)
@click.option(
    "--start", type=click.FloatRange(0.0, 3600.0), default=0.0, metavar="SECONDS", help="In the lap of A."
)
@click.option(
    "--length",
    type=click.FloatRange(0.1, 120.0),
    metavar="SECONDS",
    help="Of the film; the whole lap if left out, 120 s at most.",
)
@click.option(
    "--slow",
    type=click.FloatRange(0.2, 20.0),
    default=1.0,
    show_default=True,
    metavar="NUMBER",
    help="Times slower than driven.",
)
@click.option(
    "--alike",
    type=click.Choice(["time", "place"]),
    default="time",
    show_default=True,
    help="Whether A and B are shown at the same time or at the same place.",
)
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
    force: bool,
) -> None:
    """Film a lap of CAR on a track, computed quasi-steadily, to FILE: .mp4, .webm, .gif; .png for a still."""
    from fourpatch.advice.change_text import read_changes
    from fourpatch.cli.engine import announce_compilation
    from fourpatch.cli.export import refuse_to_write_over
    from fourpatch.errors import EventError
    from fourpatch.face.named import track_by_name
    from fourpatch.picture.film import save_film
    from fourpatch.picture.lap_film import RATE, Filmed, LapFilm

    about = subject(car, setup_file)
    refuse_to_write_over(file, force)
    track = track_by_name(track_name)
    others = [about.with_setup(read_changes(about.car, about.setup, changes))] if changes else []
    announce_compilation()
    laps = [one.lap(track) for one in (about, *others)]
    names = ["A", f"B ({', '.join(changes)})"] if changes else [about.setup.name]
    filmed = tuple(Filmed(name=name, study=one.study) for name, one in zip(names, laps, strict=True))
    title = f"{about.car.name} on {track.name}"
    made = LapFilm(filmed, title=title, source=laps[0].source)
    left = made.lap_time - start
    if left <= 0.0:
        raise EventError(f"--start {start:g}: the lap is over after {made.lap_time:.1f} s. Begin earlier.")
    seconds = min(left * slow, 120.0) if length is None else length
    save_film(
        made.frames(start=start, seconds=seconds, rate=RATE, slow=slow, alike=alike), Path(file), rate=RATE
    )
    note(f"Wrote {file}.")
