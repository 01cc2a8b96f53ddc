"""A track as TOML text: a line for each entry, every quantity with its unit."""

from typing import Any, Final

import tomlkit
from tomlkit.items import Array, InlineTable, Item

from fourpatch.car.parameters import Part
from fourpatch.track.track import Track
from fourpatch.units import FROM_FILE

_IN_OTHER_FILES: Final[dict[str, Any]] = {"points": True, "table": True, "surface": {"__all__": {"profile"}}}


def track_text(track: Track) -> str:
    """Return a track file's text."""
    document = tomlkit.document()
    document.append("name", tomlkit.string(track.name))
    document.append("note", tomlkit.string(track.note))
    for name, part in (("centre_line", track.centre_line), ("road", track.road)):
        section = tomlkit.table()
        for key, value in part.model_dump(context=FROM_FILE, exclude=_IN_OTHER_FILES).items():
            item = _item(value)
            description = _description(part, key)
            if description and not isinstance(item, Array):
                item.comment(description)
            section.append(key, item)
        document.append(name, section)
    return tomlkit.dumps(document)


def _description(part: Part, key: str) -> str:
    return (type(part).model_fields[key].description or "").split("\n")[0].removesuffix(".")


def _item(value: Any) -> Item:
    match value:
        case bool():
            return tomlkit.boolean(str(value).lower())
        case float():
            return tomlkit.float_(value)
        case dict():
            return _inline(value)
        case list():
            array = tomlkit.array()
            for element in value:
                array.append(_item(element))
            return array.multiline(bool(value))
    return tomlkit.string(value)


def _inline(data: dict[str, Any]) -> InlineTable:
    table = tomlkit.inline_table()
    for name, value in data.items():
        table.append(name, _item(value))
    return table
