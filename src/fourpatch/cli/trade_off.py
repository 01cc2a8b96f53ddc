"""`fourpatch advise trade-off`: what pace, bumps, calmness, scatter and tyre work cost each other."""

from typing import TYPE_CHECKING, Any

import click

from fourpatch.cli.long_work import leave_stopped, long_work
from fourpatch.cli.output import CAUTION, write_json, write_text
from fourpatch.cli.subject import car_argument, json_option, setup_option, subject
from fourpatch.document.content import number

if TYPE_CHECKING:
    from fourpatch.advice.trade_drive import DrivenTrade
    from fourpatch.advice.trade_off import TradeOff, TradePoint


@click.command("trade-off")
@car_argument
@click.option(
    "--adjusters",
    "names",
    required=True,
    metavar="NAMES",
    help='Names with semicolons between, or commas where no name has one: "front bar; rear bar".',
)
@click.option(
    "--track",
    "track_name",
    metavar="TRACK",
    help="Name of a demo track, or a track file: pace is then its lap time.",
)
@click.option(
    "--objectives",
    "counted",
    metavar="NAMES",
    help="Those that count, with commas between: pace, bumps, calmness, scatter, tyre work. All if left out.",
)
@click.option(
    "--drive",
    is_flag=True,
    help="Also drive the present set-up and the picks on the track, with a driver's scatter.",
)
@setup_option
@click.option(
    "--seed",
    type=int,
    default=1,
    show_default=True,
    help="Of the sample, where one is drawn, and of the drive.",
)
@json_option
def trade_off(
    car: str,
    names: str,
    track_name: str | None,
    counted: str | None,
    drive: bool,
    setup_file: str | None,
    seed: int,
    as_json: bool,
) -> None:
    """Compute what chosen adjusters of CAR give for each other.

    Traded are pace, grip on bumps, calmness, scatter (what your own unevenness does to the use of grip) and
    tyre work.

    All their steps are computed if there are at most 512 set-ups (96 with a track), else a seeded sample and
    its best neighbours. Ctrl-C stops it and shows what is known.
    """
    from fourpatch.advice.trade_drive import drive_picks
    from fourpatch.advice.trade_off import OBJECTIVES, chosen_objectives
    from fourpatch.advice.trade_off import trade_off as compute
    from fourpatch.cli.advise import write_origins
    from fourpatch.cli.engine import announce_compilation
    from fourpatch.cli.text.trade_off import write_driven_trade, write_trade_off
    from fourpatch.face.named import track_by_name

    about = subject(car, setup_file)
    track = track_by_name(track_name) if track_name else None
    if drive and track is None:
        raise click.UsageError("--drive needs a track. Name one with --track.")
    chosen = read_names(names, [one.name for one in about.car.adjusters])
    wanted = OBJECTIVES if counted is None else [name.strip() for name in counted.split(",") if name.strip()]
    objectives = chosen_objectives(wanted)
    announce_compilation()
    with long_work() as work:
        found = compute(
            about.car,
            about.setup,
            chosen,
            track=track,
            seed=seed,
            objectives=objectives,
            progress=work.progress,
            cancelled=work.cancelled,
        )
        driven = None
        if drive and track is not None and not found.stopped:
            driven = drive_picks(
                about.car,
                about.setup,
                found,
                track,
                seed=seed,
                progress=work.progress,
                cancelled=work.cancelled,
            )
    if as_json:
        mode = "rig" if track is None else "quasi-steady, then rig"
        content = {**trade_off_content(found), "driven": None if driven is None else driven_content(driven)}
        write_json("advise trade-off", {**about.content(), "mode": mode, **content})
    else:
        write_trade_off(found, title=f"{about.named}: trade-off for {found.occasion.name}")
        if driven is not None:
            write_driven_trade(driven)
        write_origins(about)
        write_text(CAUTION)
    if found.stopped:
        leave_stopped()


def read_names(text: str, known: list[str]) -> list[str]:
    """Return the adjusters that a text names; a comma may be part of a name."""
    if ";" in text or text.strip() in known:
        return [part.strip() for part in text.split(";") if part.strip()]
    parts, names = [part.strip() for part in text.split(",") if part.strip()], []
    while parts:
        # The longest run of parts that is a name, else the first part alone.
        length = next((n for n in range(len(parts), 0, -1) if ", ".join(parts[:n]) in known), 1)
        names.append(", ".join(parts[:length]))
        parts = parts[length:]
    return names


def trade_off_content(found: "TradeOff") -> dict[str, Any]:
    """Return a trade-off for JSON."""

    def point(one: "TradePoint") -> dict[str, Any]:
        names = [adjuster.name for adjuster in found.adjusters]
        return {
            "positions": dict(zip(names, one.positions, strict=True)),
            "pace": number(one.pace, found.pace_unit),
            "bumps": number(one.bumps, "points"),
            "calmness": number(one.calmness, "points"),
            "scatter": number(one.scatter, "points"),
            "tyre_work": number(one.tyre_work, "J/m"),
            "total_work": number(one.total_work, "J/m"),
            "most_worked": one.most_worked,
        }

    return {
        "occasion": found.occasion.name,
        "objectives": list(found.objectives),
        "present": point(found.present),
        "calmer": None if found.calmer is None else point(found.calmer),
        "quicker": None if found.quicker is None else point(found.quicker),
        "front": [point(one) for one in found.front],
        "points": [point(one) for one in found.points],
        "possible": found.possible,
        "exhaustive": found.exhaustive,
        "stopped": found.stopped,
        "seed": found.seed,
    }


def driven_content(driven: "DrivenTrade") -> dict[str, Any]:
    """Return the laps of the picks for JSON."""
    units = {"lap_time": "s", "lap_time_spread": "s", "use_spread": "points", "tyre_work": "J/m"}

    def known(value: float | None, unit: str) -> dict[str, Any] | None:
        return None if value is None else number(value, unit)

    return {
        "pace_factor": number(driven.pace, "1"),
        "setups": [
            {
                "name": one.name,
                "laps": one.laps,
                "good_laps": one.good_laps,
                **{name: known(getattr(one, name), unit) for name, unit in units.items()},
            }
            for one in driven.picks
        ],
    }
