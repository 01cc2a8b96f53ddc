"""Numbers of a car changed in the text of its file: what else the file says, comments too, stays.

A change is refused as a whole, and each fault is said of the number that was changed. An adjuster whose
map gives the value itself has its baseline moved along, since it says where the car's parameters hold.
"""

from collections.abc import Iterator, Mapping
from typing import Any

import tomlkit
from tomlkit.items import AbstractTable, Array

from fourpatch.car.adjusters import Adjuster
from fourpatch.car.anti_features import write_slopes
from fourpatch.car.car import Car
from fourpatch.car.checks import car_faults
from fourpatch.car.paths import Parameter, parameter, parameters, replace_parameters
from fourpatch.car.provenance import GIVEN, origin
from fourpatch.document.fault import Key
from fourpatch.document.writing import toml_item
from fourpatch.errors import CarError, FieldsError

GENERAL = ""
"""Under this name stands what is said of no single parameter."""


def read_values(car: Car, written: Mapping[str, str]) -> dict[str, float]:
    """Return what is written of some parameters, SI.

    Parameters
    ----------
    written : by dotted name, a quantity as in a car file: ``95 N/mm``.

    Raises
    ------
    FieldsError
        If a name is unknown, or a text is no quantity or out of its range: all of them.
    """
    values: dict[str, float] = {}
    faults: dict[str, str] = {}
    for path, text in written.items():
        try:
            values[path] = parameter(car, path).unit.read(text, from_file=False)
        except (ValueError, OverflowError, CarError) as error:
            faults[path] = str(error)
    if faults:
        raise FieldsError(faults)
    return values


def edited_car(car: Car, written: Mapping[str, str]) -> Car:
    """Return a car with some parameters changed, each now given by the user, and checked as a whole.

    Raises
    ------
    FieldsError
        If a text is no quantity of its parameter, or the car could not be: all faults, by parameter.
    """
    values = read_values(car, written)
    try:
        changed = replace_parameters(car, values)
    except CarError as error:
        raise FieldsError(_said_of_parts(str(error), written)) from None
    given = {path: GIVEN for path in values if origin(car, path).source != "given"}
    changed = changed.model_copy(
        update={
            "adjusters": [_moved_along(one, changed, values) for one in car.adjusters],
            "provenance": car.provenance | given,
        }
    )
    faults: dict[str, str] = {}
    for fault in car_faults(changed):
        for path, text in _said_of(changed, fault.key, fault.text, written):
            faults[path] = f"{faults[path]} {text}" if path in faults else text
    if faults:
        raise FieldsError(faults)
    return changed


def edited_text(text: str, car: Car, edited: Car) -> str:
    """Return a car file's text with what differs between two cars put into it.

    Parameters
    ----------
    car : what the text says.
    edited : what it is to say; made of ``car`` by `edited_car`.
    """
    document = tomlkit.parse(text)
    write_slopes(document, car)
    before = {found.path: found.value for found in parameters(car)}
    for found in parameters(edited):
        if found.value != before[found.path]:
            _write(document, found.path.split("."), _as_written(found))
    for place, (old, new) in enumerate(zip(car.adjusters, edited.adjusters, strict=True)):
        if old.baseline != new.baseline:
            document["adjusters"][place]["baseline"] = new.baseline
    for path, entry in edited.provenance.items():
        if car.provenance.get(path) != entry:
            table = document.setdefault("provenance", tomlkit.table())
            table[path] = toml_item({"source": entry.source})
    return tomlkit.dumps(document)


# Text


def _as_written(found: Parameter) -> str | float:
    text = found.unit.show(found.value)
    if found.unit.si == "1" and "%" not in text:
        return float(text)
    return text


def _write(table: Any, names: list[str], value: str | float) -> None:
    """Put a value at its place; tables that are not there are made, each on the line of its key."""
    first, *rest = names
    if not rest:
        if isinstance(table, Array):
            table[int(first) - 1] = value
        else:
            table[first] = value
        return
    if not isinstance(table, AbstractTable | dict) or first not in table:
        table[first] = tomlkit.inline_table()
    _write(table[first], rest, value)


# Adjusters


def _moved_along(one: Adjuster, car: Car, values: Mapping[str, float]) -> Adjuster:
    """Return an adjuster that stands where its map gives a changed value, if it gives values at all."""
    if not one.overwrites() or not any(path in values for path in one.targets):
        return one
    target = parameter(car, one.targets[0])
    try:
        near = min(one.positions(), key=lambda step: abs(_given(one, step, target) - target.value))
    except ValueError:  # a map in another unit than its target: `car_faults` says so
        return one
    return one.model_copy(update={"baseline": near})


# Faults


def _said_of(car: Car, key: Key, text: str, written: Mapping[str, str]) -> Iterator[tuple[str, str]]:
    """Yield a fault for each changed parameter that it is about."""
    match key:
        case ("adjusters", int(place), *_):
            one = car.adjusters[place]
            about = [path for path in one.targets if path in written]
            text = _adjuster_text(car, one, key, text)
        case ("provenance", str(name), *_):
            about = [path for path in written if f"{path}.".startswith(f"{name}.")]
            text = f'provenance of "{name}": {text}'
        case _:
            name = ".".join(str(part + 1) if isinstance(part, int) else part for part in key)
            if name in written:
                yield name, text
                return
            about = [path for path in written if f"{path}.".startswith(f"{name}.")]
            text = f"{name} {text}".strip()
    for path in about or [GENERAL]:
        yield path, text


def _adjuster_text(car: Car, one: Adjuster, key: Key, text: str) -> str:
    """Say what an adjuster has against a value of what it sets."""
    if key[-1] != "baseline":
        where = ".".join(str(name) for name in key[2:])
        return f'does not go with the adjuster "{one.name}": {where} {text}'.replace(":  ", ": ")
    target = parameter(car, one.targets[0])
    ends = " to ".join(target.unit.brief(_given(one, end, target)) for end in (one.lowest, one.highest))
    nearest = target.unit.brief(_given(one, one.baseline, target), 6)  # it was moved there
    return (
        f'is turned by the adjuster "{one.name}", whose steps give {ends}, the nearest {nearest}. Write '
        "that, or change the steps of the adjuster in the car's file."
    )


def _given(one: Adjuster, step: float, target: Parameter) -> float:
    """Return what an adjuster's map says at a step, at the baseline too."""
    elsewhere = one.lowest if step != one.lowest else one.highest
    return one.model_copy(update={"baseline": elsewhere}).value(step, target)


def _said_of_parts(error: str, written: Mapping[str, str]) -> dict[str, str]:
    """Return what was said of parts, by the parameters changed in them."""
    faults: dict[str, str] = {}
    for line in error.split("\n"):
        name, _, text = line.partition(" ")
        about = [path for path in written if f"{path}.".startswith(f"{name}.")]
        if not about:
            name, text = GENERAL, line
        faults |= {path: text if path == name else f"{name}: {text}" for path in about or [name]}
    return faults
