"""A car or a set-up as TOML text: every key, its quantity in the usual unit, its meaning beside it."""

from typing import Any

import tomlkit
from tomlkit import TOMLDocument
from tomlkit.items import Table

from fourpatch.car.adjusters import Adjuster
from fourpatch.car.car import Car
from fourpatch.car.evidence_editing import observed_table
from fourpatch.car.parameters import (
    AngleCurve,
    AreaSurface,
    HeightCurve,
    LockedDifferential,
    OpenDifferential,
    RatioCurve,
    TwoSlopeDamping,
)
from fourpatch.car.provenance import Provenance
from fourpatch.car.setup import Setup
from fourpatch.document.meaning import meaning
from fourpatch.document.part import Part
from fourpatch.document.writing import first_line, toml_item
from fourpatch.units import FROM_FILE

INLINE = (
    RatioCurve,
    HeightCurve,
    AngleCurve,
    TwoSlopeDamping,
    AreaSurface,
    OpenDifferential,
    LockedDifferential,
    Provenance,
)
"""Parts short enough to stand on the line of their key."""


_LISTS = ("adjusters", "provenance", "evidence")
"""Of a car, written after its parts."""


def car_text(car: Car) -> str:
    """Return a car file's text."""
    document = tomlkit.document()
    data = car.model_dump(context=FROM_FILE)
    _fill(document, car, {name: data[name] for name in data if name not in _LISTS})
    if car.adjusters:
        adjusters = tomlkit.aot()
        for one, entry in zip(car.adjusters, data["adjusters"], strict=True):
            adjusters.append(_adjuster(one, entry))
        document.append("adjusters", adjusters)
    if car.provenance:
        table = tomlkit.table()
        table.comment("where the numbers came from; the closest name decides")
        for name, entry in data["provenance"].items():
            table.append(name, toml_item(_without_blanks(entry)))
        document.append("provenance", table)
    if car.evidence:
        observed = tomlkit.aot()
        for entry in data["evidence"]:
            observed.append(observed_table(entry))
        document.append("evidence", observed)
    return tomlkit.dumps(document)


def setup_text(setup: Setup, car: Car | None) -> str:
    """Return a set-up file's text, with each adjuster's scale beside its value if its car is given."""
    document = tomlkit.document()
    for name in ("name", "car", "note"):
        document.append(name, tomlkit.item(getattr(setup, name)))
    values = tomlkit.table()
    scales = {one.name: one for one in car.adjusters} if car else {}
    for name, value in setup.values.items():
        item = toml_item(value)
        if name in scales:
            scale = scales[name]
            item.comment(f"{scale.lowest:g} to {scale.highest:g} {scale.unit}".strip())
        values.append(name, item)
    document.append("values", values)
    return tomlkit.dumps(document)


def _fill(table: Table | TOMLDocument, part: Part, data: dict[str, Any]) -> None:
    """Write a part's keys, those on one line first, as TOML wants it; then its sections."""
    values = {name: getattr(part, name) for name in data}
    sections = [
        name for name in data if isinstance(values[name], Part) and not isinstance(values[name], INLINE)
    ]
    for name in [name for name in data if name not in sections]:
        item = toml_item(data[name])
        said = meaning(type(part), name)
        if said:
            item.comment(first_line(said))
        table.append(name, item)
    for name in sections:
        section = tomlkit.table()
        section.comment(first_line(type(values[name]).__doc__))
        _fill(section, values[name], data[name])
        table.append(name, section)


def _adjuster(adjuster: Adjuster, data: dict[str, Any]) -> Table:
    table = tomlkit.table()
    for name, value in data.items():
        if name == "provenance":
            if value is not None:
                table.append(name, toml_item(_without_blanks(value)))
        else:
            table.append(name, toml_item(value))
    return table


def _without_blanks(provenance: dict[str, str]) -> dict[str, str]:
    return {name: text for name, text in provenance.items() if text}
