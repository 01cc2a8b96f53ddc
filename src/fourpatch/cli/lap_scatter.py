"""`fourpatch run laps`: one driver's laps, which are never twice alike."""

from pathlib import Path
from typing import TYPE_CHECKING, Any

import click

from fourpatch.cli.long_work import leave_stopped, long_work
from fourpatch.cli.output import note, write_json
from fourpatch.cli.quantity_type import BRAKE_POINT, CORNER_SPEED, HAND, PACE
from fourpatch.cli.subject import (
    car_argument,
    figure_option,
    json_option,
    margin_option,
    setup_option,
    style_option,
    subject,
    track_option,
)
from fourpatch.document.content import finite, number

if TYPE_CHECKING:
    import numpy as np
    from numpy.typing import NDArray

    from fourpatch.analysis.lap_scatter import ScatterStudy
    from fourpatch.events.driver_style import DriverScatter
    from fourpatch.face.standing_car import StandingCar


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
    help="Of the quasi-steady speeds, such as 92%; if left out, the driver practises and keeps back what his "
    "own unevenness asks for.",
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
@figure_option
def laps(
    car: str,
    track_name: str,
    setup_file: str | None,
    style_file: str | None,
    as_json: bool,
    figure: str | None,
    margin: float | None,
    **given: Any,
) -> None:
    """Drive CAR round a track many times with a driver's scatter: how repeatable is it?

    Each lap he brakes a little earlier or later, judges a corner's speed a little high or low, and his hands
    are not quite steady; spreads are one standard deviation. Stopped by Ctrl-C, it shows the laps driven by
    then.
    """
    from fourpatch.cli.text.lap_scatter import write_lap_scatter
    from fourpatch.events.style_file import load_style
    from fourpatch.face.named import track_by_name

    about, track = subject(car, setup_file), track_by_name(track_name)
    style = load_style(style_file) if style_file else None
    scatter = _scatter(given.pop("brake_point"), given.pop("corner_speed"), given.pop("steering"))
    study = _study(about, track, scatter=scatter, style=style, margin=margin, **given)
    if as_json:
        write_json("run laps", _content(about, study))
    else:
        write_lap_scatter(study, title=_source(about, study))
    if figure:
        _draw(about, study, Path(figure))
    if study.stopped:
        leave_stopped()


def _scatter(
    brake_point: float | None, corner_speed: float | None, steering: float | None
) -> "DriverScatter":
    from fourpatch.events.driver_style import DriverScatter

    given = {"brake_point": brake_point, "corner_speed": corner_speed, "steering": steering}
    return DriverScatter(**{name: value for name, value in given.items() if value is not None})


def _study(about: "StandingCar", track: Any, *, margin: float | None, **given: Any) -> "ScatterStudy":
    from fourpatch.analysis.lap_drive import DRIVER_MARGIN
    from fourpatch.analysis.lap_scatter import study_scatter
    from fourpatch.cli.engine import announce_compilation

    announce_compilation()
    room = DRIVER_MARGIN if margin is None else margin
    with long_work() as work:
        return study_scatter(
            about.standing,
            track,
            margin=room,
            progress=work.progress,
            cancelled=work.cancelled,
            **given,
        )


def _source(about: "StandingCar", study: "ScatterStudy") -> str:
    from fourpatch.picture.lap_meaning import laps_text

    return f"{about.named}; {study.track.name}, {laps_text(study.summary)}, computed by the drive"


def _draw(about: "StandingCar", study: "ScatterStudy", path: Path) -> None:
    from fourpatch.picture.lap_scatter import lap_scatter_figure
    from fourpatch.picture.sheet import save

    question = "How repeatable is this driver with this set-up on this track?"
    save(lap_scatter_figure(study, question=question, source=_source(about, study)), path)
    note(f"Drew {path}.")


def _content(about: "StandingCar", study: "ScatterStudy") -> dict[str, Any]:
    from fourpatch.analysis.quantity import json_ready

    scatter, laps = study.scatter, study.laps
    return {
        **about.content(),
        "track": study.track.name,
        "line": "least curvature",
        "mode": "drive",
        "stopped": study.stopped,
        "scatter": {
            "brake_point": number(scatter.brake_point, "m"),
            "corner_speed": number(scatter.corner_speed, "1"),
            "steering": number(scatter.steering, "rad"),
        },
        "laps": json_ready(study.summary),
        "each": {
            "good": laps.good.tolist(),
            "lap_time": numbers(laps.lap_time, "s"),
            "largest_sideslip": numbers(laps.largest_sideslip, "rad"),
            "least_reserve": numbers(laps.least_reserve, "1/s"),
        },
    }


def numbers(values: "NDArray[np.float64]", unit: str) -> dict[str, Any]:
    """Return a number per lap with their unit for JSON."""
    return {"value": [finite(value) for value in values.tolist()], "unit": unit}
