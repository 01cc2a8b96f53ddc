"""A trade-off in words: how it was found, and what can be had for what."""

from fourpatch.advice.trade_off import TradeOff, TradePoint
from fourpatch.car.scale_words import standing_at
from fourpatch.picture.shown import rounded

PACE = {"s": "lap time, quasi-steady", "points": "mean use of the worse axle in the corners"}
"""What pace is, by its unit."""


def trade_off_how(found: TradeOff) -> str:
    """Say what the three numbers are, and how many set-ups were computed."""
    how = "all of" if found.exhaustive else f"a sample (seed {found.seed}) and its best neighbours of"
    stopped = " You stopped it: this is what is known." if found.stopped else ""
    return (
        f"Pace: {PACE[found.pace_unit]}, less is quicker. "
        "Bumps: grip lost on the surface and the kerb, less is better. "
        "Calmness: the lesser balance of entry and mid, what the rear has in hand; more is calmer. "
        f"{len(found.points)} set-ups that can run, {how} {found.possible}.{stopped}"
    )


def trade_off_meaning(found: TradeOff) -> str:
    """Say what can be had for nothing, and what the ends of the front cost."""
    present, unit = found.present, found.pace_unit
    said = []
    if found.calmer is None:
        said.append("nothing as quick is clearly calmer than the present set-up")
    else:
        change = change_words(present, found.calmer, unit)
        said.append(f"as quick but calmer: {moved_words(found, found.calmer)} ({change})")
    if found.quicker is None:
        said.append("nothing as calm is clearly quicker")
    else:
        change = change_words(present, found.quicker, unit)
        said.append(f"as calm but quicker: {moved_words(found, found.quicker)} ({change})")
    quickest = found.front[0]
    calmest = max(found.front, key=lambda point: point.calmness)
    said.append(f"the quickest of all differs by {change_words(present, quickest, unit)}")
    said.append(f"the calmest by {change_words(present, calmest, unit)}")
    return "; ".join(said) + "."


def moved_words(found: TradeOff, point: TradePoint) -> str:
    """Return where the adjusters stand that stand elsewhere than at present."""
    parts = [
        f"{one.name} {standing_at(at, one.unit)}"
        for one, at, now in zip(found.adjusters, point.positions, found.present.positions, strict=True)
        if at != now
    ]
    return ", ".join(parts)


def change_words(present: TradePoint, point: TradePoint, unit: str) -> str:
    """Return what one set-up has more or less of each than another."""
    return (
        f"pace {rounded(point.pace - present.pace, 2, signed=True)} {unit}, "
        f"bumps {rounded(point.bumps - present.bumps, 2, signed=True)}, "
        f"calmness {rounded(point.calmness - present.calmness, 1, signed=True)} points"
    )
