"""`fourpatch estimate`: a whole car from what a driver knows of it."""

from pathlib import Path

import click

from fourpatch.cli.output import note, write_text
from fourpatch.cli.subject import force_option, made_track_options

EXAMPLE = """\
# What a driver knows of a car: copy, put in your own numbers, then
#   fourpatch estimate car brief.toml --output car.toml
name = "My car"                 # invented numbers below
mass = "1180 kg"                # with driver, without fuel
front_weight_share = "61 %"     # if you don't know this, power or a tyre size, leave it out
wheelbase = "2540 mm"
driven = "front"                # front, rear, all
power = "125 kW"
front_tyre = "205/50R16"
rear_tyre = "205/50R16"
grip = "semi-slick"             # road, sport-road, semi-slick, slick
body = "hatchback"              # {bodies}
downforce = "none"              # {levels}
"""


@click.group()
def estimate() -> None:
    """Estimate what nobody has measured."""


@estimate.command("car")
@click.argument("brief", required=False)
@click.option("--output", metavar="FILE", help="Where the car file goes.")
@click.option("--example", is_flag=True, help="Print a brief to start from.")
@force_option
def estimate_car(brief: str | None, output: str | None, example: bool, force: bool) -> None:
    """Make a whole car file from the about ten numbers in BRIEF.

    Weight share, power and tyre sizes may be left out: they are guessed from the kind of car, and what
    follows from them is less sure. Every number it adds carries its method and its spread; replace what you
    can measure.
    """
    from fourpatch.car.checks import oddities
    from fourpatch.car.estimate import estimate_car as estimated
    from fourpatch.car.estimation.guesses import guesses
    from fourpatch.car.files import load_brief, save_car
    from fourpatch.car.provenance import origins
    from fourpatch.cli.export import refuse_to_write_over

    if example:
        click.echo(example_brief(), nl=False)
        return
    if not brief or not output:
        raise click.UsageError("Give a brief and --output FILE; --example prints a brief to start from.")
    brief_read = load_brief(brief)
    car = estimated(brief_read)
    refuse_to_write_over(output, force)
    save_car(car, output)
    counted = origins(car)
    write_text(
        f"{car.name}: {counted['given']} parameters given, {counted['estimated']} estimated, each with its "
        "method and "
        f"spread in {output}."
    )
    if guessed := guesses(brief_read):
        words = "; ".join(one.words for one in guessed)
        write_text(f"Not known, so guessed: {words}. What follows from it is less sure.")
    for sentence in oddities(car):
        write_text(f"Odd, but possible: {sentence}")
    note(f"Wrote {output}. Next: fourpatch advise sensitivity {output}")


_TRACK_HEAD = """\
# A track as one remembers it: copy, put in your own, then
#   fourpatch estimate track sketch.txt --output track.toml
# A straight or a corner a line, from the start line on. A corner says left or right and what you know of it:
# a gear, a radius (40 m) or a speed (80 km/h); an angle (90 deg), or short, medium, long, hairpin;
# opening or closing.
"""


@estimate.command("track")
@click.argument("sketch", required=False)
@click.option("--output", metavar="FILE", help="Where the track file goes.")
@click.option("--example", is_flag=True, help="Print a sketch to start from.")
@click.option("--car", metavar="CAR", help="Whose gears they are; else usual ones.")
@made_track_options("Sketched track")
def estimate_track(
    sketch: str | None,
    output: str | None,
    example: bool,
    name: str,
    width: float,
    car: str | None,
    open_road: bool,
    backward: bool,
    force: bool,
) -> None:
    """Make a track file from corners told in words in the file SKETCH.

    What was estimated is said, and what was changed to close the lap.
    """
    from fourpatch.car.cornering_gears import cornering_speeds
    from fourpatch.cli.export import refuse_to_write_over
    from fourpatch.document.reading import file_text
    from fourpatch.face.named import car_by_name
    from fourpatch.track.checks import require_sound
    from fourpatch.track.files import save_track
    from fourpatch.track.layout import lay_out
    from fourpatch.track.sketch import EXAMPLE_SKETCH, GEAR_SPEEDS, lay_sketch, read_sketch, sketched_track
    from fourpatch.track.track import reversed_direction

    if example:
        click.echo(f"{_TRACK_HEAD}{EXAMPLE_SKETCH}")
        return
    if not sketch or not output:
        raise click.UsageError("Give a sketch and --output FILE; --example prints a sketch to start from.")
    gears = cornering_speeds(car_by_name(car)) if car else GEAR_SPEEDS
    laid = lay_sketch(read_sketch(file_text(Path(sketch)), gear_speeds=gears), closed=not open_road)
    track = sketched_track(laid, name=name, width=width)
    track = reversed_direction(track) if backward else track
    require_sound(track)
    refuse_to_write_over(output, force)
    save_track(track, output)
    write_text(f"{track.name}: {lay_out(track).length:.0f} m.")
    for sentence in (*laid.estimates, *laid.changes):
        write_text(sentence)
    note(f"Wrote {output}. Next: fourpatch analyse track {output} --figure map.png")


def example_brief() -> str:
    """Return a brief to start from, with the words it may use."""
    from typing import get_args

    from fourpatch.car.estimation.brief import CarBrief

    words = {
        key: ", ".join(get_args(CarBrief.model_fields[field].annotation))
        for key, field in (("bodies", "body"), ("levels", "downforce"))
    }
    return EXAMPLE.format(**words)
