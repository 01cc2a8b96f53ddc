"""What is said about a base set-up, in sentences: the command line and the app both show these."""

from collections.abc import Iterator, Sequence
from math import degrees

from fourpatch.advice.base_borne import DriveWord
from fourpatch.advice.base_setup import BaseSetup, BaseValue
from fourpatch.advice.grip_cost import HARDLY, PARTS
from fourpatch.car.gravity import GRAVITY


def stopped_text(found: BaseSetup) -> str:
    """Say what a search that was stopped has and has not."""
    return f"You stopped it: the best of {found.tried} set-ups; the ranges that hardly matter are not known."


def targets_text(found: BaseSetup) -> str:
    """Say what the set-up aims at."""
    t = found.targets
    return (
        f"Targets of a car on {t.tyre_class} tyres (peak friction {t.friction:.2f}), downforce "
        f"{t.downforce_class}: ride frequency {t.ride_frequency.front:.2f} Hz front, "
        f"{t.ride_frequency.rear:.2f} Hz rear; roll at most {degrees(t.roll_gradient * GRAVITY):.2f} deg/g; "
        f"{100.0 * t.front_transfer_share:.1f} % of the lateral load transfer in front; damping ratio "
        f"{t.bump_ratio:.2f} in bump, {t.rebound_ratio:.2f} in rebound; balance {t.style.balance:+g} points. "
        "Where they come from is in the documents, under base set-up."
    )


def around_text(one: BaseValue) -> str:
    """Return the range in which a value hardly matters; a dash where it was not computed."""
    return "-" if one.low is None or one.high is None else f"{one.low:g} to {one.high:g}"


def because_text(one: BaseValue) -> str:
    """Return why a value is what it is, and whether anybody has said what a step does."""
    unsure = " (nobody has said what a step does: a plausible range is assumed)" if one.unknown else ""
    return one.because + unsure


def base_meaning(found: BaseSetup) -> str:
    """Say what was gained, where, what got worse, and what decides."""
    gain = float(found.given.total[0] - found.found.total[0])
    change = found.given.parts[0] - found.found.parts[0]
    largest = PARTS[int(abs(change).argmax())]
    sharp = [one.adjuster.name for one in found.values if _narrow(one)]
    said = [
        f"in the same motions it spares {gain:.2f} points of grip against the set-up given, most of it in "
        f"{largest} ({change[PARTS.index(largest)]:+.2f})"
    ]
    if found.worse_parts:
        said.append(f"it is worse than the set-up given in {', '.join(found.worse_parts)}")
    if sharp:
        said.append(f"what decides is {', '.join(sharp)}: a step or two already cost {HARDLY:g} points")
    if not found.converged:
        said.append("the search was cut short; running it again from this set-up may gain more")
    return (
        f"{'; '.join(said)}. A point is about half a per cent of corner speed. Lowest floor: "
        f"{1e3 * float(found.found.floor.min()):.0f} mm."
    )


def _narrow(one: BaseValue) -> bool:
    """Say whether a few steps already cost something: a short range that is not just a short scale."""
    if one.low is None or one.high is None:
        return False
    whole = one.low <= one.adjuster.lowest and one.high >= one.adjuster.highest
    return not whole and one.high - one.low <= 3.0 * one.adjuster.step


def drive_text(found: BaseSetup) -> str:
    """Say what the drive says of the set-up: in steady turns of its corners, on a lap, and what went back."""
    word = found.drive
    return " ".join([*_turns_said(word), *_laps_said(word), *_taken_back_said(word)])


def _turns_said(word: DriveWord) -> Iterator[str]:
    asked = list(dict.fromkeys(one.corner for one in word.turns))
    if asked:
        grown = [one for one in word.turns if one.given > 0.0]
        still = ", as far as it did with the set-up given" if grown else ""
        yield f"Driven steadily through the {listed(asked)}, hands still, the car stays on its course{still}."
    for corner in asked:
        share = max(one.share for one in word.turns if one.corner == corner)
        if share < 1.0:
            yield f"The {corner} was asked at {100.0 * share:.0f} % of its cornering: more it did not hold."
    if word.not_asked:
        yield (
            f"In the {listed(word.not_asked)} the drive could not be asked: it finds no steady turn with "
            "the set-up given, so nothing says that the car is stable there."
        )


def _laps_said(word: DriveWord) -> Iterator[str]:
    laps = word.laps
    if laps is None:
        yield f"No lap was driven: {word.why_no_laps.rstrip('.')}."
    elif laps.given is None or laps.found is None:
        which = "as given" if laps.given is None else "with this set-up"
        other = "" if laps.found is None else f" With this set-up it is {laps.found:.2f} s."
        yield f"The lap {which} cannot be driven: {laps.refused.rstrip('.')}.{other}"
    else:
        yield (
            f"A driven lap, {laps.course}: {laps.given:.2f} s as given, {laps.found:.2f} s with this set-up; "
            f"below {laps.uncertainty:.2f} s apart they cannot be told apart."
        )


def _taken_back_said(word: DriveWord) -> Iterator[str]:
    if word.unstable:
        yield f"What the search found first would have swung round in the {listed(word.unstable)}."
    if word.slower:
        yield "It was slower on the driven lap than the set-up given, or could not be driven."
    if word.given_back and word.put_back:
        yield "This is the set-up you gave: nothing the search found was better when it was driven."
    elif word.put_back:
        yield f"So these went back towards the set-up given: {listed(word.put_back)}."


def listed(names: Sequence[str]) -> str:
    """Return names as a sentence has them: a, b and c."""
    return " and ".join([", ".join(names[:-1]), names[-1]] if len(names) > 1 else names)
