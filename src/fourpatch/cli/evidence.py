"""`fourpatch evidence`: what was observed of a real car, written into its file or taken back."""

from pathlib import Path
from typing import TYPE_CHECKING, Any

import click

from fourpatch.cli.output import note, write_text

if TYPE_CHECKING:
    from collections.abc import Callable

    from fourpatch.car.car import Car


@click.group("evidence")
def evidence() -> None:
    """Write what was observed of a real car into its file, so that answers are about that car.

    Nothing in the car is changed: of all cars that its numbers with their spreads allow, those count that
    show what was observed. What each item taught: fourpatch analyse evidence CAR
    """


def _car_file(function: "Callable[..., Any]") -> "Callable[..., Any]":
    return click.argument("car_file", metavar="CAR_FILE")(function)


def _common(function: "Callable[..., Any]") -> "Callable[..., Any]":
    made = click.option("--note", "remark", metavar="TEXT", default="", help="When, where, by whom.")(
        function
    )
    made = click.option(
        "--with",
        "positions",
        multiple=True,
        metavar="POSITION",
        help='Where an adjuster stood: "front bar=3"; may be repeated. Baseline if left out.',
    )(made)
    return click.option("--setup", "setup_file", metavar="FILE", help="Set-up file that the car had then.")(
        made
    )


@evidence.command("reading")
@_car_file
@click.argument("quantity")
@click.argument("value")
@click.option("--spread", metavar="QUANTITY", default="", help='How far it may be off: "2 kg" or "1 %".')
@click.option("--radius", metavar="QUANTITY", help="Of the bend, for a bend speed.")
@_common
def reading(
    car_file: str,
    quantity: str,
    value: str,
    spread: str,
    radius: str | None,
    setup_file: str | None,
    positions: tuple[str, ...],
    remark: str,
) -> None:
    """Keep a number that was read: QUANTITY "FL corner weight" or "top speed", VALUE "372 kg", "212 km/h".

    Quantities: corner weight (FL, FR, RL, RR before it), total weight, front weight, cross weight, wheel rate
    and ride frequency (front or rear before it), roll per g, understeer per g, top speed, bend speed.
    """
    place, _, rest = quantity.partition(" ")
    named = place in ("FL", "FR", "RL", "RR", "front", "rear") and quantity != "front weight"
    _keep(
        car_file,
        setup_file,
        positions,
        {
            "kind": "reading",
            "quantity": rest if named else quantity,
            "place": place if named else "",
            "value": value,
            "spread": spread,
            "note": remark,
            **({"radius": radius} if radius else {}),
        },
    )


@evidence.command("words")
@_car_file
@click.argument("text")
@click.option("--nothing", is_flag=True, help="There is nothing of the kind: neither that nor its opposite.")
@click.option("--track", metavar="TRACK", default="", help="Demo track whose corners it names by number.")
@_common
def words(
    car_file: str,
    text: str,
    nothing: bool,
    track: str,
    setup_file: str | None,
    positions: tuple[str, ...],
    remark: str,
) -> None:
    """Keep what the driver says the car does: TEXT "loose on exit in slow corners"."""
    said = {"kind": "words", "text": text, "nothing": nothing, "track": track, "note": remark}
    _keep(car_file, setup_file, positions, said)


@evidence.command("comparison")
@_car_file
@click.argument("text")
@click.argument("outcome", type=click.Choice(["better", "no difference", "worse"]))
@click.option(
    "--change",
    "changes",
    multiple=True,
    required=True,
    metavar="CHANGE",
    help='What was changed: "front bar=+2"; may be repeated.',
)
@click.option("--track", metavar="TRACK", default="", help="Demo track whose corners it names by number.")
@_common
def comparison(
    car_file: str,
    text: str,
    outcome: str,
    changes: tuple[str, ...],
    track: str,
    setup_file: str | None,
    positions: tuple[str, ...],
    remark: str,
) -> None:
    """Keep what a change did for a complaint, TEXT "pushes on entry": better, no difference or worse."""
    said = {
        "kind": "comparison",
        "text": text,
        "outcome": outcome,
        "changes": list(changes),
        "track": track,
        "note": remark,
    }
    _keep(car_file, setup_file, positions, said)


@evidence.command("take-back")
@_car_file
@click.argument("number", type=click.IntRange(min=1))
def take_back(car_file: str, number: int) -> None:
    """Take item NUMBER of the evidence out of CAR_FILE; analyse evidence lists them."""
    from fourpatch.car.evidence_editing import without_evidence
    from fourpatch.car.files import load_car
    from fourpatch.document.reading import file_text
    from fourpatch.document.saving import write_texts
    from fourpatch.picture.evidence_words import item_text

    path = Path(car_file)
    car = load_car(path)
    changed = without_evidence(file_text(path), number)
    write_texts({path: changed})
    note(f"Took back {item_text(car.evidence[number - 1])}; {len(car.evidence) - 1} left in {car_file}.")


def _keep(car_file: str, setup_file: str | None, positions: tuple[str, ...], said: dict[str, Any]) -> None:
    """Write an item into a car's file, after it has been read as it will be used."""
    from fourpatch.car.evidence_editing import with_evidence
    from fourpatch.car.files import load_car
    from fourpatch.document.reading import file_text
    from fourpatch.document.saving import write_texts
    from fourpatch.evidence.kept import checked_item, demo_tracks
    from fourpatch.picture.evidence_words import item_text

    path = _own_file(car_file)
    car = load_car(path)
    said["setup"] = _positions(car, setup_file, positions)
    item, meaning = checked_item(car, said, demo_tracks([said["track"]] if said.get("track") else []))
    write_texts({path: with_evidence(file_text(path), item)})
    note(f"Kept as evidence {len(car.evidence) + 1} in {car_file}: {item_text(item)}.")
    write_text(f"It is about {meaning}. What it taught: fourpatch analyse evidence {car_file}")


def _own_file(name: str) -> Path:
    from fourpatch.car.demo import demo_names
    from fourpatch.errors import FileError

    if name in demo_names() and not Path(name).exists():
        raise FileError(
            f"{name}: is a demo car; evidence is kept in a file of your own. Make one: "
            f"fourpatch export car {name} my_car.toml, or fourpatch estimate car."
        )
    return Path(name)


def _positions(car: "Car", setup_file: str | None, positions: tuple[str, ...]) -> dict[str, float]:
    """Return where adjusters stood that were not at their baseline."""
    from fourpatch.advice.change_text import read_changes
    from fourpatch.car.files import load_setup
    from fourpatch.car.setup import baseline_setup

    base = baseline_setup(car)
    setup = load_setup(Path(setup_file), car) if setup_file else base
    if positions:
        setup = read_changes(car, setup, positions)
    return {name: value for name, value in setup.values.items() if value != base.values.get(name)}
