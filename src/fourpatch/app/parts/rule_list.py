"""Rules of thumb as rows with their verdicts: choose by verdict and system, open one for its numbers."""

from collections.abc import Sequence
from typing import Any

from nicegui.element import Element

from fourpatch.advice.rules.quantities import QUANTITIES
from fourpatch.advice.rules.rule import SOURCE
from fourpatch.advice.rules.verdict import CheckedClaim, CheckedRule, grouped
from fourpatch.app.answers.definitions import TERMS
from fourpatch.app.parts.term import term_html
from fourpatch.app.words import capital, shown_text
from fourpatch.picture.rules_words import cell_rows, on_what, place, size, why_in_short, width_rows
from fourpatch.picture.shown import words


class RuleList(Element, component="rule_list.js"):
    """A row per rule, by what it promises something for, what moves most on this car first."""

    def __init__(self, rules: Sequence[CheckedRule]) -> None:
        """Draw the rows."""
        super().__init__()
        self._props["rules"] = [
            {**_row(rule), "claimed": claimed} for claimed, those in grouped(rules).items() for rule in those
        ]
        self._props["heads"] = {
            "outcome": term_html("Outcome", "hardly measurable"),
            "mark": term_html("computed on the rig", "rig"),
        }


def _row(one: CheckedRule) -> dict[str, Any]:
    rule, lead = one.rule, one.claims[0] if one.claims else None
    before = rule.before.name if rule.before else "the car as it stands"
    return {
        "name": rule.name,
        "subject": rule.subject,
        "saying": rule.saying,
        "source": SOURCE,
        "verdict": one.verdict,
        "size": shown_text(size(lead, lead.largest)) if lead else "",
        "hardly": lead is not None and lead.largest.weight <= 1.0,
        "place": place(lead.largest) if lead else "",
        "why": shown_text(capital(why_in_short(one))),
        "full": shown_text(one.why.sentence),
        "depends": shown_text(capital(on_what(one))) if one.verdict == "depends" else "",
        "change": shown_text(
            f"As said: {rule.change.name}. The other way: {rule.back.name}; both counted from {before}."
        ),
        "claims": [_claim(claim) for claim in one.claims],
    }


def _claim(checked: CheckedClaim) -> dict[str, Any]:
    claim, widths = checked.claim, checked.claim.way == "smoother is wider"
    quantity = "ratio_width" if widths else claim.quantity
    return {
        "says": capital(claim.says),
        "about": f"{words(quantity)} {claim.axle}".rstrip(),
        "meaning": TERMS[quantity][1] if quantity in TERMS else QUANTITIES[quantity].meaning,
        "verdict": checked.verdict,
        "rows": [
            [shown_text(text) for text in row] for row in (width_rows if widths else cell_rows)(checked)
        ],
    }
