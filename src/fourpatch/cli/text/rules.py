"""Rules of thumb with their verdicts, in tables and for JSON."""

from collections.abc import Sequence
from dataclasses import replace
from typing import Any

from fourpatch.advice.rules.quantities import QUANTITIES
from fourpatch.advice.rules.rule import SOURCE
from fourpatch.advice.rules.verdict import CheckedClaim, CheckedRule
from fourpatch.cli.output import write_heading, write_table, write_text
from fourpatch.document.content import finite, json_unit
from fourpatch.picture.head import Head
from fourpatch.picture.rules_words import MEANING, cell_rows, on_what, rule_row, size, width_rows
from fourpatch.picture.shown import words


def write_rules(checked: Sequence[CheckedRule], named: str) -> None:
    """Write a row for each rule, and what those depend on that depend."""
    write_table(
        [
            Head(text="rule", right=False),
            Head(text="verdict", right=False),
            Head(text="size"),
            Head(text="where", right=False),
            Head(text="why", right=False),
        ],
        [rule_row(one) for one in checked],
        title=f"Rules of thumb on {named}",
    )
    write_text(MEANING)
    depending = [one for one in checked if one.verdict == "depends"]
    if depending:
        write_heading("What it depends on")
    for one in depending:
        write_text(f"{one.rule.name}: {on_what(one)}")
    write_text(f"All rules: {SOURCE}. One rule with its numbers: fourpatch advise rules CAR --rule NAME.")


def write_rule(one: CheckedRule, named: str) -> None:
    """Write one rule with all its numbers."""
    rule = one.rule
    write_heading(f"{rule.name} on {named}: {one.verdict}")
    write_text(f"“{rule.saying}” ({SOURCE})")
    if not one.claims:
        write_text(one.why.sentence)
        return
    before = f", counted from {rule.before.name}" if rule.before else ""
    write_text(f"As said: {rule.change.name}. The other way: {rule.back.name}{before}.")
    for checked in one.claims:
        _write_claim(checked)
    write_text(f"Why: {one.why.sentence}")


def _write_claim(checked: CheckedClaim) -> None:
    claim, width = checked.claim, checked.claim.way == "smoother is wider"
    write_table(
        [
            Head(text="where", right=False),
            Head(text="as said"),
            *([] if width else [Head(text="the other way")]),
            Head(text="than on the smoother" if width else "outcome", right=False),
        ],
        width_rows(checked) if width else cell_rows(checked),
        title=f"{claim.says}: {checked.verdict}",
    )
    if not width:
        limit = size(checked, replace(checked.cells[0], value=checked.cells[0].hardly)).lstrip("+")
        write_text(
            f"About {claim.about}: {words(claim.quantity)} {claim.axle}".rstrip()
            + f" ({QUANTITIES[claim.quantity].meaning}); hardly measurable below {limit}."
        )


def rules_content(checked: Sequence[CheckedRule]) -> list[dict[str, Any]]:
    """Return the rules for JSON."""
    return [
        {
            "name": one.rule.name,
            "subject": one.rule.subject,
            "saying": one.rule.saying,
            "source": SOURCE,
            "verdict": one.verdict,
            "lacks": one.lacks,
            "change": one.rule.change.name,
            "back": one.rule.back.name,
            "before": one.rule.before.name if one.rule.before else "as it stands",
            "claims": [_claim_content(claim) for claim in one.claims],
            "why": {
                "kind": one.why.kind,
                "parts": {
                    name: {"value": finite(part), "unit": "points"} for name, part in one.why.parts.items()
                },
                "sentence": one.why.sentence,
            },
        }
        for one in checked
    ]


def _claim_content(checked: CheckedClaim) -> dict[str, Any]:
    claim = checked.claim
    quantity = "ratio_width" if claim.way == "smoother is wider" else claim.quantity
    unit = json_unit(QUANTITIES[quantity].unit)
    return {
        "says": claim.says,
        "about": claim.about,
        "quantity": quantity,
        "axle": claim.axle,
        "way": claim.way,
        "verdict": checked.verdict,
        "cells": [
            {
                "event": cell.event,
                "window": cell.window,
                "back": cell.back,
                "before": {"value": finite(cell.before), "unit": unit},
                "value": {"value": finite(cell.value), "unit": unit},
                "hardly_measurable": {"value": finite(cell.hardly), "unit": unit},
                "outcome": cell.outcome,
            }
            for cell in checked.cells
        ],
    }
