"""`fourpatch run lap`: a car driven round a track."""

from pathlib import Path
from typing import TYPE_CHECKING, Any

import click

from fourpatch.cli.long_work import leave_stopped, long_work
from fourpatch.cli.output import note, write_json
from fourpatch.cli.quantity_type import FLAT_KERB, KERB_SHARE, PACE
from fourpatch.cli.subject import (
    car_argument,
    figure_option,
    history_option,
    json_option,
    margin_option,
    setup_option,
    style_option,
    subject,
    track_option,
)
from fourpatch.document.content import number

if TYPE_CHECKING:
    from fourpatch.analysis.lap_drive import LapDrive
    from fourpatch.face.standing_car import StandingCar


def _recording_file(context: click.Context, option: click.Parameter, name: str | None) -> str | None:
    """Refuse a bad name before anything is computed."""
    from fourpatch.recording.recorder import refuse_other_endings

    if name is not None and not context.resilient_parsing:
        refuse_other_endings(Path(name))
    return name


@click.command()
@car_argument
@track_option
@setup_option
@click.option(
    "--pace",
    type=PACE,
    metavar="QUANTITY",
    help="Of the quasi-steady speeds, such as 97%; if left out, the driver practises until he knows, corner "
    "by corner, how fast the car stays on the road and in hand.",
)
@style_option
@margin_option
@click.option(
    "--kerb-share",
    type=KERB_SHARE,
    default=0.0,
    metavar="QUANTITY",
    help="How much of the width of flat kerbs the line may use, such as 50%; none if left out.",
)
@click.option(
    "--flat-kerb",
    type=FLAT_KERB,
    metavar="QUANTITY",
    help="Highest kerb that counts as flat; 30 mm if left out.",
)
@click.option(
    "--seed",
    type=click.IntRange(min=0),
    default=1,
    show_default=True,
    help="The same seed lays the same bumps.",
)
@json_option
@figure_option
@history_option
@click.option(
    "--recording",
    metavar="FILE",
    callback=_recording_file,
    help="Write what a club racer's sensors would record of it, run-up included: .csv, .parquet or .mf4. "
    "Invented noise, the same for the same --seed.",
)
def lap(
    car: str,
    track_name: str,
    setup_file: str | None,
    style_file: str | None,
    as_json: bool,
    figure: str | None,
    history: str | None,
    recording: str | None,
    **given: Any,
) -> None:
    """Drive CAR round a track with all degrees of freedom free, as fast as it can be held on the road.

    A driver with a style of his own follows the line of least curvature; the quasi-steady lap on the same
    line stands beside. Stopped by Ctrl-C, it shows the best lap known by then.
    """
    from fourpatch.cli.text.lap_drive import write_lap_drive
    from fourpatch.events.style_file import load_style
    from fourpatch.face.named import track_by_name

    about, track = subject(car, setup_file), track_by_name(track_name)
    style = load_style(style_file) if style_file else None
    study = _study(about, track, style, **given)
    if as_json:
        write_json("run lap", _content(about, study))
    else:
        write_lap_drive(study, title=_source(about, study))
    _write_files(about, car, study, figure, history)
    if recording:
        _write_recording(about, study, recording, seed=given["seed"])
    if study.stopped:
        leave_stopped()


def _study(
    about: "StandingCar",
    track: Any,
    style: Any,
    *,
    margin: float | None,
    flat_kerb: float | None,
    **given: Any,
) -> "LapDrive":
    from fourpatch.analysis.lap_drive import DRIVER_MARGIN, study_drive
    from fourpatch.cli.engine import announce_compilation
    from fourpatch.track.racing_line import FLAT_KERB as FLAT

    announce_compilation()
    with long_work() as work:
        return study_drive(
            about.standing,
            track,
            style=style,
            margin=DRIVER_MARGIN if margin is None else margin,
            flat_kerb=FLAT if flat_kerb is None else flat_kerb,
            progress=work.progress,
            cancelled=work.cancelled,
            **given,
        )


def _write_files(
    about: "StandingCar", car: str, study: "LapDrive", figure: str | None, history: str | None
) -> None:
    from fourpatch.runs.history import lap_dataset, write_history

    if history:
        lap = lap_dataset(study.run, 0, study.road, about.setup.name)
        write_history(lap.assign_attrs(about.content() | {"car_file": car}), Path(history))
        note(f"Wrote the history to {history}.")
    if figure:
        from fourpatch.picture.lap_drive import lap_drive_figure
        from fourpatch.picture.sheet import save

        question = "What does the driver do along the lap, and what does it do to the four tyres?"
        save(lap_drive_figure(study, question=question, source=_source(about, study)), Path(figure))
        note(f"Drew {figure}.")


def _write_recording(about: "StandingCar", study: "LapDrive", recording: str, *, seed: int) -> None:
    from fourpatch.recording.recorder import record, sensed, usual_sensors, write_recording
    from fourpatch.runs.history import lap_run

    run = sensed(lap_run(study.run, 0, study.road, about.setup.name), about.standing)
    write_recording(record(run, usual_sensors(), seed=seed), Path(recording))
    note(
        f"Wrote an invented recording of the lap to {recording}. To read it: fourpatch read recording "
        f"{recording} --open"
    )


def _content(about: "StandingCar", study: "LapDrive") -> dict[str, Any]:
    from fourpatch.analysis.quantity import json_ready

    return {
        **about.content(),
        "track": study.track.name,
        "line": "least curvature",
        "mode": "drive",
        "stopped": study.stopped,
        "margin": number(study.margin, "m"),
        "lap": json_ready(study.summary),
        "heat": None if study.heat is None else json_ready(study.heat),
    }


def _source(about: "StandingCar", study: "LapDrive") -> str:
    pace = f"pace {100.0 * study.summary.pace:.1f} %"
    how = "after practice" if study.summary.practice_laps else pace
    return f"{about.named}; {study.track.name}, {how}, computed by the drive"
