"""`fourpatch advise cure`: a complaint in, changes out."""

from typing import TYPE_CHECKING

import click

from fourpatch.cli.long_work import leave_stopped, long_work
from fourpatch.cli.output import CAUTION, note, write_json, write_text
from fourpatch.cli.subject import (
    Subject,
    car_argument,
    figure_option,
    json_option,
    setup_option,
    subject,
    track_by_name,
)

if TYPE_CHECKING:
    from collections.abc import Sequence

    from fourpatch.advice.complaint import Complaint
    from fourpatch.advice.cure import Cure
    from fourpatch.advice.drive_check import DriveNumber
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
    "--by",
    "wanted",
    type=click.FloatRange(min=0.0, min_open=True),
    metavar="NUMBER",
    help="By how much the complaint's number is to be moved, in its SI unit or in points; one complaint "
    "only. "
    "Without it half of its distance from neutral, or as the complaint says: a little, clearly, badly.",
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
    from fourpatch.advice.because import reasons
    from fourpatch.advice.complaint_text import read_complaint
    from fourpatch.advice.draws import sureness
    from fourpatch.cli.advise import write_origins
    from fourpatch.cli.text.cure import CureAnswer, cure_content, write_cure

    about = subject(car, setup_file)
    reading = read_complaint(complaint)
    track = track_by_name(track_name) if track_name else None
    found = _cured(about, reading.complaints, track, wanted)
    first = found.sets[0] if found.sets else None
    sure = None
    if draws and not found.stopped:
        with long_work() as work:
            sure = sureness(
                about.car,
                about.setup,
                found,
                draws=draws,
                seed=seed,
                progress=work.progress,
                cancelled=work.cancelled,
            )
    answer = CureAnswer(
        reading=reading,
        cure=found,
        setup=about.setup,
        reasons=reasons(about.car, about.setup, found, first) if first else [],
        drive=_driven(about, found) if first else [],
        sureness=sure,
        drawn=bool(draws) and not found.stopped,
    )
    if as_json:
        write_json("advise cure", {**about.content(), "mode": "rig", **cure_content(answer)})
    else:
        write_cure(answer, about.named)
        write_origins(about)
        write_text(CAUTION)
    if figure:
        _draw(found, figure)
    if found.stopped or (sure and sure.stopped):
        leave_stopped()


def _cured(
    about: Subject, complaints: "Sequence[Complaint]", track: "Track | None", wanted: float | None
) -> "Cure":
    from fourpatch.advice.cure import cure as compute
    from fourpatch.cli.engine import announce_compilation
    from fourpatch.errors import AdviceError

    if wanted is not None and len(complaints) > 1:
        raise AdviceError(
            f"--by {wanted:g} is for one complaint, and {len(complaints)} were read. Put them one at a "
            "time, or "
            "leave it out."
        )
    announce_compilation()
    with long_work() as work:
        return compute(
            about.car,
            about.setup,
            complaints,
            track=track,
            wanted=None if wanted is None else [wanted],
            progress=work.progress,
            cancelled=work.cancelled,
        )


def _driven(about: Subject, found: "Cure") -> "list[DriveNumber]":
    from fourpatch.advice.drive_check import drive_check
    from fourpatch.car.setup import apply_setup

    changed = [apply_setup(about.car, one.setup) for one in found.sets]
    return drive_check(about.standing, changed, found.targets, found.course, found.driven)


def _draw(found: "Cure", figure: str) -> None:
    from pathlib import Path

    from fourpatch.picture.cure import cure_figure
    from fourpatch.picture.sheet import save

    save(cure_figure(found), Path(figure))
    note(f"Drew {figure}.")
