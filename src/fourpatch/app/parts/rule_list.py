"""Rules of thumb as rows with their verdicts: choose by verdict and system, open one for its numbers."""

from collections.abc import Sequence
from typing import Any

from nicegui.element import Element

from fourpatch.app.answers.rules import RuleAnswer
from fourpatch.app.parts.term import term_html
from fourpatch.app.words import capital, true_minus


class RuleList(Element, component="rule_list.js"):
    """A row per rule, grouped by system of the car."""

    def __init__(self, rules: Sequence[RuleAnswer]) -> None:
        """Draw the rows."""
        super().__init__()
        self._props["rules"] = [_row(rule) for rule in rules]
        self._props["heads"] = {
            "outcome": term_html("Outcome", "hardly measurable"),
            "mark": term_html("computed on the rig", "rig"),
        }


def _row(rule: RuleAnswer) -> dict[str, Any]:
    return {
        "name": rule.name,
        "subject": rule.subject,
        "saying": rule.saying,
        "source": rule.source,
        "verdict": rule.verdict,
        "size": true_minus(rule.size_told),
        "hardly": rule.hardly,
        "place": rule.place,
        "why": true_minus(capital(rule.why)),
        "full": true_minus(rule.why_in_full),
        "depends": true_minus(capital(rule.depends_on)),
        "change": true_minus(
            f"As said: {rule.change}. The other way: {rule.back}; both counted from {rule.before}."
        ),
        "claims": [
            {
                "says": capital(claim.says),
                "about": f"{claim.quantity.replace('_', ' ')} {claim.axle}".rstrip(),
                "meaning": claim.meaning,
                "verdict": claim.verdict,
                "rows": [[true_minus(text) for text in row] for row in claim.told],
            }
            for claim in rule.claims
        ],
    }
