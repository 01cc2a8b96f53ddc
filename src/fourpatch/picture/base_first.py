"""What a driver reads first of a base set-up: what to turn, what it is worth, what it costs, how sure."""

from fourpatch.advice.base_setup import BaseSetup, BaseValue
from fourpatch.advice.grip_cost import HARDLY, PARTS
from fourpatch.car.scale_words import from_to
from fourpatch.picture.base_words import listed
from fourpatch.picture.first_answer import FirstAnswer, Grade

_NAMED = 3  # largest moves in the sentence
_WHERE = {
    "corners": "in corners",
    "bumps": "over bumps",
    "kerbs": "over kerbs",
    "floor": "in floor clearance",
}


def first_of_base(found: BaseSetup) -> FirstAnswer:
    """Return what a driver reads first of a base set-up."""
    moved = sorted((one for one in found.values if one.position != one.before), key=_share, reverse=True)
    grade, because = _grade(found)
    if not moved:
        return FirstAnswer(
            sentence="Leave everything as it stands: nothing that was tried is better when it is driven.",
            grade=grade,
            because=because,
        )
    turned = listed(
        [
            f"{one.adjuster.name} {from_to(one.before, one.position, one.adjuster.unit)}"
            for one in moved[:_NAMED]
        ]
    )
    rest = len(moved) - len(moved[:_NAMED])
    more = f", and {rest} more by less" if rest else ""
    return FirstAnswer(
        sentence=f"Turn the {turned}{more}: {_gain(found)}; {_price(found)}.", grade=grade, because=because
    )


def _share(one: BaseValue) -> float:
    """How far it is moved, as a share of its scale."""
    return abs(one.position - one.before) / (one.adjuster.highest - one.adjuster.lowest)


def _gain(found: BaseSetup) -> str:
    change = found.given.parts[0] - found.found.parts[0]
    gain = float(change.sum())
    if gain < HARDLY:
        return "grip that you would hardly notice"
    where = _WHERE[PARTS[int(change.argmax())]]
    return f"{gain:.1f} points more grip, most of it {where} (one is half a per cent of corner speed)"


def _price(found: BaseSetup) -> str:
    if not found.worse_parts:
        return "nothing gets worse by as much as you would notice"
    return f"the price: it is worse {listed([_WHERE[part] for part in found.worse_parts])}"


def _grade(found: BaseSetup) -> tuple[Grade, str]:
    """Return the mark: whether the driven lap says the same as the rig."""
    word = found.drive
    if found.stopped:
        return "open", "stopped before it was driven and before its ranges were known."
    laps = word.laps
    if laps is None or laps.given is None or laps.found is None:
        return "open", "no lap could be driven with and without it to compare."
    apart = laps.given - laps.found
    if apart > laps.uncertainty:
        return "sure", f"rig and drive agree: the driven lap is {apart:.2f} s quicker."
    if apart < -laps.uncertainty:
        return "disputed", f"rig and drive disagree: the driven lap is {-apart:.2f} s slower."
    return "likely", (
        f"the rig says so; on the driven lap the two are within {laps.uncertainty:.2f} s, too near to tell."
    )
