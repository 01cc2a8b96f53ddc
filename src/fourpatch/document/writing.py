"""Values as TOML text."""

from collections.abc import Mapping
from typing import Any

import tomlkit
from tomlkit.items import InlineTable, Item


def toml_item(value: Any, *, entry_per_line: bool = False) -> Item:
    """Return a value as TOML writes it; a whole number as people do.

    Parameters
    ----------
    value : bool, float, text, or lists and tables of them.
    entry_per_line : give each entry of a list its own line.
    """
    match value:
        case bool():
            return tomlkit.boolean(str(value).lower())
        case float():
            return _number(value)
        case dict():
            return _inline_table(value)
        case list():
            array = tomlkit.array()
            for element in value:
                array.append(toml_item(element))
            return array.multiline(entry_per_line and bool(value))
    return tomlkit.string(value)


def _inline_table(data: Mapping[str, Any]) -> InlineTable:
    """Return a table that stands on one line."""
    table = tomlkit.inline_table()
    for name, value in data.items():
        table.append(name, toml_item(value))
    return table


def first_line(text: str | None) -> str:
    """Return a docstring's first line as a comment, without its full stop."""
    return (text or "").split("\n")[0].removesuffix(".")


def _number(value: float) -> Item:
    whole = value.is_integer() and abs(value) < 1e15 and str(value) != "-0.0"
    return tomlkit.integer(int(value)) if whole else tomlkit.float_(value)
