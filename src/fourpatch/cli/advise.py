"""`fourpatch advise`: what to change, and what it does."""

from typing import TYPE_CHECKING, get_args

import click

from fourpatch.cli.asking import Questions
from fourpatch.cli.base import base
from fourpatch.cli.cure import cure
from fourpatch.cli.did_it_help import did_it_help
from fourpatch.cli.long_work import long_work
from fourpatch.cli.output import CAUTION, note, write_json, write_text
from fourpatch.cli.subject import car_argument, figure_option, json_option, setup_option, subject

if TYPE_CHECKING:
    from fourpatch.advice.sensitivity import EffectTable
    from fourpatch.face.standing_car import StandingCar


BALANCE = (
    "Balance is 100 (U front - U rear), U being the share of its grip that an axle uses, averaged over the "
    "phase. "
    "A change above 0 is towards understeer, below 0 towards oversteer."
)


@click.group(cls=Questions)
def advise() -> None:
    """Say what a change does, and what to change."""


advise.add_command(base)
advise.add_command(did_it_help)
advise.add_command(cure)


@advise.command()
@car_argument
@setup_option
@click.option(
    "--event",
    "event_files",
    multiple=True,
    metavar="FILE",
    help="Event file; may be repeated. Three corners, a rough road and a kerb scaled to the car if left out.",
)
@click.option("--corner", metavar="NAME", help="The corner to show, or all of them: all.")
@click.option("--sort-by", metavar="MEASURE", help="A measure or parts of its name: entry, kerb.body_throw.")
@click.option("--all", "everything", is_flag=True, help="Every measure of every adjuster.")
@json_option
@figure_option
def sensitivity(
    car: str,
    setup_file: str | None,
    event_files: tuple[str, ...],
    corner: str | None,
    sort_by: str | None,
    everything: bool,
    as_json: bool,
    figure: str | None,
) -> None:
    """Compute what one step of every adjuster of CAR does, down and up, phase by phase."""
    from fourpatch.cli.text.sensitivity import (
        bumps_of,
        chosen_measures,
        effect_content,
        write_all,
        write_bumps,
        write_corner,
    )

    about = subject(car, setup_file)
    table = effects(about, event_files)
    order = table.order(chosen_measures(table, sort_by)) if sort_by else None
    corners = _shown_corners(table, corner)
    if as_json:
        write_json("advise sensitivity", {**about.content(), "mode": "rig", **effect_content(table)})
    else:
        write_text(f"{about.named}: what one step does, computed on the rig; the same motion for every step.")
        write_text(BALANCE)
        if everything:
            write_all(table, order or table.order(table.balance_measures()))
        else:
            for name in corners:
                write_corner(table, name, order)
            for name in bumps_of(table):
                write_bumps(table, name, order)
        write_origins(about)
        write_text(CAUTION)
    if figure:
        draw_effects(table, corners[0] if corners else "", figure)


def effects(about: "StandingCar", event_files: tuple[str, ...] = ()) -> "EffectTable":
    """Compute what one step of every adjuster does, saying meanwhile what is being computed."""
    from fourpatch.advice.sensitivity import sensitivity as compute
    from fourpatch.cli.engine import announce_compilation
    from fourpatch.cli.events import events_from_files
    from fourpatch.events.bumps import BumpEvent
    from fourpatch.events.corner import Corner

    announce_compilation()
    kinds = (Corner, *get_args(BumpEvent))
    events: dict[str, Corner | BumpEvent] = events_from_files(
        event_files, kinds, purpose="the effect of a step is computed"
    )
    with long_work() as work:
        return compute(
            about.car,
            about.setup,
            events=events or None,
            progress=work.progress,
            cancelled=work.cancelled,
        )


def _shown_corners(table: "EffectTable", wanted: str | None) -> list[str]:
    """Return the corners to show: the one asked for, all, or the middle one of those there are."""
    from fourpatch.cli.text.sensitivity import corners_of
    from fourpatch.errors import EventError

    corners = corners_of(table)
    if wanted == "all":
        return corners
    if wanted is None:
        return corners[len(corners) // 2 : len(corners) // 2 + 1]
    if wanted not in corners:
        raise EventError(
            f'--corner is "{wanted}", which is not among the events. There are: '
            f"{', '.join(corners) or 'none'}; or all."
        )
    return [wanted]


def write_origins(about: "StandingCar") -> None:
    """Say how far the answer rests on numbers that nobody measured."""
    from fourpatch.answers.origins import origin_blocks
    from fourpatch.cli.screen import write_blocks

    write_blocks(list(origin_blocks(about.car)))


def draw_effects(table: "EffectTable", corner: str, figure: str) -> None:
    """Draw what one step does to the balance in a corner."""
    from pathlib import Path

    from fourpatch.errors import EventError
    from fourpatch.picture.effects import effect_figure
    from fourpatch.picture.sheet import save

    if not corner:
        raise EventError(
            "--figure draws the phases of a corner, and no event is one; add an event file of a corner."
        )
    save(effect_figure(table, corner), Path(figure))
    note(f"Drew {figure}.")
