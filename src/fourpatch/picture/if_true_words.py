"""How sure it is that a car does what is complained of, and what if the car as written does not."""

from collections.abc import Iterator

from fourpatch.advice.because import step_words
from fourpatch.advice.cure import Cure
from fourpatch.advice.draws import IfTrue, Needed, Sureness
from fourpatch.evidence.unknowns import NEUTRAL
from fourpatch.picture.evidence_words import difference, unknown_name

_ORDINARY, _RARE = 1.0, 2.0  # standard deviations of the farthest unknown


def shown_text(found: Cure, sure: Sureness) -> Iterator[str]:
    """Yield in how many plausible cars each complaint shows, and what if the car as written shows it not."""
    for target, count in zip(found.targets, sure.shown, strict=False):
        if count is not None:
            yield f"{target.complaint.text()}: {count} of the {sure.asked} do that as they stand."
    if sure.if_true is not None:
        yield needed_text(sure.if_true)
        yield own_text(found, sure.if_true)


def needed_text(one: IfTrue) -> str:
    """Say what would have to be true for a complaint to show that the car as written does not."""
    said = "; ".join(map(_needed_words, one.needed)) or "hardly anything"
    return (
        f"For your car to do it, the likeliest is: {said}. None of its numbers need be further off than "
        f"{one.farthest:.1f} times its own spread: {_how_plausible(one.farthest)}."
    )


def _how_plausible(farthest: float) -> str:
    if farthest < _ORDINARY:
        return "nothing unusual"
    return "it may be" if farthest < _RARE else "that would be rare, so make sure of what was felt first"


def _needed_words(one: Needed) -> str:
    more = "more" if one.change > 0.0 else "less"
    if one.name == NEUTRAL:
        # A driver who calls understeer neutral says of a neutral car that it is loose.
        end = "understeer" if one.change > 0.0 else "oversteer"
        return f"you call {abs(one.change):.1f} points of {end} neutral"
    what = unknown_name(one.name)
    if one.unit is None:
        return f"{what} {100.0 * abs(one.change):.1f} % {more}"
    unit = "" if one.unit.shown == "1" else f" {one.unit.shown}"
    return f"{what} {difference(abs(one.change), one.unit)}{unit} {more}"


def needed_unit(one: Needed) -> str:
    """Return the unit of how far an unknown is off, SI or points; 1 of a share."""
    return "points" if one.name == NEUTRAL else one.unit.si if one.unit else "1"


def own_text(found: Cure, one: IfTrue) -> str:
    """Say what is advised in a car that does what is complained of."""
    held = f"In cars that do it the first set goes the right way in {one.holds} of {one.asked}"
    first = found.sets[0].changes if found.sets else None
    if one.own is None:
        return f"{held}; asked by itself, the likeliest of them finds nothing better."
    if first == one.own:
        return f"{held}, and the likeliest of them, asked by itself, is advised the same."
    adjusters = found.table.adjusters
    own = "; ".join(step_words(adjusters[k], found.setup, steps) for k, steps in one.own)
    return f"{held}; the likeliest of them, asked by itself, is advised: {own}."
