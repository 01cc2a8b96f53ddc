"""What became of a rule of thumb on a car, in words: its size, where, why, and what it depends on."""

from fourpatch.advice.rules.quantities import QUANTITIES
from fourpatch.advice.rules.rule import CORNERS, KERBS, ROADS, TURN_INS
from fourpatch.advice.rules.verdict import Cell, CheckedClaim, CheckedRule
from fourpatch.picture.shown import measure_of, pretty, shown

_TOLD = {
    "agrees": "agrees",
    "against": "the opposite",
    "mixed": "both ways within it",
    "hardly": "hardly measurable",
    "unknown": "not computed",
}
_PATHS = {
    "load": "the load on each axle",
    "lateral share": "the front's share of the load moved across the car",
    "attitude": "the way wheels and body stand: camber and height",
    "forces asked for": "the force each axle is asked for",
    "tyre grip": "the grip of the tyres themselves",
    "differential": "the differential",
}
"""The paths of `fourpatch.advice.paths.PATHS`, in a sentence."""

_SEEN = 0.005
"""Points that two decimals still show."""

_FAMILIES = {
    CORNERS: "all corners braked into",
    TURN_INS: "all turn-ins at constant speed",
    ROADS: "all roads",
    KERBS: "both kerbs",
}

MEANING = (
    "A rule agrees if what it says holds in every event it speaks of, for the change as said and, mirrored, "
    "the other way; it hardly matters if what the rule is used for is nowhere measurable; it disagrees if "
    "nowhere anything measurable goes its way; else it depends. Size is the largest effect of the change as "
    "said on what the rule is used for. Hardly measurable is a change of balance or of grip over bumps under "
    "0.1 points, of a load under 0.1 %, of ride height under 0.1 mm."
)


def rule_row(one: CheckedRule) -> tuple[str, str, str, str, str]:
    """Return name, verdict, size, where and why."""
    if not one.claims:
        return one.rule.name, one.verdict, "-", "-", one.lacks or "-"
    claim, cell = one.claims[0].claim, one.claims[0].largest
    return one.rule.name, one.verdict, size(one.claims[0], cell), place(cell), short_why(one, claim.about)


def size(checked: CheckedClaim, cell: Cell) -> str:
    """Return the size of one effect with its unit."""
    if checked.claim.way == "smoother is wider":
        return f"{cell.value:.1f} times"
    unit = QUANTITIES[checked.claim.quantity].unit
    if unit == "1":  # a share of grip
        return f"{shown(100.0 * cell.value, 'points', signed=True)} points"
    return f"{shown(cell.value, unit, signed=True)} {pretty(measure_of(unit).shown)}"


def place(cell: Cell) -> str:
    """Return event and part of it, in words."""
    phase, _, half = cell.window.partition(".")
    part = {"early": "first half of ", "late": "second half of "}.get(half, "")
    return f"{cell.event}, {part}{phase}" if phase else cell.event


def short_why(one: CheckedRule, about: str) -> str:
    """Return the path of load with its largest parts, or what the rule is about."""
    if not one.why.parts:
        return one.why.kind or about
    parts = sorted(one.why.parts.items(), key=lambda part: -abs(part[1]))
    seen = [f"{name} {value:+.2f}" for name, value in parts[:2] if abs(value) >= _SEEN]
    return ", ".join(seen) or "nothing measurable"


def path_words(one: CheckedRule) -> str:
    """Return the path of load by which most of a rule's largest effect comes; nothing if it is not split."""
    if not one.why.parts:
        return ""
    name, value = max(one.why.parts.items(), key=lambda part: abs(part[1]))
    return _PATHS[name] if abs(value) >= _SEEN else ""


def why_in_short(one: CheckedRule) -> str:
    """Say in a sentence or two by which path the largest effect comes, and what works against it."""
    if not one.why.parts:
        return one.why.sentence.removeprefix(f"{one.rule.change.name}: ".capitalize())
    parts = sorted(one.why.parts.items(), key=lambda part: -abs(part[1]))
    (name, value), total = parts[0], sum(one.why.parts.values())
    if abs(value) < _SEEN:
        return "On no path of load does it move the balance measurably."
    said = f"It comes through {_PATHS[name]}: {value:+.2f} of {total:+.2f} points of balance."
    against = [part for part in parts[1:] if part[1] * value < 0.0 and abs(part[1]) >= _SEEN]
    if against:
        said += f" Against it works {_PATHS[against[0][0]]} ({against[0][1]:+.2f})."
    return said


def on_what(one: CheckedRule) -> str:
    """Say which of a rule's claims hold where."""
    return "; ".join(f"{claim.claim.says}: {claim_words(claim)}" for claim in one.claims) + "."


def claim_words(checked: CheckedClaim) -> str:
    """Say in which events a claim holds, and what happens in the others."""
    if checked.claim.way == "smoother is wider":
        told = ", ".join(f"{cell.event} {cell.value:.1f} times" for cell in checked.cells)
        cut = any(cell.outcome == "unknown" for cell in checked.cells[1:])
        return f"{told}{' (the map of dampings ends before the ranges do)' if cut else ''}"
    outcomes = checked.outcomes()
    groups: dict[str, list[str]] = {}
    for kind in _TOLD:
        both = [e for e, back in outcomes if not back and {outcomes[e, b] for b in (False, True)} == {kind}]
        single = [(e, back) for (e, back), found in outcomes.items() if found == kind and e not in both]
        said = _families(both) + [
            f"{event} {'the other way' if back else 'as said'}" for event, back in single
        ]
        if said:
            groups[kind] = said
    said_of = _told(checked)
    return ", ".join(f"{said_of[kind]} ({', '.join(said)})" for kind, said in groups.items())


def _families(events: list[str]) -> list[str]:
    """Return events, those of a whole family by its name."""
    names = []
    left = list(events)
    for family, name in _FAMILIES.items():
        if set(family) <= set(left):
            names.append(name)
            left = [event for event in left if event not in family]
    return names + left


def width_rows(checked: CheckedClaim) -> list[tuple[str, ...]]:
    """Return road, width and how it compares with the smoother road's, for each road."""
    told = {"agrees": "narrower", "against": "wider", "hardly": "as wide", "unknown": "the map ends before"}
    return [
        (cell.event, size(checked, cell), told[cell.outcome] if place else "")
        for place, cell in enumerate(checked.cells)
    ]


def cell_rows(checked: CheckedClaim) -> list[tuple[str, ...]]:
    """Return place, change as said, change the other way, and the outcome of both, for each place."""
    told = _told(checked)
    rows: list[tuple[str, ...]] = []
    for cell in (one for one in checked.cells if not one.back):
        other = next(
            one for one in checked.cells if one.back and (one.event, one.window) == (cell.event, cell.window)
        )
        outcomes = dict.fromkeys((told[cell.outcome], told[other.outcome]))
        rows.append((place(cell), size(checked, cell), size(checked, other), ", ".join(outcomes)))
    return rows


def _told(checked: CheckedClaim) -> dict[str, str]:
    against = {"costs little": "costs more", "stays": "changes"}
    return _TOLD | ({"against": against[checked.claim.way]} if checked.claim.way in against else {})
