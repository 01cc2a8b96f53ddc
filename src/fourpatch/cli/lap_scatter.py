"""`fourpatch run laps`: one driver's laps, which are never twice alike."""

import sys
from typing import TYPE_CHECKING, Any

import click

from fourpatch.cli.output import note, number, write_json
from fourpatch.cli.quantity_type import BRAKE_POINT, CORNER_SPEED, HAND, PACE
from fourpatch.cli.subject import (
    Subject,
    car_argument,
    json_option,
    margin_option,
    setup_option,
    style_option,
    subject,
    track_by_name,
    track_option,
)

if TYPE_CHECKING:
    from fourpatch.analysis.lap_scatter import LapScatter
    from fourpatch.events.driver_style import DriverScatter


@click.command()
@car_argument
@track_option
@setup_option
@click.option(
    "--laps", type=click.IntRange(min=2, max=2000), default=40, show_default=True, help="How many to drive."
)
@click.option(
    "--pace",
    type=PACE,
    metavar="QUANTITY",
    help="Of the quasi-steady speeds, such as 92%; if left out, 2 % below the highest that the driver bears.",
)
@style_option
@click.option(
    "--brake-point", type=BRAKE_POINT, metavar="QUANTITY", help="Spread of where he brakes; 3 m if left out."
)
@click.option(
    "--corner-speed",
    type=CORNER_SPEED,
    metavar="QUANTITY",
    help="Spread of the speed he judges right for a corner; 0.6 % if left out.",
)
@click.option(
    "--steering",
    type=HAND,
    metavar="QUANTITY",
    help="Spread of the steering wheel about where he means to hold it; 1.15 deg if left out.",
)
@margin_option
@click.option(
    "--seed",
    type=click.IntRange(min=0),
    default=1,
    show_default=True,
    help="The same seed lays the same bumps and draws the same laps.",
)
@json_option
def laps(
    car: str,
    track_name: str,
    setup_file: str | None,
    style_file: str | None,
    as_json: bool,
    margin: float | None,
    **given: Any,
) -> None:
    """Drive CAR round a track many times with a driver's scatter: how repeatable is it?

    Each lap he brakes a little earlier or later, judges a corner's speed a little high or low, and his hands
    are not quite steady; spreads are one standard deviation.
    """
    from fourpatch.cli.text.lap_scatter import write_lap_scatter
    from fourpatch.events.style_file import load_style

    about, track = subject(car, setup_file), track_by_name(track_name)
    style = load_style(style_file) if style_file else None
    scatter = _scatter(given.pop("brake_point"), given.pop("corner_speed"), given.pop("steering"))
    found = _study(about, track, scatter=scatter, style=style, margin=margin, **given)
    if as_json:
        write_json("run laps", _content(about, track.name, scatter, found))
    else:
        title = f"{about.named}; {track.name}, {found.laps} laps, computed by the drive"
        write_lap_scatter(found, scatter, title=title)


def _scatter(
    brake_point: float | None, corner_speed: float | None, steering: float | None
) -> "DriverScatter":
    from fourpatch.events.driver_style import DriverScatter

    given = {"brake_point": brake_point, "corner_speed": corner_speed, "steering": steering}
    return DriverScatter(**{name: value for name, value in given.items() if value is not None})


def _study(about: Subject, track: Any, *, margin: float | None, **given: Any) -> "LapScatter":
    from fourpatch.analysis.lap_drive import DRIVER_MARGIN
    from fourpatch.analysis.lap_scatter import study_scatter
    from fourpatch.cli.engine import announce_compilation

    def tell(text: str) -> None:
        if sys.stderr.isatty():
            note(f"{text} ...")

    announce_compilation()
    room = DRIVER_MARGIN if margin is None else margin
    return study_scatter(about.standing, track, margin=room, progress=tell, **given)


def _content(about: Subject, track: str, scatter: "DriverScatter", found: "LapScatter") -> dict[str, Any]:
    from fourpatch.analysis.quantity import json_ready

    return {
        **about.content(),
        "track": track,
        "line": "least curvature",
        "mode": "drive",
        "scatter": {
            "brake_point": number(scatter.brake_point, "m"),
            "corner_speed": number(scatter.corner_speed, "1"),
            "steering": number(scatter.steering, "rad"),
        },
        "laps": json_ready(found),
    }
