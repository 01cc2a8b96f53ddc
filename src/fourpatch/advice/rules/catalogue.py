"""Every rule that is checked, and how one is found by its name."""

import difflib
from collections.abc import Sequence
from importlib.resources import as_file, files

from fourpatch.advice.rules.rule import Rule
from fourpatch.advice.rules.rule_file import load_rules
from fourpatch.errors import AdviceError

OURS = "rules.toml"
"""The file of our rules, beside this one."""


def _ours() -> tuple[Rule, ...]:
    with as_file(files(__package__) / OURS) as path:
        return load_rules(path)


RULES: tuple[Rule, ...] = _ours()
"""Ours, in the order of the file."""


def rule_named(name: str, rules: Sequence[Rule] = RULES) -> Rule:
    """Return a rule by its name.

    Raises
    ------
    AdviceError
        If there is none; the text proposes near ones.
    """
    names = [rule.name for rule in rules]
    if name in names:
        return rules[names.index(name)]
    near = difflib.get_close_matches(name, names, n=3, cutoff=0.4)
    meant = f"Did you mean {' or '.join(near)}?" if near else f"There are: {', '.join(names)}."
    raise AdviceError(f'--rule is "{name}", which no rule is called. {meant}')
