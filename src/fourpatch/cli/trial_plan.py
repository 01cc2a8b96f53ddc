"""`fourpatch advise test-plan`: how to try a change on track."""

from typing import TYPE_CHECKING, Any

import click

from fourpatch.cli.long_work import long_work
from fourpatch.cli.output import CAUTION, write_json, write_text
from fourpatch.cli.quantity_type import QuantityType
from fourpatch.cli.subject import car_argument, json_option, setup_option, subject
from fourpatch.document.content import number

if TYPE_CHECKING:
    from fourpatch.advice.trial_plan import SessionPlan

SCATTER = QuantityType(si="s", shown="s", low=0.0, high=60.0)
"""Of a lap time."""


@click.command("test-plan")
@car_argument
@click.option(
    "--change",
    "changes",
    multiple=True,
    required=True,
    metavar="CHANGE",
    help='"front bar=+2" for two steps up, "front bar=3" or "front toe=to -0.2" for a position; may be '
    "repeated.",
)
@click.option("--track", "track_name", metavar="TRACK", help="Name of a demo track, or a track file.")
@setup_option
@click.option(
    "--scatter",
    type=SCATTER,
    default="0.3 s",
    show_default=True,
    metavar="QUANTITY",
    help="Standard deviation of your lap time, or without a track of three corners together.",
)
@json_option
def test_plan(
    car: str,
    changes: tuple[str, ...],
    track_name: str | None,
    setup_file: str | None,
    scatter: float,
    as_json: bool,
) -> None:
    """Plan how to try a change of CAR on track: laps before and after, what to watch, when to stop."""
    from fourpatch.advice.change_text import read_changes
    from fourpatch.advice.trial_plan import session_plan as compute
    from fourpatch.cli.advise import write_origins
    from fourpatch.cli.engine import announce_compilation
    from fourpatch.cli.text.trial_plan import write_plan
    from fourpatch.face.named import track_by_name

    about = subject(car, setup_file)
    changed = read_changes(about.car, about.setup, changes)
    track = track_by_name(track_name) if track_name else None
    announce_compilation()
    with long_work() as work:
        found = compute(
            about.car,
            about.setup,
            changed,
            scatter=scatter,
            track=track,
            progress=work.progress,
            cancelled=work.cancelled,
        )
    if as_json:
        write_json("advise test-plan", {**about.content(), "mode": found.computed_by, **plan_content(found)})
    else:
        write_plan(found, title=f"{about.named}: how to try it")
        write_origins(about)
        write_text(CAUTION)


def plan_content(found: "SessionPlan") -> dict[str, Any]:
    """Return a plan for JSON; positions are on the driver's own scale."""
    return {
        "occasion": found.occasion.name,
        "changes": {one.name: {"from": before, "to": after} for one, before, after in found.changes},
        "timed": found.timed,
        "steady_effect": None if found.steady_effect is None else number(found.steady_effect, "s"),
        "rig_effect": number(found.rig_effect, "s"),
        "effect": number(found.effect, "s"),
        "scatter": number(found.scatter, "s"),
        "laps": found.laps,
        "order": {"before": found.before, "changed": found.laps or 0, "back": found.back},
        "times_for_few_laps": found.steps_for_many,
        "watch": [
            {
                "corner": one.corner,
                "phase": one.phase,
                "balance": number(one.balance, "points"),
                "use": number(one.use, "points"),
            }
            for one in found.watched
        ],
        "rear_first": list(found.rear_first),
    }
