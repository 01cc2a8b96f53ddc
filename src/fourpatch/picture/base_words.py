"""What is said about a base set-up, in sentences: the command line and the app both show these."""

from math import degrees

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
        "Where they come from: docs/base-setup.md."
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
