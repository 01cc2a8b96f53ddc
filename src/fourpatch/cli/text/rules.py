"""Rules of thumb with their verdicts, in tables, in words and for JSON."""

from collections.abc import Sequence
from dataclasses import replace
from typing import Any

from fourpatch.advice.rules.quantities import QUANTITIES
from fourpatch.advice.rules.rule import CORNERS, KERBS, ROADS, SOURCE, TURN_INS
from fourpatch.advice.rules.verdict import Cell, CheckedClaim, CheckedRule
from fourpatch.cli.output import Head, finite, json_unit, write_heading, write_table, write_text
from fourpatch.picture.shown import measure_of, pretty, shown, words

_TOLD = {
    "agrees": "agrees",
    "against": "the opposite",
    "mixed": "both ways within it",
    "hardly": "hardly measurable",
    "unknown": "not computed",
}
_FAMILIES = {
    CORNERS: "all corners braked into",
    TURN_INS: "all turn-ins at constant speed",
    ROADS: "all roads",
    KERBS: "both kerbs",
}

MEANING = (
    "A rule agrees if what it says holds in every event it speaks of, for the change as said and, mirrored, "
    "the other way; it disagrees if nowhere anything measurable goes its way; else it depends. Size is the "
    "largest effect of the change as said on what the rule is used for. Hardly measurable is a change of "
    "balance or of grip over bumps under 0.1 points, of a load under 0.1 %, of ride height under 0.1 mm."
)


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
    seen = [f"{name} {value:+.2f}" for name, value in parts[:2] if abs(value) >= 0.005]
    return ", ".join(seen) or "nothing measurable"


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
        _width_rows(checked) if width else _cell_rows(checked),
        title=f"{claim.says}: {checked.verdict}",
    )
    if not width:
        limit = size(checked, replace(checked.cells[0], value=checked.cells[0].hardly)).lstrip("+")
        write_text(
            f"About {claim.about}: {words(claim.quantity)} {claim.axle}".rstrip()
            + f" ({QUANTITIES[claim.quantity].meaning}); hardly measurable below {limit}."
        )


def _width_rows(checked: CheckedClaim) -> list[tuple[str, ...]]:
    told = {"agrees": "narrower", "against": "wider", "hardly": "as wide", "unknown": "the map ends before"}
    return [
        (cell.event, size(checked, cell), told[cell.outcome] if place else "")
        for place, cell in enumerate(checked.cells)
    ]


def _cell_rows(checked: CheckedClaim) -> list[tuple[str, ...]]:
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
