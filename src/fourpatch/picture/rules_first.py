"""What a driver reads first of the rules of thumb: how many hold here, which to go by and which not."""

from collections import Counter
from collections.abc import Sequence

from fourpatch.advice.rules.quantities import QUANTITIES
from fourpatch.advice.rules.verdict import CheckedRule, Verdict
from fourpatch.picture.base_words import listed
from fourpatch.picture.first_answer import FirstAnswer
from fourpatch.picture.rules_words import place, size

_COUNTED: tuple[tuple[Verdict, str, str], ...] = (
    ("agrees", "holds wherever it was tried", "hold wherever they were tried"),
    ("depends", "depends on the corner or phase", "depend on the corner or phase"),
    ("disagrees", "is the wrong way round", "are the wrong way round"),
    ("hardly matters", "hardly matters", "hardly matter"),
    ("does not apply", "does not apply to it", "do not apply to it"),
)
_BECAUSE = (
    "each change was made on the rig, as said and the other way, to the car as written; plausible cars were "
    "not asked."
)


def first_of_rules(rules: Sequence[CheckedRule]) -> FirstAnswer:
    """Return what a driver reads first of checked rules."""
    counts = Counter(one.verdict for one in rules)
    told = [
        f"{counts[verdict]} {one if counts[verdict] == 1 else more}"
        for verdict, one, more in _COUNTED
        if counts[verdict]
    ]
    said = f"Of {len(rules)} rules of thumb {listed(told)} on this car."
    leads: tuple[tuple[Verdict, str], ...] = (
        ("agrees", "Go by this first"),
        ("disagrees", "Do not go by this"),
    )
    for verdict, lead in leads:
        strongest = _strongest(rules, verdict)
        if strongest is not None:
            cell = strongest.claims[0].largest
            effect = size(strongest.claims[0], cell)
            said += f" {lead}: “{strongest.rule.saying.rstrip('.')}” ({effect}, {place(cell)})."
    return FirstAnswer(sentence=said, grade="likely", because=_BECAUSE)


def _strongest(rules: Sequence[CheckedRule], verdict: Verdict) -> CheckedRule | None:
    """Return the rule of a verdict that moves balance or grip most, by what is hardly measurable."""
    found = [one for one in rules if one.verdict == verdict and one.claims and _of_grip(one)]
    return max(found, key=lambda one: one.claims[0].largest.weight, default=None)


def _of_grip(one: CheckedRule) -> bool:
    claim = one.claims[0].claim
    return claim.way != "smoother is wider" and QUANTITIES[claim.quantity].unit in ("points", "1")
