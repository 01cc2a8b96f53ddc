"""Evidence written into the text of a car's file, and taken out of it: all else stays as it is typed."""

from collections.abc import Mapping
from typing import Any

import tomlkit

from fourpatch.car.evidence import Item
from fourpatch.document.writing import toml_item
from fourpatch.errors import CarError
from fourpatch.units import FROM_FILE


def observed_table(data: Mapping[str, Any]) -> tomlkit.items.Table:
    """Return an item of evidence as a file says it, without what is left out."""
    table = tomlkit.table()
    for name, value in data.items():
        if value not in (None, "", {}, False):
            table.append(name, toml_item(value))
    return table


def with_evidence(text: str, item: Item) -> str:
    """Return a car file's text with one more item of evidence, at the end."""
    document = tomlkit.parse(text)
    entry = observed_table(item.model_dump(context=FROM_FILE))
    entry.trivia.indent = "\n"
    if "evidence" in document:
        document["evidence"].append(entry)
    else:
        several = tomlkit.aot()
        several.append(entry)
        document.append("evidence", several)
    return tomlkit.dumps(document)


def without_evidence(text: str, number: int) -> str:
    """Return a car file's text without one item of evidence.

    Parameters
    ----------
    number : of the item, from 1.

    Raises
    ------
    CarError
        If there is none of that number.
    """
    document = tomlkit.parse(text)
    there: Any = document.get("evidence", [])
    if not 1 <= number <= len(there):
        count = f"has {len(there)} items, from 1" if there else "has none"
        raise CarError(f"There is no evidence {number} in the car's file: it {count}.")
    del there[number - 1]
    if not there:
        del document["evidence"]
    return tomlkit.dumps(document)
