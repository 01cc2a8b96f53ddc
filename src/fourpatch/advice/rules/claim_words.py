"""What a claim says in a sentence: made of its number and of the way that is said to answer."""

from collections.abc import Sequence

_WHEN = {"braking": "under braking", "entry": "on entry", "mid": "at mid-corner", "exit": "on exit"}


def when(windows: Sequence[str]) -> str:
    """Return when in a corner it happens: ``early on entry``; a phase of which both halves count is whole."""
    halves: dict[str, list[str]] = {}
    for window in windows:
        phase, _, half = window.partition(".")
        halves.setdefault(phase, []).append(half)
    told = [
        f"{one[0]} {_WHEN[phase]}" if len(one) == 1 and one[0] else _WHEN[phase]
        for phase, one in halves.items()
        if phase
    ]
    return " and ".join(told)


def claim_words(quantity: str, axle: str, way: str, windows: Sequence[str]) -> str:
    """Return what is said of the change as said, as the rest of a sentence."""
    up, then = way == "rises", when(windows)
    match quantity, way:
        case "grip_lost", "smoother is wider":
            return f"the range of good ratios at the {axle} is wider on a smoother road"
        case _, "costs little":
            said = _RISES_LITTLE.get(quantity, "{quantity} of the {axle} rises hardly at all")
            return said.format(axle=axle, quantity=quantity.replace("_", " ")).replace(" of the  ", " ")
        case "axle_load", "stays":
            return f"the {axle} axle carries hardly more or less {then}"
        case _, "stays":
            return f"{quantity.replace('_', ' ')} {axle} stays as it is {then}".replace("  ", " ").rstrip()
    match quantity:
        case "balance":
            return f"the balance {then} goes towards {'understeer' if up else 'oversteer'}"
        case "use":
            return f"the {axle} axle uses {'more' if up else 'less'} of its grip {then}"
        case "axle_load":
            return f"the {axle} axle carries {'more' if up else 'less'} {then}"
        case "lateral_transfer":
            return f"{'more' if up else 'less'} load moves across the {axle} axle {then}"
        case "inner_load":
            return f"the inner {axle} wheel carries {'more' if up else 'less'} {then}"
        case "downforce":
            return f"the {axle} axle is pressed down {'more' if up else 'less'} {then}"
        case "ride_height":
            if then:
                return f"the {axle} stands {'higher' if up else 'lower'} {then}"
            return f"the {axle} rides {'higher' if up else 'lower'} on a rough road"
        case "grip_lost":
            return f"the {axle} loses {'more' if up else 'less'} grip over bumps"
        case "body_throw":
            return f"a kerb throws the body up {'more' if up else 'less'}"
        case "body_acceleration_peak":
            return f"a kerb pushes the body up {'more' if up else 'less'} hard"
        case "longest_flight":
            return f"a kerb keeps the {axle} wheels off the ground {'longer' if up else 'shorter'}"
        case "stability_reserve":
            return f"a disturbance dies away {'later' if up else 'sooner'} {then}"
        case _:
            return f"yaw follows the steering {'later' if up else 'sooner'}"


_RISES_LITTLE = {
    "grip_lost": "the {axle} loses hardly more grip over bumps",
    "longest_flight": "the {axle} wheels leave a kerb for hardly longer",
}
