"""What a driver is told to do first, what to look for, and what then; and what each complaint gets."""

from collections.abc import Iterator

from fourpatch.advice.answered import Answered, answered
from fourpatch.advice.asked_back import asked_back
from fourpatch.advice.change_set import ChangeSet
from fourpatch.advice.complaint import Behaviour, Complaint
from fourpatch.advice.cure import Cure
from fourpatch.advice.plain_lever import PassedOver
from fourpatch.advice.sets import Changes
from fourpatch.picture.cure_words import changes_text, costs_text, percent, unit_text, value_text, way
from fourpatch.picture.shown import measure_of, pretty

LOOK_FOR: dict[Behaviour, str] = {
    "understeer": "the nose should come in with less steering, and the car should hold its line{where}",
    "oversteer": "the rear should stay behind you{where}, with fewer and smaller corrections",
    "nervous": "the same hands should move the car less; straight on it should need no corrections",
    "slow to answer": "the car should turn sooner after you turn the wheel",
    "floats": "the body should stay level and settle at once",
    "hops": "the wheels should stay on the road, and the grip should come back sooner after each bump",
    "thrown off kerbs": "the car should rise less off the kerb and land where you aimed",
    "bottoms": "the knocks should come later, or not at all",
    "locks fronts": "the front tyres should keep turning at the pedal at which they locked before",
    "locks rears": "the rear should stay straight at the pedal at which it stepped out before",
    "spins the inside wheel": "the engine should not race as you open the throttle",
    "inconsistent": "the car should feel alike from turn-in to exit",
}
"""What a driver finds after a change that does what it is to do; common practice, no published source."""

TOO_MUCH: dict[Behaviour, str] = {
    "understeer": "it is loose{where}",
    "oversteer": "it pushes{where}",
    "nervous": "it is slow to answer",
    "slow to answer": "it is nervous",
    "floats": "it hops over bumps",
    "hops": "it floats over bumps",
    "locks fronts": "it locks the rears",
    "locks rears": "it locks the fronts",
}
"""What the car does when a change has gone too far; where nothing stands here, too far has no name."""

TOLD = 0.3  # share of the wanted change from which on a driver is told what to look for
_WHERE = {
    "": "",
    "braking": " under braking",
    "entry": " on entry",
    "mid": " at mid-corner",
    "exit": " on exit",
}


def sized_text(found: Cure, place: int) -> str:
    """Say where the size of the change is from, and what would make it surer."""
    target, good = found.targets[place], found.good
    by = found.sized_by[place]
    amount = f"{value_text(found.wanted[place], target).lstrip('+')} {unit_text(target)}"
    said = ""
    if good is not None and by != "good":
        said = (
            f"With {good.setup.name}, which was good, this number is no better: as far as the model sees "
            "it, the set-up did not make the difference. Tyres, fuel, track or weather may have; what "
            "follows is sized without it. "
        )
    match by:
        case "good" if good is not None:
            return (
                f"With {good.setup.name}, which was good, it was {amount} better. So much is wanted, and the "
                "changes lead back towards that set-up, no farther."
            )
        case "felt" if target.unit == "points":
            said += (
                f"Nobody said how much, so this is a first change: {amount}, which a driver is sure to feel. "
            )
        case "felt":
            said += f"Nobody said how much, so this is a first change: {amount}. "
        case _:
            return said.strip()
    if good is None and place == found.sized_by.index("felt"):  # said once
        said += 'Say "a bit" or "badly", or with which set-up it was good, and it is sized by that.'
    return said.strip()


def first_change(found: Cure) -> Iterator[str]:
    """Yield what to turn first, what to look for and what to turn then, as a driver is told it."""
    if not found.sets:
        return
    first = found.sets[0]
    yield f"First: {changes_text(found, first)}."
    for target, share in zip(found.targets, first.progress, strict=True):
        if share >= TOLD:
            yield f"Look for: {look_for(target.complaint)}."
    yield from follow_up(found)


def follow_up(found: Cure) -> Iterator[str]:
    """Yield what to do after the first change, by what the driver then feels."""
    if found.next is None or not found.sets:
        return
    names = " and ".join(still(one.complaint) for one in found.targets)
    more, far, less = found.next.more, found.next.far, found.next.less
    yield (
        f"If it still {names}, but less: {_in_all(found, more)}."
        if more is not None
        else f"If it still {names}, but less: nothing on this car takes it much farther at a fair price; "
        "say it again with this set-up, and what is left is looked for anew."
    )
    too_much = [too_far(one.complaint) for one in found.targets]
    sign = next((one for one in too_much if one), "it is too much")
    yield (
        f"If {sign} now: {_in_all(found, less)}."
        if less is not None
        else f"If {sign} now: the step is too coarse. Turn it back"
        + (" and try the second set." if len(found.sets) > 1 else ".")
    )
    if far is not None:
        yield f"If it is hardly any better: {_in_all(found, far)}."
    yield "If nothing comes of it: turn it back before you try something else, or you will not know why."


def _in_all(found: Cure, one: ChangeSet) -> str:
    """Return a whole set from the set-up as it stands, and what it comes to."""
    share = sum(one.progress) / len(one.progress)
    costs = costs_text(one.worse) if one.broken else ""
    return f"{changes_text(found, one)}, {percent(share)} of what was wanted at first" + (
        f" ({costs.rstrip('.')})" if costs else ""
    )


def look_for(complaint: Complaint) -> str:
    """Return what a driver should find where a complaint is cured."""
    return LOOK_FOR[complaint.behaviour].format(where=_WHERE.get(complaint.phase, ""))


def too_far(complaint: Complaint) -> str:
    """Return what the car does where a cure has gone too far; empty where that has no name."""
    return TOO_MUCH.get(complaint.behaviour, "").format(where=_WHERE.get(complaint.phase, ""))


_STILL: dict[Behaviour, str] = {
    "understeer": "pushes",
    "oversteer": "is loose",
    "nervous": "is nervous",
    "slow to answer": "is slow to answer",
    "floats": "floats",
    "hops": "hops",
    "thrown off kerbs": "is thrown off the kerbs",
    "bottoms": "bottoms",
    "locks fronts": "locks the fronts",
    "locks rears": "locks the rears",
    "spins the inside wheel": "spins the inside wheel",
    "inconsistent": "is inconsistent",
}


def still(complaint: Complaint) -> str:
    """Return what the car does, after "it still"."""
    return f"{_STILL[complaint.behaviour]}{_WHERE.get(complaint.phase, '')}"


def question_text(found: Cure) -> str:
    """Return the one question that is asked back; empty where the answer would be the same."""
    asked = asked_back(found)
    if asked is None:
        return ""
    where = [_WHERE[one.phase].strip() for one, _ in asked.first]
    *most, last = (
        f"{place} {_one_step(found, lever.adjuster, lever.direction)}"
        for place, (_, lever) in zip(where, asked.first, strict=True)
    )
    return (
        f"Where is it worst: {', '.join(where[:-1])} or {where[-1]}? The first thing to turn would differ: "
        f"{', '.join(most)} and {last}. Here all of it is taken together."
    )


def question_choices(found: Cure) -> list[str]:
    """Return the complaints to choose from when it is asked where, each of which is read as it stands."""
    asked = asked_back(found)
    return [] if asked is None else [one.text() for one, _ in asked.first]


def answered_text(found: Cure) -> Iterator[str]:
    """Yield what each complaint gets, where it is not all that is wanted, and why not more."""
    if found.first or found.stopped:
        return
    for one in answered(found):
        if one.verdict != "done":
            yield _answered(found, one)


def _answered(found: Cure, one: Answered) -> str:
    text = found.targets[one.place].complaint.text()
    named = _named(found, one.levers)
    if one.verdict == "in part":
        said = f"{text}: the first set brings {percent(one.share)} of what is wanted."
        if one.opposed is not None:
            other = found.targets[one.opposed].complaint.text()
            said += f" What would bring more ({named}) makes {other} worse."
        return said
    worse = "" if one.share >= -0.005 else f" The first set makes it worse by {percent(-one.share)}."
    match one.verdict:
        case "nothing does":
            why = "nothing on this car does that, because no step of any adjuster moves it measurably."
        case "drive":
            why = f"what the rig credits for it ({named}) the driven car does not show; it is not advised."
        case "opposed" if one.opposed is not None:
            other = found.targets[one.opposed].complaint.text()
            why = f"not answered, because what would help ({named}) makes {other} worse."
        case _:
            why = f"not answered: what would help ({named}) costs more elsewhere than it gives."
    return f"{text}: {why}{worse}"


def _named(found: Cure, levers: Changes) -> str:
    named = [_one_step(found, adjuster, direction) for adjuster, direction in levers[:3]]
    return ", ".join(named) + (" and others" if len(levers) > 3 else "")


def _one_step(found: Cure, adjuster: int, direction: int) -> str:
    return f"{found.table.adjusters[adjuster].name} {way(direction)}"


def what_then(found: Cure) -> list[str]:
    """Return all that follows the sets: plain levers passed over, trade-offs, complaints not answered."""
    return [*passed_over_text(found), *trade_off_text(found), *answered_text(found)]


def trade_off_text(found: Cure) -> Iterator[str]:
    """Yield what each of several complaints would cost the others, where no set answers all of them."""
    if not found.trade_offs:
        return
    yield (
        "No set does all of it. You choose which matters more to you; the first set is the best that was "
        "found for all."
        if found.sets
        else "No set does all of it without making one of them worse. You choose which matters more to you:"
    )
    for place, one in found.trade_offs:
        gains = (
            f"{target.complaint.text()} {percent(share, signed=True)}"
            for target, share in zip(found.targets, one.progress, strict=True)
        )
        yield (
            f"For {found.targets[place].complaint.text()} alone: {changes_text(found, one)}. Of what is "
            f"wanted: {', '.join(gains)} (below zero is worse). {costs_text(one.worse)}"
        )


def passed_over_text(found: Cure) -> Iterator[str]:
    """Yield which plain lever was passed over, and why."""
    for one in () if found.stopped else found.passed_over:
        yield f"Passed over: {_passed(found, one)}"


def _passed(found: Cure, one: PassedOver) -> str:
    name = found.table.adjusters[one.adjuster].name
    if one.why == "does nothing":
        return f"{name}. On this car a step of it does nothing for this complaint."
    turned = f"{name} {way(one.direction)}"
    if one.why == "at its stop":
        return f"{turned}. It is at its stop."
    if one.why == "drive":
        return f"{turned}. The rig credits it, the driven car does not show it."
    if one.why == "opposed":
        return f"{turned}. It makes another of your complaints worse."
    if one.why == "costs" and one.worse:
        guard, by = one.worse[0]
        scale = 1.0 if guard.unit == "points" else measure_of(guard.unit).scale
        unit = "points" if guard.unit == "points" else pretty(measure_of(guard.unit).shown)
        return (
            f"{turned}. {one.steps} of its steps bring {percent(one.brings)} of what is wanted, but "
            f"{guard.label} is worse by {by / scale:.2f} {unit}; the first set comes cheaper."
        )
    return f"{turned}. What is left of it brings {percent(one.brings)} of what is wanted."
