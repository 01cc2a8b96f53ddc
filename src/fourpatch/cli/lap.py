"""`fourpatch analyse lap` and `corners`: a car round a track, quasi-steadily, and through its corners."""

from typing import TYPE_CHECKING, Any

import click

from fourpatch.cli.output import dataset_content, note, number, write_json
from fourpatch.cli.quantity_type import SPEED, USE
from fourpatch.cli.subject import (
    Subject,
    car_argument,
    figure_option,
    json_option,
    setup_option,
    subject,
    track_by_name,
    track_option,
)

if TYPE_CHECKING:
    from matplotlib.figure import Figure

    from fourpatch.analysis.lap_summary import LapStudy

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
    from fourpatch.analysis.lap_summary import profile_rows
    from fourpatch.analysis.quantity import json_ready
    from fourpatch.cli.text.lap import write_lap

    about = subject(car, setup_file)
    study = _study(about, track_name, use, start_speed)
    if as_json:
        rows = {
            name: {"value": row.tolist(), "unit": unit}
            for name, (row, unit) in profile_rows(study.profile).items()
        }
        content = {**_content(about, study, use), "lap": json_ready(study.summary), "profile": rows}
        write_json("analyse lap", content)
    else:
        write_lap(study.summary, title=_source(about, study, use))
    if figure:
        from fourpatch.picture.lap import lap_figure

        question = "How fast is the car along the lap, and what holds it back?"
        _save(lap_figure(study, question=question, source=_source(about, study, use)), figure)


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
    from fourpatch.analysis.track_corners import CORNERS_USE, track_corners
    from fourpatch.cli.text.track_corners import write_track_corners

    about = subject(car, setup_file)
    use = CORNERS_USE if use is None else use
    study = _study(about, track_name, use, start_speed)
    found = track_corners(about.standing, study.profile, study.summary.corners)
    title = f"{_source(about, study, use)}; phases computed on the rig"
    if as_json:
        content = {
            **_content(about, study, use),
            "mode": "quasi-steady, then rig",
            "corners": json_ready(study.summary.corners),
            "phases": dataset_content(found),
        }
        write_json("analyse corners", content)
    else:
        write_track_corners(found, study.summary.corners, title=title)
    if figure:
        from fourpatch.picture.track_corners import track_corners_figure

        question = "Which axle runs out first in each corner, and is the car stable there?"
        _save(track_corners_figure(found, question=question, source=title), figure)


def _study(about: Subject, track_name: str, use: float, start_speed: float | None) -> "LapStudy":
    from fourpatch.analysis.lap_summary import study_lap
    from fourpatch.analysis.limits_map import Margins
    from fourpatch.cli.engine import announce_compilation

    track = track_by_name(track_name)
    announce_compilation()
    margins = Margins(braking=use, lateral=use, driving=use)
    return study_lap(about.standing, track, use=margins, start_speed=start_speed)


def _content(about: Subject, study: "LapStudy", use: float) -> dict[str, Any]:
    return {
        **about.content(),
        "track": study.track.name,
        "line": "least curvature",
        "mode": "quasi-steady",
        "use": number(use, "1"),
    }


def _source(about: Subject, study: "LapStudy", use: float) -> str:
    return f"{about.named}; {study.track.name}, {100.0 * use:g} % of the grip, computed quasi-steadily"


def _save(figure: "Figure", path: str) -> None:
    from pathlib import Path

    from fourpatch.picture.sheet import save

    save(figure, Path(path))
    note(f"Drew {path}.")
