"""`fourpatch advise cure`: a complaint in, changes out."""

from typing import TYPE_CHECKING

import click

from fourpatch.cli.long_work import leave_stopped, long_work
from fourpatch.cli.output import CAUTION, note, write_json, write_origins, write_text
from fourpatch.cli.subject import (
    car_argument,
    figure_option,
    json_option,
    setup_option,
    subject,
)

if TYPE_CHECKING:
    from fourpatch.advice.complaint_text import Reading
    from fourpatch.car.setup import Setup
    from fourpatch.face.cured import Cured
    from fourpatch.face.standing_car import StandingCar
    from fourpatch.track.track import Track


@click.command()
@car_argument
@click.argument("complaint")
@click.option(
    "--track",
    "track_name",
    metavar="TRACK",
    help="Name of a demo track, or a track file: its corners, by number or speed, its bumps and its kerbs "
    "are then meant. Three corners, a class B road and a kerb scaled to the car if left out.",
)
@setup_option
@click.option(
    "--good",
    "good_file",
    metavar="FILE",
    help="Set-up file with which the car did not do it: the changes lead back towards it, no farther.",
)
@click.option(
    "--by",
    "wanted",
    type=click.FloatRange(min=0.0, min_open=True),
    metavar="NUMBER",
    help="By how much the complaint's number is to be moved, in its SI unit or in points; one complaint "
    "only. Without it as the complaint says (a little, clearly, badly), as was lost since --good, or what a "
    "driver feels.",
)
@click.option(
    "--draws",
    type=click.IntRange(0, 1000),
    default=32,
    show_default=True,
    help="Plausible cars to ask how sure the answer is; 0 to leave it out.",
)
@click.option("--seed", type=int, default=1, show_default=True, help="Of the draws.")
@json_option
@figure_option
def cure(
    car: str,
    complaint: str,
    track_name: str | None,
    setup_file: str | None,
    good_file: str | None,
    wanted: float | None,
    draws: int,
    seed: int,
    as_json: bool,
    figure: str | None,
) -> None:
    """Say what to change on CAR against COMPLAINT, in words: "pushes on entry in slow corners".

    A complaint says what the car does (pushes, loose, nervous, slow to answer, floats, hops, thrown off
    kerbs, bottoms, locks fronts, locks rears, spins the inside wheel, inconsistent), in which phase (braking,
    entry, mid, exit, straight) and where (slow, medium, fast corners, kerbs, bumps; with a track also the
    numbers of its corners: "turn 3", "T3"); several may be joined by "and".
    """
    from fourpatch.advice.complaint_text import read_complaint
    from fourpatch.cli.text.cure import cure_content, write_cure
    from fourpatch.face.named import track_by_name

    about = subject(car, setup_file)
    reading = read_complaint(complaint)
    track = track_by_name(track_name) if track_name else None
    good = subject(car, good_file).setup if good_file else None
    answer = _cured(about, reading, track, wanted, good)
    found = answer.cure
    if draws and not found.stopped:
        with long_work() as work:
            answer = answer.among_plausible(
                draws=draws, seed=seed, progress=work.progress, cancelled=work.cancelled
            )
    if as_json:
        write_json("advise cure", {**about.content(), "mode": "rig", **cure_content(answer)})
    else:
        write_cure(answer, about.named)
        write_origins(about.car)
        write_text(CAUTION)
    if figure:
        _draw(answer, figure)
    if found.stopped or (answer.sureness and answer.sureness.stopped):
        leave_stopped()


def _cured(
    about: "StandingCar",
    reading: "Reading",
    track: "Track | None",
    wanted: float | None,
    good: "Setup | None",
) -> "Cured":
    from fourpatch.cli.engine import announce_compilation
    from fourpatch.errors import AdviceError
    from fourpatch.face.cured import cured

    if wanted is not None and len(reading.complaints) > 1:
        raise AdviceError(
            f"--by {wanted:g} is for one complaint, and {len(reading.complaints)} were read. Put them one "
            "at a time, or leave it out."
        )
    announce_compilation()
    with long_work() as work:
        return cured(
            about.car,
            about.setup,
            reading,
            track=track,
            wanted=wanted,
            good=good,
            progress=work.progress,
            cancelled=work.cancelled,
        )


def _draw(answer: "Cured", figure: str) -> None:
    from pathlib import Path

    from fourpatch.picture.sheet import save

    save(answer.plot(), Path(figure))
    note(f"Drew {figure}.")
