"""`fourpatch estimate`: a whole car from what a driver knows of it."""

import click

from fourpatch.cli.output import note, write_text

EXAMPLE = """\
# What a driver knows of a car: copy, put in your own numbers, then
#   fourpatch estimate car brief.toml --output car.toml
name = "My car"                 # invented numbers below
mass = "1180 kg"                # with driver, without fuel
front_weight_share = "61 %"
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
@click.option("--force", is_flag=True, help="Write over a file that is there already.")
def estimate_car(brief: str | None, output: str | None, example: bool, force: bool) -> None:
    """Make a whole car file from the about ten numbers in BRIEF.

    Every number it adds carries its method and its spread; replace what you can measure.
    """
    from fourpatch.car.checks import oddities
    from fourpatch.car.estimate import estimate_car as estimated
    from fourpatch.car.files import load_brief, save_car
    from fourpatch.cli.check import origins
    from fourpatch.cli.export import refuse_to_write_over

    if example:
        click.echo(example_brief(), nl=False)
        return
    if not brief or not output:
        raise click.UsageError("Give a brief and --output FILE; --example prints a brief to start from.")
    car = estimated(load_brief(brief))
    refuse_to_write_over(output, force)
    save_car(car, output)
    counted = origins(car)
    write_text(
        f"{car.name}: {counted['given']} parameters given, {counted['estimated']} estimated, each with its "
        "method and "
        f"spread in {output}."
    )
    for sentence in oddities(car):
        write_text(f"Odd, but possible: {sentence}")
    note(f"Wrote {output}. Next: fourpatch advise sensitivity {output}")


def example_brief() -> str:
    """Return a brief to start from, with the words it may use."""
    from typing import get_args

    from fourpatch.car.estimation.brief import CarBrief

    words = {
        key: ", ".join(get_args(CarBrief.model_fields[field].annotation))
        for key, field in (("bodies", "body"), ("levels", "downforce"))
    }
    return EXAMPLE.format(**words)
