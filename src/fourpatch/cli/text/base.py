"""A base set-up, in tables and in words."""

from fourpatch.advice.base_setup import BaseSetup, BaseValue
from fourpatch.advice.grip_cost import PARTS, PHASES
from fourpatch.car.scale_words import standing_at
from fourpatch.cli.output import write_table, write_text
from fourpatch.picture.base_words import (
    around_text,
    base_meaning,
    because_text,
    drive_text,
    stopped_text,
    targets_text,
)
from fourpatch.picture.head import Head


def write_base(found: BaseSetup, *, title: str) -> None:
    """Write targets, the set-up with reasons, what it costs, its balance, and what it means."""
    write_text(title)
    if found.stopped:
        write_text(stopped_text(found))
    for note in found.occasion.notes:
        write_text(note)
    write_text(targets_text(found))
    write_table(
        [
            Head(text="adjuster", right=False),
            Head(text="set to"),
            Head(text="was"),
            Head(text="hardly\nmatters"),
            Head(text="because", right=False),
        ],
        [_row(one) for one in found.values],
        title="Set-up",
    )
    _write_cost(found)
    _write_balance(found)
    _write_turns(found)
    write_text(f"What this means: {base_meaning(found)}")
    write_text(f"What the drive says: {drive_text(found)}")


def _row(one: BaseValue) -> tuple[str, ...]:
    return (
        one.adjuster.name,
        standing_at(one.position, one.adjuster.unit),
        f"{one.before:g}",
        around_text(one),
        because_text(one),
    )


def _write_cost(found: BaseSetup) -> None:
    rows = [
        (name, *(f"{value:.2f}" for value in cost.parts[0]), f"{float(cost.total[0]):.2f}")
        for name, cost in (
            ("as given", found.given),
            ("targets alone", found.start),
            ("this set-up", found.found),
        )
    ]
    write_table(
        [Head(text="", right=False), *(Head(text=part, unit="points") for part in (*PARTS, "total"))],
        rows,
        title="Cost in hundredths of the grip the tyres could have",
    )


def _write_balance(found: BaseSetup) -> None:
    rows = []
    for k, name in enumerate(found.occasion.corners):
        for label, cost in (("as given", found.given), ("this set-up", found.found)):
            rows.append((name, label, *(f"{value:+.1f}" for value in cost.balance[0, k])))
    write_table(
        [
            Head(text="corner", right=False),
            Head(text="", right=False),
            *(Head(text=phase, unit="points") for phase in PHASES),
        ],
        rows,
        title=f"Balance (above 0 understeer; sought {found.targets.style.balance:+g})",
    )


def _write_turns(found: BaseSetup) -> None:
    rows = [
        (
            one.corner,
            f"{one.lateral_acceleration:.1f}",
            f"{one.given:+.2f}",
            "not held" if one.found is None else f"{one.found:+.2f}",
        )
        for one in found.drive.turns
    ]
    if rows:
        write_table(
            [
                Head(text="corner", right=False),
                Head(text="cornering", unit="m/s²"),
                Head(text="as given", unit="1/s"),
                Head(text="this set-up", unit="1/s"),
            ],
            rows,
            title="Driven in steady turns: how fast a disturbance grows (below 0 it dies away)",
        )
