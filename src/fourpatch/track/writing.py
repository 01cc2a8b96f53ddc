"""A track as TOML text: a line for each entry, every quantity with its unit."""

from typing import Any, Final

import tomlkit
from tomlkit.items import Array

from fourpatch.document.meaning import meaning
from fourpatch.document.part import Part
from fourpatch.document.writing import first_line, toml_item
from fourpatch.track.track import Track
from fourpatch.units import FROM_FILE

_IN_OTHER_FILES: Final[dict[str, Any]] = {"points": True, "table": True, "surface": {"__all__": {"profile"}}}


def track_text(track: Track) -> str:
    """Return a track file's text."""
    document = tomlkit.document()
    document.append("name", tomlkit.string(track.name))
    document.append("note", tomlkit.string(track.note))
    if track.corner_names:
        names = [one.model_dump(context=FROM_FILE) for one in track.corner_names]
        document.append("corner_names", toml_item(names, entry_per_line=True))
    for name, part in (("centre_line", track.centre_line), ("road", track.road)):
        section = tomlkit.table()
        for key, value in part.model_dump(context=FROM_FILE, exclude=_IN_OTHER_FILES).items():
            item = toml_item(value, entry_per_line=True)
            description = _description(part, key)
            if description and not isinstance(item, Array):
                item.comment(description)
            section.append(key, item)
        document.append(name, section)
    return tomlkit.dumps(document)


def _description(part: Part, key: str) -> str:
    return first_line(meaning(type(part), key))
