"""An adjuster of a car written anew, added or taken out in the text of its file, and the car's note."""

import re
from collections.abc import Mapping, Sequence
from typing import Any, Final, get_args

import tomlkit
from tomlkit import TOMLDocument

from fourpatch.car.adjusters import Adjuster, CurveMap, DirectMap, RateMap, TableMap, UnknownMap
from fourpatch.car.anti_features import read_car
from fourpatch.car.checks import car_faults
from fourpatch.document.fault import Fault, Key
from fourpatch.document.part import Part
from fourpatch.document.writing import toml_item
from fourpatch.errors import FieldsError

MAPS: Final = {
    str(get_args(one.model_fields["kind"].annotation)[0]): one
    for one in (DirectMap, RateMap, TableMap, CurveMap, UnknownMap)
}
"""What a step may do, by the word for it in a file."""

SPREAD = "spread"
"""Field for how unsure an unknown map is."""

_NUMBERS = ("lowest", "highest", "step", "baseline")
_LISTS = ("targets", "map.values")
_NUMBER_LISTS = ("map.steps", "map.coefficients")


def adjuster_fields(one: Adjuster) -> dict[str, str]:
    """Return an adjuster as the texts of a form: by key of the file, those of its map after ``map.``."""
    texts = {
        name: _shown(getattr(one, name))
        for name in type(one).model_fields
        if name not in ("map", "provenance")
    }
    texts |= {f"map.{name}": _shown(getattr(one.map, name)) for name in type(one.map).model_fields}
    return texts | {SPREAD: one.provenance.spread if one.provenance else ""}


def with_adjuster(text: str, place: int | None, fields: Mapping[str, str]) -> str:
    """Return a car file's text with an adjuster written anew, or added.

    Parameters
    ----------
    place : of the adjuster in the file, from 0; None to add it at the end.
    fields : as of `adjuster_fields`; lists with commas between. Of one that is there, what is left out stays.

    Raises
    ------
    FieldsError
        If the car could not be: all faults, by field.
    """
    entry, faults = _entry(fields)
    document = tomlkit.parse(text)
    if place is None:
        place = len(document.get("adjusters", ()))
        _append(document, entry)
    else:
        _refuse_place(document, place)
        table = document["adjusters"][place]
        for key, value in _new(entry, table, Adjuster).items():
            table[key] = toml_item(value)
        if table["map"].get("kind") != "unknown" and table.get("provenance", {}).get("method") == _PLAUSIBLE:
            del table["provenance"]
    _refuse(document, place, faults)
    return tomlkit.dumps(document)


def with_adjusters(text: str, adjusters: Sequence[Adjuster]) -> str:
    """Return a car file's text with just these adjusters; what is said of one that stays as it is stays too.

    Raises
    ------
    FieldsError
        If the car could not be.
    """
    document = tomlkit.parse(text)
    there = {str(table["name"]): table for table in document.get("adjusters", ())}
    written = tomlkit.aot()
    for one in adjusters:
        table = there.get(one.name)
        if table is None or Adjuster.model_validate(table.unwrap()) != one:
            table = tomlkit.table()
            for key, value in one.model_dump(exclude_defaults=True).items():
                table.append(key, toml_item(value))
        written.append(table)
    document.pop("adjusters", None)
    document.append("adjusters", written)
    _refuse(document, -1, {})
    return tomlkit.dumps(document)


def without_adjuster(text: str, place: int) -> str:
    """Return a car file's text without one of its adjusters.

    Raises
    ------
    FieldsError
        If there is none at that place, or the car could not be.
    """
    document = tomlkit.parse(text)
    _refuse_place(document, place)
    adjusters: Any = document["adjusters"]
    del adjusters[place]
    if not adjusters:
        del document["adjusters"]
    _refuse(document, place, {})
    return tomlkit.dumps(document)


def _refuse_place(document: TOMLDocument, place: int) -> None:
    count = len(document.get("adjusters", ()))
    if not 0 <= place < count:
        raise FieldsError({"": f"The car has no adjuster {place}; there are {count}, from 0."})


def with_note(text: str, note: str) -> str:
    """Return a car file's text with another note."""
    document = tomlkit.parse(text)
    document["note"] = note
    return tomlkit.dumps(document)


_PLAUSIBLE = "plausible range"


def _shown(value: object) -> str:
    if isinstance(value, float):
        return f"{value:.10g}"
    if isinstance(value, list):
        return ", ".join(_shown(one) for one in value)
    return str(value)


def _entry(fields: Mapping[str, str]) -> tuple[dict[str, Any], dict[str, str]]:
    """Return what a file says of an adjuster, and what of the form is no number."""
    kind = fields.get("map.kind", "")
    wanted = set(Adjuster.model_fields) - {"map", "provenance"}
    wanted |= {f"map.{name}" for name in (MAPS[kind].model_fields if kind in MAPS else ("kind",))}
    entry: dict[str, Any] = {"map": {}}
    faults: dict[str, str] = {}
    for name in (one for one in fields if one in wanted):
        text = fields[name].strip()
        try:
            value = _meant(name, text)
        except ValueError:
            faults[name] = f'is "{text}", which is no number. Write it as 1.5, with commas between several.'
            continue
        if value == "" and name not in ("unit", "name", "more_means"):
            continue
        owner, key = (entry["map"], name.removeprefix("map.")) if name.startswith("map.") else (entry, name)
        owner[key] = value
    if kind == "unknown" and fields.get(SPREAD, "").strip():
        spread = fields[SPREAD].strip()
        entry["provenance"] = {"source": "estimated", "method": _PLAUSIBLE, "spread": spread}
    if not entry["map"]:  # nothing is said of it: it stays, or is missing
        del entry["map"]
    return entry, faults


def _meant(name: str, text: str) -> Any:
    if name in _NUMBERS:
        return float(text) if text else ""
    parts = [one.strip() for one in text.split(",") if one.strip()]
    if name in _LISTS:
        return parts
    if name in _NUMBER_LISTS:
        return [float(one) for one in parts]
    return text


def _new(entry: Mapping[str, Any], old: Mapping[str, Any], model: type[Part]) -> dict[str, Any]:
    """Return what an entry says that the file does not say or mean already; what stays keeps its comment."""
    found: dict[str, Any] = {}
    for key, value in entry.items():
        there = old.get(key, model.model_fields[key].default)
        if key == "provenance" and there and there.get("spread") == value["spread"]:
            continue
        kind = value.get("kind") if key == "map" else None
        if kind in MAPS and key in old and not _new(value, old[key], MAPS[kind]):
            continue
        if there != value:
            found[key] = value
    return found


def _append(document: TOMLDocument, entry: Mapping[str, Any]) -> None:
    table = tomlkit.table()
    for key, value in entry.items():
        table.append(key, toml_item(value))
    if "adjusters" in document:
        document["adjusters"].append(table)
    else:
        adjusters = tomlkit.aot()
        adjusters.append(table)
        document.append("adjusters", adjusters)


def _refuse(document: TOMLDocument, place: int, said: Mapping[str, str]) -> None:
    """Refuse a car that could not be.

    Raises
    ------
    FieldsError
        All faults, those of the adjuster by its field.
    """
    car, found = read_car(document.unwrap())
    faults: Sequence[Fault] = found or car_faults(car)
    by_field: dict[str, str] = dict(said)
    for fault in faults:
        field, text = _field(fault.key, place, fault.text)
        if field not in said:
            by_field[field] = f"{by_field[field]} {text}" if field in by_field else text
    if by_field:
        raise FieldsError(by_field)


def _field(key: Key, place: int, text: str) -> tuple[str, str]:
    """Return the field that a fault belongs to, and what is said there."""
    match key:
        case ("adjusters", int(at), *rest) if at == place:
            names = [str(one) for one in rest if isinstance(one, str)]
            if names[:1] == ["provenance"] or "its map is unknown" in text:
                return SPREAD, text
            if names[:1] == ["map"]:
                return f"map.{names[1] if len(names) > 1 else 'kind'}", text
            of_one = re.match(r"does not hold together: (\w+) ", text)
            if not names and of_one and of_one[1] in Adjuster.model_fields:
                return of_one[1], text[of_one.end() :]
            return (names[0] if names else ""), text if names else f"The adjuster: {text}"
    where = ".".join(str(one + 1) if isinstance(one, int) else one for one in key)
    return "", f"{where} {text}".strip()
