"""Every rule that is checked, and how one is found by its name."""

import difflib

from fourpatch.advice.rules import chassis, dampers
from fourpatch.advice.rules.rule import Rule
from fourpatch.errors import AdviceError

RULES: tuple[Rule, ...] = (*dampers.RULES, *chassis.RULES)
"""In the order in which they are shown."""


def rule_named(name: str) -> Rule:
    """Return a rule by its name.

    Raises
    ------
    AdviceError
        If there is none; the text proposes near ones.
    """
    names = [rule.name for rule in RULES]
    if name in names:
        return RULES[names.index(name)]
    near = difflib.get_close_matches(name, names, n=3, cutoff=0.4)
    meant = f"Did you mean {' or '.join(near)}?" if near else f"There are: {', '.join(names)}."
    raise AdviceError(f'--rule is "{name}", which no rule is called. {meant}')
