"""`fourpatch advise base`: a base set-up of a car for a track, written as a set-up file."""

from pathlib import Path
from typing import TYPE_CHECKING, Any

import click

from fourpatch.cli.long_work import leave_stopped, long_work
from fourpatch.cli.output import CAUTION, note, write_json, write_origins, write_text
from fourpatch.cli.subject import car_argument, force_option, json_option, setup_option, subject
from fourpatch.document.content import number

if TYPE_CHECKING:
    from fourpatch.advice.base_borne import DriveWord
    from fourpatch.advice.base_setup import BaseSetup, BaseValue
    from fourpatch.advice.grip_cost import GripCost
    from fourpatch.advice.occasion import Occasion


@click.command()
@car_argument
@click.option(
    "--track",
    "track_name",
    metavar="TRACK",
    help="Name of a demo track, or a track file. Three corners, a class B road and a kerb scaled to the car "
    "if left out.",
)
@setup_option
@click.option(
    "--style",
    type=click.Choice(["calm", "neutral", "lively"]),
    default="neutral",
    show_default=True,
    help="How much understeer the driver wants: 3, 1.5 or 0 points of balance.",
)
@click.option("--output", metavar="FILE", help="Write the set-up to this file.")
@force_option
@json_option
def base(
    car: str,
    track_name: str | None,
    setup_file: str | None,
    style: str,
    output: str | None,
    force: bool,
    as_json: bool,
) -> None:
    """Compute a base set-up of CAR: stated targets in its own steps, refined by computing.

    Every value has its reason, and the range of steps in which it hardly matters. Stopped by Ctrl-C, it shows
    the best set-up known by then. Before it is shown the drive is asked: what it finds less stable in these
    corners, or slower on a lap, than the set-up given goes back towards that one.
    """
    from fourpatch.advice.base_setup import base_setup
    from fourpatch.advice.base_targets import STYLES
    from fourpatch.car.files import save_setup
    from fourpatch.cli.engine import announce_compilation
    from fourpatch.cli.export import refuse_to_write_over
    from fourpatch.cli.text.base import write_base
    from fourpatch.face.named import track_by_name

    about = subject(car, setup_file)
    track = track_by_name(track_name) if track_name else None
    if output:
        refuse_to_write_over(output, force)
    announce_compilation()
    chosen = next(one for one in STYLES if one == style)
    with long_work() as work:
        found = base_setup(
            about.car,
            about.setup,
            track=track,
            style=chosen,
            progress=work.progress,
            cancelled=work.cancelled,
        )
    if as_json:
        write_json("advise base", {**about.content(), "mode": "rig", **base_content(found)})
    else:
        write_base(found, title=f"Base set-up of {about.car.name} for {found.occasion.name}, style {style}")
        write_origins(about.car)
        write_text(CAUTION)
    if output:
        save_setup(found.setup, Path(output), about.car)
        note(f"Wrote {output}. To look at it: fourpatch check setup {output} --car {car}")
    if found.stopped:
        leave_stopped()


def base_content(found: "BaseSetup") -> dict[str, Any]:
    """Return a base set-up for JSON."""
    targets = found.targets
    return {
        "style": targets.style.name,
        "occasion": occasion_content(found.occasion),
        "targets": {
            "balance": number(targets.style.balance, "points"),
            "tyre_class": targets.tyre_class,
            "downforce_class": targets.downforce_class,
            "ride_frequency": {"value": targets.ride_frequency._asdict(), "unit": "Hz"},
            "roll_gradient": number(targets.roll_gradient, "rad*s**2/m"),
            "front_transfer_share": number(targets.front_transfer_share, "1"),
            "bump_ratio": number(targets.bump_ratio, "1"),
            "rebound_ratio": number(targets.rebound_ratio, "1"),
        },
        "values": {one.adjuster.name: value_content(one) for one in found.values},
        "cost": {
            "given": cost_content(found.given),
            "targets": cost_content(found.start),
            "found": cost_content(found.found),
        },
        "worse_parts": found.worse_parts,
        "drive": drive_content(found.drive),
        "tried": found.tried,
        "converged": found.converged,
        "stopped": found.stopped,
        "new_setup": {"name": found.setup.name, "values": found.setup.values},
    }


def drive_content(word: "DriveWord") -> dict[str, Any]:
    """Return what the drive says of a base set-up, for JSON; a lap or a turn that is not driven is null."""
    laps = word.laps
    return {
        "turns": [
            {
                "corner": one.corner,
                "radius": number(one.radius, "m"),
                "lateral_acceleration": number(one.lateral_acceleration, "m/s**2"),
                "given": number(one.given, "1/s"),
                "found": None if one.found is None else number(one.found, "1/s"),
            }
            for one in word.turns
        ],
        "not_asked": list(word.not_asked),
        "laps": None
        if laps is None
        else {
            "course": laps.course,
            "given": None if laps.given is None else number(laps.given, "s"),
            "found": None if laps.found is None else number(laps.found, "s"),
            "uncertainty": number(laps.uncertainty, "s"),
            "refused": laps.refused,
        },
        "why_no_laps": word.why_no_laps,
        "unstable": list(word.unstable),
        "slower": word.slower,
        "put_back": list(word.put_back),
        "given_back": word.given_back,
    }


def occasion_content(occasion: "Occasion") -> dict[str, Any]:
    """Return what a set-up is for, for JSON."""
    return {
        "name": occasion.name,
        "corners": {
            name: {
                "radius": number(corner.radius, "m"),
                "speed": number(corner.speed, "m/s"),
                "weight": number(occasion.weights[name], "1"),
            }
            for name, corner in occasion.corners.items()
        },
        "road_class": occasion.road.road_class,
        "road_speed": number(occasion.road.speed, "m/s"),
        "kerb_height": number(occasion.kerb.height, "m"),
        "kerb_share": number(occasion.kerb_share, "1"),
        "notes": list(occasion.notes),
    }


def value_content(one: "BaseValue") -> dict[str, Any]:
    """Return one value of a base set-up for JSON; positions are on the driver's own scale."""
    return {
        "position": one.position,
        "of_targets": one.target,
        "before": one.before,
        "scale": one.adjuster.unit,
        "because": one.because,
        "hardly_matters": None if one.low is None else [one.low, one.high],
        "cost_of_target": None if one.cost_of_target is None else number(one.cost_of_target, "points"),
        "map_known": not one.unknown,
    }


def cost_content(cost: "GripCost") -> dict[str, Any]:
    """Return what a set-up costs, for JSON."""
    from fourpatch.advice.grip_cost import PARTS

    parts = {name: number(float(value), "points") for name, value in zip(PARTS, cost.parts[0], strict=True)}
    return {**parts, "total": number(float(cost.total[0]), "points")}
