"""`fourpatch check`: what is wrong with a file, what is odd about it, how much of it is estimated."""

from typing import Any

import click

from fourpatch.cli.events import settings_text
from fourpatch.cli.output import write_json, write_table, write_text
from fourpatch.cli.subject import json_option
from fourpatch.document.content import number, settings_content
from fourpatch.picture.head import Head

SOURCES = {
    "given": "given by you",
    "identified": "identified from a recording",
    "estimated": "estimated",
    "demo": "invented for a demo",
}


@click.group()
def check() -> None:
    """Check a car, set-up, event, track or style file. Everything that is wrong with it is said at once."""


@check.command("car")
@click.argument("file")
@json_option
def check_car(file: str, as_json: bool) -> None:
    """Check the car file FILE: faults, oddities, and where its numbers came from."""
    from fourpatch.car.checks import oddities
    from fourpatch.car.provenance import origins
    from fourpatch.face.named import car_by_name

    car = car_by_name(file)
    odd, shares = oddities(car), origins(car)
    if as_json:
        write_json("check car", {"car": car.name, "oddities": odd, "origins": shares})
        return
    write_text(f"{car.name}: no faults. {len(car.adjusters)} adjusters, {sum(shares.values())} parameters.")
    write_table(
        [
            Head(text="where the parameters came from", right=False),
            Head(text="count"),
            Head(text="share", unit="%"),
        ],
        [
            (SOURCES[source], str(count), f"{100.0 * count / sum(shares.values()):.0f}")
            for source, count in shares.items()
            if count
        ],
    )
    if not odd:
        write_text("Nothing looks odd.")
    for sentence in odd:
        write_text(f"Odd, but possible: {sentence}")


@check.command("setup")
@click.argument("file")
@click.option("--car", required=True, metavar="CAR", help="The car it is for.")
@json_option
def check_setup(file: str, car: str, as_json: bool) -> None:
    """Check the set-up file FILE against the car it is for."""
    from fourpatch.car.checks import oddities
    from fourpatch.cli.subject import subject

    found = subject(car, file)
    moved = {
        one.name: found.setup.position(one)
        for one in found.car.adjusters
        if found.setup.position(one) != one.baseline
    }
    before = set(oddities(found.car))
    odd = [sentence for sentence in oddities(found.standing) if sentence not in before]
    if as_json:
        content: dict[str, Any] = {**found.content(), "moved": moved, "oddities": odd}
        write_json("check setup", content)
        return
    write_text(f"{found.setup.name}: no faults, and {found.car.name} can stand with it.")
    if moved:
        baselines = {one.name: one for one in found.car.adjusters}
        write_table(
            [
                Head(text="moved from baseline", right=False),
                Head(text="baseline"),
                Head(text="set"),
                Head(text="unit", right=False),
            ],
            [
                (name, f"{baselines[name].baseline:g}", f"{value:g}", baselines[name].unit)
                for name, value in moved.items()
            ],
        )
    else:
        write_text("Every adjuster is at its baseline.")
    for sentence in odd:
        write_text(f"Odd, but possible: {sentence}")


@check.command("event")
@click.argument("file")
@json_option
def check_event(file: str, as_json: bool) -> None:
    """Check the event file FILE."""
    from fourpatch.events.files import load_event

    event = load_event(file)
    if as_json:
        write_json("check event", {"event": event.kind, "settings": settings_content(event)})
        return
    write_text(f"{event.kind}: no faults.")
    write_table(
        [Head(text="setting", right=False), Head(text="value", right=False)],
        list(settings_text(event).items()),
    )


@check.command("track")
@click.argument("file")
@json_option
def check_track(file: str, as_json: bool) -> None:
    """Check the track file FILE and the CSV files it names."""
    from fourpatch.face.named import track_by_name
    from fourpatch.track.layout import lay_out

    track = track_by_name(file)
    layout = lay_out(track)
    if as_json:
        content = {
            "track": track.name,
            "length": number(layout.length, "m"),
            "closed": layout.closed,
            "adjustment": layout.adjustment,
        }
        write_json("check track", content)
        return
    kind = "a lap" if layout.closed else "from start to end"
    write_text(f"{track.name}: no faults. It is {kind}, {layout.length:.2f} m long.")
    write_text(f"Centre line: {layout.adjustment}.")


@check.command("style")
@click.argument("file")
@json_option
def check_style(file: str, as_json: bool) -> None:
    """Check the driver's style file FILE."""
    from fourpatch.events.driver_style import DriverStyle
    from fourpatch.events.style_file import load_style

    style = load_style(file)
    if as_json:
        write_json("check style", {"settings": settings_content(style)})
        return
    usual = settings_text(DriverStyle())
    write_text("A driver's style: no faults.")
    write_table(
        [
            Head(text="habit", right=False),
            Head(text="value", right=False),
            Head(text="usual", right=False),
        ],
        [(name, value, usual[name]) for name, value in settings_text(style).items()],
    )


@check.command("gpu")
@json_option
def check_gpu(as_json: bool) -> None:
    """Say whether a GPU is found that many laps can be driven on, or why not."""
    from fourpatch.compute.gpu import find_gpu

    found = find_gpu()
    if as_json:
        name, why = (None, found) if isinstance(found, str) else (found.name, "")
        write_json("check gpu", {"gpu": name, "why_not": why})
    elif isinstance(found, str):
        write_text(f"No GPU is used: {found}. Laps are driven on the processor's cores.")
    else:
        write_text(
            f"{found.name}, {found.multiprocessors} multiprocessors, {found.memory / 1e9:.0f} GB: many laps "
            "at once are driven on it."
        )
