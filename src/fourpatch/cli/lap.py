"""`fourpatch analyse lap` and `corners`: a car round a track, quasi-steadily, and through its corners."""

from typing import TYPE_CHECKING, Any

import click

from fourpatch.cli.output import note, write_json
from fourpatch.cli.quantity_type import SPEED, USE
from fourpatch.cli.subject import (
    car_argument,
    figure_option,
    json_option,
    setup_option,
    subject,
    track_option,
)
from fourpatch.document.content import dataset_content, number

if TYPE_CHECKING:
    from matplotlib.figure import Figure

    from fourpatch.face.lap import Lap
    from fourpatch.face.standing_car import StandingCar

_start_speed = click.option(
    "--start-speed",
    type=SPEED,
    metavar="QUANTITY",
    help="At the start of an open track; as fast as its first place allows if left out.",
)


@click.command()
@car_argument
@track_option
@setup_option
@click.option(
    "--use",
    type=USE,
    default=1.0,
    metavar="QUANTITY",
    help="How much of the worse axle's grip is used, such as 95%; all of it if left out.",
)
@_start_speed
@json_option
@figure_option
def lap(
    car: str,
    track_name: str,
    setup_file: str | None,
    use: float,
    start_speed: float | None,
    as_json: bool,
    figure: str | None,
) -> None:
    """Lap of CAR on a track, computed quasi-steadily: time, sectors, speed in every corner, what limits."""
    from fourpatch.analysis.quantity import json_ready
    from fourpatch.cli.text.lap import write_lap

    about = subject(car, setup_file)
    found = _lap(about, track_name, use, start_speed)
    if as_json:
        rows = {
            str(name): {"value": row.values.tolist(), "unit": row.attrs["units"]}
            for name, row in found.dataset.variables.items()
        }
        content = {**_content(about, found), "lap": json_ready(found.summary), "profile": rows}
        write_json("analyse lap", content)
    else:
        write_lap(found.summary, title=found.source)
    if figure:
        _save(found.plot(), figure)


@click.command()
@car_argument
@track_option
@setup_option
@click.option(
    "--use",
    type=USE,
    metavar="QUANTITY",
    help="How much of the worse axle's grip the lap uses, such as 95%; 97% if left out.",
)
@_start_speed
@json_option
@figure_option
def corners(
    car: str,
    track_name: str,
    setup_file: str | None,
    use: float | None,
    start_speed: float | None,
    as_json: bool,
    figure: str | None,
) -> None:
    """Phases of every corner of a lap of CAR: who runs out of grip first, and how stable the car is."""
    from fourpatch.analysis.quantity import json_ready
    from fourpatch.analysis.track_corners import CORNERS_USE
    from fourpatch.cli.text.track_corners import write_track_corners

    about = subject(car, setup_file)
    found = _lap(about, track_name, CORNERS_USE if use is None else use, start_speed)
    phases, corners = found.phases(), found.summary.corners
    if as_json:
        content = {
            **_content(about, found),
            "mode": "quasi-steady, then rig",
            "corners": json_ready(corners),
            "phases": dataset_content(phases.dataset),
        }
        write_json("analyse corners", content)
    else:
        write_track_corners(phases.dataset, corners, title=phases.title)
    if figure:
        _save(phases.plot(), figure)


def _lap(about: "StandingCar", track_name: str, use: float, start_speed: float | None) -> "Lap":
    from fourpatch.cli.engine import announce_compilation
    from fourpatch.face.named import track_by_name

    track = track_by_name(track_name)
    announce_compilation()
    return about.lap(track, use=use, start_speed=start_speed)


def _content(about: "StandingCar", found: "Lap") -> dict[str, Any]:
    return {
        **about.content(),
        "track": found.study.track.name,
        "line": "least curvature",
        "mode": "quasi-steady",
        "use": number(found.use, "1"),
    }


def _save(figure: "Figure", path: str) -> None:
    from pathlib import Path

    from fourpatch.picture.sheet import save

    save(figure, Path(path))
    note(f"Drew {path}.")
