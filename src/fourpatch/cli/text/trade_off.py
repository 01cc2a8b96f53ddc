"""A trade-off, in a table and in words."""

from fourpatch.advice.trade_off import TradeOff, TradePoint
from fourpatch.cli.output import Head, write_table, write_text

_ROWS = 15
"""Set-ups of the front that are shown; JSON has all."""


def write_trade_off(found: TradeOff, *, title: str) -> None:
    """Write the present set-up, the picks and the front, and what it means."""
    write_text(title)
    for note in found.occasion.notes:
        write_text(note)
    write_text(_how(found))
    rows = [_row(found, found.present, "present")]
    for label, one in (("as quick, calmer", found.calmer), ("as calm, quicker", found.quicker)):
        if one is not None:
            rows.append(_row(found, one, label))
    every = max(1, -(-len(found.front) // _ROWS))
    rows += [_row(found, one, "") for one in found.front[::every]]
    write_table(_heads(found), rows, title="Set-ups that no other beats in everything, quickest first")
    write_text(f"What this means: {trade_off_meaning(found)}")


def _how(found: TradeOff) -> str:
    pace = "lap time, quasi-steady" if found.pace_unit == "s" else "mean use of the worse axle in the corners"
    how = "all of" if found.exhaustive else f"a sample (seed {found.seed}) and its best neighbours of"
    stopped = " You stopped it: this is what is known." if found.stopped else ""
    return (
        f"Pace: {pace}, less is quicker. Bumps: grip lost on the surface and the kerb, less is better. "
        "Calmness: the lesser balance of entry and mid, what the rear has in hand; more is calmer. "
        f"{len(found.points)} set-ups that can run, {how} {found.possible}.{stopped}"
    )


def _heads(found: TradeOff) -> list[Head]:
    return [
        Head(text="", right=False),
        *(Head(text=one.name, unit=one.unit) for one in found.adjusters),
        Head(text="pace", unit=found.pace_unit),
        Head(text="bumps", unit="points"),
        Head(text="calmness", unit="points"),
    ]


def _row(found: TradeOff, point: TradePoint, label: str) -> tuple[str, ...]:
    return (
        label,
        *(f"{at:g}" for at in point.positions),
        f"{point.pace:.2f}",
        f"{point.bumps:.2f}",
        f"{point.calmness:+.1f}",
    )


def trade_off_meaning(found: TradeOff) -> str:
    """Say what can be had for nothing, and what the ends of the front cost."""
    present, unit = found.present, found.pace_unit
    said = []
    if found.calmer is None:
        said.append("nothing as quick is clearly calmer than the present set-up")
    else:
        said.append(
            f"as quick but calmer: {_named(found, found.calmer)} ({_change(present, found.calmer, unit)})"
        )
    if found.quicker is None:
        said.append("nothing as calm is clearly quicker")
    else:
        said.append(
            f"as calm but quicker: {_named(found, found.quicker)} ({_change(present, found.quicker, unit)})"
        )
    quickest = found.front[0]
    calmest = max(found.front, key=lambda point: point.calmness)
    said.append(f"the quickest of all differs by {_change(present, quickest, unit)}")
    said.append(f"the calmest by {_change(present, calmest, unit)}")
    return "; ".join(said) + "."


def _named(found: TradeOff, point: TradePoint) -> str:
    parts = [
        f"{one.name} {at:g} {one.unit}".strip()
        for one, at, now in zip(found.adjusters, point.positions, found.present.positions, strict=True)
        if at != now
    ]
    return ", ".join(parts)


def _change(present: TradePoint, point: TradePoint, unit: str) -> str:
    return (
        f"pace {point.pace - present.pace:+.2f} {unit}, bumps {point.bumps - present.bumps:+.2f}, calmness "
        f"{point.calmness - present.calmness:+.1f} points"
    )
