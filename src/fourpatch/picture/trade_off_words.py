"""A trade-off in words: how it was found, and what can be had for what."""

from collections.abc import Sequence
from operator import methodcaller

from fourpatch.advice.trade_drive import QUICKEST, DrivenTrade
from fourpatch.advice.trade_off import OBJECTIVES, TradeOff, TradePoint
from fourpatch.car.scale_words import standing_at
from fourpatch.picture.shown import rounded

PACE = {"s": "lap time, quasi-steady", "points": "mean use of the worse axle in the corners"}
"""What pace is, by its unit."""


DECIMALS = {"pace": 2, "bumps": 2, "calmness": 1, "scatter": 2, "tyre work": 0}
"""Places that are shown of each objective."""


def unit_of(found: TradeOff, objective: str) -> str:
    """Return the unit of an objective."""
    return {"pace": found.pace_unit, "tyre work": "kJ/km"}.get(objective, "points")


def trade_off_how(found: TradeOff) -> str:
    """Say what the numbers are, and how many set-ups were computed."""
    means = {
        "pace": f"{PACE[found.pace_unit]}, less is quicker",
        "bumps": "grip lost on the surface and the kerb, less is better",
        "calmness": "the lesser balance of entry and mid, what the rear has in hand, more is calmer",
        "scatter": "what a driver's usual unevenness in brake point, corner speed and hands changes of "
        "the use of grip before he corrects it, less should be more forgiving: a hint, which driven laps "
        "bore out for one demo car of three",
        "tyre work": "what the most worked tyre loses to sliding, less spares it",
    }
    told = " ".join(f"{name.capitalize()}: {means[name]}." for name in found.objectives)
    others = [name for name in OBJECTIVES if name not in found.objectives]
    aside = (
        f" {', '.join(others).capitalize()} {'does' if len(others) == 1 else 'do'} not count."
        if others
        else ""
    )
    return f"{told}{aside} {_counted(found)}"


def _counted(found: TradeOff) -> str:
    """Say how many set-ups were computed, and of how many."""
    run = f"{len(found.points)} set-ups that can run"
    if found.stopped:
        return f"{run}, of {found.possible} there are. You stopped it: this is what is known."
    if not found.finished:
        return f"{run} so far, of {found.possible} there are."
    how = "all of" if found.exhaustive else f"a sample (seed {found.seed}) and its best neighbours of"
    return f"{run}, {how} {found.possible}."


def trade_off_meaning(found: TradeOff) -> str:
    """Say what can be had for nothing, and what the ends of the front cost."""
    said = []
    for label, pick, none in (
        ("as quick but calmer", found.calmer, "nothing as quick is clearly calmer than the present set-up"),
        ("as calm but quicker", found.quicker, "nothing as calm is clearly quicker"),
    ):
        needed = "calmness" if label.endswith("calmer") else "pace"
        if pick is not None:
            said.append(f"{label}: {moved_words(found, pick)} ({change_words(found, pick)})")
        elif needed in found.objectives:
            said.append(none)
    ends = {"pace": "quickest", "calmness": "calmest", "scatter": "most forgiving"}
    ends["tyre work"] = "gentlest on its tyres"
    for name, label in ends.items():
        if name in found.objectives:
            end = min(found.front, key=methodcaller("objectives", [name]))
            told = [one for one in dict.fromkeys((name, "pace", "calmness")) if one in found.objectives][:2]
            said.append(f"the {label} of all differs by {change_words(found, end, told)}")
    return "; ".join(said) + "."


def moved_words(found: TradeOff, point: TradePoint) -> str:
    """Return where the adjusters stand that stand elsewhere than at present."""
    parts = [
        f"{one.name} {standing_at(at, one.unit)}"
        for one, at, now in zip(found.adjusters, point.positions, found.present.positions, strict=True)
        if at != now
    ]
    return ", ".join(parts)


def moved_from(found: TradeOff, point: TradePoint) -> str:
    """Return from where to where the adjusters go that stand elsewhere than at present."""
    return ", ".join(
        f"{one.name} {now:g}\u00a0→\u00a0{at:g} {one.unit if one.unit != 'position' else ''}".rstrip()
        for one, now, at in zip(found.adjusters, found.present.positions, point.positions, strict=True)
        if at != now
    )


def change_words(found: TradeOff, point: TradePoint, told: Sequence[str] | None = None) -> str:
    """Return what a set-up has more or less of than the present one, of what is to be told or else counts."""
    names = found.objectives if told is None else told
    changes = {name: point.of(name) - found.present.of(name) for name in names}
    return ", ".join(
        f"{name} {rounded(change, DECIMALS[name], signed=True)} {unit_of(found, name)}"
        for name, change in changes.items()
    )


def driven_trade_meaning(found: TradeOff, driven: DrivenTrade) -> list[str]:
    """Say what drives quickest, and of each pick whether laps bear out what the search says of it."""
    said = [quickest_words(found, driven), *field_words(driven)]
    for pick in driven.picks[1:]:
        if pick.name == QUICKEST:
            continue
        agrees = {name: driven.agrees(name, pick) for name in ("scatter", "tyre work")}
        if None in agrees.values():
            said.append(
                f"{pick.name}: too few good laps to compare; the driver does not bear this pace with it."
            )
            continue
        words = [f"{name} {'as' if right else 'not as'} the search says" for name, right in agrees.items()]
        said.append(f"{pick.name}: {', '.join(words)}.")
    said.append(
        "Use is driven over whole corners with the driver's corrections, tyre work over the whole lap: "
        "compare set-ups, not these numbers with the search's."
    )
    return said


def quickest_words(found: TradeOff, driven: DrivenTrade) -> str:
    """Say which set-up lets the driver hold the quickest lap."""
    count, pick, gained = driven.field.setups, driven.quickest, driven.gained
    if pick is None:
        return (
            f"Of {count} set-ups driven the quickest cannot run on the rig: look at its ride heights and at "
            "the floor."
        )
    if pick is driven.picks[0]:
        return f"Of {count} set-ups driven none lets this driver hold a quicker lap than the present one."
    moved = moved_words(found, pick.point)
    if gained is None:
        return (
            f"Of {count} set-ups driven the quickest was {moved}; by other draws no lap is held to compare."
        )
    if gained <= 0.0:
        return (
            f"Of {count} set-ups driven the quickest was {moved}; by other draws it is "
            f"{-gained:.2f} s a lap slower than the present one: it was luck. Keep the present one."
        )
    return (
        f"Of {count} set-ups driven this driver holds the quickest lap with {moved}: {gained:.2f} s quicker "
        "than with the present one, by other draws than it was found by."
    )


def field_words(driven: DrivenTrade) -> list[str]:
    """Say who drove the field, what was left out, and whether the search puts it in the drive's order."""
    field = driven.field
    said = [f"{field.where} What the table shows was driven again in double precision."]
    if field.order is not None:
        order = f"rank correlation {field.order:+.2f}"
        said.append(
            f"Driving orders these set-ups much as the search's pace does ({order})."
            if field.order >= _AGREES
            else f"Driving orders these set-ups otherwise than the search's pace ({order}): the search's lap "
            "is at the car's limits and has no driver; here an uneven one must hold it."
        )
    if field.not_driven:
        said.append(
            f"With {field.not_driven} of them he holds none of the paces tried, or they cannot be made."
        )
    if field.not_finite:
        first = ", ".join(f"{at:g}" for at in field.not_finite[0])
        said.append(
            f"Of {len(field.not_finite)} set-ups the numbers are not finite; the first stands at {first}. "
            "Check it with fourpatch check setup."
        )
    return said


_AGREES = 0.7
"""Rank correlation from which two orders count as mostly the same.  Chosen here."""
