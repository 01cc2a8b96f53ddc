"""A car's parameters by their dotted names: ``front.spring.rate``, ``driveline.gear_ratios.1``.

Adjusters, provenance, forms and word lists name a parameter this way. The numbers of a list are
counted from one, as a driver counts gears.
"""

import difflib
from collections.abc import Iterator, Mapping
from dataclasses import dataclass
from typing import Any, TypeVar, get_args

from pydantic import ValidationError
from pydantic.fields import FieldInfo

from fourpatch.document.meaning import meaning
from fourpatch.document.part import Part
from fourpatch.errors import CarError
from fourpatch.units import Unit

PartT = TypeVar("PartT", bound=Part)


@dataclass(frozen=True, slots=True)
class Parameter:
    """A number of a car, with what there is to know about it."""

    path: str
    value: float
    """SI."""
    unit: Unit
    owner: type[Part]
    """Part that has it."""
    field: str
    """Of the part."""

    @property
    def meaning(self) -> str:
        """One sentence, from the docstring of the field."""
        return meaning(self.owner, self.field)


def parameters(part: Part, *, below: str = "") -> Iterator[Parameter]:
    """Yield every number with a unit of a car or a part of it, in the order of the file.

    Parameters
    ----------
    part : a car or any part.
    below : put before each name, the dotted name of ``part`` itself.
    """
    for name, field in type(part).model_fields.items():
        if name not in part.__dict__:
            continue  # left out of a car that is still being checked
        path = f"{below}.{name}" if below else name
        value = getattr(part, name)
        if isinstance(value, Part):
            yield from parameters(value, below=path)
            continue
        unit, element_unit = _units(field)
        if unit:
            yield Parameter(path, value, unit, type(part), name)
        elif element_unit:
            for place, element in _elements(value).items():
                yield Parameter(f"{path}.{place}", element, element_unit, type(part), name)


def parameter(part: Part, path: str) -> Parameter:
    """Return one number of a car by its dotted name.

    Raises
    ------
    CarError
        If there is none of that name; the text proposes near ones.
    """
    owner, name, place = _find(part, path)
    field = type(owner).model_fields[name]
    unit, element_unit = _units(field)
    value = getattr(owner, name)
    if place is None and unit:
        return Parameter(path, value, unit, type(owner), name)
    if place is not None and element_unit:
        return Parameter(path, _elements(value)[place], element_unit, type(owner), name)
    raise CarError(unknown_name(part, path))


def is_left_out(part: Part, path: str) -> bool:
    """Say whether a dotted name is of a place that a car read from a faulty file has, but not its value."""
    owner: object = part
    for name in path.split("."):
        if not isinstance(owner, Part) or name not in type(owner).model_fields:
            return False
        if name not in owner.__dict__:
            return True
        owner = getattr(owner, name)
    return False


def is_complete(part: Part) -> bool:
    """Say whether a part has all its attributes, which one read from a faulty file has not."""
    return type(part).model_fields.keys() <= part.__dict__.keys() and all(
        is_complete(value) for value in part.__dict__.values() if isinstance(value, Part)
    )


def replace_parameters(part: PartT, values: Mapping[str, float]) -> PartT:
    """Return a copy of a car with some numbers replaced, in SI, and checked again.

    Raises
    ------
    CarError
        If there is no such number, or a value cannot be meant.
    """
    for path in values:
        parameter(part, path)
    return _replaced(part, {tuple(path.split(".")): value for path, value in values.items()}, ())


def unknown_name(part: Part, path: str) -> str:
    """Return the rest of a sentence that refuses a dotted name and proposes near ones."""
    known = [p.path for p in parameters(part)]
    within = [name for name in known if name.startswith(f"{path}.")]
    if within:
        return f'"{path}" holds several numbers. Name one of them: {", ".join(within[:6])}.'
    owner, missing = _kind_without(part, path)
    if owner:
        has = [name.removeprefix(f"{owner}.") for name in known if name.startswith(f"{owner}.")]
        kind = getattr(_part_at(part, owner), "kind", "")
        lists = f"It has {', '.join(has)}." if has else "It has no numbers."
        return f'"{path}" is not there: {owner}.kind is "{kind}", which has no {missing}. {lists}'
    below = path.split(".")[0] + "."
    likely = [name for name in known if name.startswith(below)] or known  # never the other axle
    near = difflib.get_close_matches(path, likely, n=3, cutoff=0.6)
    remedy = f" Did you mean {' or '.join(near)}?" if near else " A name is like front.spring.rate."
    return f'"{path}" is not a parameter of this car.{remedy}'


def _kind_without(part: Part, path: str) -> tuple[str, str]:
    """Return the dotted name of the part of some kind that a path leads to, and what that kind has not.

    Two empty texts if the path does not fail at such a part.
    """
    names = path.split(".")
    owner: object = part
    for depth, name in enumerate(names):
        if not isinstance(owner, Part):
            break
        if name not in type(owner).model_fields:
            of_kind = depth and "kind" in type(owner).model_fields
            return (".".join(names[:depth]), ".".join(names[depth:])) if of_kind else ("", "")
        owner = getattr(owner, name)
    return "", ""


def _part_at(part: Part, path: str) -> Part:
    for name in path.split("."):
        part = getattr(part, name)
    return part


def part_of_kind(part: Part, path: str) -> tuple[str, Part, str] | None:
    """Return, for a dotted name that fails because a part is of another kind, that part and what it lacks.

    Returns
    -------
    tuple
        The part's dotted name, the part, and the rest of the name that its kind has not.
    """
    owner, missing = _kind_without(part, path)
    return (owner, _part_at(part, owner), missing) if owner else None


def _replaced(part: PartT, values: Mapping[tuple[str, ...], float], above: tuple[str, ...]) -> PartT:
    changed: dict[str, Any] = {}
    for name in dict.fromkeys(path[0] for path in values):
        below = {path[1:]: value for path, value in values.items() if path[0] == name}
        old = getattr(part, name)
        if isinstance(old, Part):
            changed[name] = _replaced(old, below, (*above, name))
        elif isinstance(old, list | dict):
            elements = {place: below.get((place,), element) for place, element in _elements(old).items()}
            changed[name] = elements if isinstance(old, dict) else list(elements.values())
        else:
            changed[name] = below[()]
    try:
        return type(part).model_validate({**part.__dict__, **changed})
    except ValidationError as error:
        lines = []
        for detail in error.errors():
            where = ".".join(str(n + 1) if isinstance(n, int) else n for n in (*above, *detail["loc"]))
            lines.append(f"{where} {detail['msg'].removeprefix('Value error, ')}")
        raise CarError("\n".join(lines)) from None


def _find(part: Part, path: str) -> tuple[Part, str, str | None]:
    """Return the part that owns a number, the field's name there, and its place in a list or table."""
    names = path.split(".")
    owner = part
    for depth, name in enumerate(names, start=1):
        if name not in type(owner).model_fields:
            break
        value = getattr(owner, name)
        if isinstance(value, Part):
            owner = value
            continue
        if depth == len(names):
            return owner, name, None
        if depth + 1 == len(names) and names[depth] in _elements(value):
            return owner, name, names[depth]
        break
    raise CarError(unknown_name(part, path))


def _elements(value: object) -> dict[str, Any]:
    """Return the numbers of a list, counted from one, or of a table, by name."""
    if isinstance(value, dict):
        return value
    return (
        {str(place): element for place, element in enumerate(value, start=1)}
        if isinstance(value, list)
        else {}
    )


def _units(field: FieldInfo) -> tuple[Unit | None, Unit | None]:
    """Return the unit of a field that is a number, and of the elements of one that is a list or table."""
    elements = [m for argument in get_args(field.annotation) for m in getattr(argument, "__metadata__", ())]
    return (
        next((m for m in field.metadata if isinstance(m, Unit)), None),
        next((m for m in elements if isinstance(m, Unit)), None),
    )
