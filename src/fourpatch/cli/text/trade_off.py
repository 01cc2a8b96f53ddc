"""A trade-off, in a table and in words."""

from fourpatch.advice.trade_drive import DrivenTrade
from fourpatch.advice.trade_off import OBJECTIVES, TradeOff, TradePoint
from fourpatch.cli.output import write_table, write_text
from fourpatch.picture.head import Head
from fourpatch.picture.trade_off_words import (
    DECIMALS,
    driven_trade_meaning,
    trade_off_how,
    trade_off_meaning,
    unit_of,
)

_ROWS = 15
"""Set-ups of the front that are shown; JSON has all."""


def write_trade_off(found: TradeOff, *, title: str) -> None:
    """Write the present set-up, the picks and the front, and what it means."""
    write_text(title)
    for note in found.occasion.notes:
        write_text(note)
    write_text(trade_off_how(found))
    rows = [_row(found, found.present, "present")]
    for label, one in (("as quick, calmer", found.calmer), ("as calm, quicker", found.quicker)):
        if one is not None:
            rows.append(_row(found, one, label))
    every = max(1, -(-len(found.front) // _ROWS))
    rows += [_row(found, one, "") for one in found.front[::every]]
    first = {"pace": "quickest", "calmness": "calmest"}.get(
        found.objectives[0], f"least {found.objectives[0]}"
    )
    write_table(_heads(found), rows, title=f"Set-ups that no other beats in everything, {first} first")
    if every > 1:
        write_text(f"One of {every} is shown of {len(found.front)} that no other beats; --json has all.")
    worked = found.present
    write_text(
        f"Most worked tyre at present: {worked.most_worked}, {worked.tyre_work:.0f} kJ/km; all four: "
        f"{worked.total_work:.0f} kJ/km."
    )
    write_text(f"What this means: {trade_off_meaning(found)}")


def write_driven_trade(driven: DrivenTrade) -> None:
    """Write the laps of the present set-up and the picks, and whether they bear the search out."""
    heads = [
        Head(text="", right=False),
        Head(text="good laps"),
        Head(text="lap time", unit="s"),
        Head(text="spread", unit="s"),
        Head(text="spread of use", unit="points"),
        Head(text="tyre work", unit="kJ/km"),
    ]
    rows = [
        (
            one.name,
            f"{one.good_laps} of {one.laps}",
            _known(one.lap_time, 2),
            _known(one.lap_time_spread, 3),
            _known(one.use_spread, 2),
            _known(one.tyre_work, 0),
        )
        for one in driven.picks
    ]
    write_table(
        heads, rows, title=f"Driven with a driver's scatter, seed {driven.seed}, the same draws for all"
    )
    for line in driven_trade_meaning(driven):
        write_text(line)


def _known(value: float | None, places: int) -> str:
    return "-" if value is None else f"{value:.{places}f}"


def _heads(found: TradeOff) -> list[Head]:
    return [
        Head(text="", right=False),
        *(Head(text=one.name, unit=one.unit) for one in found.adjusters),
        *(Head(text=name, unit=unit_of(found, name)) for name in OBJECTIVES),
    ]


def _row(found: TradeOff, point: TradePoint, label: str) -> tuple[str, ...]:
    return (
        label,
        *(f"{at:g}" for at in point.positions),
        *(f"{point.of(name):{'+' if name == 'calmness' else ''}.{DECIMALS[name]}f}" for name in OBJECTIVES),
    )
