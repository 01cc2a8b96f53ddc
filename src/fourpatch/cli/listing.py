"""`fourpatch list`: the demo cars and tracks, and what can be changed on a car."""

import click

from fourpatch.cli.output import write_json, write_table, write_text
from fourpatch.cli.subject import car_argument, json_option
from fourpatch.picture.head import Head


@click.group("list")
def listing() -> None:
    """List the demo cars, the demo tracks, or the adjusters of a car."""


@listing.command("cars")
@json_option
def cars(as_json: bool) -> None:
    """List the demo cars. All are invented."""
    from fourpatch.car.demo import demo_car, demo_names

    found = {name: demo_car(name) for name in demo_names()}
    if as_json:
        content = [{"name": name, "car": car.name, "note": car.note} for name, car in found.items()]
        write_json("list cars", {"cars": content})
        return
    write_table(
        [Head(text="CAR", right=False), Head(text="what it is", right=False)],
        [(name, f"{car.name}. {car.note}") for name, car in found.items()],
    )
    write_text(
        "Any of these names stands where a command asks for CAR. To make one your own: fourpatch export car."
    )


@listing.command("tracks")
@json_option
def tracks(as_json: bool) -> None:
    """List the demo tracks. All are invented."""
    from fourpatch.track.demo import demo_track, demo_track_names

    found = {name: demo_track(name) for name in demo_track_names()}
    if as_json:
        content = [{"name": name, "track": track.name, "note": track.note} for name, track in found.items()]
        write_json("list tracks", {"tracks": content})
        return
    write_table(
        [Head(text="TRACK", right=False), Head(text="what it is", right=False)],
        [(name, f"{track.name}. {track.note}") for name, track in found.items()],
    )
    write_text(
        "Any of these names stands where a command asks for TRACK. To make one your own: fourpatch export "
        "track."
    )


@listing.command("adjusters")
@car_argument
@json_option
def adjusters(car: str, as_json: bool) -> None:
    """List what can be changed on CAR: scale, baseline, and what a higher number does."""
    from fourpatch.face.named import car_by_name
    from fourpatch.picture.shown import pretty

    found = car_by_name(car)
    if as_json:
        fields = {
            "name",
            "system",
            "axle",
            "unit",
            "lowest",
            "highest",
            "step",
            "baseline",
            "stiffer",
            "more_means",
        }
        content = [one.model_dump(include=fields) for one in found.adjusters]
        write_json("list adjusters", {"car": found.name, "adjusters": content})
        return
    write_table(
        [
            Head(text="adjuster", right=False),
            Head(text="scale", right=False),
            Head(text="step"),
            Head(text="baseline"),
            Head(text="stiffer", right=False),
            Head(text="a higher number means", right=False),
        ],
        [
            (
                one.name,
                f"{one.lowest:g} to {one.highest:g} {pretty(one.unit)}".rstrip(),
                f"{one.step:g}",
                f"{one.baseline:g}",
                {"up": "up", "down": "down", "none": "-"}[one.stiffer],
                one.more_means,
            )
            for one in found.adjusters
        ],
        title=f"What can be changed on {found.name}",
    )
    write_text("A set-up file to edit: fourpatch export setup CAR FILE.")
